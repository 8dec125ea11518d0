"""Water activity and moisture in the glass: isotherms, their heat, glycerol's part in them."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.ranges import Range
from moldwin.physics._checks import above_zero, fraction, inside, kelvin

__all__ = [
    "gab",
    "gab_water_activity",
    "glycerol_interaction",
    "hailwood_horrobin",
    "net_sorption_heat",
    "shift_water_activity",
]

_GAS_CONSTANT = 8.314462618
_CHECKED_HEAT = Range(0.05, 0.26, "kg/kg dry", "assumed fit, held against four materials")
_CHECKED_SHIFT = Range(-35.0, 35.0, "K", "assumed limit of moving an isotherm")
_INTERACTION = Range(0.0, 0.20, "kg/kg dry", "Enrione 2007")
_WOOD_T = Range(272.0, 405.4, "K", "Wood Handbook (from memory)")


def gab(aw: Any, xm: Any, c: Any, k: Any, *, fitted: Range | None = None) -> Any:
    r"""Moisture at a water activity (Guggenheim-Anderson-de Boer isotherm).

    .. math:: x = \frac{x_m C K a_w}{(1 - K a_w)(1 - K a_w + C K a_w)}

    Parameters
    ----------
    aw : float or array, shape (...)
        Water activity. [-]
    xm : float or array, shape (...)
        Monolayer moisture, dry basis. [kg/kg]
    c : float or array, shape (...)
        Constant C, how much tighter the first layer sits. [-]
    k : float or array, shape (...)
        Constant K, how far the upper layers differ from free water. [-]
    fitted : Range, optional
        Range of water activity behind the constants; leaving it warns. [-]

    Returns
    -------
    float or array, shape (...)
        Moisture, dry basis. [kg/kg]

    Raises
    ------
    ValueError
        An activity outside 0..1, a constant not above 0, or K aw of 1 or more, where the
        isotherm has no end.

    Notes
    -----
    Holds for the material, the branch (adsorption or desorption) and the temperature of its
    constants, usually from aw 0.1 to 0.9. The three constants come from one fit: never mix.

    References
    ----------
    C. van den Berg, S. Bruin, in Water Activity: Influences on Food Quality (1981)
    (from memory).

    Examples
    --------
    >>> print(f"{gab(0.53, 0.0743, 26.87, 0.7842):.3f} kg/kg")
    0.121 kg/kg
    """
    aw, xm, c, k = fraction("aw", aw), *_constants(xm, c, k)
    if fitted is not None:
        fitted.check("gab", "aw", aw)
    u = inside("k * aw", k * aw, 0.0, 1 - 1e-9, "(the isotherm has no end at 1)")
    return (xm * c * u / ((1 - u) * (1 - u + c * u)))[()]


def gab_water_activity(
    x: Any, xm: Any, c: Any, k: Any, *, fitted: Range | None = None, check: bool = True
) -> Any:
    """Water activity at a moisture: the closed-form inverse of ``gab``.

    Parameters
    ----------
    x : float or array, shape (...)
        Moisture, dry basis. [kg/kg]
    xm : float or array, shape (...)
        Monolayer moisture, dry basis. [kg/kg]
    c : float or array, shape (...)
        Constant C. [-]
    k : float or array, shape (...)
        Constant K. [-]
    fitted : Range, optional
        Range of water activity behind the constants; leaving it warns. [-]
    check : bool, optional
        Warn when the answer lies above 1. [-]

    Returns
    -------
    float or array, shape (...)
        Water activity. [-]

    Raises
    ------
    ValueError
        A negative moisture, or a constant not above 0.

    Notes
    -----
    Valid where ``gab`` is. An answer above 1 means more water than the isotherm holds in
    saturated air: it is given as computed, with a warning, and is not a water activity.

    References
    ----------
    C. van den Berg, S. Bruin, in Water Activity: Influences on Food Quality (1981)
    (from memory).

    Examples
    --------
    >>> print(f"{gab_water_activity(0.12, 0.0743, 26.87, 0.7842):.3f}")
    0.525
    """
    x = inside("x", x, 0.0, np.inf, "kg/kg dry")
    xm, c, k = _constants(xm, c, k)
    # (C-1) x u^2 + (C xm - (C-2) x) u - x = 0 with u = K aw. Each branch of the root is the one
    # that adds numbers of one sign, so that no digits cancel; only the first knows C = 1, and
    # only C > 2 can reach the second.
    b = c * xm - (c - 2) * x
    square = (c - 1) * x
    root = np.sqrt(b * b + 4 * square * x)
    down = b < 0
    u = np.where(down, root - b, 2 * x) / np.where(down, 2 * square, b + root)
    aw = (u / k)[()]
    if fitted is not None:
        fitted.check("gab_water_activity", "aw", aw)
    if check:
        Range(0.0, 1.0 + 1e-12, "-", "what saturated air can hold").check(
            "gab_water_activity", "aw", aw
        )
    return aw


def net_sorption_heat(x: Any, *, check: bool = True) -> Any:
    """Heat that binds sorbed water beyond the heat of vaporization.

    Parameters
    ----------
    x : float or array, shape (...)
        Moisture, dry basis. [kg/kg]
    check : bool, optional
        Warn when ``x`` lies outside 0.05..0.26. [-]

    Returns
    -------
    float or array, shape (...)
        Net isosteric heat of sorption. [J/mol]

    Raises
    ------
    ValueError
        A negative moisture.

    Notes
    -----
    ``17 exp(-(x - 0.05) / 0.07)`` kJ/mol, our own curve through starch, cellulose and a seaweed
    gel: a factor of 2 either way, and extruded pasta at x = 0.05 lies outside even that.

    References
    ----------
    Assumed; held against the isotherms of pasta, potato, cellulose and furcellaran.

    Examples
    --------
    >>> print(f"{net_sorption_heat(0.12) / 1e3:.1f} kJ/mol")
    6.3 kJ/mol
    """
    x = inside("x", x, 0.0, np.inf, "kg/kg dry")
    if check:
        _CHECKED_HEAT.check("net_sorption_heat", "x", x)
    return (17e3 * np.exp(-(x - 0.05) / 0.07))[()]


def shift_water_activity(aw: Any, t_from: Any, t_to: Any, q: Any, *, check: bool = True) -> Any:
    """Water activity of the same moisture at another temperature (Clausius-Clapeyron).

    Parameters
    ----------
    aw : float or array, shape (...)
        Water activity at ``t_from``. [-]
    t_from : float or array, shape (...)
        Temperature of the isotherm. [K]
    t_to : float or array, shape (...)
        Temperature wanted. [K]
    q : float or array, shape (...)
        Net heat of sorption at that moisture. [J/mol]
    check : bool, optional
        Warn when the shift is larger than 35 K. [-]

    Returns
    -------
    float or array, shape (...)
        Water activity at ``t_to``, never above 1. [-]

    Raises
    ------
    ValueError
        An activity outside 0..1, or a temperature that looks like °C.

    Notes
    -----
    Holds within 35 K of the isotherm's own temperature. Cut at 1: beyond that water is free and
    its activity is 1.

    References
    ----------
    Clausius-Clapeyron with a constant heat; the limit of 35 K is assumed.

    Examples
    --------
    >>> print(f"{shift_water_activity(0.50, 298.15, 318.15, 6300.0):.3f}")
    0.587
    """
    aw = fraction("aw", aw)
    t_from, t_to = kelvin("t_from", t_from), kelvin("t_to", t_to)
    if check:
        _CHECKED_SHIFT.check("shift_water_activity", "t_to - t_from", t_to - t_from)
    shifted = aw * np.exp(-np.asarray(q, dtype=float) / _GAS_CONSTANT * (1 / t_to - 1 / t_from))
    return np.minimum(shifted, 1.0)[()]


def glycerol_interaction(share: Any, *, check: bool = True) -> Any:
    """Factor on the moisture of a starch-glycerol blend whose isotherms are added by mass.

    Parameters
    ----------
    share : float or array, shape (...)
        Glycerol as a share of the dry mass. [kg/kg]
    check : bool, optional
        Warn when ``share`` lies above 0.20. [-]

    Returns
    -------
    float or array, shape (...)
        Factor, 1 without glycerol. [-]

    Raises
    ------
    ValueError
        A share outside 0..1.

    Notes
    -----
    Straight lines through 1 at 0 and the two published points, 0.9 at 5 % and 0.8 at 20 %;
    beyond 20 % the last line goes on, with a warning. The blended isotherm is good to 20 %.

    References
    ----------
    J. I. Enrione, S. E. Hill, J. R. Mitchell, J. Agric. Food Chem. 55 (2007) 2956.

    Examples
    --------
    >>> print(f"{glycerol_interaction(0.125):.2f}")
    0.85
    """
    share = fraction("share", share)
    if check:
        _INTERACTION.check("glycerol_interaction", "glycerol share", share)
    # The points lie on a curve bent one way, so that the upper of two lines joins them.
    return np.maximum(1 - 2 * share, 0.9 - (share - 0.05) / 1.5)[()]


def hailwood_horrobin(aw: Any, t: Any, *, check: bool = True) -> Any:
    """Moisture of wood, and of lignocellulose for want of better (Hailwood-Horrobin).

    Parameters
    ----------
    aw : float or array, shape (...)
        Water activity. [-]
    t : float or array, shape (...)
        Temperature. [K]
    check : bool, optional
        Warn when ``t`` lies outside the table behind the fit. [-]

    Returns
    -------
    float or array, shape (...)
        Moisture, dry basis. [kg/kg]

    Raises
    ------
    ValueError
        An activity outside 0..1, or a temperature that looks like °C.

    Notes
    -----
    Softwood in general, between adsorption and desorption, about -1 to 132 °C.

    References
    ----------
    USDA Forest Products Laboratory, Wood Handbook, chapter 4 (constants from memory).

    Examples
    --------
    >>> print(f"{hailwood_horrobin(0.65, 294.25):.3f} kg/kg")
    0.120 kg/kg
    """
    aw, t_c = fraction("aw", aw), kelvin("t", t) - 273.15
    if check:
        _WOOD_T.check("hailwood_horrobin", "t", t)
    w = 349 + 1.29 * t_c + 0.0135 * t_c**2
    u = (0.805 + 0.000736 * t_c - 2.73e-6 * t_c**2) * aw
    k1 = 6.27 - 0.00938 * t_c - 0.000303 * t_c**2
    k2 = 1.91 + 0.0407 * t_c - 0.000293 * t_c**2
    one, two = k1 * u, k1 * k2 * u**2
    return (18 / w * (u / (1 - u) + (one + 2 * two) / (1 + one + two)))[()]


def _constants(xm: Any, c: Any, k: Any) -> tuple[Any, Any, Any]:
    """The three constants of an isotherm as floats above 0."""
    return above_zero("xm", xm, "kg/kg dry"), above_zero("c", c, "-"), above_zero("k", k, "-")
