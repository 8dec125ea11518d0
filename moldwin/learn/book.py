"""The book of trials beside the maker's jobs: add, read, take back; nothing is ever lost."""

from __future__ import annotations

import sqlite3
import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.text_files import printable
from moldwin.learn.book_file import damaged, reading, there_is, writing
from moldwin.learn.job_then import JobThen
from moldwin.learn.trials import COLUMNS, Trial, now, written_value

__all__ = ["BOOK", "Added", "add_trials", "book_beside", "read_trials", "undo_last"]

#: Name of the book beside the jobs.
BOOK = "trials.sqlite"

_FACTS = ("id", "added", "undone", "job", "job_id", *COLUMNS)
_ROW = ("number", "check_sum", *_FACTS)
_READ = f"SELECT {', '.join(_ROW)} FROM trial ORDER BY number"
_WRITE = f"INSERT INTO trial ({', '.join(_ROW)}) VALUES ({', '.join('?' * len(_ROW))})"
_YES_NO = tuple(name for name, key in COLUMNS.items() if key.kind == "boolean")
_MOST_NAMED = 5


@dataclass(frozen=True)
class Added:
    """What became of trials that were handed in.

    Parameters
    ----------
    trials : tuple of Trial
        Those kept now, with their numbers. [-]
    known : tuple of Trial
        Those the book had already, as it has them. [-]
    """

    trials: tuple[Trial, ...]
    known: tuple[Trial, ...]


def book_beside(job: str | Path | None) -> Path:
    """Where the trials of a job are kept.

    Parameters
    ----------
    job : str, pathlib.Path or None
        The job file; None for the current folder. [-]

    Returns
    -------
    pathlib.Path
        The book; it need not be there yet.

    Examples
    --------
    >>> book_beside("kelp/labels.toml").as_posix()
    'kelp/trials.sqlite'
    """
    return Path(BOOK) if job is None else Path(job).parent / BOOK


def read_trials(
    book: str | Path,
    *,
    materials: Sequence[tuple[str, str]] | None = None,
    card: str | None = None,
    lot: str | None = None,
    undone: bool = False,
    must_exist: bool = False,
) -> list[Trial]:
    """The trials in a book, the oldest first.

    Parameters
    ----------
    book : str or pathlib.Path
        The file; one that is not there holds no trials. [-]
    materials : sequence of tuple of str, optional
        Only trials of exactly these cards and lots, as `Trial.materials` has them. [-]
    card : str, optional
        Only trials with this card in them. [-]
    lot : str, optional
        With ``card``: only with this lot of it; empty for material without a lot. [-]
    undone : bool
        Those taken back too. [-]
    must_exist : bool
        Whether a file that is not there is an error. [-]

    Returns
    -------
    list of Trial
        In the order they were added.

    Raises
    ------
    InputError
        The file is no book, or locked, damaged, or newer than this moldwin.

    Notes
    -----
    The file is never changed by reading, except that a write which was killed is rolled back.
    """
    if not there_is(book) and not must_exist:
        return []
    with reading(book) as connection:
        trials = _all(book, connection)
    wanted = None if materials is None else tuple(sorted(materials))
    return [
        trial
        for trial in trials
        if (undone or not trial.undone)
        and (wanted is None or trial.materials == wanted)
        and (card is None or _holds(trial, card, lot))
    ]


def add_trials(book: str | Path, trials: Iterable[Trial]) -> Added:
    """Keep trials: all of them or, on any error, none.

    Parameters
    ----------
    book : str or pathlib.Path
        The file; made where it is not there. [-]
    trials : iterable of Trial
        Numbers are given by the book. A trial whose id it has already is not added again. [-]

    Returns
    -------
    Added
        Once it returns, they are on the disk.

    Raises
    ------
    InputError
        The file is no book, or cannot be written, or has a trial of that id with other facts.
    """
    with writing(book) as connection:
        kept = _all(book, connection)
        before = {trial.id: trial for trial in kept}
        number = kept[-1].number or 0 if kept else 0
        added, known = [], []
        for trial in trials:
            old = before.get(trial.id)
            if old is None:
                number += 1
                before[trial.id] = new = replace(trial, number=number)
                _insert(connection, new)
                added.append(new)
            else:
                _refuse_other_facts(book, trial, old)
                known.append(old)
    return Added(tuple(added), tuple(known))


