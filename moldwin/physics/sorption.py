"""Water activity and moisture: isotherms in the glass, mixing law in the melt, dissolved salt."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.ranges import Range
from moldwin.physics._checks import above_zero, fraction, inside, kelvin

__all__ = [
    "flory_huggins_activity",
    "gab",
    "gab_water_activity",
    "glycerol_interaction",
    "hailwood_horrobin",
    "net_sorption_heat",
    "salt_water",
    "shift_water_activity",
    "volume_fractions",
]

_GAS_CONSTANT = 8.314462618
_CHECKED_HEAT = Range(0.05, 0.26, "kg/kg dry", "assumed fit, held against four materials")
_CHECKED_SHIFT = Range(-35.0, 35.0, "K", "assumed limit of moving an isotherm")
_CHI1 = Range(0.9, 1.4, "-", "assumed band for starch and water")
_INTERACTION = Range(0.0, 0.20, "kg/kg dry", "Enrione 2007")
_SALT = Range(0.0, 0.98, "-", "Pitzer & Mayorga 1973 (from memory); pure NaCl only")
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


def volume_fractions(w_water: Any, w_glycerol: Any = 0.0) -> tuple[Any, Any]:
    """Volume fractions of water and glycerol in a blend, from mass fractions.

    Parameters
    ----------
    w_water : float or array, shape (...)
        Mass fraction of water. [kg/kg]
    w_glycerol : float or array, shape (...)
        Mass fraction of glycerol; the rest is dry polymer. [kg/kg]

    Returns
    -------
    tuple of two floats or arrays, shape (...)
        Volume fraction of water and of glycerol. [m³/m³]

    Raises
    ------
    ValueError
        A fraction outside 0..1, or the two above 1 together.

    Notes
    -----
    Densities 1.0 (water), 1.26 (glycerol) and 1.5 g/cm³ (dry polysaccharide), no change of
    volume on mixing: the convention ``flory_huggins_activity`` is used with.

    References
    ----------
    Handbook densities, rounded (from memory).

    Examples
    --------
    >>> print("{:.3f} {:.3f}".format(*volume_fractions(0.10, 0.20)))
    0.138 0.219
    """
    w_water, w_glycerol = fraction("w_water", w_water), fraction("w_glycerol", w_glycerol)
    polymer = 1 - inside("w_water + w_glycerol", w_water + w_glycerol, 0, 1 + 1e-9, "kg/kg")
    volume = w_water + w_glycerol / 1.26 + np.maximum(polymer, 0.0) / 1.5
    return (w_water / volume)[()], (w_glycerol / 1.26 / volume)[()]


def flory_huggins_activity(f_water: Any, f_glycerol: Any, chi1: Any, *, check: bool = True) -> Any:
    """Water activity of a melt of polymer, glycerol and water.

    Parameters
    ----------
    f_water : float or array, shape (...)
        Volume fraction of water. [m³/m³]
    f_glycerol : float or array, shape (...)
        Volume fraction of glycerol. [m³/m³]
    chi1 : float or array, shape (...)
        Interaction of water with nearly dry polymer. [-]
    check : bool, optional
        Warn when ``chi1`` lies outside 0.9..1.4. [-]

    Returns
    -------
    float or array, shape (...)
        Water activity. [-]

    Raises
    ------
    ValueError
        A fraction outside 0..1, or the two above 1 together.

    Notes
    -----
    Holds above the glass transition; below it the isotherm does. The interaction falls from
    ``chi1`` when dry to 0.5 in pure water, with the square of the other share: a constant 0.5
    makes dry melts look far too safe. 0.25 is the ratio of the molar volumes of water and
    glycerol. ``chi1`` 0.9 to 1.4 is assumed. Take the volume fractions from masses with
    ``volume_fractions`` (densities 1.0, 1.26 and 1.5 g/cm³).

    References
    ----------
    Form after R. G. M. van der Sman, M. B. J. Meinders, Soft Matter 7 (2011) 429 (from memory).

    Examples
    --------
    >>> print(f"{flory_huggins_activity(*volume_fractions(0.10, 0.20), 1.15):.2f}")
    0.64
    """
    f_water, f_glycerol = fraction("f_water", f_water), fraction("f_glycerol", f_glycerol)
    inside("f_water + f_glycerol", f_water + f_glycerol, 0, 1 + 1e-9, "m³/m³")
    chi1 = np.asarray(chi1, dtype=float)
    if check:
        _CHI1.check("flory_huggins_activity", "chi1", chi1)
    rest = (1 - f_water) ** 2
    chi = 0.5 + (chi1 - 0.5) * rest
    # f exp(...) rather than exp(ln f + ...): a dry melt then has activity 0 without a warning.
    return (f_water * np.exp(1 - f_water - 0.25 * f_glycerol + chi * rest))[()]


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


def salt_water(aw: Any, *, check: bool = True) -> Any:
    """Water held by sodium chloride once humid air dissolves it.

    Parameters
    ----------
    aw : float or array, shape (...)
        Water activity. [-]
    check : bool, optional
        Warn when ``aw`` lies above 0.98. [-]

    Returns
    -------
    float or array, shape (...)
        Water a kilogram of salt holds; 0 below 0.70, infinite at 1. [kg/kg]

    Raises
    ------
    ValueError
        An activity outside 0..1.

    Notes
    -----
    Above 0.75 a NaCl solution of that activity at 25 °C; a saturated one holds 2.8 kg/kg. Salt
    spread in a polymer does not dissolve at one sharp humidity, so the step is drawn out from
    0.70 to 0.75 (assumed). Kelp ash is half potassium salts and more: an estimate only.

    References
    ----------
    K. S. Pitzer, G. Mayorga, J. Phys. Chem. 77 (1973) 2300, NaCl at 25 °C (constants from
    memory; a test holds them against tabulated activities).

    Examples
    --------
    >>> print(f"{salt_water(0.75):.1f} kg/kg")
    2.8 kg/kg
    """
    aw = fraction("aw", aw)
    if check:
        _SALT.check("salt_water", "aw", aw)
    step = np.clip((aw - 0.70) / 0.05, 0.0, 1.0)
    step = step * step * (3 - 2 * step)
    molality = _nacl_molality(np.maximum(aw, 0.70))
    with np.errstate(divide="ignore"):  # saturated air dilutes the salt without end
        return (step / (molality * 0.05844277))[()]


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


def _nacl_log_activity(molality: Any) -> tuple[Any, Any]:
    """Logarithm of water activity over NaCl at 25 °C, and its slope in molality (Pitzer)."""
    root = np.sqrt(molality)
    debye = -0.392 * root / (1 + 1.2 * root)
    b = 0.0765 + 0.2664 * np.exp(-2 * root)
    osmotic = 1 + debye + molality * b + molality**2 * 0.00127
    # m times the slope of the osmotic coefficient, free of 0/0 at infinite dilution
    slope = (
        -0.196 * root / (1 + 1.2 * root) ** 2
        + molality * (b - 0.2664 * root * np.exp(-2 * root))
        + 2 * molality**2 * 0.00127
    )
    per_molal = -2 * 0.01801528
    return per_molal * molality * osmotic, per_molal * (osmotic + slope)


def _nacl_molality(aw: Any) -> Any:
    """Molality of the NaCl solution of a water activity, by Newton's method."""
    target = np.log(aw)
    molality = -target / 0.0396  # low at the saturated end, high at the dilute one
    for _ in range(8):
        value, slope = _nacl_log_activity(molality)
        molality = np.maximum(molality - (value - target) / slope, 0.0)
    return molality
