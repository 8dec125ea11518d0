"""Files that are no books, may not be written, are damaged, or lie on a full disk."""

from __future__ import annotations

import os
import random
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from moldwin.inputs.errors import InputError
from moldwin.learn.book import add_trials, read_trials, undo_last
from tests.learn.sample import trial
from tests.learn.saying import ACTS, adding, content, says

ROOT = Path(__file__).resolve().parent.parent.parent

# -------------------------------------------------------------- files that are no books


@ACTS
@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is an empty file"),
        (b"barrel_c,filled\n130,yes\n", "is no book of trials"),
        (b"SQLite format 3\0", "SQLite file of another program"),
        (bytes(range(256)) * 40, "is no book of trials"),
    ],
)
def test_another_kind_of_file(tmp_path, act, content, said):
    path = tmp_path / "trials.sqlite"
    path.write_bytes(content)
    assert said in says(path, act)


@ACTS
def test_a_foreign_database_is_not_even_opened(tmp_path, act):
    path = tmp_path / "trials.sqlite"
    raw = sqlite3.connect(path)
    with raw:
        raw.execute("CREATE TABLE trial (number INTEGER)")
    raw.close()
    assert "SQLite file of another program" in says(path, act)


@ACTS
def test_folders_links_and_names(tmp_path, book, act):
    assert "is a folder" in says(tmp_path, act)
    dead = tmp_path / "dead.sqlite"
    dead.symlink_to(tmp_path / "nowhere.sqlite")
    assert "is a link to a file that is not there" in says(dead, act)
    alias = tmp_path / "alias.sqlite"
    alias.symlink_to(book)
    act(alias)
    assert alias.is_symlink()
    assert len(read_trials(book, undone=True)) == len(read_trials(alias, undone=True)) >= 3


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs pipes with names")
@ACTS
def test_a_pipe_is_not_waited_on(tmp_path, act):
    path = tmp_path / "trials.sqlite"
    os.mkfifo(path)
    with pytest.raises(InputError, match="device or a pipe"):
        act(path)


def test_a_read_only_file_can_be_read_and_not_written(book):
    book.chmod(0o444)
    assert len(read_trials(book)) == 3
    assert "is read-only" in says(book, adding)


def test_a_read_only_folder_can_be_read_and_not_written(book, tmp_path):
    tmp_path.chmod(0o555)
    try:
        assert len(read_trials(book)) == 3
        assert "folder is read-only" in says(book, adding)
        assert "folder is read-only" in says(tmp_path / "new.sqlite", adding)
    finally:
        tmp_path.chmod(0o755)


@pytest.mark.parametrize("name", ["", " ", "a\0b"])
def test_no_name_at_all(name):
    assert "is no name for a file" in says(name, adding)


def test_nothing_is_taken_back_where_nothing_is(tmp_path):
    assert "no such file" in says(tmp_path / "trials.sqlite", undo_last)
    assert os.listdir(tmp_path) == []


def test_a_folder_that_is_not_there(tmp_path):
    assert "there is no such folder" in says(tmp_path / "no" / "trials.sqlite", adding)


# -------------------------------------------------------------------- damage and full disks


def test_a_changed_byte_is_noticed_or_changes_nothing(book):
    adding(book)
    undo_last(book)
    kept, whole = read_trials(book, undone=True), book.read_bytes()
    chance, noticed = random.Random(1), 0
    for _ in range(400):
        spoiled = bytearray(whole)
        place = chance.randrange(len(spoiled))
        spoiled[place] ^= 1 << chance.randrange(8)
        book.write_bytes(spoiled)
        try:
            assert read_trials(book, undone=True) == kept, place
        except InputError:
            noticed += 1
        assert book.read_bytes() == spoiled
    assert noticed > 20  # the rest of the file holds nothing yet


@ACTS
def test_a_spoiled_page_is_told_and_left_alone(book, act):
    spoiled = bytearray(book.read_bytes())
    for page in range(1, len(spoiled) // 4096):
        spoiled[page * 4096 : page * 4096 + 16] = b"\xff" * 16
    book.write_bytes(spoiled)
    told = says(book, act)
    assert "is damaged" in told
    assert "***" not in told


def test_a_file_cut_short_is_told(book):
    book.write_bytes(book.read_bytes()[:-4096])
    assert "is damaged" in says(book)


def test_a_value_that_another_program_changed_is_told_with_its_trial(book):
    raw = sqlite3.connect(book)
    with raw:
        raw.execute("UPDATE trial SET barrel_c = 135 WHERE number = 3")
    raw.close()
    assert "trial 3 is not what was kept" in says(book)


FILLING = """
import resource, sys
from moldwin.inputs.errors import InputError
from moldwin.learn.book import add_trials
from tests.learn.sample import trial
limit = int(sys.argv[2])
resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
try:
    add_trials(sys.argv[1], [trial(note="n" * 9000) for _ in range(30)])
except InputError as error:
    sys.exit(str(error))
"""


@pytest.mark.parametrize("room", [33_000, 20_000, 5000, 600])
@pytest.mark.parametrize("there", [True, False])
def test_a_full_disk(tmp_path, book, room, there):
    """The system's limit on a file's size: as near to a full disk as every machine allows."""
    pytest.importorskip("resource")
    path = book if there else tmp_path / "new" / "trials.sqlite"
    path.parent.mkdir(exist_ok=True)
    before = content(path), sorted(os.listdir(path.parent))
    done = subprocess.run(
        [sys.executable, "-c", FILLING, str(path), str(room)],
        cwd=ROOT,
        env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.startswith(f"{path}: the disk is full or does not take it")
    # with less room than the book has now, even putting back what was there waits for room
    assert len(read_trials(path)) == (3 if there else 0)
    if there or not path.exists():
        assert (content(path), sorted(os.listdir(path.parent))) == before


def test_a_book_at_its_largest(book, monkeypatch):
    """The same from inside: pages run out in the middle of the transaction."""
    connect = sqlite3.connect

    def small(*arguments: object, **options: object) -> sqlite3.Connection:
        connection = connect(*arguments, **options)
        connection.execute("PRAGMA max_page_count = 8")
        return connection

    monkeypatch.setattr(sqlite3, "connect", small)
    said = says(book, lambda path: add_trials(path, [trial(note="n" * 9000) for _ in range(30)]))
    assert "the disk is full" in said
