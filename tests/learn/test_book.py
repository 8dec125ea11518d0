"""A book of trials: what is kept is read back; whatever is wrong is said and nothing is touched."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import threading
from dataclasses import replace
from pathlib import Path

import pytest

from moldwin.inputs.errors import InputError
from moldwin.learn import book_file, book_layout
from moldwin.learn.book import add_trials, book_beside, read_trials, undo_last
from tests.learn.sample import FULL, THEN, then_of, trial
from tests.learn.saying import ACTS, adding, says

ROOT = Path(__file__).resolve().parent.parent.parent


# ----------------------------------------------------------------------- kept and read


def test_every_fact_is_read_back_to_the_last_digit_and_letter(tmp_path):
    path = tmp_path / "trials.sqlite"
    given = [trial(**FULL), trial()]
    added = add_trials(path, given)
    assert [t.number for t in added.trials] == [1, 2]
    assert read_trials(path) == [replace(t, number=n) for n, t in enumerate(given, start=1)]
    assert read_trials(path)[0].then.tables == THEN.tables
    assert os.listdir(tmp_path) == ["trials.sqlite"]  # one file is all there is to copy


def test_what_nobody_noted_is_nothing_and_not_no_or_zero(tmp_path):
    path = tmp_path / "trials.sqlite"
    add_trials(path, [trial(), trial(filled=False, part_g=0.0)])
    empty, said = read_trials(path)
    assert empty.noted() == {}
    assert said.noted() == {"filled": False, "part_g": 0.0}


def test_no_book_holds_no_trials_unless_it_was_named(tmp_path):
    assert read_trials(tmp_path / "trials.sqlite") == []
    assert os.listdir(tmp_path) == []
    with pytest.raises(InputError, match="no such file"):
        read_trials(tmp_path / "trials.sqlite", must_exist=True)


def test_reading_leaves_the_file_byte_for_byte(book):
    before = book.read_bytes()
    read_trials(book)
    assert book.read_bytes() == before


def test_undo_strikes_out_the_last_one_that_counts_and_keeps_it(book):
    assert [undo_last(book).number for _ in range(2)] == [3, 2]
    assert [t.number for t in read_trials(book)] == [1]
    every = read_trials(book, undone=True)
    assert [bool(t.undone) for t in every] == [False, True, True]
    assert adding(book).trials[0].number == 4
    assert undo_last(book).number == 4
    undo_last(book)
    assert "no trial to take back" in says(book, undo_last)


def test_trials_by_material_and_lot(tmp_path):
    path = tmp_path / "trials.sqlite"
    may = then_of(("kelp", "may"), ("starch", ""))
    june = then_of(("kelp", "june"), ("starch", ""))
    add_trials(path, [trial(then=then) for then in (may, june, THEN, may)])

    def numbers(**wanted: object) -> list[int | None]:
        return [t.number for t in read_trials(path, **wanted)]

    assert numbers(materials=[("starch", ""), ("kelp", "may")]) == [1, 4]
    assert numbers(materials=[("starch", "")]) == []
    assert numbers(card="kelp") == [1, 2, 4]
    assert numbers(card="kelp", lot="june") == [2]
    assert numbers(card="kelp", lot="") == []
    assert numbers(card="starch", lot="") == [1, 2, 4]


def test_a_trial_that_is_there_already_is_not_added_again(book):
    one, new = read_trials(book)[0], trial()
    added = add_trials(book, [one, new, new])
    assert [t.number for t in added.trials] == [4]
    assert [t.number for t in added.known] == [1, 4]
    assert len(read_trials(book)) == 4


def test_other_facts_under_a_known_id_are_refused_and_nothing_else_is_kept(book):
    one = replace(read_trials(book)[0], barrel_c=131.0)
    said = says(book, lambda path: add_trials(path, [trial(), one]))
    assert "trial 1 is kept there already" in said
    assert "barrel_c 130 there, barrel_c 131 here" in said


def test_a_trial_taken_back_stays_so_when_its_export_comes_in_again(book):
    last = read_trials(book)[-1]
    undo_last(book)
    assert add_trials(book, [last]).trials == ()
    assert [t.number for t in read_trials(book)] == [1, 2]


def test_an_error_between_two_trials_keeps_neither(tmp_path):
    path = tmp_path / "trials.sqlite"

    def failing():
        yield trial()
        raise RuntimeError("the table ends here")

    with pytest.raises(RuntimeError):
        add_trials(path, failing())
    assert read_trials(path) == []


def test_the_book_lies_beside_the_job():
    assert book_beside(None) == Path("trials.sqlite")
    assert book_beside("jobs/kelp.toml") == Path("jobs/trials.sqlite")


# ----------------------------------------------------------------- two at the same time


def test_threads_share_a_book(tmp_path):
    path = tmp_path / "trials.sqlite"
    threads = [threading.Thread(target=lambda: [adding(path) for _ in range(5)]) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [t.number for t in read_trials(path)] == list(range(1, 21))


def test_processes_share_a_book_from_its_making_on(tmp_path):
    code = (
        "import sys\nfrom moldwin.learn.book import add_trials\n"
        "from tests.learn.sample import trial\n"
        "for _ in range(10): add_trials(sys.argv[1], [trial()])\n"
    )
    path = tmp_path / "trials.sqlite"
    started = [
        subprocess.Popen([sys.executable, "-c", code, str(path)], cwd=ROOT) for _ in range(4)
    ]
    assert [process.wait() for process in started] == [0] * 4
    assert [t.number for t in read_trials(path)] == list(range(1, 41))


@ACTS
def test_a_locked_file_is_waited_for_and_then_left_alone(book, monkeypatch, act):
    monkeypatch.setattr(book_file, "PATIENCE_S", 0.05)
    other = sqlite3.connect(book, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    try:
        assert "held by another program" in says(book, act)
    finally:
        other.close()
    act(book)


# ------------------------------------------------------------------ versions of the file

#: What a later moldwin might add.
LATER = (("ALTER TABLE trial ADD COLUMN smell TEXT",),)


def test_an_older_file_is_read_without_change_and_upgraded_when_written(book, monkeypatch):
    kept, before = read_trials(book), book.read_bytes()
    monkeypatch.setattr(book_layout, "STEPS", book_layout.STEPS + LATER)
    assert read_trials(book) == kept
    assert book.read_bytes() == before
    adding(book)
    assert read_trials(book)[:3] == kept
    with sqlite3.connect(book) as raw:
        assert raw.execute("SELECT smell FROM trial").fetchall() == [(None,)] * 4
        assert raw.execute("PRAGMA user_version").fetchone() == (3,)
    raw.close()


def test_a_book_of_the_first_layout_opens_and_takes_what_it_had_no_room_for(tmp_path):
    """The first layout had no columns for warped and lumps."""
    path = tmp_path / "first.sqlite"
    known = {name: value for name, value in FULL.items() if name not in ("warped", "lumps")}
    add_trials(path, [trial(**known), trial(barrel_c=130.0)])
    kept = read_trials(path)
    with sqlite3.connect(path) as raw:
        for column in ("warped", "lumps"):
            raw.execute(f"ALTER TABLE trial DROP COLUMN {column}")
        raw.execute("PRAGMA user_version = 1")
    raw.close()
    assert read_trials(path) == kept
    add_trials(path, [trial(warped=True, lumps=False)])
    assert read_trials(path)[:2] == kept
    assert read_trials(path)[2].noted() == {"warped": True, "lumps": False}


@ACTS
def test_a_newer_file_is_left_alone(book, monkeypatch, act):
    with monkeypatch.context() as later:
        later.setattr(book_layout, "STEPS", book_layout.STEPS + LATER)
        adding(book)
    said = says(book, act)
    assert "written by a newer moldwin (layout 3, this one knows 2)" in said


def test_an_upgrade_that_fails_leaves_the_old_file(book, monkeypatch):
    broken = (("ALTER TABLE trial ADD COLUMN smell TEXT", "ALTER TABLE nothing ADD COLUMN x"),)
    monkeypatch.setattr(book_layout, "STEPS", book_layout.STEPS + broken)
    says(book, adding)
    monkeypatch.undo()
    assert len(read_trials(book)) == 3
