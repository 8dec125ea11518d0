"""Check values of what is solved by series or in space: diffusion, cooling, wet bulb, specimens."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from moldwin.advice.evidence.row import CONSTANT, EvidenceRow, Subject, checked
from moldwin.advice.evidence.tables import half_last_digit, number, published
from moldwin.physics import diffusion, heat
from moldwin.physics.film_drying import surface_temperature
from moldwin.physics.specimens import specimen

__all__ = [
    "cooling_times",
    "dense_starch",
    "diffusion_series",
    "specimen_ends",
    "wet_bulb",
    "wet_bulb_temperature",
]

_ZERO_C = 273.15

_ROOT = Subject("roots of the diffusion series", CONSTANT, "-", "crank.csv")
_LEFT = Subject("share left while diffusing", CONSTANT, "-", "crank.csv")
_TIME = Subject("diffusion time of a slab, D t / l2", CONSTANT, "-", "crank.csv")
_DENSE = Subject("diffusivity of dense starch", CONSTANT, "m2/s", "litchfield_okos1992.csv", True)
_COOLING = Subject("cooling time", CONSTANT, "s", "cooling.csv", by_factor=True)
_ENDS = Subject("distance between wide ends", CONSTANT, "mm", "specimens.csv")
_WET_BULB = Subject("wet-bulb temperature", CONSTANT, "°C", "film_drying.csv")


def diffusion_series() -> Iterator[EvidenceRow]:
    """Roots, shares left and times of the textbook's tables."""
    for row in published("crank.csv"):
        shape, value, half = row["shape"], number(row, "value"), half_last_digit(row["value"])
        what = f"{shape}, Biot {row['biot']}, at {row['at']}"
        row = {**row, "id": f"{what}, {row['status']}"}  # some stand in the book and summed anew
        if row["quantity"] == "root":
            index = int(row["at"])
            root = diffusion.roots(shape, number(row, "biot"), index)[index - 1]
            yield checked(_ROOT, row, what, root, value, half)
        elif row["quantity"] == "left":
            left = diffusion.unaccomplished(shape, number(row, "at"), number(row, "biot"))
            yield checked(_LEFT, row, what, left, value, half)
        else:
            # on the full thickness: a quarter of the Fourier number on half of it
            time = diffusion.fourier_at("slab", number(row, "at")) / 4
            yield checked(_TIME, row, what, time, value, half)


def dense_starch() -> Iterator[EvidenceRow]:
    """The published diffusivity of pasta-like starch."""
    for row in published("litchfield_okos1992.csv"):
        t = number(row, "temperature_c") + _ZERO_C
        ours = diffusion.dense_starch_diffusivity(number(row, "x_water"), t, check=False)
        printed = row["diffusivity_m2_s"]
        rounded = (row["temperature_c"], row["x_water"]) == ("25", "0.20")
        miss = "the formula gives 8.05e-12, which the table rounds to 8.1e-12" if rounded else ""
        what = f"{row['temperature_c']} °C, {row['x_water']} kg/kg"
        half = half_last_digit(printed)
        yield checked(_DENSE, row, what, ours, float(printed), half, known_miss=miss)


def cooling_times() -> Iterator[EvidenceRow]:
    """Plates, cylinders and bars; ours sums the series, the table has its first term."""
    for row in published("cooling.csv"):
        melt, mold, eject = (number(row, key) + _ZERO_C for key in ("melt_c", "mold_c", "eject_c"))
        size: Any = number(row, "thickness_or_diameter_mm") / 1e3
        if row["shape"] == "bar":
            size = np.array([size, number(row, "width_mm") / 1e3])
        alpha = number(row, "diffusivity_mm2_s") * 1e-6
        ours = heat.cooling_time(row["shape"], size, alpha, melt, mold, eject, row["where"])
        what = (
            f"{row['shape']} {row['thickness_or_diameter_mm']} mm, {row['melt_c']} to "
            f"{row['eject_c']} °C in {row['mold_c']} °C, {row['where']}, "
            f"{row['diffusivity_mm2_s']} mm2/s"
        )
        half = 0.00501  # printed to a hundredth of a second, whatever zeros the cell has lost
        miss = _first_term_only(row)
        yield checked(_COOLING, row, what, ours, number(row, "time_s"), half, known_miss=miss)


def _first_term_only(row: dict[str, str]) -> str:
    """Where the first term is not enough: the table's shortcut, not ours."""
    short = (
        row["shape"] == "bar"
        or (row["shape"] == "cylinder" and row["where"] == "mean")
        or row["time_s"] == "28.91"
    )
    return "the table has only the first term of the series, ours is summed" if short else ""


def specimen_ends() -> Iterator[EvidenceRow]:
    """What follows from a specimen's other dimensions, beside the range printed for it."""
    for row in published("specimens.csv"):
        if not row["between_wide_low_mm"]:
            continue
        low, high = number(row, "between_wide_low_mm"), number(row, "between_wide_high_mm")
        smallest = row["name"] == "ISO 527-2 1BA"
        miss = "the radius is printed as a minimum and taken at it; 40 mm would fit"
        yield checked(
            _ENDS,
            row,
            row["name"],
            1e3 * specimen(row["name"]).distance_between_wide_ends,
            0.5 * (low + high),
            0.5 * (high - low),
            published_low=low,
            published_high=high,
            known_miss=miss if smallest else "",
        )


def wet_bulb_temperature(t: float, humidity: float, pressure: float) -> float:
    """A wet surface that heat and vapor reach alike. [K]

    Parameters
    ----------
    t : float
        Air temperature. [K]
    humidity : float
        Relative humidity of the air. [-]
    pressure : float
        Of the air. [Pa]
    """
    film, moist_air = 0.02, 1006.0 + 1860.0 * 0.01  # a hundredth of vapor in it
    density = pressure / 287.05 / t
    return float(surface_temperature(t, humidity, 1.0, film, film * density * moist_air))


def wet_bulb() -> Iterator[EvidenceRow]:
    """The balance at a wet surface beside the thermodynamic wet bulb."""
    for row in published("film_drying.csv"):
        if row["quantity"] != "wet_bulb":
            continue
        t, p = number(row, "t_c") + _ZERO_C, number(row, "pressure_pa")
        ours = wet_bulb_temperature(t, number(row, "humidity"), p) - _ZERO_C
        what = f"{row['t_c']} °C, {100 * number(row, 'humidity'):.0f} % humidity"
        half = half_last_digit(row["value"])
        miss = "ours balances vapor by density, the wet bulb by humidity ratio: up to 0.1 K warmer"
        value = number(row, "value")
        yield checked(_WET_BULB, row, what, ours, value, half, known_miss=miss)
