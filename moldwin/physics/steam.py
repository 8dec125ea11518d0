"""Where the water in a melt begins to boil, and how much of it flashes on release."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics._checks import above_zero, fraction, kelvin
from moldwin.physics.vapor import water_saturation_temperature

__all__ = ["flash_share", "onset_temperature"]

_HEAT_OF_EVAPORATION = 2257e3  # J/kg, at 100 °C
_BOILING = 373.15  # K
_CRITICAL_PRESSURE = 22.064e6  # Pa


def onset_temperature(a_water: Any, pressure: Any = 101325.0, *, check: bool = True) -> Any:
    r"""Temperature at which the water in a melt pushes as hard as its surroundings.

    .. math:: a_w\, p_{sat}(T) = p

    Parameters
    ----------
    a_water : float or array, shape (...)
        Water activity of the melt. [-]
    pressure : float or array, shape (...), optional
        What holds the steam down: the room's air, or the packing pressure. [Pa]
    check : bool, optional
        Warn outside the range of the vapor pressure. [-]

    Returns
    -------
    float or array, shape (...)
        Onset; infinite where no vapor of this activity reaches the pressure. [K]

    Raises
    ------
    ValueError
        An activity outside 0..1, a pressure not above 0.

    Notes
    -----
    Below it no bubble can grow; above it steam spits the moment the pressure is taken off. The
    activity is the melt's own, at that temperature: an isotherm from room temperature is too low.

    References
    ----------
    IAPWS R7-97(2012), Industrial Formulation 1997, section 8.2, www.iapws.org.

    Examples
    --------
    >>> print(f"{onset_temperature(0.64) - 273.15:.0f} °C")
    113 °C
    """
    a_water, pressure = fraction("a_water", a_water), above_zero("pressure", pressure, "Pa")
    with np.errstate(divide="ignore"):
        needed = pressure / a_water
    # Above the critical point there is no boiling to speak of: the answer is "never".
    boils = ~(needed > _CRITICAL_PRESSURE)
    onset = water_saturation_temperature(np.where(boils, needed, 101325.0), check=check)
    return np.where(boils, onset, np.inf)[()]


def flash_share(t: Any, w_water: Any, heat_capacity: Any) -> Any:
    r"""Steam that a melt gives off at once when its pressure is released: the ceiling.

    .. math:: \min\left[w_w,\; c_p (T - 373.15) / 2.257\times10^6\right]

    Parameters
    ----------
    t : float or array, shape (...)
        Temperature of the melt before release. [K]
    w_water : float or array, shape (...)
        Water, wet basis. [kg/kg]
    heat_capacity : float or array, shape (...)
        Of the melt. [J/kg/K]

    Returns
    -------
    float or array, shape (...)
        Steam per melt. [kg/kg]

    Raises
    ------
    ValueError
        A fraction outside 0..1, a heat capacity not above 0, a temperature in °C.

    Notes
    -----
    As if all water boiled like pure water and the melt fell to 100 °C: a measure of the hazard.
    Bound water boils higher, so that about half of this comes off at equilibrium.

    Examples
    --------
    >>> print(f"{flash_share(423.15, 0.10, 2200.0):.3f}")
    0.049
    """
    heat = above_zero("heat_capacity", heat_capacity, "J/kg/K") * (kelvin("t", t) - _BOILING)
    water = fraction("w_water", w_water)
    return np.minimum(water, np.maximum(heat, 0.0) / _HEAT_OF_EVAPORATION)[()]
