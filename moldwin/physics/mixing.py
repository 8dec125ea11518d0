"""Density, heat capacity and conductivity of a blend from what it is made of."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from moldwin.base.ranges import Range
from moldwin.physics._checks import fraction, kelvin

__all__ = [
    "COMPONENTS",
    "blend_conductivity",
    "blend_density",
    "blend_heat_capacity",
    "conductivity",
    "density",
    "heat_capacity",
    "thermal_diffusivity",
]

#: Component names, in the order fractions are given when none is named.
COMPONENTS = ("carbohydrate", "fiber", "ash", "protein", "fat", "water", "glycerol")

# c0 + c1 t + c2 t², t in °C. Choi & Okos 1986, read; marked lines are from memory.
_DENSITY = {  # kg/m3
    "carbohydrate": (1599.1, -0.31046, 0.0),
    "fiber": (1311.5, -0.36589, 0.0),
    "ash": (2423.8, -0.28063, 0.0),
    "protein": (1329.9, -0.5184, 0.0),
    "fat": (925.59, -0.41757, 0.0),
    "water": (997.18, 3.1439e-3, -3.7574e-3),
    # 1260 at 20 °C read from a data sheet; the expansion of 5e-4 1/K is from memory
    "glycerol": (1260.0 * (1 + 5e-4 * 20.0), -1260.0 * 5e-4, 0.0),
}
_HEAT_CAPACITY = {  # kJ/kg/K
    "carbohydrate": (1.5488, 1.9625e-3, -5.9399e-6),
    "fiber": (1.8459, 1.8306e-3, -4.6509e-6),
    "ash": (1.0926, 1.8896e-3, -3.6817e-6),
    "protein": (2.0082, 1.2089e-3, -1.3129e-6),
    "fat": (1.9842, 1.4733e-3, -4.8008e-6),  # c1 from memory: a copy in use lost a digit
    # From memory: copies with 4.1289 and the signs of both slopes turned give 4.08 at 100 °C,
    # where water has 4.22.
    "water": (4.1762, -9.0864e-5, 5.4731e-6),
    "glycerol": (2.4, 0.0, 0.0),  # from memory, 25 °C, taken as constant
}
_CONDUCTIVITY = {  # W/m/K
    "carbohydrate": (0.20141, 1.3874e-3, -4.3312e-6),
    "fiber": (0.18331, 1.2497e-3, -3.1683e-6),
    "ash": (0.32962, 1.4011e-3, -2.9069e-6),
    "protein": (0.17881, 1.1958e-3, -2.7178e-6),
    "fat": (0.18071, -2.7604e-4, -1.7749e-7),  # from memory
    "water": (0.57109, 1.762e-3, -6.703e-6),
    "glycerol": (0.285, 0.0, 0.0),  # from memory, 25 °C, taken as constant
}
_FITTED = Range(233.15, 423.15, "K", "Choi & Okos 1986")
_FITTED_WATER_CP = Range(273.15, 423.15, "K", "Choi & Okos 1986, liquid water")


def density(component: str, t: Any, *, check: bool = True) -> Any:
    """Density of one pure component.

    Parameters
    ----------
    component : str
        One of ``COMPONENTS``. [-]
    t : float or array, shape (...)
        Temperature. [K]
    check : bool, optional
        Warn when ``t`` leaves the fit. [-]

    Returns
    -------
    float or array, shape (...)
        Density. [kg/m3]

    Raises
    ------
    ValueError
        An unknown component, or a temperature outside 173..1273 K.

    Notes
    -----
    Fitted from -40 to 150 °C; a hotter melt is an extrapolation. Glycerol is from memory.

    References
    ----------
    Y. Choi, M. R. Okos, in: Food Engineering and Process Applications 1 (1986) 93.

    Examples
    --------
    >>> print(f"{density('carbohydrate', 298.15):.0f} kg/m3")
    1591 kg/m3
    """
    return _polynomial("density", _DENSITY, component, t, check)[()]


def heat_capacity(component: str, t: Any, *, check: bool = True) -> Any:
    """Heat capacity of one pure component.

    Parameters
    ----------
    component : str
        One of ``COMPONENTS``. [-]
    t : float or array, shape (...)
        Temperature. [K]
    check : bool, optional
        Warn when ``t`` leaves the fit. [-]

    Returns
    -------
    float or array, shape (...)
        Heat capacity at constant pressure. [J/kg/K]

    Raises
    ------
    ValueError
        An unknown component, or a temperature outside 173..1273 K.

    Notes
    -----
    Fitted from -40 to 150 °C, water from 0 °C. Water, glycerol and the slope of fat are from
    memory: copies of the water line with turned signs give 4.08 instead of 4.22 kJ/kg/K at 100 °C.

    References
    ----------
    Y. Choi, M. R. Okos, in: Food Engineering and Process Applications 1 (1986) 93.

    Examples
    --------
    >>> print(f"{heat_capacity('water', 373.15) / 1e3:.2f} kJ/kg/K")
    4.22 kJ/kg/K
    """
    return (1e3 * _polynomial("heat_capacity", _HEAT_CAPACITY, component, t, check))[()]


def conductivity(component: str, t: Any, *, check: bool = True) -> Any:
    """Thermal conductivity of one pure component.

    Parameters
    ----------
    component : str
        One of ``COMPONENTS``. [-]
    t : float or array, shape (...)
        Temperature. [K]
    check : bool, optional
        Warn when ``t`` leaves the fit. [-]

    Returns
    -------
    float or array, shape (...)
        Thermal conductivity. [W/m/K]

    Raises
    ------
    ValueError
        An unknown component, or a temperature outside 173..1273 K.

    Notes
    -----
    Fitted from -40 to 150 °C. Fat and glycerol are from memory.

    References
    ----------
    Y. Choi, M. R. Okos, in: Food Engineering and Process Applications 1 (1986) 93.

    Examples
    --------
    >>> print(f"{conductivity('carbohydrate', 298.15):.3f} W/m/K")
    0.233 W/m/K
    """
    return _polynomial("conductivity", _CONDUCTIVITY, component, t, check)[()]


def blend_density(
    fractions: Any, t: Any, components: Sequence[str] = COMPONENTS, *, check: bool = True
) -> Any:
    r"""Density of a blend without pores: volumes add.

    .. math:: 1/\rho = \sum_i w_i / \rho_i

    Parameters
    ----------
    fractions : array, shape (..., n)
        Mass fraction of each component; they sum to 1. [kg/kg]
    t : float or array, shape (...)
        Temperature. [K]
    components : sequence of str, length n, optional
        Which component stands where. [-]
    check : bool, optional
        Warn when ``t`` leaves the fit. [-]

    Returns
    -------
    float or array, shape (...)
        Density. [kg/m3]

    Raises
    ------
    ValueError
        An unknown component, fractions outside 0..1 or not summing to 1, a temperature in °C.

    Notes
    -----
    Starch and water contract on mixing when cold and the melt expands more than its parts:
    a real melt is about 3 % lighter than this. The correction is the caller's.

    References
    ----------
    Y. Choi, M. R. Okos, in: Food Engineering and Process Applications 1 (1986) 93.

    Examples
    --------
    >>> names = ("carbohydrate", "glycerol", "water")
    >>> print(f"{blend_density([0.7, 0.2, 0.1], 298.15, names):.0f} kg/m3")
    1430 kg/m3
    """
    w, rho = _parts(fractions, t, components, density, _FITTED if check else None)
    return (1 / (w / rho).sum(-1))[()]


def blend_heat_capacity(
    fractions: Any, t: Any, components: Sequence[str] = COMPONENTS, *, check: bool = True
) -> Any:
    """Heat capacity of a blend: the sum of its parts by mass.

    Parameters
    ----------
    fractions : array, shape (..., n)
        Mass fraction of each component; they sum to 1. [kg/kg]
    t : float or array, shape (...)
        Temperature. [K]
    components : sequence of str, length n, optional
        Which component stands where. [-]
    check : bool, optional
        Warn when ``t`` leaves the fit. [-]

    Returns
    -------
    float or array, shape (...)
        Heat capacity. [J/kg/K]

    Raises
    ------
    ValueError
        As in `blend_density`.

    Notes
    -----
    Without heat of melting or evaporation.

    References
    ----------
    Y. Choi, M. R. Okos, in: Food Engineering and Process Applications 1 (1986) 93.

    Examples
    --------
    >>> names = ("carbohydrate", "glycerol", "water")
    >>> print(f"{blend_heat_capacity([0.7, 0.2, 0.1], 403.15, names):.0f} J/kg/K")
    2098 J/kg/K
    """
    w, cp = _parts(fractions, t, components, heat_capacity, _FITTED_WATER_CP if check else None)
    return (w * cp).sum(-1)[()]


def blend_conductivity(
    fractions: Any, t: Any, components: Sequence[str] = COMPONENTS, *, check: bool = True
) -> Any:
    """Thermal conductivity of a blend without pores: the sum of its parts by volume.

    Parameters
    ----------
    fractions : array, shape (..., n)
        Mass fraction of each component; they sum to 1. [kg/kg]
    t : float or array, shape (...)
        Temperature. [K]
    components : sequence of str, length n, optional
        Which component stands where. [-]
    check : bool, optional
        Warn when ``t`` leaves the fit. [-]

    Returns
    -------
    float or array, shape (...)
        Thermal conductivity. [W/m/K]

    Raises
    ------
    ValueError
        As in `blend_density`.

    Notes
    -----
    Parallel model, the upper end for a given composition. A bed of loose pellets conducts only
    .1 to .15 W/m/K (from memory).

    References
    ----------
    Y. Choi, M. R. Okos, in: Food Engineering and Process Applications 1 (1986) 93.

    Examples
    --------
    >>> names = ("carbohydrate", "glycerol", "water")
    >>> print(f"{blend_conductivity([0.7, 0.2, 0.1], 298.15, names):.3f} W/m/K")
    0.299 W/m/K
    """
    w, rho = _parts(fractions, t, components, density, _FITTED if check else None)
    _, k = _parts(fractions, t, components, conductivity, None)
    volume = w / rho
    return ((volume * k).sum(-1) / volume.sum(-1))[()]


def thermal_diffusivity(
    fractions: Any, t: Any, components: Sequence[str] = COMPONENTS, *, check: bool = True
) -> Any:
    r"""How fast a temperature evens out in a blend without pores.

    .. math:: \alpha = k / (\rho c_p)

    Parameters
    ----------
    fractions : array, shape (..., n)
        Mass fraction of each component; they sum to 1. [kg/kg]
    t : float or array, shape (...)
        Temperature. [K]
    components : sequence of str, length n, optional
        Which component stands where. [-]
    check : bool, optional
        Warn when ``t`` leaves the fit. [-]

    Returns
    -------
    float or array, shape (...)
        Thermal diffusivity. [m2/s]

    Raises
    ------
    ValueError
        As in `blend_density`.

    Notes
    -----
    For melt and solid parts. Loose pellets conduct less *and* hold less heat a volume, about
    .7e-7 m2/s: dividing a loose bed's k by the dense rho cp is a trap.

    References
    ----------
    Y. Choi, M. R. Okos, in: Food Engineering and Process Applications 1 (1986) 93.

    Examples
    --------
    >>> names = ("carbohydrate", "glycerol", "water")
    >>> print(f"{thermal_diffusivity([0.7, 0.2, 0.1], 403.15, names) * 1e6:.3f} mm2/s")
    0.124 mm2/s
    """
    w, rho = _parts(fractions, t, components, density, _FITTED if check else None)
    k, cp = (_properties(model, t, components) for model in (conductivity, heat_capacity))
    volume = w / rho
    whole = volume.sum(-1)
    mixed = (volume * k).sum(-1) / whole
    return (mixed / (1 / whole * (w * cp).sum(-1)))[()]


def _polynomial(model: str, table: dict[str, Any], component: str, t: Any, check: bool) -> Any:
    if component not in table:
        raise ValueError(f"unknown component {component!r}; known: {', '.join(COMPONENTS)}")
    t = kelvin("t", t)
    if check:
        cold_end = model == "heat_capacity" and component == "water"
        (_FITTED_WATER_CP if cold_end else _FITTED).check(model, "t", t, stacklevel=4)
    c0, c1, c2 = table[component]
    t_c = t - 273.15
    return c0 + t_c * (c1 + t_c * c2)


def _parts(
    fractions: Any, t: Any, components: Sequence[str], model: Any, fitted: Range | None
) -> tuple[Any, Any]:
    """The fractions, checked, and the property of each component beside them."""
    w = fraction("fractions", fractions)
    if w.ndim == 0 or w.shape[-1] != len(components):
        raise ValueError(
            f"fractions need {len(components)} entries on their last axis, one for each of "
            f"{', '.join(components)}; got shape {w.shape}"
        )
    off = np.abs(w.sum(-1) - 1)
    if np.any(off > 1e-6):
        raise ValueError(f"fractions must sum to 1, off by up to {np.nanmax(off):g}")
    if fitted is not None:
        fitted.check(f"blend_{model.__name__}", "t", kelvin("t", t), stacklevel=4)
    return w, _properties(model, t, components)


def _properties(model: Any, t: Any, components: Sequence[str]) -> Any:
    return np.stack([model(name, t, check=False) for name in components], axis=-1)
