"""Vapor pressures of water and glycerol, dew point, and the pressure of the air around."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.ranges import Range
from moldwin.physics._checks import above_zero, inside, kelvin

__all__ = [
    "dew_point",
    "glycerol_vapor_pressure",
    "standard_air_pressure",
    "water_saturation_pressure",
    "water_saturation_temperature",
]

#: Constants n1..n10 of the saturation line, IAPWS R7-97 region 4.
_N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)
_CRITICAL_T = 647.096
_CRITICAL_P = 22.064e6
_WATER_T = Range(273.15, _CRITICAL_T, "K", "IAPWS R7-97, region 4")
_WATER_P = Range(611.2, _CRITICAL_P, "Pa", "IAPWS R7-97, region 4")
# Measured 291-341 K; the equation was fitted to these and to others' data at higher temperature,
# and gives 1 atm at the normal boiling point (563 K): the upper end is our reading.
_GLYCEROL_T = Range(291.0, 563.0, "K", "Cammenga 1977")
_TROPOSPHERE = Range(-2000.0, 11000.0, "m", "ISO 2533 (from memory)")
_PA_PER_TORR = 101325.0 / 760.0
#: So many temperatures at once stay in the cache of one core: four times as fast as all at once.
_BLOCK = 16384


def water_saturation_pressure(t: Any, *, check: bool = True) -> Any:
    """Vapor pressure of pure water on its saturation line (IF97, region 4).

    Parameters
    ----------
    t : float or array, shape (...)
        Temperature. [K]
    check : bool, optional
        Warn when ``t`` lies outside the fit. [-]

    Returns
    -------
    float or array, shape (...)
        Saturation pressure. [Pa]

    Raises
    ------
    ValueError
        Below 173.15 K (a temperature in °C?) or above the critical point.

    Notes
    -----
    Holds from 273.15 to 647.096 K. Colder it gives supercooled water, not ice, and warns.

    References
    ----------
    IAPWS R7-97(2012), Industrial Formulation 1997, section 8.1, www.iapws.org.

    Examples
    --------
    >>> print(f"{water_saturation_pressure(373.15) / 1e3:.2f} kPa")
    101.42 kPa
    """
    t = kelvin("t", t, high=_CRITICAL_T)
    if check:
        _WATER_T.check("water_saturation_pressure", "t", t)
    if t.size <= _BLOCK:
        return _region_4(t)[()]
    flat = t.ravel()
    found = np.empty_like(flat)
    for start in range(0, flat.size, _BLOCK):
        found[start : start + _BLOCK] = _region_4(flat[start : start + _BLOCK])
    return found.reshape(t.shape)


def _region_4(t: Any) -> Any:
    """The equation itself, at temperatures of any shape. [Pa]"""
    theta = t + _N[8] / (t - _N[9])
    a = (theta + _N[0]) * theta + _N[1]
    b = (_N[2] * theta + _N[3]) * theta + _N[4]
    c = (_N[5] * theta + _N[6]) * theta + _N[7]
    root = 2 * c / (np.sqrt(b * b - 4 * a * c) - b)
    root *= root
    return 1e6 * root * root


def water_saturation_temperature(p: Any, *, check: bool = True) -> Any:
    """Temperature at which pure water boils under a pressure (IF97, region 4, backward).

    Parameters
    ----------
    p : float or array, shape (...)
        Pressure. [Pa]
    check : bool, optional
        Warn when ``p`` lies outside the fit. [-]

    Returns
    -------
    float or array, shape (...)
        Saturation temperature. [K]

    Raises
    ------
    ValueError
        A pressure below 0.0111 Pa, or above the critical 22.064 MPa.

    Notes
    -----
    Holds from 611.213 Pa to 22.064 MPa; it is the exact inverse of
    ``water_saturation_pressure``, so the two agree to rounding.

    References
    ----------
    IAPWS R7-97(2012), Industrial Formulation 1997, section 8.2, www.iapws.org.

    Examples
    --------
    >>> print(f"{water_saturation_temperature(101325.0) - 273.15:.2f} °C")
    99.97 °C
    """
    # The lower end answers 173.15 K, where water_saturation_pressure ends too.
    p = inside("p", p, 0.0111, _CRITICAL_P, "Pa", "beyond it no liquid stands beside its vapor")
    if check:
        _WATER_P.check("water_saturation_temperature", "p", p)
    beta = (p * 1e-6) ** 0.25
    e = (beta + _N[2]) * beta + _N[5]
    f = (_N[0] * beta + _N[3]) * beta + _N[6]
    g = (_N[1] * beta + _N[4]) * beta + _N[7]
    d = -2 * g / (f + np.sqrt(f * f - 4 * e * g))
    return (0.5 * (_N[9] + d - np.sqrt((_N[9] + d) ** 2 - 4 * (_N[8] + _N[9] * d))))[()]


def glycerol_vapor_pressure(t: Any, *, check: bool = True) -> Any:
    """Vapor pressure of pure liquid glycerol.

    Parameters
    ----------
    t : float or array, shape (...)
        Temperature. [K]
    check : bool, optional
        Warn when ``t`` lies outside the fit. [-]

    Returns
    -------
    float or array, shape (...)
        Vapor pressure. [Pa]

    Raises
    ------
    ValueError
        Below 173.15 K (a temperature in °C?) or above 1273.15 K.

    Notes
    -----
    Measured by effusion at 291 to 341 K and fitted together with the data of others up to the
    normal boiling point, 563 K. Another correlation (VDI) lies 1.8 to 2.9 % higher between 120
    and 180 °C: take 2 % as the standard uncertainty.

    References
    ----------
    H. K. Cammenga, F. W. Schulze, W. Theuerl, J. Chem. Eng. Data 22 (1977) 131 (abstract read).

    Examples
    --------
    >>> print(f"{glycerol_vapor_pressure(403.15):.0f} Pa")
    181 Pa
    """
    t = kelvin("t", t)
    if check:
        _GLYCEROL_T.check("glycerol_vapor_pressure", "t", t)
    return (_PA_PER_TORR * 10.0 ** (41.98405 - 6024.479 / t - 10.3272 * np.log10(t)))[()]


def standard_air_pressure(altitude: Any, *, check: bool = True) -> Any:
    """Pressure of the standard atmosphere at an altitude.

    Parameters
    ----------
    altitude : float or array, shape (...)
        Height above sea level. [m]
    check : bool, optional
        Warn when ``altitude`` lies outside -2000 to 11000 m. [-]

    Returns
    -------
    float or array, shape (...)
        Air pressure. [Pa]

    Raises
    ------
    ValueError
        An altitude no workshop has (below -10 km or above 44 km).

    Notes
    -----
    Holds in the troposphere, -2 to 11 km. Weather moves the real pressure by about 2 %.

    References
    ----------
    ISO 2533:1975, Standard Atmosphere (constants from memory).

    Examples
    --------
    >>> print(f"{standard_air_pressure(1500.0) / 1e3:.1f} kPa")
    84.6 kPa
    """
    altitude = inside("altitude", altitude, -10e3, 44e3, "m")
    if check:
        _TROPOSPHERE.check("standard_air_pressure", "altitude", altitude)
    # 288.15 K at sea level, falling 6.5 K per km: the exponent is g M / (R lapse).
    return (101325.0 * (1 - 0.0065 * altitude / 288.15) ** 5.255880)[()]


def dew_point(t: Any, humidity: Any, *, check: bool = True) -> Any:
    """Temperature of a surface on which the air of a room just begins to wet.

    Parameters
    ----------
    t : float or array, shape (...)
        Air temperature. [K]
    humidity : float or array, shape (...)
        Relative humidity, above 0. [-]
    check : bool, optional
        Warn when air or dew point lies below 0 °C. [-]

    Returns
    -------
    float or array, shape (...)
        Dew point. [K]

    Raises
    ------
    ValueError
        A humidity outside 0..1 or of exactly 0 (bone-dry air has no dew point).

    Notes
    -----
    Above 0 °C. Below it frost forms first, some tenths of a kelvin warmer than given here,
    and a warning says so. The few tenths of a percent by which air raises the vapor pressure
    cancel between air and surface.

    References
    ----------
    IAPWS R7-97(2012), through ``water_saturation_pressure`` and its inverse.

    Examples
    --------
    >>> print(f"{dew_point(294.15, 0.48) - 273.15:.1f} °C")
    9.6 °C
    """
    humidity = above_zero("humidity", humidity, "(a fraction)", "bone-dry air has no dew point")
    humidity = inside("humidity", humidity, 0, 1, "(a fraction)", "a percentage? divide by 100")
    p = humidity * water_saturation_pressure(t, check=False)
    dew = water_saturation_temperature(p, check=False)
    if check:
        _WATER_T.check("dew_point", "t", t)
        _WATER_T.check("dew_point", "dew point", dew)
    return dew
