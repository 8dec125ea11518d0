"""What leaves the hot open surface of a pot as vapor."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics._checks import above_zero, inside, kelvin
from moldwin.physics.vapor import water_saturation_pressure

__all__ = ["HEAT_OF_EVAPORATION", "open_pot_flux"]

#: Of water at 90 °C or so (steam tables, from memory). [J/kg]
HEAT_OF_EVAPORATION = 2.28e6
_WATER_GAS_CONSTANT = 461.5  # J/kg/K
#: The vapor never quite fills the air above: keeps the logarithm finite at the boil. [-]
_FULLEST = 0.9999


def open_pot_flux(t: Any, p_vapor: Any, pressure: Any, film: Any, heat_flux: Any) -> Any:
    r"""Water that evaporates from a stirred gel, up to and at the boil.

    .. math::
        \min\left(\frac{k \, p}{R_w T} \ln\frac{p - p_v}{p - p_s(T)}, \; \frac{q}{L}\right)

    Parameters
    ----------
    t : float or array, shape (...)
        Of the gel. [K]
    p_vapor : float or array, shape (...)
        Partial pressure of water in the room. [Pa]
    pressure : float or array, shape (...)
        Of the air. [Pa]
    film : float or array, shape (...)
        Mass transfer coefficient of the air over the pot, lid included. [m/s]
    heat_flux : float or array, shape (...)
        Heat that the stove gives, per open surface. [W/m2]

    Returns
    -------
    float or array, shape (...)
        Mass flux; 0 where the room is damper than the pot. [kg/m2/s]

    Raises
    ------
    ValueError
        A temperature in °C, a pressure, film or heat flux not above 0.

    Notes
    -----
    Stefan's law: near the boil vapor pushes the air away and the flux would grow without limit, so
    that what the stove gives is the limit. The gel is taken to evaporate like water: dilute gels
    do. A skin on an unstirred gel is not in it.

    References
    ----------
    R. B. Bird, W. E. Stewart, E. N. Lightfoot, Transport Phenomena, diffusion through a stagnant
    gas film (from memory).

    Examples
    --------
    >>> flux = open_pot_flux(361.15, 1200.0, 101325.0, 0.004, 17000.0)
    >>> print(f"{1800.0 * 0.03 * flux:.3f} kg in half an hour from 0.03 m2")
    0.133 kg in half an hour from 0.03 m2
    """
    t = kelvin("t", t)
    p = above_zero("pressure", pressure, "Pa")
    room = inside("p_vapor", p_vapor, 0.0, np.inf, "Pa")
    film, heat = above_zero("film", film, "m/s"), above_zero("heat_flux", heat_flux, "W/m2")
    surface = np.minimum(water_saturation_pressure(t, check=False), _FULLEST * p)
    stefan = np.log((p - np.minimum(room, _FULLEST * p)) / (p - surface))
    diffusing = film * p / (_WATER_GAS_CONSTANT * t) * stefan
    return np.clip(diffusing, 0.0, heat / HEAT_OF_EVAPORATION)[()]
