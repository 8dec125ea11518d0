"""Tables of numbers as spreadsheets save them: what is wrong in them is told with its line."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from pathlib import Path

from moldwin.inputs.errors import Fault, InputError, nearest
from moldwin.inputs.text_files import printable, read_text

__all__ = ["NumberRow", "NumberTable", "read_number_table"]

_MOST_ROWS = 500
_MOST_FAULTS = 20
_BIGGEST = 1e6


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
        if self.faults:
            raise InputError(self.faults[:_MOST_FAULTS])


def read_number_table(
    path: str | Path, names: Sequence[str], numbers: Sequence[str], optional: Sequence[str] = ()
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
    text = read_text(path)
    asked = [*names, *numbers]
    if not text.strip():
        table.fault("", f"is empty; the first line is: {', '.join(asked)}")
        table.refuse_faults()
    first = text.lstrip("\r\n").partition("\n")[0]
    mark = next((m for m in ";\t" if m in first and "," not in first), ",")
    reader = csv.DictReader(io.StringIO(text, newline=""), skipinitialspace=True, delimiter=mark)
    found = [name.strip() for name in reader.fieldnames or []]
    reader.fieldnames = found
    for column in asked:
        if column not in found:
            offer = nearest(column, found).replace("did you mean", "is it")
            line = f"column is missing; the first line is: {', '.join(asked)}{offer}"
            table.fault(column, line, 1)
    table.refuse_faults()
    try:
        for row in reader:
            fields = [v for value in row.values() for v in _listed(value)]
            if any(str(v or "").strip() for v in fields):
                _read_row(table, row, reader.line_num, names, numbers, optional, mark)
    except csv.Error as error:
        table.fault("", f"is not a readable table: {error}", reader.line_num)
    if len(table.rows) > _MOST_ROWS:
        table.fault("", f"holds {len(table.rows)} rows, allowed are {_MOST_ROWS}")
    return table


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
        table.fault(name, "is empty", line)
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
        elif not 0.0 <= value <= _BIGGEST:
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
        value = float(Decimal(text))
    except (InvalidOperation, ValueError):
        return None
    return value if math.isfinite(value) else None


def _no_number(text: str, column: str) -> str:
    """What to say of a field that holds no number."""
    if not text and column == "dish_g":
        return "is empty; weigh the empty dish, or write 0 if the scale was tared with it"
    hint = "; use a point" if "," in text else ""
    if text and text.split()[-1].lstrip("0123456789.,") in ("g", "kg", "mg", "%", "h"):
        hint = "; write the number alone, the column names its unit"
    return f"got '{printable(text)}'; a number belongs here{hint}"
