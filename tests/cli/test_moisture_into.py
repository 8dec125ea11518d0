"""``moldwin moisture --into``: the job takes up two numbers, and every other byte stays."""

from __future__ import annotations

import os
import stat
import tomllib

import pytest

from moldwin.inputs.read_job import check_job, read_job
from tests.cli.moisture_calls import (
    HEAD,
    NO_GLYCEROL,
    TYPED,
    caller,
    read,
    table,
    with_weighings,
)
from tests.jobs import BAR, EXAMPLES

HOT = ["--oven-c", "130", "--minutes", "90", "--dish-area-cm2", "20"]


@pytest.fixture
def cli(capsys):
    return caller(capsys)


@pytest.fixture
def answer(cli):
    return lambda *arguments: read(cli, *arguments)


@pytest.fixture
def job(tmp_path):
    """A copy of a bundled job."""
    path = tmp_path / "job.toml"
    path.write_bytes(BAR.read_bytes())
    return path


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_only_the_two_keys_change_in_a_job(answer, tmp_path, example):
    path = tmp_path / example.name
    path.write_bytes(example.read_bytes())
    found = answer(*TYPED, "--into", path, *NO_GLYCEROL)
    before, after = (tomllib.loads(p.read_text(encoding="utf-8")) for p in (example, path))
    now = found["written"]["now"]
    assert after["pellets"].pop("moisture_pct") == now["moisture_pct"] == 10.0
    assert after["pellets"].pop("moisture_u_pct") == now["moisture_u_pct"]
    assert found["written"]["before"] == {
        key: before["pellets"].pop(key) for key in ("moisture_pct", "moisture_u_pct")
    }
    assert after == before
    old, new = (p.read_bytes().splitlines() for p in (example, path))
    assert len(old) == len(new)
    for line, other in zip(new, old, strict=True):
        if line != other:
            assert line.startswith(b"moisture_")
            assert line.split(b" ", 3)[3:] == other.split(b" ", 3)[3:]  # comment and its place
    assert check_job(path) == []
    assert sorted(os.listdir(tmp_path)) == [example.name]


def test_the_answer_with_the_job_it_goes_into(cli, job):
    code, page, _ = cli(*TYPED, *HOT, "--into", job)
    assert code == 0
    assert "WRITTEN into" in page
    assert "(was 10.0)" in page
    read = read_job(job)
    assert 0.07 < read.pellets.moisture < 0.095  # the job's own glycerol is off
    assert read.pellets.moisture_u > 0.005


def test_a_job_without_a_moisture_gets_one(answer, job):
    lines = job.read_text(encoding="utf-8").splitlines(keepends=True)
    start = lines.index("[pellets]\n")
    kept = [ln for ln in lines[start:] if not ln.startswith("moisture_")]
    job.write_text("".join(lines[:start] + kept), encoding="utf-8")
    assert [fault.key for fault in check_job(job)] == ["pellets.moisture_pct"]
    answer(*TYPED, "--into", job, *NO_GLYCEROL)
    assert read_job(job).pellets.moisture == pytest.approx(0.1)


def test_line_ends_byte_order_mark_and_mode_stay(answer, job):
    crlf = b"\xef\xbb\xbf" + job.read_bytes().replace(b"\n", b"\r\n")
    job.write_bytes(crlf)
    job.chmod(0o640)
    answer(*TYPED, "--into", job)
    after = job.read_bytes()
    assert after.startswith(b"\xef\xbb\xbf")
    assert after.count(b"\n") == after.count(b"\r\n") == crlf.count(b"\r\n")
    assert stat.S_IMODE(job.stat().st_mode) == 0o640


def test_a_link_stays_a_link_and_its_job_is_written(answer, tmp_path, job):
    link = tmp_path / "link.toml"
    link.symlink_to("job.toml")
    answer(*TYPED, "--into", link, *NO_GLYCEROL)
    assert link.is_symlink()
    assert read_job(job).pellets.moisture == pytest.approx(0.1)


def test_weighings_in_the_job_give_way_only_when_forced(cli, tmp_path, job):
    table(tmp_path, HEAD + "a,0,20.000,25.000\na,90,20.000,24.400\n")
    with_weighings(job)
    before = job.read_bytes()
    code, out, err = cli(*TYPED, "--into", job)
    assert (code, out) == (2, "")
    assert "--force" in err
    assert job.read_bytes() == before
    code, page, _ = cli(*TYPED, "--into", job, "--force", *NO_GLYCEROL)
    assert code == 0
    assert "is a comment now" in page
    assert '# weighings = "w.csv"   # of May\n' in job.read_text(encoding="utf-8")
    assert read_job(job).pellets.moisture == pytest.approx(0.1)


def test_a_read_only_job_stays_as_it_is(cli, job):
    before = job.read_bytes()
    job.chmod(0o444)
    code, out, err = cli(*TYPED, "--into", job)
    assert (code, out) == (2, "")
    assert "read-only" in err
    assert job.read_bytes() == before


def test_links_in_a_circle_are_refused(cli, tmp_path):
    (tmp_path / "a.toml").symlink_to("b.toml")
    (tmp_path / "b.toml").symlink_to("a.toml")
    code, out, err = cli(*TYPED, "--into", tmp_path / "a.toml")
    assert (code, out) == (2, "")
    assert "symbolic links" in err


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty"),
        ('[project]\nname = "x"\n', "is not a section of a job"),
        ('title = "only a title"\n', "ingredient"),
    ],
)
def test_a_file_that_is_no_job_is_not_written(cli, tmp_path, text, said):
    path = tmp_path / "pyproject.toml"
    path.write_text(text)
    code, out, err = cli(*TYPED, "--into", path)
    assert (code, out) == (2, "")
    assert said in err
    assert path.read_text() == text


def test_a_moisture_that_no_job_takes_is_not_written(cli, job):
    before = job.read_bytes()
    wet = ["--dish-g", "20", "--wet-g", "30", "--dry-g", "22"]
    code, out, err = cli(*wet, "--into", job, *NO_GLYCEROL)
    assert (code, out) == (2, "")
    assert "up to 60" in err
    assert job.read_bytes() == before


def test_when_the_disk_fails_the_job_is_whole_and_nothing_is_left_behind(cli, job, monkeypatch):
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    before = job.read_bytes()
    monkeypatch.setattr(os, "replace", full)
    code, out, err = cli(*TYPED, "--into", job)
    assert (code, out) == (2, "")
    assert "No space left" in err
    assert job.read_bytes() == before
    assert os.listdir(job.parent) == ["job.toml"]
