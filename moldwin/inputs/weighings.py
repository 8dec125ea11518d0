"""Loss on drying from a table of weighings: moisture, wet basis, and how sure it is."""

from __future__ import annotations

import contextlib
import csv
import io
import itertools
import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from moldwin.inputs.errors import Fault, InputError, nearest
from moldwin.inputs.text_files import printable, read_text

__all__ = ["COLUMNS", "FINEST", "DriedSample", "Weighings", "read_weighings", "wrong_masses"]

COLUMNS = ("sample", "minutes", "dish_g", "gross_g")

#: Decimals of a gram taken for real: more come from a spreadsheet, not from a scale.
FINEST = 5

_MOST_SAMPLES = 200
_MOST_FAULTS = 50
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
    reader = _Table(path)
    samples = reader.samples()
    if reader.faults:
        raise InputError(reader.faults)
    return Weighings.of(samples, resolution if resolution else reader.last_digit)


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


@dataclass(frozen=True)
class _Row:
    line: int
    minutes: float
    dish: float
    gross: float


class _Enough(Exception):
    """Enough faults for one reading."""


class _Table:
    """Reads the rows and collects every fault on the way."""

    def __init__(self, path: str | Path) -> None:
        self.file = printable(path, 200)
        self.faults: list[Fault] = []
        self._digits = 0
        self._comma_is_point = False
        self._rows: dict[str, list[_Row]] = defaultdict(list)
        text = _text_of(path)
        with contextlib.suppress(_Enough):
            self._read(text)

    @property
    def last_digit(self) -> float:
        """One step of the last digit anyone printed in a mass. [kg]"""
        return 10.0 ** -min(self._digits, FINEST) / 1000

    def fault(self, key: str, message: str, line: int | None = None) -> None:
        self.faults.append(Fault(self.file, key, message, line))
        if len(self.faults) >= _MOST_FAULTS:
            self.faults.append(Fault(self.file, "", "and more; mend these first"))
            raise _Enough

    def samples(self) -> list[DriedSample]:
        try:
            return self._samples()
        except _Enough:
            return []

    def _samples(self) -> list[DriedSample]:
        if len(self.faults) >= _MOST_FAULTS:
            return []
        if not self._rows and not self.faults:
            self.fault("", "holds no weighing")
        if len(self._rows) > _MOST_SAMPLES:
            self.fault("", f"holds {len(self._rows)} samples, allowed are {_MOST_SAMPLES}")
            return []
        found = [self._sample(name, rows) for name, rows in self._rows.items()]
        self._check_units()
        return [sample for sample in found if sample]

    def _read(self, text: str) -> None:
        first = text.lstrip("\r\n").partition("\n")[0]
        if not text.strip():
            self.fault("", f"is empty; the first line is: {', '.join(COLUMNS)}")
            return
        delimiter = next((mark for mark in ";\t" if mark in first and "," not in first), ",")
        self._comma_is_point = delimiter != ","
        lines = io.StringIO(text, newline="")
        table = csv.DictReader(lines, skipinitialspace=True, delimiter=delimiter)
        try:
            names = [name.strip() for name in table.fieldnames or []]
            if not self._has_columns(names):
                return
            table.fieldnames = names
            for row in table:
                if any(_filled(value) for value in row.values()):
                    self._read_row(row, table.line_num)
        except csv.Error as error:
            self.fault("", f"is not a readable table: {error}", table.line_num)

    def _has_columns(self, names: list[str]) -> bool:
        for column in COLUMNS:
            if column not in names:
                offer = nearest(column, names).replace("did you mean", "is it")
                line = ", ".join(COLUMNS)
                if column == "dish_g" and not offer:
                    offer = "; dish_g is 0 where the scale was tared with the dish"
                self.fault(column, f"column is missing; the first line is: {line}{offer}", 1)
            elif names.count(column) > 1:
                self.fault(column, "column stands there twice; keep one", 1)
        return not self.faults

    def _read_row(self, row: Mapping[str | None, str | list[str] | None], line: int) -> None:
        if None in row:
            more = "" if self._comma_is_point else "; a decimal comma? Write a point"
            self.fault("", f"has more fields than the first line has names{more}", line)
            return
        numbers = [self._number(row, column, line) for column in COLUMNS[1:]]
        name = str(row["sample"] or "").strip()
        if not name:
            self.fault("sample", "is empty; give every row the name of its sample", line)
        minutes, dish, gross = numbers
        if name and minutes is not None and dish is not None and gross is not None:
            self._rows[name].append(_Row(line, minutes, dish, gross))

    def _number(self, row: Mapping[str | None, object], column: str, line: int) -> float | None:
        text = str(row[column] or "").strip()
        if self._comma_is_point and text.count(",") == 1 and "." not in text:
            text = text.replace(",", ".")
        try:
            value = float(text)
        except ValueError:
            self.fault(column, _no_number(text, column), line)
            return None
        if not (math.isfinite(value) and 0 <= value <= 1e6):
            self.fault(column, f"got {printable(text)}; allowed: 0 to 1000000", line)
            return None
        if column != "minutes":
            self._digits = max(self._digits, -int(Decimal(text).as_tuple().exponent))
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
                slip = "; minutes rise from 0, the wet weighing: sort the rows"
                self.fault("minutes", f"{message}{earlier.minutes:g}{slip}", later.line)
        for row in rows:
            self._check_row(shown, row, wet)
        if len(self.faults) > before:
            return None
        kg = (wet.dish / 1000, wet.gross / 1000, dry.gross / 1000)
        curve = tuple((row.minutes * 60, row.gross / 1000) for row in rows[1:])
        return DriedSample(name, *kg, time=dry.minutes * 60, curve=curve)

    def _check_row(self, name: str, row: _Row, wet: _Row) -> None:
        if row.dish != wet.dish:
            message = f"sample {name} changes its dish from {wet.dish:g} to {row.dish:g}"
            self.fault("dish_g", message, row.line)
        for column, message in wrong_masses(row.dish, wet.gross, row.gross):
            self.fault(column, f"sample {name}: {message}", row.line)

    def _check_units(self) -> None:
        """A whole sample in kilograms beside others in grams."""
        if self.faults:
            return
        nets = {name: rows[0].gross - rows[0].dish for name, rows in self._rows.items()}
        heavy = max(nets, key=lambda name: nets[name])
        for name, net in nets.items():
            if nets[heavy] > _KILOGRAMS * net:
                message = f"sample {printable(name)} weighs {net:g}, {printable(heavy)}"
                line = self._rows[name][0].line
                self.fault("gross_g", f"{message} {nets[heavy]:g}; {_IN_GRAMS}", line)


def _text_of(path: str | Path) -> str:
    """The text, with a better word for a spreadsheet's own file than for any other."""
    try:
        return read_text(path)
    except InputError as error:
        if any("not a text file" in fault.message for fault in error.faults):
            message = "is not a text file; save the table as CSV (comma-separated)"
            raise InputError([Fault(printable(path, 200), "", message)]) from None
        raise


def _filled(value: object) -> bool:
    fields = value if isinstance(value, list) else [value]
    return any(str(field or "").strip() for field in fields)


def _no_number(text: str, column: str) -> str:
    """What to say of a field that holds no number."""
    if not text and column == "dish_g":
        return "is empty; weigh the empty dish, or write 0 if the scale was tared with it"
    hint = "; use a point" if "," in text else ""
    if text and text.split()[-1].lstrip("0123456789.,") in ("g", "kg", "mg", "min", "h"):
        hint = "; write the number alone, the column names its unit"
    return f"got '{printable(text)}'; a number belongs here{hint}"
