"""A table of recipes: one job a row, dotted job keys as columns; a wrong row stops no other."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.settings import apply_settings
from moldwin.inputs.text_files import printable

__all__ = [
    "RecipeRow",
    "cell_text",
    "check_columns",
    "open_recipes",
    "read_recipes",
    "row_settings",
]

#: Longer fields are no recipe; the reader would hold them whole. [characters]
_LONGEST_FIELD = 10_000
#: The most columns that a table of recipes can want.
_MOST_COLUMNS = 500
_MASS = ".mass_g"


@dataclass(frozen=True)
class RecipeRow:
    """One row of a table.

    Parameters
    ----------
    cells : tuple of str
        One for each column of the first line. [-]
    trouble : str
        What keeps the row from being read; empty where nothing does. [-]
    """

    cells: tuple[str, ...]
    trouble: str = ""


def check_columns(columns: Sequence[Any], file: str = "table") -> None:
    """Refuse a first line that names anything but job keys, each once.

    Parameters
    ----------
    columns : sequence of str
        Dotted job keys, as ``--set`` takes them. [-]
    file : str
        The table as the user named it. [-]

    Raises
    ------
    InputError
        Every column that is no key of a job, with the nearest one, or that stands there twice.

    Examples
    --------
    >>> check_columns(["ingredient.agar.mass_g", "pellets.moisture_pct"])
    >>> check_columns(["pellet.moisture_pct"])
    Traceback (most recent call last):
    ...
    moldwin.inputs.errors.InputError: ...
    """
    faults = []
    if not columns:
        faults.append(Fault(file, "", "has no columns; the first line names job keys"))
    if len(columns) > _MOST_COLUMNS:
        message = f"has {len(columns)} columns, allowed are {_MOST_COLUMNS}"
        raise InputError([Fault(file, "", message)])
    for place, name in enumerate(columns):
        shown = printable(name, 80)
        if not isinstance(name, str) or not name:
            faults.append(Fault(file, shown, f"column {place + 1} has no name; write a job key"))
        elif name in columns[:place]:
            faults.append(Fault(file, shown, "column stands there twice; keep one"))
        else:
            wrong = apply_settings(_job_with(name), [f"{name}=1"]).faults
            faults.extend(Fault(file, shown, fault.message) for fault in wrong)
    if faults:
        raise InputError(faults)


def _job_with(name: str) -> dict[str, Any]:
    """A job that has the row or solid that a key speaks of: what is asked is the key alone."""
    parts = name.split(".")
    if parts[0] == "ingredient" and len(parts) > 2:
        return {"ingredient": [{"card": ".".join(parts[1:-1]), "mass_g": 1.0}]}
    if parts[:2] == ["part", "solid"] and len(parts) > 2 and parts[2].isdecimal():
        return {"part": {"solid": [{} for _ in range(int(parts[2][:2]) + 1)]}}
    return {}


def row_settings(columns: Sequence[str], cells: Sequence[Any]) -> list[str]:
    """The row as what-ifs, each ``KEY=VALUE``; an empty cell leaves the base as it is.

    Parameters
    ----------
    columns : sequence of str
        Dotted job keys. [-]
    cells : sequence
        Text as in a file, or numbers; ``None``, NaN and blanks are empty. [as the key says]

    Returns
    -------
    list of str
        Masses first, for a card has to be there before more is said of it; nothing more is said of
        a card whose mass is 0.

    Examples
    --------
    >>> row_settings(["ingredient.agar.moisture_pct", "ingredient.agar.mass_g"], ["12", 90.0])
    ['ingredient.agar.mass_g=90.0', 'ingredient.agar.moisture_pct=12']
    """
    pairs = [
        (name, text) for name, cell in zip(columns, cells, strict=True) if (text := cell_text(cell))
    ]
    gone = tuple(name.removesuffix("mass_g") for name, text in pairs if _is_no_mass(name, text))
    kept = [(n, t) for n, t in pairs if not n.startswith(gone) or n.endswith(_MASS)]
    first = [pair for pair in kept if pair[0].endswith(_MASS)]
    rest = [pair for pair in kept if not pair[0].endswith(_MASS)]
    return [f"{name}={text}" for name, text in (*first, *rest)]


def _is_no_mass(name: str, text: str) -> bool:
    if not (name.startswith("ingredient.") and name.endswith(_MASS)):
        return False
    try:
        return float(text) == 0.0
    except ValueError:
        return False


def cell_text(cell: Any) -> str:
    """A cell as a setting spells it; empty for what says nothing.

    Parameters
    ----------
    cell : object
        Text, a number, a flag; ``None`` and NaN say nothing. [as the key says]

    Returns
    -------
    str
        [as the key says]

    Examples
    --------
    >>> cell_text(12.5), cell_text(True), cell_text(None), cell_text(" agar ")
    ('12.5', 'true', '', 'agar')
    """
    if cell is None or (isinstance(cell, float) and math.isnan(cell)):
        return ""
    if type(cell).__name__ in ("NAType", "NaTType"):
        return ""
    if isinstance(cell, str):
        return cell.strip()
    if type(cell).__name__ in ("bool", "bool_"):
        return "true" if cell else "false"
    # a number of numpy prints its own name otherwise
    return repr(cell.item()) if hasattr(cell, "item") else repr(cell)


def open_recipes(path: str | Path) -> IO[str]:
    """Open a CSV for reading row by row.

    Parameters
    ----------
    path : str or pathlib.Path
        The table. [-]

    Returns
    -------
    text file
        To be closed by whoever asked for it. [-]

    Raises
    ------
    InputError
        No such file, or not an ordinary one.
    """
    name, where = printable(path, 200), Path(path)
    if not where.exists():
        raise InputError([Fault(name, "", "there is no such file")])
    if not where.is_file():
        raise InputError([Fault(name, "", "is not an ordinary file; name a CSV or Parquet file")])
    try:
        return open(where, encoding="utf-8-sig", newline="")
    except OSError as error:
        message = f"cannot be read: {error.strerror or error}"
        raise InputError([Fault(name, "", message)]) from None


def read_recipes(file: IO[str], name: str) -> tuple[list[str], Iterator[RecipeRow]]:
    """Columns of a CSV, checked, and its rows one after another, never all at once.

    Parameters
    ----------
    file : text file
        From `open_recipes`. [-]
    name : str
        As the user named it. [-]

    Returns
    -------
    tuple
        Names of the columns, and an iterator of `RecipeRow`.

    Raises
    ------
    InputError
        The first line is no list of job keys; later, while the rows are read: not UTF-8 text.

    Notes
    -----
    Columns may be parted by commas, or by semicolons or tabs; then a decimal comma is fine. Blank
    lines are passed over.
    """
    try:
        first = file.readline(_LONGEST_FIELD * 10)
    except (UnicodeDecodeError, OSError):
        raise _no_text(name) from None
    if not first.strip():
        raise InputError([Fault(name, "", "is empty; the first line names job keys")])
    mark = next((m for m in ";\t" if m in first and "," not in first), ",")
    columns = [cell.strip() for cell in next(csv.reader([first], delimiter=mark), [])]
    check_columns(columns, name)
    return columns, _rows(file, name, len(columns), mark)


def _rows(file: IO[str], name: str, count: int, mark: str) -> Iterator[RecipeRow]:
    csv.field_size_limit(_LONGEST_FIELD)
    reader = csv.reader(file, delimiter=mark, skipinitialspace=True)
    while True:
        try:
            cells = next(reader, None)
        except csv.Error as error:
            yield RecipeRow(("",) * count, f"the row cannot be read: {error}")
            continue
        except (UnicodeDecodeError, OSError):
            raise _no_text(name) from None
        if cells is None:
            return
        if len(cells) > 1 or any(cell.strip() for cell in cells):
            yield _row(cells, count, mark)


def _row(cells: list[str], count: int, mark: str) -> RecipeRow:
    if len(cells) > count:
        more = "; a decimal comma? Write a point" if mark == "," else ""
        trouble = f"the row has {len(cells)} fields, the first line has {count}{more}"
        return RecipeRow(tuple(cells[:count]), trouble)
    whole = [*cells, *[""] * (count - len(cells))]
    if mark != ",":
        whole = [_with_point(cell) for cell in whole]
    return RecipeRow(tuple(whole))


def _with_point(cell: str) -> str:
    """A decimal comma as a point; anything else as it is."""
    whole, comma, decimals = cell.strip().partition(",")
    return f"{whole}.{decimals}" if comma and decimals.isdecimal() else cell


def _no_text(name: str) -> InputError:
    return InputError([Fault(name, "", "is not UTF-8 text; save the table as CSV (UTF-8)")])
