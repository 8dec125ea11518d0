"""Weighings of a jar's pellets on their way: hours and what the scale shows."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from pathlib import Path

from moldwin.inputs.errors import Fault, InputError, nearest
from moldwin.inputs.text_files import printable, read_text

__all__ = ["JAR_COLUMNS", "JarWeighings", "read_jar_weighings"]

JAR_COLUMNS = ("hours", "gross_g")
_MOST_ROWS = 500
_MOST_FAULTS = 20
#: Neighboring readings further apart than this are not of one jar in one unit.
_JUMP = 50.0
_HOUR, _GRAM = 3600.0, 1e-3


@dataclass(frozen=True)
class JarWeighings:
    """Pellets, with or without their tray, weighed over time.

    Parameters
    ----------
    file : str
        As the user named it. [-]
    times : tuple of float
        Since the jar was closed; the first is 0. [s]
    gross : tuple of float
        What the scale showed. [kg]
    resolution : float
        One step of the last digit given. [kg]
    """

    file: str
    times: tuple[float, ...]
    gross: tuple[float, ...]
    resolution: float


def read_jar_weighings(path: str | Path) -> JarWeighings:
    """A CSV with the columns ``hours, gross_g``; the first row, hours 0, is the start.

    Parameters
    ----------
    path : str or pathlib.Path
        The table. [-]

    Returns
    -------
    JarWeighings
        [SI]

    Raises
    ------
    InputError
        Everything wrong in the table, with line numbers.
    """
    file = printable(path, 200)
    text = read_text(path)
    first = text.lstrip("\r\n").partition("\n")[0]
    if not text.strip():
        raise _wrong(file, "", f"is empty; the first line is: {', '.join(JAR_COLUMNS)}")
    mark = next((m for m in ";\t" if m in first and "," not in first), ",")
    table = csv.DictReader(io.StringIO(text, newline=""), skipinitialspace=True, delimiter=mark)
    names = [name.strip() for name in table.fieldnames or []]
    table.fieldnames = names
    for column in JAR_COLUMNS:
        if column not in names:
            offer = nearest(column, names).replace("did you mean", "is it")
            line = ", ".join(JAR_COLUMNS)
            message = f"column is missing; the first line is: {line}{offer}"
            raise _wrong(file, column, message, 1)
    rows: list[tuple[int, float, float]] = []
    faults: list[Fault] = []
    digits = 0
    for row in table:
        if not any(str(value or "").strip() for value in row.values()):
            continue
        at, values = table.line_num, []
        for column in JAR_COLUMNS:
            words = str(row.get(column) or "").strip()
            plain = words.replace(",", ".") if mark != "," else words
            value = _number(plain)
            if value is None:
                faults.append(Fault(file, column, f"got '{printable(words)}'; a number", at))
            else:
                values.append(value)
        if len(values) == len(JAR_COLUMNS):
            rows.append((at, values[0], values[1]))
            digits = max(digits, len(words.replace(",", ".").partition(".")[2]))
    faults += _out_of_order(file, rows)
    if not rows and not faults:
        faults.append(Fault(file, "", "holds no weighing"))
    elif len(rows) == 1 and not faults:
        message = "holds one weighing; a second, some hours later, says how fast it goes"
        faults.append(Fault(file, "", message))
    elif len(rows) > _MOST_ROWS:
        faults.append(Fault(file, "", f"holds {len(rows)} weighings, allowed are {_MOST_ROWS}"))
    if faults:
        raise InputError(faults[:_MOST_FAULTS])
    return JarWeighings(
        file=file,
        times=tuple(_HOUR * row[1] for row in rows),
        gross=tuple(_GRAM * row[2] for row in rows),
        resolution=_GRAM * 10.0 ** -min(digits, 4),
    )


def _out_of_order(file: str, rows: list[tuple[int, float, float]]) -> list[Fault]:
    faults = []
    for i, (line, hours, gross) in enumerate(rows):
        if hours < 0 or gross <= 0:
            faults.append(Fault(file, "", f"got {hours:g} h and {gross:g} g; both above 0", line))
        elif i == 0 and hours != 0:
            message = f"the first weighing is the start, hours 0; got {hours:g}"
            faults.append(Fault(file, "hours", message, line))
        elif i and hours <= rows[i - 1][1]:
            message = f"weighings are out of order: {hours:g} after {rows[i - 1][1]:g}"
            faults.append(Fault(file, "hours", message, line))
        elif i and not 1.0 / _JUMP < gross / rows[i - 1][2] < _JUMP:
            message = (
                f"{gross:g} after {rows[i - 1][2]:g}; is one of them in kg? Write all in grams"
            )
            faults.append(Fault(file, "gross_g", message, line))
    return faults


def _number(words: str) -> float | None:
    try:
        value = float(words)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def _wrong(file: str, key: str, message: str, line: int | None = None) -> InputError:
    return InputError([Fault(file, key, message, line)])
