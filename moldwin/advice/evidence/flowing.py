"""What the model foretells of a hot charge and of water on its way: flow, heat, diffusion."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from moldwin.advice.evidence.blends import Blends
from moldwin.advice.evidence.row import PREDICTION, EvidenceRow, Subject, told
from moldwin.advice.evidence.tables import middle, number, published
from moldwin.base.percentiles import triple

__all__ = ["heat_capacities", "melt_viscosities", "water_diffusivities"]

_VISCOSITY = Subject("melt viscosity", PREDICTION, "Pa s", "melt_viscosity.csv", by_factor=True)
_HEAT = Subject("heat capacity of starch", PREDICTION, "kJ/kg/K", "heat_capacity.csv", True)
_WATER = Subject("water diffusivity", PREDICTION, "m2/s", "water_diffusivity.csv", by_factor=True)

_HEAT_MISSES = {"CP3": "28 % high: the quarter we allow covers the other three, not this one"}


def melt_viscosities(blends: Blends) -> Iterator[EvidenceRow]:
    """Viscosity of starch and water in a slit, at the middle of the printed conditions."""
    for row in published("melt_viscosity.csv"):
        if row["why_not"]:
            continue
        t, water = (middle(number(row, f"{key}_low"), number(row, f"{key}_high")) for key in _ENDS)
        rate = number(row, "rate_1_s")
        band = triple(blends.viscosity(row["recipe"], water, t, rate))
        what = (
            f"{row['material']}, {100 * water:.0f} % water, {t:g} °C, {rate:g} 1/s taken; "
            f"read as {row['recipe']}"
        )
        ends = (number(row, "low"), number(row, "high"))
        yield told(_VISCOSITY, row, band, ends, what=what)


_ENDS = ("t_c", "w_water")


def heat_capacities(blends: Blends) -> Iterator[EvidenceRow]:
    """Heat capacity of starch by mixing, with the spread that these very rows gave it."""
    for row in published("heat_capacity.csv"):
        x, t = number(row, "x"), number(row, "t_c")
        found = 1e-3 * blends.heat_capacity(row["recipe"], x / (1.0 + x), t)
        what = f"{row['material']}, {x:g} kg/kg, {t:g} °C; read as {row['recipe']}"
        ends = (number(row, "cp_kj_kg_k"), number(row, "cp_kj_kg_k"))
        miss = _HEAT_MISSES.get(row["id"], "")
        yield told(_HEAT, row, triple(found), ends, what=what, known_miss=miss)


def water_diffusivities(blends: Blends) -> Iterator[EvidenceRow]:
    """Diffusion of water in a dense film, at the middle of the printed conditions."""
    for row in published("water_diffusivity.csv"):
        if row["why_not"]:
            continue
        t, aw = (0.5 * (number(row, f"{key}_low") + number(row, f"{key}_high")) for key in _FILM)
        band = triple(np.asarray(blends.water_diffusivity(row["recipe"], aw, t)))
        what = f"{row['material']}, {100 * aw:.0f} % humidity, {t:g} °C; read as {row['recipe']}"
        ends = (number(row, "low"), number(row, "high"))
        yield told(_WATER, row, band, ends, what=what)


_FILM = ("t_c", "aw")
