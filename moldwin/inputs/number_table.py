"""Tables of numbers as spreadsheets save them: what is wrong in them is told with its line."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from pathlib import Path

from moldwin.inputs.errors import Fault, InputError, nearest
from moldwin.inputs.text_files import printable, read_text

__all__ = ["FINEST", "NumberRow", "NumberTable", "read_number_table"]

#: Decimals of a gram taken for real: more come from a spreadsheet, not from a scale.
FINEST = 5

_MOST_ROWS = 500
_MOST_FAULTS = 50
_BIGGEST = 1e6
_UNITS = ("g", "kg", "mg", "%", "min", "h")


@dataclass(frozen=True)
class NumberRow:
    """One row.

    Parameters
    ----------
    line : int
        In the file, from 1. [-]
    words : dict of str to str
        Columns that hold names. [-]
    numbers : dict of str to float
        The others; a column that may be left empty and is, is missing. [as the column says]
    """

    line: int
    words: dict[str, str]
    numbers: dict[str, float]


@dataclass
class NumberTable:
    """The rows of a table, and what has been found wrong in it so far.

    Parameters
    ----------
    file : str
        As the user named it. [-]
    rows : list of NumberRow
        Those that could be read. [-]
    digits : dict of str to int
        Most decimals printed in a column. [-]
    faults : list of Fault
        Whoever reads on adds theirs. [-]
    """

    file: str
    rows: list[NumberRow] = field(default_factory=list)
    digits: dict[str, int] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def fault(self, key: str, message: str, line: int | None = None) -> None:
        """Note what is wrong."""
        self.faults.append(Fault(self.file, key, message, line))

    def refuse_faults(self) -> None:
        """Stop here if anything was wrong, with all of it."""
        if len(self.faults) > _MOST_FAULTS:
            more = Fault(self.file, "", "and more; mend these first")
            raise InputError([*self.faults[:_MOST_FAULTS], more])
        if self.faults:
            raise InputError(self.faults)

    def by(self, name: str) -> dict[str, list[NumberRow]]:
        """Rows with the same word in one column, in the order of the table."""
        found: dict[str, list[NumberRow]] = {}
        for row in self.rows:
            found.setdefault(row.words[name], []).append(row)
        return found

    def last_digit(self, *columns: str) -> float:
        """One step of the last digit anyone printed in these columns. [as the columns say]"""
        finest = max([0, *(self.digits.get(column, 0) for column in columns)])
        return 10.0 ** -min(finest, FINEST)


def read_number_table(
    path: str | Path,
    names: Sequence[str],
    numbers: Sequence[str],
    optional: Sequence[str] = (),
    *,
    most_rows: int = _MOST_ROWS,
) -> NumberTable:
    """A CSV with columns of names and columns of numbers from 0 up.

    Parameters
    ----------
    path : str or pathlib.Path
        The table. [-]
    names, numbers : sequence of str
        Columns that must be there. [-]
    optional : sequence of str
        Columns of numbers that may be missing or empty. [-]
    most_rows : int, optional
        More are refused. [-]

    Returns
    -------
    NumberTable
        Its rows; faults of single fields are in it, not raised. [-]

    Raises
    ------
    InputError
        No such file, no text, or a first line without the columns.

    Notes
    -----
    Columns may be parted by commas, or by semicolons or tabs; then a decimal comma is fine.
    """
    table = NumberTable(printable(path, 200))
    text = _text_of(path)
    asked = [*names, *numbers]
    if not text.strip():
        table.fault("", f"is empty; the first line is: {', '.join(asked)}")
        table.refuse_faults()
    first = text.lstrip("\r\n").partition("\n")[0]
    mark = next((m for m in ";\t" if m in first and "," not in first), ",")
    reader = csv.DictReader(io.StringIO(text, newline=""), skipinitialspace=True, delimiter=mark)
    found = [name.strip() for name in reader.fieldnames or []]
    reader.fieldnames = found
    _check_columns(table, found, asked)
    table.refuse_faults()
    try:
        for row in reader:
            fields = [v for value in row.values() for v in _listed(value)]
            if any(str(v or "").strip() for v in fields):
                _read_row(table, row, reader.line_num, names, numbers, optional, mark)
    except csv.Error as error:
        table.fault("", f"is not a readable table: {error}", reader.line_num)
    if len(table.rows) > most_rows:
        table.fault("", f"holds {len(table.rows)} rows, allowed are {most_rows}")
    return table


def _text_of(path: str | Path) -> str:
    """The text, with a better word for a spreadsheet's own file than for any other."""
    try:
        return read_text(path)
    except InputError as error:
        if any("not a text file" in fault.message for fault in error.faults):
            message = "is not a text file; save the table as CSV (comma-separated)"
            raise InputError([Fault(printable(path, 200), "", message)]) from None
        raise


def _check_columns(table: NumberTable, found: list[str], asked: list[str]) -> None:
    for column in asked:
        if column not in found:
            offer = nearest(column, found).replace("did you mean", "is it")
            if column == "dish_g" and not offer:
                offer = "; dish_g is 0 where the scale was tared with the dish"
            line = f"column is missing; the first line is: {', '.join(asked)}{offer}"
            table.fault(column, line, 1)
        elif found.count(column) > 1:
            table.fault(column, "column stands there twice; keep one", 1)


def _read_row(
    table: NumberTable,
    row: dict[str, str],
    line: int,
    names: Sequence[str],
    numbers: Sequence[str],
    optional: Sequence[str],
    mark: str,
) -> None:
    before = len(table.faults)
    if None in row:
        more = "; a decimal comma? Write a point" if mark == "," else ""
        table.fault("", f"has more fields than the first line has names{more}", line)
        return
    words = {name: str(row.get(name) or "").strip() for name in names}
    for name in (name for name in names if not words[name]):
        table.fault(name, f"is empty; give every row the name of its {name}", line)
    values: dict[str, float] = {}
    for column in [*numbers, *optional]:
        text = str(row.get(column) or "").strip()
        if not text and column in optional:
            continue
        if mark != "," and text.count(",") == 1 and "." not in text:
            text = text.replace(",", ".")
        value = _number(text)
        if value is None:
            table.fault(column, _no_number(text, column), line)
        elif not 0.0 <= value <= _BIGGEST:  # a NaN neither
            table.fault(column, f"got {printable(text)}; allowed: 0 to {_BIGGEST:.0f}", line)
        else:
            values[column] = value
            decimals = -int(Decimal(text).as_tuple().exponent)
            table.digits[column] = max(table.digits.get(column, 0), decimals)
    if len(table.faults) == before:
        table.rows.append(NumberRow(line, words, values))


def _listed(value: object) -> list[object]:
    return value if isinstance(value, list) else [value]


def _number(text: str) -> float | None:
    try:
        return float(Decimal(text))
    except (InvalidOperation, ValueError):
        return None


def _no_number(text: str, column: str) -> str:
    """What to say of a field that holds no number."""
    if not text and column == "dish_g":
        return "is empty; weigh the empty dish, or write 0 if the scale was tared with it"
    hint = "; use a point" if "," in text else ""
    if text and text.split()[-1].lstrip("0123456789.,") in _UNITS:
        hint = "; write the number alone, the column names its unit"
    return f"got '{printable(text)}'; a number belongs here{hint}"
