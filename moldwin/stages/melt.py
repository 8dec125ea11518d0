"""Density and heat of the hot charge, by mixing its components."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics.mixing import blend_density, blend_heat_capacity, thermal_diffusivity
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend

__all__ = ["melt_density", "melt_diffusivity", "melt_effusivity", "melt_heat_capacity"]

_COMPONENTS = ("carbohydrate", "fiber", "ash", "glycerol", "water")


def melt_density(bench: Bench, blend: Blend, w_water: Any, t: Any) -> Any:
    """Density by mixing, lowered as measured melts ask for, shape (s,). [kg/m³]

    Parameters
    ----------
    w_water : float or array, shape (s,)
        Water, wet basis. [kg/kg]
    t : float or array, shape (s,)
        Temperature. [K]
    """
    mixed = blend_density(_fractions(bench, blend, w_water), t, _COMPONENTS, check=False)
    return mixed * bench.typical("press", "melt_density_factor")


def melt_diffusivity(bench: Bench, blend: Blend, w_water: Any, t: Any) -> Any:
    """Thermal diffusivity by mixing, for the heat capacity drawn, shape (s,). [m²/s]

    Parameters
    ----------
    w_water : float or array, shape (s,)
        Water, wet basis. [kg/kg]
    t : float or array, shape (s,)
        Temperature. [K]
    """
    mixed = thermal_diffusivity(_fractions(bench, blend, w_water), t, _COMPONENTS, check=False)
    return mixed / bench.typical("melt", "heat_capacity_factor")


def melt_effusivity(bench: Bench, blend: Blend, w_water: Any, t: Any) -> Any:
    """Root of conductivity times density times heat capacity, (s,). [J/m²/K/s^0.5]

    Parameters
    ----------
    w_water : float or array, shape (s,)
        Water, wet basis. [kg/kg]
    t : float or array, shape (s,)
        Temperature. [K]
    """
    capacity = melt_density(bench, blend, w_water, t) * melt_heat_capacity(bench, blend, w_water, t)
    return capacity * np.sqrt(melt_diffusivity(bench, blend, w_water, t))


def melt_heat_capacity(bench: Bench, blend: Blend, w_water: Any, t: Any) -> Any:
    """Heat capacity by mixing, times what that misses, shape (s,). [J/kg/K]

    Parameters
    ----------
    w_water : float or array, shape (s,)
        Water, wet basis. [kg/kg]
    t : float or array, shape (s,)
        Temperature. [K]
    """
    mixed = blend_heat_capacity(_fractions(bench, blend, w_water), t, _COMPONENTS, check=False)
    return mixed * bench.typical("melt", "heat_capacity_factor")


def _fractions(bench: Bench, blend: Blend, w_water: Any) -> Any:
    """Mass fractions of the components of the mixing rule, shape (s, 5). [kg/kg]"""
    dry = 1.0 - w_water
    none = np.zeros(bench.count)
    fiber = sum((e.share for e in blend.fibrous), start=none)
    ash, plasticizer = blend.ash + none, blend.plasticizer + none
    rest = np.clip(1.0 - fiber - ash - plasticizer, 0.0, 1.0)
    parts = (rest * dry, fiber * dry, ash * dry, plasticizer * dry, w_water)
    # components first in memory: sums over them are twenty times quicker
    fractions = np.moveaxis(np.stack(parts), 0, -1)
    return fractions / fractions.sum(-1, keepdims=True)
