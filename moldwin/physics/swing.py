"""A heater that swings about its set point: what reaches the charge, and how it ages by it."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics._checks import above_zero, inside, kelvin

__all__ = ["ageing_in_swing", "surface_swing"]

_GAS_CONSTANT = 8.314462618  # J/mol/K
#: Terms of the power series of I0: exact to 1e-4 up to an argument of 3.
_TERMS = 8


def ageing_in_swing(amplitude: Any, t: Any, activation_energy: Any) -> Any:
    r"""How many times faster something ages at a swinging temperature than at its mean.

    .. math:: \overline{e^{\kappa a \sin}} = I_0(\kappa a), \qquad \kappa = \frac{E}{R T^2}

    Parameters
    ----------
    amplitude : float or array, shape (...)
        a: how far it swings either way. [K]
    t : float or array, shape (...)
        Mean temperature. [K]
    activation_energy : float or array, shape (...)
        Of the ageing. [J/mol]

    Returns
    -------
    float or array, shape (...)
        Factor, 1 or more: the hot half counts for more than the cold half saves. [-]

    Raises
    ------
    ValueError
        A negative amplitude or energy, a temperature in °C.

    Notes
    -----
    A sine, over many cycles, the exponent straightened about the mean. I0 by its power series.

    References
    ----------
    NIST DLMF 10.25.2 and 10.32.1 for the modified Bessel function (from memory).

    Examples
    --------
    >>> print(f"{ageing_in_swing(10.0, 413.15, 105e3):.2f}")
    1.14
    """
    amplitude = inside("amplitude", amplitude, 0.0, np.inf, "K")
    energy = inside("activation_energy", activation_energy, 0.0, np.inf, "J/mol")
    quarter = (0.5 * energy * amplitude / (_GAS_CONSTANT * kelvin("t", t) ** 2)) ** 2
    total = np.ones_like(quarter)
    for k in range(_TERMS, 0, -1):
        total *= quarter
        total *= 1.0 / k**2
        total += 1.0
    return total[()]


def surface_swing(amplitude: Any, period: Any, effusivity: Any, transfer: Any) -> Any:
    r"""How far the skin of a charge swings with the wall, through the contact between them.

    .. math:: \frac{a}{\sqrt{1 + 2m + 2m^2}}, \qquad m = \frac{e}{h} \sqrt{\frac{\pi}{P}}

    Parameters
    ----------
    amplitude : float or array, shape (...)
        Of the wall. [K]
    period : float or array, shape (...)
        P: one swing. [s]
    effusivity : float or array, shape (...)
        e: of the charge. [J/m2/K/s^0.5]
    transfer : float or array, shape (...)
        h: heat transfer from the wall. [W/m2/K]

    Returns
    -------
    float or array, shape (...)
        Amplitude of the skin. [K]

    Raises
    ------
    ValueError
        A negative amplitude; a period, effusivity or transfer not above 0.

    Notes
    -----
    Of a body so deep that its far side does not feel the swing: at a period of a minute it dies out
    within 1.4 mm.

    References
    ----------
    H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 2nd ed. (1959), sec. 2.6 (from
    memory).

    Examples
    --------
    >>> print(f"{surface_swing(5.0, 60.0, 700.0, 800.0):.1f} K")
    4.1 K
    """
    amplitude = inside("amplitude", amplitude, 0.0, np.inf, "K")
    contact = above_zero("effusivity", effusivity, "J/m2/K/s^0.5") / above_zero(
        "transfer", transfer, "W/m2/K"
    )
    m = contact * np.sqrt(np.pi / above_zero("period", period, "s"))
    return (amplitude / np.sqrt(1.0 + 2.0 * m + 2.0 * m**2))[()]
