"""Air of a known humidity: saturated salts, and glycerol and water."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.ranges import Range
from moldwin.physics._checks import fraction, kelvin

__all__ = [
    "SALTS",
    "glycerol_mass_fraction",
    "glycerol_water_activity",
    "salt_range",
    "salt_uncertainty",
    "salt_water_activity",
]

_GREENSPAN = "Greenspan 1977 (from memory)"

#: Fitted range in °C, and the coefficients of 1, t, t², t³ (t in °C) of the humidity in percent.
#: Widely copied code has wrong signs for LiCl, CH3COOK and K2CO3; those here give the table back.
_POLYNOMIALS: dict[str, tuple[tuple[float, float], tuple[float, ...]]] = {
    "CH3COOK": ((10, 30), (22.4388, 0.156288, -0.612868e-2)),
    "K2CO3": ((0, 30), (43.1315, 0.00147523)),
    "K2SO4": ((0, 50), (98.7792, -0.0590502)),
    "KCl": ((0, 90), (88.6190, -0.193340, 0.899706e-3)),
    "KNO3": ((0, 50), (96.3361, 0.0112371, -0.484514e-2)),
    "LiCl": ((0, 100), (11.2323, 0.00824245, -0.214890e-3)),
    "MgCl2": ((0, 99), (33.6686, -0.00797397, -0.108988e-2)),
    "NaCl": ((0, 80), (75.5164, 0.0398321, -0.265459e-2, 0.2848e-4)),
}
#: Temperatures in °C of the table, and its uncertainty in percent humidity there.
_UNCERTAINTY: dict[str, tuple[tuple[float, ...], tuple[float, ...]]] = {
    "(NH4)2SO4": ((0, 5, 15, 20, 25, 35, 40, 45), (0.9, 0.68, 0.38, 0.31, 0.28, 0.37, 0.49, 0.65)),
    "CH3COOK": ((10, 15, 20, 30), (0.53, 0.32, 0.25, 0.53)),
    "K2CO3": ((0, 10, 15, 20, 30), (0.66, 0.39, 0.33, 0.33, 0.5)),
    "K2SO4": (
        (0, 5, 10, 20, 25, 30, 40, 45, 50),
        (1.1, 0.91, 0.76, 0.53, 0.45, 0.4, 0.38, 0.4, 0.45),
    ),
    "KBr": (
        (5, 10, 20, 25, 30, 40, 45, 50, 60),
        (0.26, 0.24, 0.21, 0.21, 0.21, 0.24, 0.26, 0.28, 0.35),
    ),
    "KCl": (
        (0, 5, 10, 20, 25, 30, 40, 45, 50, 60),
        (0.53, 0.45, 0.39, 0.29, 0.26, 0.25, 0.25, 0.28, 0.31, 0.41),
    ),
    "KI": (
        (5, 10, 15, 25, 30, 35, 45, 50, 55),
        (0.34, 0.31, 0.28, 0.24, 0.23, 0.23, 0.24, 0.26, 0.28),
    ),
    "KNO3": ((0, 5, 15, 20, 25, 35, 40, 45), (2.9, 2.1, 0.96, 0.66, 0.55, 0.83, 1.2, 1.8)),
    "LiCl": (
        (5, 10, 15, 25, 30, 35, 45, 50, 55),
        (0.47, 0.41, 0.35, 0.27, 0.24, 0.22, 0.21, 0.22, 0.23),
    ),
    "Mg(NO3)2": ((0, 5, 15, 20, 25, 35, 40, 45), (0.55, 0.43, 0.27, 0.23, 0.22, 0.29, 0.37, 0.47)),
    "MgCl2": (
        (0, 5, 15, 20, 25, 35, 40, 45, 55, 60),
        (0.33, 0.28, 0.21, 0.18, 0.16, 0.13, 0.13, 0.13, 0.16, 0.18),
    ),
    "NH4Cl": ((10, 15, 20, 30), (0.96, 0.59, 0.44, 0.57)),
    "NaBr": (
        (5, 10, 15, 25, 30, 35, 45, 50, 55),
        (0.72, 0.6, 0.51, 0.4, 0.38, 0.38, 0.47, 0.55, 0.65),
    ),
    "NaCl": (
        (5, 10, 15, 25, 30, 35, 45, 50, 55),
        (0.27, 0.22, 0.18, 0.12, 0.11, 0.12, 0.16, 0.19, 0.24),
    ),
    "NaI": ((5, 10, 20, 25), (0.99, 0.83, 0.59, 0.5)),
    "NaNO3": (
        (10, 15, 20, 30, 35, 40, 50, 55, 60),
        (0.45, 0.39, 0.35, 0.31, 0.32, 0.34, 0.42, 0.49, 0.57),
    ),
    "SrCl2": ((10, 15, 20, 30), (0.09, 0.06, 0.05, 0.03)),
}
#: Humidity in percent at the temperatures above, for salts whose polynomial is not at hand.
_TABLES: dict[str, tuple[float, ...]] = {
    "(NH4)2SO4": (82.77, 82.42, 81.7, 81.34, 80.99, 80.27, 79.91, 79.56),
    "KBr": (85.09, 83.75, 81.67, 80.89, 80.27, 79.43, 79.18, 79.02, 78.94),
    "KI": (73.3, 72.11, 70.98, 68.86, 67.89, 66.96, 65.26, 64.49, 63.78),
    "Mg(NO3)2": (60.35, 58.86, 55.87, 54.38, 52.89, 49.91, 48.42, 46.93),
    "NH4Cl": (80.55, 79.89, 79.23, 77.9),
    "NaBr": (63.51, 62.15, 60.68, 57.57, 56.03, 54.55, 51.95, 50.93, 50.15),
    "NaI": (42.42, 41.83, 39.65, 38.17),
    "NaNO3": (77.53, 76.46, 75.36, 73.14, 72.06, 71, 69.04, 68.15, 67.35),
    "SrCl2": (75.66, 74.13, 72.52, 69.12),
}
#: Every salt ``salt_water_activity`` knows.
SALTS = tuple(sorted(_POLYNOMIALS | _TABLES))

_MOLAR_WATER, _MOLAR_GLYCEROL = 18.01528, 92.09382
_NORRISH_K = 1.16
_BLEND = (0.30, 0.40)
_BATH_T = Range(288.15, 308.15, "K", "held against a table at 25 °C; 10 K either way assumed")


def salt_water_activity(salt: str, t: Any, *, check: bool = True) -> Any:
    """Water activity over a saturated salt solution, the humidity of the air above it.

    Parameters
    ----------
    salt : str
        Formula, one of ``SALTS``. [-]
    t : float or array, shape (...)
        Temperature. [K]
    check : bool, optional
        Warn when ``t`` lies outside the salt's range. [-]

    Returns
    -------
    float or array, shape (...)
        Water activity. [-]

    Raises
    ------
    ValueError
        A salt not in ``SALTS``, or a temperature that looks like °C.

    Notes
    -----
    ``salt_range`` gives the range of each salt. Eight salts follow the published polynomial; the
    others straight lines between tabulated values at most 10 K apart, which misses the smooth
    curve by up to 0.04 % humidity. Outside the range the curve, or the last line, goes on.

    References
    ----------
    L. Greenspan, J. Res. Natl. Bur. Stand. 81A (1977) 89, doi:10.6028/jres.081A.011
    (from memory).

    Examples
    --------
    >>> print(f"{100 * salt_water_activity('NaCl', 298.15):.2f} %")
    75.30 %
    """
    fit, t_c = salt_range(salt), kelvin("t", t) - 273.15
    if check:
        fit.check("salt_water_activity", f"t over {salt}", t)
    if salt in _POLYNOMIALS:
        percent = np.polynomial.polynomial.polyval(t_c, np.array(_POLYNOMIALS[salt][1]))
    else:
        percent = _on_lines(t_c, _UNCERTAINTY[salt][0], _TABLES[salt])
    return (percent / 100)[()]


def salt_uncertainty(salt: str, t: Any, *, check: bool = True) -> Any:
    """Uncertainty of ``salt_water_activity``, as tabulated with it.

    Parameters
    ----------
    salt : str
        Formula, one of ``SALTS``. [-]
    t : float or array, shape (...)
        Temperature. [K]
    check : bool, optional
        Warn when ``t`` lies outside the salt's range. [-]

    Returns
    -------
    float or array, shape (...)
        Uncertainty of the water activity, the plus-or-minus of the table. [-]

    Raises
    ------
    ValueError
        A salt not in ``SALTS``, or a temperature that looks like °C.

    Notes
    -----
    The range is that of ``salt_range``. Straight lines between tabulated values; beyond the last
    one it grows with the last line and never shrinks. The table states a total uncertainty;
    whether that is one or more standard deviations is not known here: use it as one, which errs
    on the wide side. It is that of good laboratory practice: a jar in a kitchen, 1 K colder at
    the salt than at the pellets, is off by 6 % of its humidity.

    References
    ----------
    L. Greenspan, J. Res. Natl. Bur. Stand. 81A (1977) 89, doi:10.6028/jres.081A.011
    (from memory).

    Examples
    --------
    >>> print(f"{100 * salt_uncertainty('NaCl', 298.15):.2f} %")
    0.12 %
    """
    fit, t_c = salt_range(salt), kelvin("t", t) - 273.15
    if check:
        fit.check("salt_uncertainty", f"t over {salt}", t)
    nodes, percent = _UNCERTAINTY[salt]
    at_end = np.interp(t_c, nodes, percent)
    return (np.maximum(_on_lines(t_c, nodes, percent), at_end) / 100)[()]


def salt_range(salt: str) -> Range:
    """Temperature range in which a salt's humidity is known.

    Parameters
    ----------
    salt : str
        Formula, one of ``SALTS``. [-]

    Returns
    -------
    Range
        Ends of the published fit or table. [K]

    Raises
    ------
    ValueError
        A salt not in ``SALTS``; the nearest spelling is offered.

    Notes
    -----
    For salts given by table rows, the first and the last row at hand.

    References
    ----------
    L. Greenspan, J. Res. Natl. Bur. Stand. 81A (1977) 89, doi:10.6028/jres.081A.011
    (from memory).

    Examples
    --------
    >>> print(salt_range("K2CO3").high)
    303.15
    """
    if salt not in SALTS:
        from difflib import get_close_matches

        near = get_close_matches(str(salt), SALTS, n=1, cutoff=0.4)
        hint = f"; did you mean {near[0]}?" if near else ""
        raise ValueError(f"unknown salt {salt!r}, known: {', '.join(SALTS)}{hint}")
    if salt in _POLYNOMIALS:
        low, high = _POLYNOMIALS[salt][0]
    else:
        low, high = _UNCERTAINTY[salt][0][0], _UNCERTAINTY[salt][0][-1]
    return Range(low + 273.15, high + 273.15, "K", _GREENSPAN)


def glycerol_water_activity(w_glycerol: Any, t: Any, *, check: bool = True) -> Any:
    """Water activity of a mixture of glycerol and water.

    Parameters
    ----------
    w_glycerol : float or array, shape (...)
        Mass fraction of glycerol. [kg/kg]
    t : float or array, shape (...)
        Temperature. [K]
    check : bool, optional
        Warn when ``t`` lies more than 10 K from 25 °C. [-]

    Returns
    -------
    float or array, shape (...)
        Water activity. [-]

    Raises
    ------
    ValueError
        A fraction outside 0..1, or a temperature that looks like °C.

    Notes
    -----
    Up to 30 % glycerol by mass the relation of Norrish (K = 1.16), from 40 % the model of Zhang
    and others, between them a smooth blend of the two, which differ there by 0.003 to 0.005.
    Zhang's form is not the textbook Wilson equation and must not be made into it: it fits as it
    stands. Another compilation (Forney and Brandl 1992) agrees within 0.011 for 0.20 to 0.85.

    References
    ----------
    Zhang, Grace, Sun, Drying Technology 40 (2022) 2404 (coefficients read in an open copy).
    R. S. Norrish, J. Food Technol. 1 (1966) 25 (from memory).

    Examples
    --------
    >>> print(f"{glycerol_water_activity(0.80, 298.15):.3f}")
    0.498
    """
    w = fraction("w_glycerol", w_glycerol)
    t = kelvin("t", t)
    if check:
        _BATH_T.check("glycerol_water_activity", "t", t)
    water, glycerol = (1 - w) / _MOLAR_WATER, w / _MOLAR_GLYCEROL
    y, x = water / (water + glycerol), glycerol / (water + glycerol)
    step = np.clip((w - _BLEND[0]) / (_BLEND[1] - _BLEND[0]), 0.0, 1.0)
    share = step * step * (3 - 2 * step)
    return (share * _zhang(y, x, t) + (1 - share) * y * np.exp(-_NORRISH_K * x * x))[()]


def glycerol_mass_fraction(aw: Any, t: Any, *, check: bool = True) -> Any:
    """Share of glycerol in a bath that keeps a water activity.

    Parameters
    ----------
    aw : float or array, shape (...)
        Water activity wanted. [-]
    t : float or array, shape (...)
        Temperature. [K]
    check : bool, optional
        Warn when ``t`` lies more than 10 K from 25 °C. [-]

    Returns
    -------
    float or array, shape (...)
        Mass fraction of glycerol. [kg/kg]

    Raises
    ------
    ValueError
        An activity outside 0..1, or a temperature that looks like °C.

    Notes
    -----
    The inverse of ``glycerol_water_activity`` and valid where that is, by halving to 1e-10. A
    bath drifts as it gives or takes water: mix it for where it should end.

    References
    ----------
    As for ``glycerol_water_activity``.

    Examples
    --------
    >>> print(f"{glycerol_mass_fraction(0.57, 298.15):.3f}")
    0.754
    """
    aw, t = np.broadcast_arrays(fraction("aw", aw), kelvin("t", t))
    if check:
        _BATH_T.check("glycerol_mass_fraction", "t", t)
    low, high = np.zeros(aw.shape), np.ones(aw.shape)
    for _ in range(34):  # 2^-34 is 6e-11
        middle = 0.5 * (low + high)
        too_moist = glycerol_water_activity(middle, t, check=False) > aw
        low, high = np.where(too_moist, middle, low), np.where(too_moist, high, middle)
    unknown = np.isnan(aw) | np.isnan(t)
    return np.where(unknown, np.nan, 0.5 * (low + high))[()]


def _on_lines(t: Any, nodes: tuple[float, ...], values: tuple[float, ...]) -> Any:
    """Straight lines between the nodes; the first and the last go on beyond them."""
    x, y = np.array(nodes), np.array(values)
    i = np.clip(np.searchsorted(x, t) - 1, 0, len(x) - 2)
    return y[i] + (t - x[i]) * (y[i + 1] - y[i]) / (x[i + 1] - x[i])


def _zhang(y: Any, x: Any, t: Any) -> Any:
    """Water activity from the mole fractions of water and glycerol (Zhang and others 2022)."""
    ratio = 0.08685 / 0.0188311  # molar volumes, glycerol over water
    p = np.exp(0.89924067 + 127.07511 / t)
    q = np.exp(-1.9173013 + 91.465969 / t)
    # Printed with x/y; multiplied through by y here, so that pure glycerol is not a special case.
    own = y / (y + x * ratio / p)
    return (
        y
        * (own / np.where(y > 0, y, 1))
        * np.exp(x / (x + y * p / ratio) - x * ratio / p / (x + y / (ratio * q)))
    )
