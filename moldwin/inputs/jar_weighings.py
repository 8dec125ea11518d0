"""Weighings of a jar's pellets on their way: hours and what the scale shows."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from moldwin.inputs.number_table import NumberTable, read_number_table

__all__ = ["JAR_COLUMNS", "JarWeighings", "read_jar_weighings"]

JAR_COLUMNS = ("hours", "gross_g")
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
    table = read_number_table(path, (), JAR_COLUMNS)
    _check_order(table)
    if not table.rows and not table.faults:
        table.fault("", "holds no weighing")
    elif len(table.rows) == 1 and not table.faults:
        table.fault("", "holds one weighing; a second, some hours later, says how fast it goes")
    table.refuse_faults()
    return JarWeighings(
        file=table.file,
        times=tuple(_HOUR * row.numbers["hours"] for row in table.rows),
        gross=tuple(_GRAM * row.numbers["gross_g"] for row in table.rows),
        resolution=_GRAM * table.last_digit("gross_g"),
    )


def _check_order(table: NumberTable) -> None:
    before: dict[str, float] | None = None
    for row in table.rows:
        hours, gross = (row.numbers[column] for column in JAR_COLUMNS)
        if gross == 0.0:
            table.fault("gross_g", "got 0; pellets weigh something", row.line)
        elif before is None and hours != 0.0:
            message = f"the first weighing is the start, hours 0; got {hours:g}"
            table.fault("hours", message, row.line)
        elif before is not None and hours <= before["hours"]:
            message = f"weighings are out of order: {hours:g} after {before['hours']:g}"
            table.fault("hours", message, row.line)
        elif before is not None and not gross / _JUMP < before["gross_g"] < gross * _JUMP:
            earlier = before["gross_g"]
            message = f"{gross:g} after {earlier:g}; is one of them in kg? Write all in grams"
            table.fault("gross_g", message, row.line)
        before = row.numbers
