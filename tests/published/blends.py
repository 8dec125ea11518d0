"""Blends made of the shipped cards alone, as the published tables name them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from moldwin.base.percentiles import Triple, triple
from moldwin.inputs.read_job import read_job
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
    parts = [part.rsplit(" ", 1) for part in recipe.split(" + ")]
    # A recipe as read has to be one to mold, with enough polymer in it. What it takes up is asked
    # of any, so it is read with equal masses and weighed out afterward.
    read = read_job(job(ingredient=[row(card, 1, 0) for card, _ in parts]))
    masses = {card: 1e-3 * float(grams) for card, grams in parts}
    weighed = tuple(replace(each, mass=masses[each.card]) for each in read.ingredients)
    bench = bench_of(replace(read, ingredients=weighed), count=_COUNT)
    isotherm = Isotherm(bench, Material(bench).blend, t_c + 273.15)
    at = np.asarray(aw, dtype=float)[..., None] * np.ones(_COUNT)
    w = isotherm.moisture(at)
    return w / (1.0 - w)


def uptake_band(recipe: str, aw: float, t_c: float = 25.0) -> Triple:
    """The same as an interval. [kg/kg]"""
    return triple(uptake(recipe, aw, t_c))
