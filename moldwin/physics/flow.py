"""Pressure through nozzle, runner and part, what a plug eats of it, and the time a fill takes."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics._checks import above_zero, inside, power_law_index

__all__ = [
    "constant_pressure_fill_time_ratio",
    "power_law_slot",
    "power_law_tube",
]


def power_law_tube(k: Any, n: Any, flow: Any, radius: Any, length: Any) -> Any:
    r"""Pressure drop of a power-law melt in a round tube (nozzle, round runner).

    .. math:: \Delta p = \frac{2 K L}{R} \left[\frac{3n+1}{n} \frac{Q}{\pi R^3}\right]^n

    Parameters
    ----------
    k : float or array, shape (...)
        Consistency. [Pa s^n]
    n : float or array, shape (...)
        Power-law index. [-]
    flow : float or array, shape (...)
        Volume a second. [m3/s]
    radius, length : float or array, shape (...)
        Of the tube. [m]

    Returns
    -------
    float or array, shape (...)
        Pressure drop. [Pa]

    Raises
    ------
    ValueError
        A negative flow, consistency or length, a radius not above 0, an index outside 0..1.5.

    Notes
    -----
    Steady, one temperature, no slip, no entrance loss: for a nozzle as short as it is wide the
    entrance can cost as much again. The bracket is the true shear rate at the wall (Rabinowitsch).

    References
    ----------
    R. B. Bird, R. C. Armstrong, O. Hassager, Dynamics of Polymeric Liquids 1 (1987), ch. 4.

    Examples
    --------
    >>> print(f"{power_law_tube(900.0, 1.0, 1e-6, 1.5e-3, 12e-3) / 1e6:.2f} MPa")
    5.43 MPa
    """
    k, n, flow, length = _channel(k, n, flow, length)
    radius = above_zero("radius", radius, "m")
    wall_rate = (3 * n + 1) / n * flow / (np.pi * radius**3)
    return (2 * k * length / radius * wall_rate**n)[()]


def power_law_slot(k: Any, n: Any, flow: Any, width: Any, height: Any, length: Any) -> Any:
    r"""Pressure drop of a power-law melt between two wide flat walls (gate, plate, bar).

    .. math:: \Delta p = \frac{2 K L}{H} \left[\frac{2(2n+1)}{n} \frac{Q}{W H^2}\right]^n

    Parameters
    ----------
    k : float or array, shape (...)
        Consistency. [Pa s^n]
    n : float or array, shape (...)
        Power-law index. [-]
    flow : float or array, shape (...)
        Volume a second. [m3/s]
    width, height, length : float or array, shape (...)
        Across the flow, between the walls, along the flow. [m]

    Returns
    -------
    float or array, shape (...)
        Pressure drop. [Pa]

    Raises
    ------
    ValueError
        A negative flow, consistency or length, a width or height not above 0, an index
        outside 0..1.5.

    Notes
    -----
    Side walls are left out: a Newtonian melt needs 1/(1 - 0.63 H/W) times as much, 1.3 at
    W = 2.5 H (the narrow part of a 10 x 4 mm bar), a shear-thinning one less than that.

    References
    ----------
    R. B. Bird, R. C. Armstrong, O. Hassager, Dynamics of Polymeric Liquids 1 (1987), ch. 4.

    Examples
    --------
    >>> print(f"{power_law_slot(900.0, 1.0, 1e-6, 10e-3, 2e-3, 80e-3) / 1e6:.1f} MPa")
    10.8 MPa
    """
    k, n, flow, length = _channel(k, n, flow, length)
    width, height = above_zero("width", width, "m"), above_zero("height", height, "m")
    wall_rate = 2 * (2 * n + 1) / n * flow / (width * height**2)
    return (2 * k * length / height * wall_rate**n)[()]


def constant_pressure_fill_time_ratio(n: Any) -> Any:
    r"""Time to fill a channel at constant pressure, over the time at its closing speed.

    .. math:: \frac{t_{fill}}{L / v_L} = \frac{n}{1 + n}

    Parameters
    ----------
    n : float or array, shape (...)
        Power-law index. [-]

    Returns
    -------
    float or array, shape (...)
        Ratio of the times. [-]

    Raises
    ------
    ValueError
        An index outside 0..1.5.

    Notes
    -----
    Where the front stands at x the pressure is p = c x v^n, so at constant p its speed is
    v = v_L (L/x)^(1/n), v_L being the speed as it reaches the end. The time is the integral of
    dx/v from 0 to L: (1/v_L) L / (1/n + 1) = (L/v_L) n/(1 + n). One cross-section all along, no
    freezing, no pressure lost before the channel.

    Examples
    --------
    >>> print(f"{constant_pressure_fill_time_ratio(1.0):.2f}")
    0.50
    """
    n = power_law_index(n)
    return (n / (1 + n))[()]


def _channel(k: Any, n: Any, flow: Any, length: Any) -> tuple[Any, Any, Any, Any]:
    return (
        inside("k", k, 0.0, np.inf, "Pa s^n"),
        power_law_index(n),
        inside("flow", flow, 0.0, np.inf, "m3/s"),
        inside("length", length, 0.0, np.inf, "m"),
    )
