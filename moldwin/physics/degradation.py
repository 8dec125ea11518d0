"""Browning and chain scission: how long a melt may sit hot, and how much of that is used up."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.ranges import Range
from moldwin.physics._checks import above_zero, kelvin

__all__ = ["dose", "quality_limit_time"]

_GAS_CONSTANT = 8.314462618  # J/mol/K
_REFERENCE = 423.15  # K, 150 °C: where the clock is read
_FITTED = Range(393.15, 453.15, "K", "assumed clock, compared with practice at 120 to 180 °C")


def quality_limit_time(
    t: Any, limit_at_150c: Any, activation_energy: Any, *, check: bool = True
) -> Any:
    r"""Time at one temperature after which the melt counts as spoiled by browning and scission.

    .. math:: t_{lim}(T) = t_{150} \exp\left[\frac{E_a}{R}
              \left(\frac{1}{T} - \frac{1}{423.15}\right)\right]

    Parameters
    ----------
    t : float or array, shape (...)
        Temperature of the melt. [K]
    limit_at_150c : float or array, shape (...)
        The same time at 150 °C. [s]
    activation_energy : float or array, shape (...)
        How steeply the time falls with temperature. [J/mol]
    check : bool, optional
        Warn when ``t`` leaves the range the clock was compared with. [-]

    Returns
    -------
    float or array, shape (...)
        Time to the limit. [s]

    Raises
    ------
    ValueError
        A temperature outside 173..1273 K; a time or activation energy not above 0.

    Notes
    -----
    Assumed, not fitted: 10 minutes at 150 °C, a factor 3 either way, 80 to 130 kJ/mol, chosen so
    that it agrees with molding practice for cooked starch (130 °C advised, damage seen at 150 °C).
    Mass-loss kinetics (145 to 228 kJ/mol) would allow hours at 170 °C: by the time mass is lost
    the part has long been brown and brittle, so they are no guide here.

    References
    ----------
    Aldas et al., Food Packag. Shelf Life (2025) 101411: 130 °C advised, 150 °C damages.
    US 4,900,361: 140 to 180 °C for water-only starch in a closed vessel.

    Examples
    --------
    >>> print(f"{quality_limit_time(433.15, 600.0, 105e3) / 60:.1f} min")
    5.0 min
    """
    t = kelvin("t", t)
    limit = above_zero("limit_at_150c", limit_at_150c, "s")
    energy = above_zero("activation_energy", activation_energy, "J/mol")
    if check:
        _FITTED.check("quality_limit_time", "t", t)
    return (limit * np.exp(energy / _GAS_CONSTANT * (1 / t - 1 / _REFERENCE)))[()]


def dose(
    times: Any, temps: Any, limit_at_150c: Any, activation_energy: Any, *, check: bool = True
) -> Any:
    r"""Share of the quality limit used up by a temperature history; 1 is spoiled.

    .. math:: \int \frac{dt}{t_{lim}(T(t))}

    Parameters
    ----------
    times : array, shape (..., m)
        When, never falling along the last axis. [s]
    temps : array, shape (..., m)
        Temperature at those times. [K]
    limit_at_150c : float or array, shape (...)
        Time to the limit at 150 °C. [s]
    activation_energy : float or array, shape (...)
        As in `quality_limit_time`. [J/mol]
    check : bool, optional
        Warn when a temperature lies above the range of the clock. [-]

    Returns
    -------
    float or array, shape (...)
        Share of the limit used up. [-]

    Raises
    ------
    ValueError
        Times that run backward, or what `quality_limit_time` refuses.

    Notes
    -----
    Trapezoid rule: a step of 10 K overstates its own share by about 5 %, one of 5 K by about 1 %.
    Doses of one charge add up over reheats; a purge starts again from 0. A history below 120 °C
    does not warn: it adds next to nothing, and every history starts cold.

    Examples
    --------
    >>> print(f"{dose([0.0, 300.0], [423.15, 423.15], 600.0, 105e3):.2f}")
    0.50
    """
    times, temps = np.asarray(times, float), np.asarray(temps, float)
    steps = np.diff(times, axis=-1)
    if np.any(steps < 0):
        raise ValueError("times must never fall along the last axis; sort the history first")
    if check:
        Range(0.0, _FITTED.high, _FITTED.unit, _FITTED.source).check("dose", "temps", temps)
    limit, energy = (np.asarray(a, float)[..., None] for a in (limit_at_150c, activation_energy))
    rate = 1 / quality_limit_time(temps, limit, energy, check=False)
    return (steps * (rate[..., 1:] + rate[..., :-1]) / 2).sum(-1)[()]
