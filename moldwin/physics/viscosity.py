"""How stiff the melt is: what heat, water, glycerol and solids make of it."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.ranges import Range
from moldwin.physics._checks import above_zero, fraction, kelvin, power_law_index

__all__ = [
    "WLF_REACH",
    "consistency_log",
    "shift_wlf",
    "solids_thickening",
    "viscosity",
    "wlf_below_reach",
]

#: How far above the glass transition the Williams-Landel-Ferry shift is used (IUPAC). [K]
WLF_REACH = 50.0

# The point everything turns about: there the spread of n, of the temperature slope and of the
# water slope adds nothing. 100 1/s is what a small nozzle does; a pivot at the shear rate of a
# melt-index test would turn the spread of n into a false spread of the answer.
_PIVOT_SHEAR_RATE = 100.0  # 1/s
_PIVOT_T = 433.15  # K
_PIVOT_W_WATER = 0.15
_WLF_RANGE = Range(0.0, 50.0, "K above Tg", "IUPAC Gold Book, Williams-Landel-Ferry equation")


def consistency_log(
    t: Any,
    w_water: Any,
    w_glycerol: Any,
    *,
    pivot: Any,
    n: Any,
    activation: Any,
    water_slope: Any,
    glycerol_slope: Any,
) -> Any:
    r"""Logarithm of the power law's consistency K, to which further effects can be added.

    .. math:: \ln K = \ln \eta_p + A\left(\frac1T - \frac1{433.15}\right)
              - a (w_w - 0.15) - b w_g - (n - 1) \ln 100

    Parameters
    ----------
    t : float or array, shape (...)
        Temperature of the melt. [K]
    w_water : float or array, shape (...)
        Water, wet basis. [kg/kg]
    w_glycerol : float or array, shape (...)
        Glycerol (or what counts as glycerol), wet basis. [kg/kg]
    pivot : float or array, shape (...)
        Viscosity at 100 1/s, 160 °C, 15 % water, no glycerol. [Pa s]
    n : float or array, shape (...)
        Power-law index; 1 is Newtonian. [-]
    activation : float or array, shape (...)
        Activation energy over the gas constant, E/R. [K]
    water_slope : float or array, shape (...)
        Fall of ln(viscosity) per mass fraction of water. [-]
    glycerol_slope : float or array, shape (...)
        Fall of ln(viscosity) per mass fraction of glycerol. [-]

    Returns
    -------
    float or array, shape (...)
        ln K, with K in Pa s^n. [-]

    Raises
    ------
    ValueError
        A temperature outside 173..1273 K, a pivot not above 0, a fraction outside 0..1, or an
        index outside 0..1.5.

    Notes
    -----
    No coefficient set was found in print; the form is from memory. Published measurements lie at
    18 to 30 % water and 110 to 160 °C: drier melts are an extrapolation on every axis at once,
    which is why the slopes are to be drawn from wide ranges and not set.

    References
    ----------
    B. Vergnes, J. P. Villemaire, Rheol. Acta 26 (1987) 570 (form only, from memory).
    J. L. Willett, B. K. Jasberg, C. L. Swanson, Polym. Eng. Sci. 35 (1995) 202 (level
    of the pivot).

    Examples
    --------
    >>> ln_k = consistency_log(433.15, 0.15, 0.0, pivot=900.0, n=1.0, activation=5000.0,
    ...                        water_slope=17.0, glycerol_slope=10.0)
    >>> print(f"{np.exp(ln_k):.0f} Pa s")
    900 Pa s
    """
    return (
        np.log(above_zero("pivot", pivot, "Pa s"))
        + np.asarray(activation, float) * (1 / kelvin("t", t) - 1 / _PIVOT_T)
        - np.asarray(water_slope, float) * (fraction("w_water", w_water) - _PIVOT_W_WATER)
        - np.asarray(glycerol_slope, float) * fraction("w_glycerol", w_glycerol)
        - (power_law_index(n) - 1) * np.log(_PIVOT_SHEAR_RATE)
    )[()]


def viscosity(
    shear_rate: Any,
    t: Any,
    w_water: Any,
    w_glycerol: Any,
    *,
    pivot: Any,
    n: Any,
    activation: Any,
    water_slope: Any,
    glycerol_slope: Any,
) -> Any:
    r"""Viscosity of a starch melt: a power law that water, glycerol and heat shift.

    .. math:: \eta = K \dot\gamma^{\,n-1}

    Parameters
    ----------
    shear_rate : float or array, shape (...)
        Shear rate. [1/s]
    t : float or array, shape (...)
        Temperature of the melt. [K]
    w_water, w_glycerol : float or array, shape (...)
        Water and glycerol, wet basis. [kg/kg]
    pivot : float or array, shape (...)
        Viscosity at 100 1/s, 160 °C, 15 % water, no glycerol. [Pa s]
    n : float or array, shape (...)
        Power-law index. [-]
    activation : float or array, shape (...)
        E/R. [K]
    water_slope, glycerol_slope : float or array, shape (...)
        Fall of ln(viscosity) per mass fraction. [-]

    Returns
    -------
    float or array, shape (...)
        Viscosity. [Pa s]

    Raises
    ------
    ValueError
        A shear rate not above 0, or what `consistency_log` refuses.

    Notes
    -----
    Cooked melt without solids: multiply by `solids_thickening` for ash and fiber. Power laws have
    no plateau: below about 1 1/s the answer is too high.

    References
    ----------
    B. Vergnes, J. P. Villemaire, Rheol. Acta 26 (1987) 570 (form only, from memory).

    Examples
    --------
    At 23 % water and 125 °C, inside the 277 to 1254 Pa s of Xie et al. 2009:

    >>> eta = viscosity(100.0, 398.15, 0.23, 0.0, pivot=900.0, n=0.4, activation=5000.0,
    ...                 water_slope=17.5, glycerol_slope=10.0)
    >>> print(f"{eta:.0f} Pa s")
    612 Pa s
    """
    rate = above_zero("shear_rate", shear_rate, "1/s", "a power law has no value at rest")
    ln_k = consistency_log(
        t,
        w_water,
        w_glycerol,
        pivot=pivot,
        n=n,
        activation=activation,
        water_slope=water_slope,
        glycerol_slope=glycerol_slope,
    )
    return np.exp(ln_k + (np.asarray(n, float) - 1) * np.log(rate))[()]


def solids_thickening(phi: Any, phi_max: Any) -> Any:
    r"""How many times ash, fiber and other solids thicken the melt.

    .. math:: (1 - \phi / \phi_m)^{-2}

    Parameters
    ----------
    phi : float or array, shape (...)
        Volume share of solids. [m3/m3]
    phi_max : float or array, shape (...)
        Volume share at which they jam, .5 to .65. [m3/m3]

    Returns
    -------
    float or array, shape (...)
        Factor on the viscosity; infinite from ``phi_max`` on, where nothing flows. [-]

    Raises
    ------
    ValueError
        A share outside 0..1, or a ``phi_max`` of 0.

    Notes
    -----
    For grains; fibers longer than some ten diameters jam at less (assumed the same here).

    References
    ----------
    S. H. Maron, P. E. Pierce, J. Colloid Sci. 11 (1956) 80 (from memory).

    Examples
    --------
    >>> solids_thickening([0.0, 0.3], 0.6).round(2)
    array([1., 4.])
    """
    phi, phi_max = (
        fraction("phi", phi),
        fraction("phi_max", above_zero("phi_max", phi_max, "m3/m3")),
    )
    # maximum() turns a jammed melt into room 0, so that 1/0 says "infinitely stiff"
    room = np.maximum(1 - phi / phi_max, 0.0)
    with np.errstate(divide="ignore"):
        return (room**-2.0)[()]


def wlf_below_reach(
    below: Any, c1: float = 17.44, c2: float = 51.6, *, check: bool = True, out: Any = None
) -> Any:
    r"""What the Williams-Landel-Ferry shift adds to ln viscosity under Tg + 50 K.

    .. math:: \ln\frac{a_T(T_g + 50 - d)}{a_T(T_g + 50)}
              = \ln 10 \, \frac{c_1 c_2 d}{(c_2 + 50)(c_2 + 50 - d)}

    Parameters
    ----------
    below : float or array, shape (...)
        How far the temperature lies below Tg + 50 K, not negative. [K]
    c1 : float, optional
        First constant. [-]
    c2 : float, optional
        Second constant. [K]
    check : bool, optional
        Refuse a negative distance; left unchecked it counts as 0. [-]
    out : array, shape (...), optional
        Where to write the answer; may be ``below`` itself. [-]

    Returns
    -------
    float or array, shape (...)
        Rise of the logarithm; 0 at Tg + 50 K. [-]

    Raises
    ------
    ValueError
        A negative distance.

    Notes
    -----
    From 10 K under the glass transition on it rises no further: a glass flows nowhere. With the
    melt's own law above Tg + 50 K it joins without a jump, and about 12 decades above a melt of
    1 to 10 kPa s it meets the usual viscosity of a glass.

    References
    ----------
    M. L. Williams, R. F. Landel, J. D. Ferry, J. Am. Chem. Soc. 77 (1955) 3701 (from memory).

    Examples
    --------
    >>> print(f"{wlf_below_reach(50.0):.1f}")
    19.8
    """
    below = np.asarray(below, float)
    if check and np.any(below < 0):
        raise ValueError(f"below must not be negative, got {np.min(below):g} K")
    slope, top = np.log(10.0) * c1 * c2, c2 + WLF_REACH
    # d / (top (top - d)) = 1 / (top - d) - 1 / top: one array, gone over four times
    found = np.clip(below, 0.0, WLF_REACH + 10.0, out=out)
    found = np.subtract(top, found, out=out)
    found = np.divide(slope, found, out=out)
    return np.subtract(found, slope / top, out=out)[()]


def shift_wlf(t: Any, tg: Any, c1: Any = 17.44, c2: Any = 51.6, *, check: bool = True) -> Any:
    r"""Viscosity over that at the glass transition (Williams-Landel-Ferry).

    .. math:: \log_{10} a_T = \frac{-c_1 (T - T_g)}{c_2 + T - T_g}

    Parameters
    ----------
    t : float or array, shape (...)
        Temperature. [K]
    tg : float or array, shape (...)
        Glass transition, where the factor is 1. [K]
    c1 : float or array, shape (...), optional
        First constant; the usual value is for no polymer in particular. [-]
    c2 : float or array, shape (...), optional
        Second constant. [K]
    check : bool, optional
        Warn outside Tg to Tg + 50 K. [-]

    Returns
    -------
    float or array, shape (...)
        Shift factor. [-]

    Raises
    ------
    ValueError
        A temperature outside 173..1273 K, or c2 or more below Tg, where the form breaks
        down.

    Notes
    -----
    Keep it to Tg..Tg + 50 K. At barrel temperatures, with T - Tg near 90 K, it overstates the
    effect of water about fivefold: use `viscosity` there.

    References
    ----------
    M. L. Williams, R. F. Landel, J. D. Ferry, J. Am. Chem. Soc. 77 (1955) 3701 (from memory).

    Examples
    --------
    >>> print(f"{shift_wlf(350.0, 330.0):.1e}")
    1.3e-05
    """
    c1, c2 = np.asarray(c1, float), np.asarray(c2, float)
    above = kelvin("t", t) - kelvin("tg", tg)
    if np.any(c2 + above <= 0):
        raise ValueError("t lies c2 or more below tg, where the form has no meaning; swapped?")
    if check:
        _WLF_RANGE.check("shift_wlf", "t - tg", above)
    return (10.0 ** (-c1 * above / (c2 + above)))[()]
