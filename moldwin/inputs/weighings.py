"""Loss on drying from a table of weighings: moisture, wet basis, and how sure it is."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from moldwin.inputs.number_table import NumberRow, NumberTable, read_number_table
from moldwin.inputs.text_files import printable

__all__ = ["COLUMNS", "DriedSample", "Weighings", "read_weighings", "wrong_masses"]

COLUMNS = ("sample", "minutes", "dish_g", "gross_g")

_MOST_SAMPLES, _MOST_ROWS = 200, 20_000
#: Masses this far apart are not of one dish and one sample: one of them is in kilograms.
_KILOGRAMS = 300.0
#: The same hint for masses that are wrong already.
_PERHAPS_KILOGRAMS = 100.0
_IN_GRAMS = "is one of them in kg? Write all masses in grams"


@dataclass(frozen=True)
class DriedSample:
    """One sample, wet and dry.

    Parameters
    ----------
    name : str
        As in the table. [-]
    dish, wet, dry : float
        Empty dish; dish and sample before and after drying. [kg]
    time : float
        Time in the oven; NaN where nobody noted it. [s]
    curve : tuple of tuple of float
        Every weighing after the wet one: time in the oven, dish and sample. [s, kg]
    """

    name: str
    dish: float
    wet: float
    dry: float
    time: float
    curve: tuple[tuple[float, float], ...] = ()

    @property
    def moisture(self) -> float:
        """Mass lost over mass put in, wet basis. [kg/kg]"""
        return self.lost_at(self.dry)

    @property
    def net(self) -> float:
        """The wet sample alone. [kg]"""
        return self.wet - self.dish

    def lost_at(self, gross: float) -> float:
        """Mass lost when dish and sample weigh this, over mass put in. [kg/kg]"""
        return (self.wet - gross) / self.net

    def moisture_u(self, step: float) -> float:
        """Half a step of each of the three readings, carried to the moisture. [kg/kg]"""
        by_wet = (1 - self.moisture) / self.net
        by_dish = self.moisture / self.net
        return step / math.sqrt(12) * math.sqrt(by_wet**2 + by_dish**2 + (1 / self.net) ** 2)


@dataclass(frozen=True)
class Weighings:
    """All samples of a table and what they say together.

    Parameters
    ----------
    samples : tuple of DriedSample
        In the order of the table. [-]
    resolution : float
        Step of the scale used for the uncertainty. [kg]
    moisture : float
        Mean over the samples, wet basis. [kg/kg]
    moisture_u : float
        Standard uncertainty of that mean. [kg/kg]
    """

    samples: tuple[DriedSample, ...]
    resolution: float
    moisture: float
    moisture_u: float

    @classmethod
    def of(cls, samples: Sequence[DriedSample], resolution: float) -> Weighings:
        """Mean and uncertainty of samples weighed on a scale of this step in kg."""
        moisture = sum(s.moisture for s in samples) / len(samples)
        return cls(tuple(samples), resolution, moisture, _mean_u(samples, moisture, resolution))


def read_weighings(path: str | Path, resolution: float | None = None) -> Weighings:
    """Moisture from a CSV with the columns ``sample, minutes, dish_g, gross_g``.

    Parameters
    ----------
    path : str or pathlib.Path
        The table; minutes 0 is the wet sample, the last row of a sample its dry one. [-]
    resolution : float, optional
        Step of the scale; left out, the last digit printed in the table. [kg]

    Returns
    -------
    Weighings
        Samples, mean moisture and its standard uncertainty.

    Raises
    ------
    InputError
        Everything wrong in the table, with line numbers.

    Notes
    -----
    Each reading is off by up to half a step either way, evenly: u = step / sqrt(12). The three
    readings of a sample carry that to its moisture; the spread of repeats joins it as the standard
    error of their mean, the larger of the two counting, because repeats already hold the scale's
    part. What evaporates besides water (glycerol) is not taken off here.

    Columns may be parted by commas, or by semicolons or tabs; then a decimal comma is fine.
    """
    table = read_number_table(path, COLUMNS[:1], COLUMNS[1:], most_rows=_MOST_ROWS)
    samples = _samples(table)
    table.refuse_faults()
    return Weighings.of(samples, resolution or 1e-3 * table.last_digit("dish_g", "gross_g"))


def wrong_masses(dish: float, wet: float, gross: float) -> Iterator[tuple[str, str]]:
    """What cannot be about one weighing, in the units of the table.

    Parameters
    ----------
    dish, wet, gross : float
        Empty dish; dish and sample when wet, and at this weighing. [g]

    Yields
    ------
    tuple of str
        Column and message.

    Examples
    --------
    >>> [column for column, _ in wrong_masses(20.0, 30.0, 31.0)]
    ['gross_g']
    """
    if gross <= dish:
        slip = "are the two swapped?"
        if dish > _PERHAPS_KILOGRAMS * gross:
            slip = _IN_GRAMS
        elif 3 * gross < wet or gross == wet:
            slip += " Or was the dish tared away? Then its mass is 0"
        yield "gross_g", f"dish and sample weigh {gross:g}, the dish {dish:g}; {slip}"
    elif gross > wet:
        slip = "are the two swapped, or did it draw water on its way to the scale?"
        if gross > _PERHAPS_KILOGRAMS * wet:
            slip = _IN_GRAMS
        yield "gross_g", f"heavier dried ({gross:g}) than wet ({wet:g}); {slip}"
    elif dish > 0 and gross > _KILOGRAMS * dish:
        yield "dish_g", f"the dish weighs {dish:g}, with the sample {gross:g}; {_IN_GRAMS}"
    elif wet - dish > _KILOGRAMS * (gross - dish):
        yield "gross_g", f"almost nothing is left of {wet:g} at {gross:g}; {_IN_GRAMS}"


def _mean_u(samples: Sequence[DriedSample], moisture: float, step: float) -> float:
    n = len(samples)
    from_scale = math.sqrt(sum(s.moisture_u(step) ** 2 for s in samples)) / n
    if n == 1:
        return from_scale
    spread = math.sqrt(sum((s.moisture - moisture) ** 2 for s in samples) / (n - 1))
    return max(from_scale, spread / math.sqrt(n))


def _samples(table: NumberTable) -> list[DriedSample]:
    by_sample = table.by("sample")
    if not by_sample and not table.faults:
        table.fault("", "holds no weighing")
    if len(by_sample) > _MOST_SAMPLES:
        table.fault("", f"holds {len(by_sample)} samples, allowed are {_MOST_SAMPLES}")
        return []
    found = [_sample(table, name, rows) for name, rows in by_sample.items()]
    _check_units(table, by_sample)
    return [sample for sample in found if sample]


def _sample(table: NumberTable, name: str, rows: list[NumberRow]) -> DriedSample | None:
    wet, shown = rows[0], printable(name)
    before = len(table.faults)
    if wet.numbers["minutes"] != 0:
        table.fault("minutes", f"sample {shown} has no wet weighing at minutes 0", wet.line)
    if len(rows) == 1:
        table.fault("minutes", f"sample {shown} was weighed once; dry needs a second", wet.line)
    for earlier, later in itertools.pairwise(rows):
        if later.numbers["minutes"] <= earlier.numbers["minutes"]:
            after = f"{later.numbers['minutes']:g} after {earlier.numbers['minutes']:g}"
            slip = "minutes rise from 0, the wet weighing: sort the rows"
            message = f"sample {shown} is out of order: {after}; {slip}"
            table.fault("minutes", message, later.line)
    for row in rows:
        _check_row(table, shown, row, wet)
    if len(table.faults) > before:
        return None
    dish, full = (wet.numbers[column] / 1000 for column in ("dish_g", "gross_g"))
    curve = [(row.numbers["minutes"] * 60, row.numbers["gross_g"] / 1000) for row in rows[1:]]
    time, left = curve[-1]
    return DriedSample(name, dish, full, left, time=time, curve=tuple(curve))


def _check_row(table: NumberTable, name: str, row: NumberRow, wet: NumberRow) -> None:
    dish, first = row.numbers["dish_g"], wet.numbers["dish_g"]
    if dish != first:
        message = f"sample {name} changes its dish from {first:g} to {dish:g}"
        table.fault("dish_g", message, row.line)
    for column, message in wrong_masses(dish, wet.numbers["gross_g"], row.numbers["gross_g"]):
        table.fault(column, f"sample {name}: {message}", row.line)


def _check_units(table: NumberTable, by_sample: dict[str, list[NumberRow]]) -> None:
    """A whole sample in kilograms beside others in grams."""
    if table.faults:
        return
    nets = {
        name: rows[0].numbers["gross_g"] - rows[0].numbers["dish_g"]
        for name, rows in by_sample.items()
    }
    heavy = max(nets, key=lambda name: nets[name])
    for name, net in nets.items():
        if nets[heavy] > _KILOGRAMS * net:
            message = f"sample {printable(name)} weighs {net:g}, {printable(heavy)}"
            line = by_sample[name][0].line
            table.fault("gross_g", f"{message} {nets[heavy]:g}; {_IN_GRAMS}", line)
