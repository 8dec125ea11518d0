"""One material weighed dry and over several humidities: the points of its isotherm."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from pathlib import Path

from moldwin.inputs.number_table import NumberRow, NumberTable, read_number_table
from moldwin.inputs.text_files import printable

__all__ = ["HUMIDITY_COLUMNS", "HumidityPoint", "HumidityWeighings", "read_humidity_weighings"]

HUMIDITY_COLUMNS = ("sample", "humidity_pct", "dish_g", "gross_g")
_UNSURE = "humidity_u_pct"
_DAMPEST, _DRIEST = 95.0, 5.0
_MOST_UNSURE = 20.0
#: More water than this per dry mass is not what humid air gives a solid. [kg/kg]
_WETTEST = 1.0
#: Masses this far apart are not of one dish: one of them is in kilograms.
_KILOGRAMS = 100.0


@dataclass(frozen=True)
class HumidityPoint:
    """One sample at one humidity.

    Parameters
    ----------
    sample : str
        As in the table. [-]
    aw : float
        Humidity of the air it was left in. [-]
    aw_u : float or None
        Its standard uncertainty, where the table gives one. [-]
    x, x_u : float
        Water per dry mass, and what the scale leaves open of it. [kg/kg]
    """

    sample: str
    aw: float
    aw_u: float | None
    x: float
    x_u: float


@dataclass(frozen=True)
class HumidityWeighings:
    """All points of a table.

    Parameters
    ----------
    file : str
        As the user named it. [-]
    points : tuple of HumidityPoint
        By humidity. [-]
    resolution : float
        Step of the scale. [kg]
    """

    file: str
    points: tuple[HumidityPoint, ...]
    resolution: float


def read_humidity_weighings(path: str | Path, resolution: float | None = None) -> HumidityWeighings:
    """A CSV with the columns ``sample, humidity_pct, dish_g, gross_g``.

    Parameters
    ----------
    path : str or pathlib.Path
        The table. The row of a sample with humidity 0 is its dry mass, from the oven or over a
        desiccant; each other row is what it weighs once it has settled at that humidity. A column
        ``humidity_u_pct`` may say how sure the humidity is. [-]
    resolution : float, optional
        Step of the scale; left out, the last digit printed in the table. [kg]

    Returns
    -------
    HumidityWeighings
        At least two humidities.

    Raises
    ------
    InputError
        Everything wrong in the table, with line numbers.
    """
    table = read_number_table(path, HUMIDITY_COLUMNS[:1], HUMIDITY_COLUMNS[1:], (_UNSURE,))
    step = resolution or 1e-3 * table.last_digit("dish_g", "gross_g")
    points: list[HumidityPoint] = []
    for name, rows in table.by("sample").items():
        points += _points(table, name, rows, step)
    if not table.rows and not table.faults:
        table.fault("", "holds no weighing")
    elif not table.faults and len({point.aw for point in points}) < 2:
        message = "needs two humidities at least, far apart, such as 33 % and 75 % (see moldwin"
        table.fault("humidity_pct", f"{message} condition for salts); more make it surer")
    table.refuse_faults()
    ordered = sorted(points, key=lambda point: (point.aw, point.sample))
    return HumidityWeighings(table.file, tuple(ordered), step)


def _points(
    table: NumberTable, name: str, rows: list[NumberRow], step: float
) -> list[HumidityPoint]:
    shown = printable(name)
    dried = [row for row in rows if row.numbers["humidity_pct"] == 0.0]
    if len(dried) != 1:
        many = "no dry weighing" if not dried else f"{len(dried)} dry weighings"
        message = f"sample {shown} has {many}; one row with humidity_pct 0 is its dry mass"
        table.fault("humidity_pct", message, rows[0].line)
        return []
    before = len(table.faults)
    for earlier, row in itertools.pairwise(rows):
        if row.numbers["dish_g"] != earlier.numbers["dish_g"]:
            old, new = earlier.numbers["dish_g"], row.numbers["dish_g"]
            message = f"sample {shown} changes its dish from {old:g} to {new:g}"
            table.fault("dish_g", message, row.line)
    for row in rows:
        _check(table, shown, row, dried[0])
    if len(table.faults) > before:
        return []
    return [_point(name, row, dried[0], step) for row in rows if row is not dried[0]]


def _check(table: NumberTable, name: str, row: NumberRow, dried: NumberRow) -> None:
    humidity, dish, gross = (row.numbers[c] for c in HUMIDITY_COLUMNS[1:])
    dry = dried.numbers["gross_g"]
    u = row.numbers.get(_UNSURE, 0.0)
    if u > _MOST_UNSURE:
        table.fault(_UNSURE, f"got {u:g}; allowed: 0 to {_MOST_UNSURE:g} points", row.line)
    if row is not dried and not _DRIEST <= humidity <= _DAMPEST:
        hint = f"; did you mean {100 * humidity:g}?" if humidity <= 1.0 else ""
        allowed = f"allowed: 0 for the dry mass, or {_DRIEST:g} to {_DAMPEST:g} %"
        table.fault("humidity_pct", f"got {humidity:g}; {allowed}{hint}", row.line)
    kilograms = "is one of them in kg? Write all masses in grams"
    if gross <= dish:
        mixed = dish > _KILOGRAMS * gross
        slip = (
            kilograms if mixed else "are the two swapped, or was the dish tared away? Then it is 0"
        )
        message = f"sample {name}: dish and sample weigh {gross:g}, the dish {dish:g}; {slip}"
        table.fault("gross_g", message, row.line)
    elif row is dried or dry <= dried.numbers["dish_g"]:
        return
    elif gross <= dry:
        slip = kilograms if dry > _KILOGRAMS * gross else "were the two swapped?"
        message = f"sample {name} weighs {gross:g} at {humidity:g} % and {dry:g} dry; {slip}"
        table.fault("gross_g", message, row.line)
    elif gross - dry > _WETTEST * (dry - dish):
        mixed = gross > _KILOGRAMS * dry
        slip = kilograms if mixed else "is a dish missing, or something spilled?"
        message = (
            f"sample {name} would hold {gross - dry:g} g of water on {dry - dish:g} g of dry mass; "
            f"{slip}"
        )
        table.fault("gross_g", message, row.line)


def _point(name: str, row: NumberRow, dried: NumberRow, step: float) -> HumidityPoint:
    dry = dried.numbers["gross_g"] - dried.numbers["dish_g"]
    x = (row.numbers["gross_g"] - dried.numbers["gross_g"]) / dry
    # gross, dry gross and dish, each off by half a step at most
    u = 1e3 * step / math.sqrt(12.0) / dry * math.sqrt(1.0 + (1.0 + x) ** 2 + x**2)
    given = row.numbers.get(_UNSURE)
    aw_u = None if given is None else given / 100.0
    return HumidityPoint(name, row.numbers["humidity_pct"] / 100.0, aw_u, x, u)
