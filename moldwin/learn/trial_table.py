"""Trials as a table for spreadsheets, out and in again to the last letter.

A cell of text that a spreadsheet would take for a formula (it starts with = + - @, a tab or a line
end) gets an apostrophe before it; one that starts with apostrophes and then such a sign gets one
more. Reading takes one away from exactly these, so that nothing else ever changes: ``'tis brown``
stays as it is, and so does a formula that somebody typed by hand.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from moldwin.inputs.errors import CardError, Fault, InputError, nearest
from moldwin.inputs.job import Job
from moldwin.inputs.job_values import SlipError
from moldwin.inputs.read_job import read_job
from moldwin.inputs.text_files import printable, read_text
from moldwin.learn.job_then import JobThen, job_then, path_from
from moldwin.learn.trials import COLUMNS, Trial, contradictions, now, read_value, written_value

__all__ = ["TABLE", "read_trial_table", "trial_table"]

#: Columns of an exported table. Not one of them need be in a table that is read, but what is there
#: must be one of these.
TABLE = ("job", *COLUMNS, "id", "added", "undone", "job_tables")

_OWN_COLUMNS = tuple(name for name in TABLE if name not in COLUMNS)
_TEXTS = (*_OWN_COLUMNS, *(name for name, key in COLUMNS.items() if key.kind == "text"))
_FORMULA = re.compile(r"'*[=+\-@\t\r\n＝＋－＠]")
#: t: drawn at random when it was kept; h: made from what the row says.
_ID = re.compile(r"[th][0-9a-f]{32}")
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", re.ASCII)

#: Written before the table by some spreadsheets, for others.
_HINT = re.compile(r"\s*\"?sep=[;,\t]\"?\r?\n", re.IGNORECASE)

_MOST_FAULTS = 50
#: Tens of thousands of trials, each with its job. [bytes]
_MOST_BYTES = 100_000_000


def trial_table(trials: Iterable[Trial]) -> str:
    """The table of trials: CSV, commas, decimal points, no byte order mark.

    Parameters
    ----------
    trials : iterable of Trial
        In the order of the rows. [-]

    Returns
    -------
    str
        Lines end as RFC 4180 has it, so that both kinds of line end inside a note are quoted.
    """
    memory = io.StringIO(newline="")
    table = csv.writer(memory, lineterminator="\r\n")
    table.writerow(TABLE)
    table.writerows([_cell(trial, name) for name in TABLE] for trial in trials)
    return memory.getvalue()


def read_trial_table(
    path: str | Path, job: str | Path | None, folder: Path, sets: Sequence[str] = ()
) -> list[Trial]:
    """Trials from a table: all of them or, where anything is wrong, none.

    Parameters
    ----------
    path : str or pathlib.Path
        A CSV with any of the columns `TABLE`; commas, or semicolons or tabs and then decimal
        commas are fine. [-]
    job : str, pathlib.Path or None
        The job of rows that name none. [-]
    folder : pathlib.Path
        The book's. [-]
    sets : sequence of str
        What-ifs for that job, each ``KEY=VALUE``. [-]

    Returns
    -------
    list of Trial
        In the order of the rows, without numbers.

    Raises
    ------
    InputError
        Everything wrong, by row as a spreadsheet counts them, the first line being row 1.

    Notes
    -----
    A row without an id gets one from what it says, so that the same table read twice gives the
    same trials; a row that repeats another word for word is another trial.
    """
    reader = _Table(path, job, folder, sets)
    trials = reader.trials()
    if reader.faults:
        raise InputError(reader.faults)
    return trials


def _cell(trial: Trial, name: str) -> str:
    value = trial.then.text if name == "job_tables" else getattr(trial, name)
    text = written_value(value)
    return "'" + text if name in _TEXTS and _FORMULA.match(text) else text


def _bare(text: str) -> str:
    """A cell of text without the apostrophe that kept a spreadsheet from running it."""
    return text[1:] if text.startswith("'") and _FORMULA.match(text) else text


class _Enough(Exception):
    """Enough faults for one reading."""


class _Table:
    """Reads the rows and collects every fault on the way."""

    def __init__(
        self, path: str | Path, job: str | Path | None, folder: Path, sets: Sequence[str]
    ) -> None:
        self.file = printable(path, 200)
        self.faults: list[Fault] = []
        self._path, self._job, self._folder, self._sets = Path(path), job, folder, sets
        self._jobs: dict[tuple[str, str], tuple[str, JobThen] | None] = {}
        self._read_jobs: dict[str, Job | None] = {}
        self._tables: dict[str, JobThen] = {}
        self._seen: Counter[str] = Counter()
        self._rows_of_ids: dict[str, int] = {}
        self._now = now()

    def trials(self) -> list[Trial]:
        """What could be read; not to be used when there are faults."""
        text = _text_of(self._path)
        try:
            found = [self._trial(row, cells) for row, cells in self._rows(text)]
        except _Enough:
            return []
        if not found and not self.faults:
            self._fault("", "holds no trial")
        return [trial for trial in found if trial is not None]

    def _fault(self, key: str, message: str, row: int | None = None) -> None:
        file = self.file if row is None else f"{self.file}, row {row}"
        self.faults.append(Fault(file, key, message))
        if len(self.faults) >= _MOST_FAULTS:
            self.faults.append(Fault(self.file, "", "and more; mend these first"))
            raise _Enough

    # ----------------------------------------------------------------------- rows

    def _rows(self, text: str) -> Iterator[tuple[int, dict[str, str]]]:
        """Rows that hold anything, each with its number and its cells by column."""
        text, skipped = _without_hint(text)
        first = text.lstrip("\r\n").partition("\n")[0]
        mark = next((m for m in ";\t" if m in first and "," not in first), ",")
        self._decimal_comma = mark != ","
        # blanks after the commas are a habit of hands: an exported table has none, and is exact
        by_hand = f"{mark} " in first
        lines = csv.reader(
            io.StringIO(text, newline=""),
            delimiter=mark,
            skipinitialspace=by_hand,
            strict=True,  # else a quotation mark left open would make one note of all rows below
        )
        names: list[str] = []
        before = csv.field_size_limit(_MOST_BYTES)  # a job may be longer than a cell commonly is
        try:
            for row, cells in enumerate(lines, start=1 + skipped):
                if not any(cell.strip() for cell in cells):
                    continue
                if not names:
                    names = self._names(_without_empty_end(cells), row)
                elif len(_without_empty_end(cells)) > len(names):
                    more = "" if self._decimal_comma else "; a decimal comma? Write a point"
                    self._fault("", f"has more cells than the first row has names{more}", row)
                else:
                    yield row, dict(zip(names, cells, strict=False))
        except csv.Error as error:
            self._fault("", _no_table(error), lines.line_num + skipped)
        finally:
            csv.field_size_limit(before)
        if not names:
            self._fault("", f"is empty; the first row names columns: {', '.join(COLUMNS)}")

    def _names(self, cells: list[str], row: int) -> list[str]:
        names = [cell.strip() for cell in cells]
        for name in dict.fromkeys(names):
            if name not in TABLE:
                allowed = nearest(name, TABLE) or f"; allowed: {', '.join(TABLE)}"
                self._fault(printable(name) or "a column", f"is no column of trials{allowed}", row)
            elif names.count(name) > 1:
                self._fault(name, "column stands there twice; keep one", row)
        if self.faults:
            raise _Enough
        return names

    # ---------------------------------------------------------------------- a row

    def _trial(self, row: int, cells: dict[str, str]) -> Trial | None:
        before = len(self.faults)
        cells = {name: _bare(text) if name in _TEXTS else text for name, text in cells.items()}
        values: dict[str, Any] = {}
        for name in COLUMNS:
            try:
                text = cells.get(name, "")
                values[name] = read_value(name, text, decimal_comma=self._decimal_comma)
            except SlipError as slip:
                self._fault(name, str(slip), row)
        for name, message in contradictions(values):
            self._fault(name, message, row)
        moments = [self._moment(row, cells, name) for name in ("added", "undone")]
        job = self._job_of(row, cells)
        own = self._id(row, cells, values, "" if job is None else job[0])
        if job is None or len(self.faults) > before:
            return None
        added, undone = moments
        made = Trial(own, added or self._now, *job, undone=undone, **values)
        if made.empty and not cells.get("id", "").strip():  # an exported one comes back as it was
            self._fault(
                "", "says of no setting and of nothing seen; fill in one, or leave it out", row
            )
            return None
        return made

    def _moment(self, row: int, cells: dict[str, str], name: str) -> str:
        text = cells.get(name, "").strip()
        if text and not _MOMENT.fullmatch(text):
            message = f"got '{printable(text)}'; allowed: as exported, like 2026-03-01T18:30:00Z"
            self._fault(name, message, row)
        return text

    def _id(self, row: int, cells: dict[str, str], values: dict[str, Any], job: str) -> str:
        own = cells.get("id", "").strip()
        if not own:
            said = json.dumps(
                [job, sorted((k, v) for k, v in values.items() if v not in (None, ""))]
            )
            self._seen[said] += 1
            return "h" + hashlib.sha256(f"{self._seen[said]} {said}".encode()).hexdigest()[:32]
        if not _ID.fullmatch(own):
            message = f"got '{printable(own)}'; leave it as it was exported, or empty"
            self._fault("id", message, row)
        elif own in self._rows_of_ids:
            message = f"is that of row {self._rows_of_ids[own]} too; empty it for another trial"
            self._fault("id", message, row)
        self._rows_of_ids.setdefault(own, row)
        return own

    # ------------------------------------------------------------- the job behind it

    def _job_of(self, row: int, cells: dict[str, str]) -> tuple[str, JobThen] | None:
        """How the job is called and what it was; None where that is a fault."""
        name, tables = cells.get("job", ""), cells.get("job_tables", "")
        try:
            if tables:
                if tables not in self._tables:
                    self._tables[tables] = JobThen.read(tables)
                return name, self._tables[tables]
        except SlipError as slip:
            self._fault("job_tables", str(slip), row)
            return None
        if not name and self._job is None:
            self._fault("job", "is empty, and no job is named on the command line", row)
            return None
        lot = cells.get("lot", "")
        if (name, lot) not in self._jobs:
            self._jobs[name, lot] = self._new_job(row, name, lot)
        return self._jobs[name, lot]

    def _new_job(self, row: int, name: str, lot: str) -> tuple[str, JobThen] | None:
        job = self._read_job(row, name)
        if job is None or job.path is None:
            return None
        try:
            return path_from(self._folder, job.path), job_then(job, self._folder, lot)
        except SlipError as slip:
            self._fault("lot", str(slip), row)
            return None

    def _read_job(self, row: int, name: str) -> Job | None:
        """A job named in a row lies where the table says, seen from the table's folder."""
        if name in self._read_jobs:
            return self._read_jobs[name]
        self._read_jobs[name] = None
        try:
            if name:
                self._read_jobs[name] = read_job(self._path.parent / name)
            else:
                self._read_jobs[name] = read_job(self._job, self._sets)
        except CardError:
            raise
        except InputError as error:
            for fault in error.faults:
                self._fault("job", str(fault), row if name else None)
        return self._read_jobs[name]


def _without_hint(text: str) -> tuple[str, int]:
    """A table without the line that tells some spreadsheets its separator, and how many it was."""
    hint = _HINT.match(text)
    return (text[hint.end() :], 1) if hint else (text, 0)


def _without_empty_end(cells: list[str]) -> list[str]:
    """Cells without the empty ones that spreadsheets put behind them."""
    end = len(cells)
    while end and not cells[end - 1].strip():
        end -= 1
    return cells[:end]


def _no_table(error: csv.Error) -> str:
    if "unexpected end" in str(error):
        return "is not a readable table: a quotation mark is opened somewhere and never closed"
    if "expected after" in str(error):
        return (
            "is not a readable table: a quotation mark inside a cell; write it twice, and one "
            "before and one behind the whole cell"
        )
    return f"is not a readable table: {error}"


def _text_of(path: Path) -> str:
    """The text of a table, which may be longer than a job, with a word for other kinds of file."""
    try:
        return read_text(path, _MOST_BYTES)
    except InputError as error:
        if any("not a text file" in fault.message for fault in error.faults):
            message = "is not a text file; save the table as CSV (comma-separated)"
            raise InputError([Fault(printable(path, 200), "", message)]) from None
        raise
