"""Loss on drying from a table of weighings: moisture, wet basis, and how sure it is."""

from __future__ import annotations

import csv
import io
import itertools
import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from moldwin.inputs.errors import Fault, InputError, nearest
from moldwin.inputs.text_files import printable, read_text

__all__ = ["COLUMNS", "DriedSample", "Weighings", "read_weighings"]

COLUMNS = ("sample", "minutes", "dish_g", "gross_g")


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
        Time in the oven. [s]
    """

    name: str
    dish: float
    wet: float
    dry: float
    time: float

    @property
    def moisture(self) -> float:
        """Mass lost over mass put in, wet basis. [kg/kg]"""
        return (self.wet - self.dry) / (self.wet - self.dish)


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
    """
    reader = _Table(path)
    samples = reader.samples()
    if reader.faults:
        raise InputError(reader.faults)
    step = resolution if resolution else reader.last_digit
    moisture = sum(s.moisture for s in samples) / len(samples)
    return Weighings(tuple(samples), step, moisture, _mean_u(samples, moisture, step))


def _mean_u(samples: Sequence[DriedSample], moisture: float, step: float) -> float:
    n = len(samples)
    reading = step / math.sqrt(12)
    from_scale = math.sqrt(sum(_sample_u(s, reading) ** 2 for s in samples)) / n
    if n == 1:
        return from_scale
    spread = math.sqrt(sum((s.moisture - moisture) ** 2 for s in samples) / (n - 1))
    return max(from_scale, spread / math.sqrt(n))


def _sample_u(sample: DriedSample, reading: float) -> float:
    """Half a step of each of the three readings, carried to the moisture."""
    net = sample.wet - sample.dish
    by_wet = (1 - sample.moisture) / net
    by_dish = sample.moisture / net
    return reading * math.sqrt(by_wet**2 + by_dish**2 + (1 / net) ** 2)


@dataclass(frozen=True)
class _Row:
    line: int
    minutes: float
    dish: float
    gross: float


class _Table:
    """Reads the rows and collects every fault on the way."""

    def __init__(self, path: str | Path) -> None:
        self.file = printable(path, 200)
        self.faults: list[Fault] = []
        self._digits = 0
        self._rows: dict[str, list[_Row]] = defaultdict(list)
        self._read(read_text(path))

    @property
    def last_digit(self) -> float:
        """One step of the last digit anyone printed in a mass. [kg]"""
        return 10.0**-self._digits / 1000

    def fault(self, key: str, message: str, line: int | None = None) -> None:
        self.faults.append(Fault(self.file, key, message, line))

    def samples(self) -> list[DriedSample]:
        if not self._rows and not self.faults:
            self.fault("", "holds no weighing")
        found = [self._sample(name, rows) for name, rows in self._rows.items()]
        return [sample for sample in found if sample]

    def _read(self, text: str) -> None:
        table = csv.DictReader(io.StringIO(text, newline=""), skipinitialspace=True)
        try:
            names = [name.strip() for name in table.fieldnames or []]
            if not self._has_columns(names):
                return
            table.fieldnames = names
            for row in table:
                self._read_row(row, table.line_num)
        except csv.Error as error:
            self.fault("", f"is not a readable table: {error}", table.line_num)

    def _has_columns(self, names: list[str]) -> bool:
        for column in COLUMNS:
            if column not in names:
                offer = nearest(column, names).replace("did you mean", "is it")
                line = ", ".join(COLUMNS)
                self.fault(column, f"column is missing; the first line is: {line}{offer}", 1)
        return not self.faults

    def _read_row(self, row: Mapping[str, str | None], line: int) -> None:
        numbers = [self._number(row, column, line) for column in COLUMNS[1:]]
        name = (row["sample"] or "").strip()
        if not name:
            self.fault("sample", "is empty; give every row the name of its sample", line)
        minutes, dish, gross = numbers
        if name and minutes is not None and dish is not None and gross is not None:
            self._rows[name].append(_Row(line, minutes, dish, gross))

    def _number(self, row: Mapping[str, str | None], column: str, line: int) -> float | None:
        text = (row[column] or "").strip()
        try:
            value = float(text)
        except ValueError:
            hint = "; use a point" if "," in text else ""
            self.fault(column, f"got '{printable(text)}'; a number belongs here{hint}", line)
            return None
        if not (math.isfinite(value) and 0 <= value <= 1e6):
            self.fault(column, f"got {printable(text)}; allowed: 0 to 1000000", line)
            return None
        if column != "minutes":
            self._digits = max(self._digits, len(text.partition(".")[2]))
        return value

    def _sample(self, name: str, rows: list[_Row]) -> DriedSample | None:
        wet, dry, shown = rows[0], rows[-1], printable(name)
        before = len(self.faults)
        if wet.minutes != 0:
            self.fault("minutes", f"sample {shown} has no wet weighing at minutes 0", wet.line)
        if len(rows) == 1:
            self.fault("minutes", f"sample {shown} was weighed once; dry needs a second", wet.line)
        for earlier, later in itertools.pairwise(rows):
            if later.minutes <= earlier.minutes:
                message = f"sample {shown} is out of order: {later.minutes:g} after "
                self.fault("minutes", f"{message}{earlier.minutes:g}", later.line)
        for row in rows:
            self._check_row(shown, row, wet)
        if len(self.faults) > before:
            return None
        kg = (wet.dish / 1000, wet.gross / 1000, dry.gross / 1000)
        return DriedSample(name, *kg, time=dry.minutes * 60)

    def _check_row(self, name: str, row: _Row, wet: _Row) -> None:
        if row.dish != wet.dish:
            message = f"sample {name} changes its dish from {wet.dish:g} to {row.dish:g}"
            self.fault("dish_g", message, row.line)
        if row.gross <= row.dish:
            message = f"sample {name}: dish and sample weigh {row.gross:g}, the dish {row.dish:g}"
            self.fault("gross_g", f"{message}; are the columns swapped?", row.line)
        elif row.gross > wet.gross:
            message = f"sample {name} is heavier dried ({row.gross:g}) than wet ({wet.gross:g})"
            self.fault("gross_g", message, row.line)
