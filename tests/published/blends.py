"""Blends made of the shipped cards alone, as the published tables name them."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.percentiles import Triple, triple
from moldwin.stages.moisture import Isotherm
from moldwin.stages.state import Material
from tests.jobs import bench_of, job, row

__all__ = ["uptake", "uptake_band"]

_COUNT = 1024


def uptake(recipe: str, aw: Any, t_c: float = 25.0) -> Any:
    """Equilibrium moisture of a dry recipe such as ``"potato-starch 85 + glycerol 15"``.

    Parameters
    ----------
    recipe : str
        Cards and grams of dry mass. [g]
    aw : float or array, shape (n,)
        Water activity. [-]
    t_c : float
        Temperature. [°C]

    Returns
    -------
    array, shape (s,) or (n, s)
        Moisture, dry basis. [kg/kg]
    """
    parts = (part.rsplit(" ", 1) for part in recipe.split(" + "))
    rows = [row(card, float(mass), 0) for card, mass in parts]
    bench = bench_of(job(ingredient=rows), count=_COUNT)
    isotherm = Isotherm(bench, Material(bench).blend, t_c + 273.15)
    at = np.asarray(aw, dtype=float)[..., None] * np.ones(_COUNT)
    w = isotherm.moisture(at)
    return w / (1.0 - w)


def uptake_band(recipe: str, aw: float, t_c: float = 25.0) -> Triple:
    """The same as an interval. [kg/kg]"""
    return triple(uptake(recipe, aw, t_c))