def undo_last(book: str | Path) -> Trial:
    """Strike out the trial added last; it stays in the file and counts no longer.

    Parameters
    ----------
    book : str or pathlib.Path
        The file. [-]

    Returns
    -------
    Trial
        The one taken back.

    Raises
    ------
    InputError
        No trial is left to take back, or the file cannot be read or written.
    """
    if not there_is(book):
        message = "there is no such file, so no trial to take back"
        raise InputError([Fault(printable(book, 200), "", message)])
    with writing(book) as connection:
        live = [trial for trial in _all(book, connection) if not trial.undone]
        if not live:
            message = "holds no trial to take back"
            raise InputError([Fault(printable(book, 200), "", message)])
        last = replace(live[-1], undone=now())
        connection.execute(
            "UPDATE trial SET undone = ?, check_sum = ? WHERE number = ?",
            (last.undone, _check_sum(last), last.number),
        )
    return last


def _holds(trial: Trial, card: str, lot: str | None) -> bool:
    return any(c == card and (lot is None or own == lot) for c, own in trial.materials)


def _all(book: str | Path, connection: sqlite3.Connection) -> list[Trial]:
    """Every trial, each held against its check sum: a page may be damaged and look well formed."""
    jobs = {name: JobThen(text) for name, text in connection.execute("SELECT id, tables FROM job")}
    wrong = [name for name, then in jobs.items() if then.id != name]
    if wrong:
        raise damaged(book, f"job {printable(wrong[0])} is not what was kept")
    trials, spoiled = [], []
    for row in connection.execute(_READ):
        trial = _trial(row, jobs)
        if trial is None or _check_sum(trial) != row[1]:
            spoiled.append(f"{row[0]}")
        else:
            trials.append(trial)
    if spoiled:
        numbers = ", ".join(spoiled[:_MOST_NAMED]) + (" …" if len(spoiled) > _MOST_NAMED else "")
        raise damaged(book, f"trial {numbers} is not what was kept, or another program changed it")
    return trials


def _trial(row: Sequence[Any], jobs: Mapping[str, JobThen]) -> Trial | None:
    number, _, *values = row
    facts = dict(zip(_FACTS, values, strict=True))
    then = jobs.get(facts.pop("job_id"))
    for name in _YES_NO:
        if facts[name] is not None:
            facts[name] = bool(facts[name])
    return None if then is None else Trial(number=number, then=then, **facts)


def _insert(connection: sqlite3.Connection, trial: Trial) -> None:
    then = trial.then
    connection.execute("INSERT OR IGNORE INTO job VALUES (?, ?)", (then.id, then.text))
    own = (trial.number, _check_sum(trial))
    facts = (trial.id, trial.added, trial.undone, trial.job, then.id)
    connection.execute(_WRITE, (*own, *facts, *(getattr(trial, name) for name in COLUMNS)))


def _check_sum(trial: Trial) -> int:
    """Over all that was kept; columns left empty do not count, so that new ones may come."""
    own = (trial.number, trial.id, trial.added, trial.undone, trial.job, trial.then.id)
    return zlib.crc32(ascii((own, *trial.noted().items())).encode())


def _refuse_other_facts(book: str | Path, trial: Trial, old: Trial) -> None:
    names = trial.differing(old)
    if trial.id.startswith("h") and "then" in names:
        names.remove("then")  # the same row again, and the job's file has changed meanwhile
    if not names:
        return
    name = names[0]
    message = (
        f"trial {old.number} is kept there already with other facts: {_shown(old, name)} there, "
        f"{_shown(trial, name)} here; empty its id to add it as another trial"
    )
    raise InputError([Fault(printable(book, 200), "", message)])


def _shown(trial: Trial, name: str) -> str:
    if name == "then":
        return f"job_tables {trial.then.id}"
    return f"{name} {printable(written_value(getattr(trial, name))) or 'empty'}"
