"""A file the user asks for is written whole or not at all, and never over another by accident."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from moldwin.inputs.errors import InputError
from moldwin.inputs.whole_file import checked_target, write_whole

ENDINGS = (".png", ".svg")


def refused(path: object, **options: bool) -> str:
    with pytest.raises(InputError) as caught:
        checked_target(str(path), ENDINGS, **options)
    assert caught.value.exit_code == 2
    return str(caught.value)


def test_written_whole_and_nothing_beside_it(tmp_path):
    target = checked_target(str(tmp_path / "map.png"), ENDINGS)
    write_whole(target, b"all of it")
    assert target.read_bytes() == b"all of it"
    assert os.listdir(tmp_path) == ["map.png"]


@pytest.mark.skipif(os.name != "posix", reason="needs the permissions of a POSIX system")
def test_others_may_read_it_as_they_may_any_new_file(tmp_path):
    (tmp_path / "plain").write_bytes(b"")
    write_whole(checked_target(str(tmp_path / "map.png"), ENDINGS), b"x")
    plain, made = (stat.S_IMODE(os.stat(tmp_path / n).st_mode) for n in ("plain", "map.png"))
    assert made == plain


@pytest.mark.parametrize("name", ["map.PNG", "map.Svg", "two.dots.svg", "räksmörgås.png"])
def test_endings_in_any_case(tmp_path, name):
    assert checked_target(str(tmp_path / name), ENDINGS).name == name


@pytest.mark.parametrize("name", ["map.gif", "map.pdf", "map", "map.", ".png", "map.png.txt"])
def test_another_ending_is_refused_with_those_allowed(tmp_path, name):
    assert "allowed: .png, .svg" in refused(tmp_path / name)


def test_a_folder_is_refused(tmp_path):
    (tmp_path / "map.png").mkdir()
    assert "is a folder" in refused(tmp_path)
    assert "is a folder" in refused(tmp_path / "map.png", force=True)


def test_a_missing_folder_is_refused(tmp_path):
    assert "no such folder" in refused(tmp_path / "nowhere" / "map.png")


@pytest.mark.parametrize("name", ["", " ", "\0.png"])
def test_no_name_is_refused(name):
    assert "no name for a file" in refused(name)


def test_a_file_that_is_there_is_kept_without_force(tmp_path):
    path = tmp_path / "map.png"
    path.write_bytes(b"old")
    assert "--force" in refused(path)
    assert path.read_bytes() == b"old"
    write_whole(checked_target(str(path), ENDINGS, force=True), b"new")
    assert path.read_bytes() == b"new"


def test_a_link_out_of_its_folder_is_refused(tmp_path):
    (tmp_path / "elsewhere").mkdir()
    link = tmp_path / "map.png"
    try:
        link.symlink_to(tmp_path / "elsewhere" / "real.png")
    except OSError:
        pytest.skip("this system makes no links")
    for force in (False, True):
        with pytest.raises(InputError, match="leads out of its folder"):
            checked_target(str(link), ENDINGS, force=force)
    assert not (tmp_path / "elsewhere" / "real.png").exists()


def test_a_link_within_its_folder_is_followed(tmp_path):
    real, link = tmp_path / "real.png", tmp_path / "map.png"
    real.write_bytes(b"old")
    try:
        link.symlink_to(real)
    except OSError:
        pytest.skip("this system makes no links")
    assert "--force" in refused(link)
    write_whole(checked_target(str(link), ENDINGS, force=True), b"new")
    assert link.is_symlink()
    assert real.read_bytes() == b"new"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_a_pipe_is_refused_even_with_force(tmp_path):
    os.mkfifo(tmp_path / "map.png")
    assert "device or a pipe" in refused(tmp_path / "map.png", force=True)


@pytest.mark.skipif(os.name != "posix", reason="needs the permissions of a POSIX system")
def test_a_read_only_folder_is_refused(tmp_path, monkeypatch):
    # the answer of the system is put in its mouth: as root every folder can be written
    monkeypatch.setattr(os, "access", lambda *_, **__: False)
    assert "read-only" in refused(tmp_path / "map.png")


@pytest.mark.parametrize("trouble", [PermissionError(13, "Permission denied"), KeyboardInterrupt()])
def test_trouble_while_writing_leaves_nothing_behind(tmp_path, monkeypatch, trouble):
    target = checked_target(str(tmp_path / "map.png"), ENDINGS)

    def broken(*_: object) -> None:
        raise trouble

    monkeypatch.setattr(os, "replace", broken)
    with pytest.raises((InputError, KeyboardInterrupt)) as caught:
        write_whole(target, b"half")
    if isinstance(caught.value, InputError):
        assert "cannot be written: Permission denied" in str(caught.value)
    assert os.listdir(tmp_path) == []


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_disk_is_told(tmp_path, monkeypatch):
    target = checked_target(str(tmp_path / "map.png"), ENDINGS)
    whole = open
    monkeypatch.setattr("builtins.open", lambda *_, **__: whole("/dev/full", "wb", buffering=0))
    with pytest.raises(InputError, match="cannot be written: No space"):
        write_whole(target, b"x" * 10)
    assert os.listdir(tmp_path) == []
