"""``moldwin setup-sheet`` as a user meets it: the file, the refusals, the exit codes."""

from __future__ import annotations

import errno
import os
from functools import partial

import pytest

from moldwin.advice import sheet_grid as grids
from moldwin.cli.app import run
from moldwin.inputs.files import shipped

BAR = str(shipped("examples") / "starch-glycerol-bar.toml")


@pytest.fixture(autouse=True)
def few_positions(monkeypatch):
    """Two moistures and few samples: what is asked here is the file, not the numbers."""
    quick = partial(grids.sheet_grid, moistures=[10.0, 12.0], count=64)
    monkeypatch.setattr(grids, "sheet_grid", lambda job, advice, **_: quick(job, advice))


@pytest.fixture
def cli(capsys, tmp_path, monkeypatch):
    """Runs the command in an empty folder: exit code, stdout, stderr."""
    monkeypatch.chdir(tmp_path)

    def call(*arguments: str) -> tuple[int, str, str]:
        code = run(["setup-sheet", *arguments])
        out, err = capsys.readouterr()
        return code, out, err

    return call


def test_it_writes_one_file_and_says_where(cli, tmp_path):
    assert cli(BAR, "-o", "sheet.html") == (0, "The sheet is in sheet.html.\n", "")
    assert [path.name for path in tmp_path.iterdir()] == ["sheet.html"]
    text = (tmp_path / "sheet.html").read_text(encoding="utf-8")
    assert text.startswith("<!DOCTYPE html>")
    assert text.endswith("</html>\n")
    assert "Starch, glycerol and water 70/20/10" in text


def test_the_same_job_gives_the_same_bytes(cli, tmp_path):
    cli(BAR, "-o", "a.html")
    cli(BAR, "-o", "b.html")
    assert (tmp_path / "a.html").read_bytes() == (tmp_path / "b.html").read_bytes()


def test_a_what_if_is_in_the_sheet_and_in_its_command(cli, tmp_path):
    code, _, _ = cli(BAR, "--set", "press.force_kn=5.25", "-o", "sheet.html")
    text = (tmp_path / "sheet.html").read_text(encoding="utf-8")
    assert code == 0
    assert "force_kn 5.25" in text
    assert "--set press.force_kn=5.25" in text


def test_do_not_heat_is_an_answer(cli, tmp_path):
    dry = str(shipped("examples") / "dry-starch-no-glycerol.toml")
    assert cli(dry, "-o", "sheet.html")[0] == 0
    assert ">DO NOT HEAT<" in (tmp_path / "sheet.html").read_text(encoding="utf-8")


def test_without_a_job_it_says_that_it_is_an_example(cli, tmp_path):
    assert cli("-o", "sheet.html")[0] == 0
    text = (tmp_path / "sheet.html").read_text(encoding="utf-8")
    assert "Bundled example, not your blend" in text


def test_it_overwrites_only_when_told_to(cli, tmp_path):
    (tmp_path / "sheet.html").write_text("mine", encoding="utf-8")
    code, out, err = cli(BAR, "-o", "sheet.html")
    assert (code, out) == (2, "")
    assert "--force" in err
    assert (tmp_path / "sheet.html").read_text(encoding="utf-8") == "mine"
    assert cli(BAR, "-o", "sheet.html", "--force")[0] == 0
    assert (tmp_path / "sheet.html").read_text(encoding="utf-8") != "mine"


@pytest.mark.parametrize("there", [True, False], ids=["file", "dangling"])
def test_it_never_follows_a_link_out_of_the_folder(cli, tmp_path, there):
    inside, outside = tmp_path / "in", tmp_path / "out"
    inside.mkdir()
    outside.mkdir()
    if there:
        (outside / "other.html").write_text("theirs", encoding="utf-8")
    (inside / "sheet.html").symlink_to(outside / "other.html")
    code, out, err = cli(BAR, "-o", str(inside / "sheet.html"), "--force")
    assert (code, out) == (2, "")
    assert "link" in err
    assert [p.read_text(encoding="utf-8") for p in outside.iterdir()] == ["theirs"] * there
    assert (inside / "sheet.html").is_symlink()


def test_a_link_to_the_folder_itself_is_the_users_own_way(cli, tmp_path):
    (tmp_path / "real").mkdir()
    (tmp_path / "short").symlink_to(tmp_path / "real")
    assert cli(BAR, "-o", "short/sheet.html")[0] == 0
    assert (tmp_path / "real" / "sheet.html").is_file()


@pytest.mark.parametrize(
    ("output", "word"),
    [
        ("sheet.pdf", ".html"),
        ("sheet", "ending"),
        ("nowhere/sheet.html", "no such folder"),
        (".", "folder"),
        ("", "no name"),
    ],
)
def test_a_place_that_cannot_be_written_is_refused_at_once(cli, tmp_path, output, word):
    code, out, err = cli(BAR, "-o", output)
    assert (code, out) == (2, "")
    assert word in err
    assert list(tmp_path.iterdir()) == []


def test_the_place_must_be_named(cli):
    code, out, err = cli(BAR)
    assert (code, out) == (2, "")
    assert "--output" in err


@pytest.mark.parametrize(
    "arguments",
    [
        ["no-such-job.toml", "-o", "sheet.html"],
        [BAR, "--set", "press.force=3", "-o", "sheet.html"],
        [BAR, "--confidence", "70", "-o", "sheet.html"],
    ],
)
def test_a_wrong_line_leaves_nothing_behind(cli, tmp_path, arguments):
    code, out, err = cli(*arguments)
    assert (code, out) == (2, "")
    assert err
    assert list(tmp_path.iterdir()) == []


def test_a_full_disk_leaves_the_old_sheet(cli, tmp_path, monkeypatch):
    (tmp_path / "sheet.html").write_text("mine", encoding="utf-8")

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    code, out, err = cli(BAR, "-o", "sheet.html", "--force")
    assert (code, out) == (2, "")
    assert "No space left" in err
    assert [path.name for path in tmp_path.iterdir()] == ["sheet.html"]
    assert (tmp_path / "sheet.html").read_text(encoding="utf-8") == "mine"


def test_stopped_half_way_it_writes_nothing(cli, tmp_path, monkeypatch):
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(grids, "sheet_grid", stopped)
    assert cli(BAR, "-o", "sheet.html")[0] == 130
    assert list(tmp_path.iterdir()) == []
