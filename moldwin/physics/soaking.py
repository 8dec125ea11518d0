"""A charge warming through in its barrel: where it is how warm, and what the heat does to it.

One mode of the series is kept. It is what is left after a fifth of R²/alpha, a little over one
time constant; soaks are never shorter.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from moldwin.base.ranges import Range
from moldwin.physics._checks import above_zero, inside

__all__ = ["SlowMode", "first_mode", "hot_time", "warming_shortfall"]

_ONE_MODE = Range(0.2, np.inf, "-", "second mode below 1 % of the first for the mean")
_PLACES = ("center", "mean", "skin")
#: Terms of the power series of J0 and J1; more than enough up to the first zero of J0.
_TERMS = 14
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)
_NODES, _WEIGHTS = (_NODES + 1.0) / 2.0, _WEIGHTS / 2.0
#: Up to here no term of the power series of Ein is larger than 3.
_SERIES_UP_TO = 4.0
_GAS_CONSTANT = 8.314462618


class SlowMode(NamedTuple):
    """Slowest mode of a round charge warmed from its outer wall.

    Parameters
    ----------
    root : float or array, shape (...)
        Beta: the mode dies as exp(-beta² Fo), Fourier number on the outer radius. [-]
    center, mean, skin : float or array, shape (...)
        Share of wall minus start that the mode lacks at time 0: in the coldest place, on average,
        at the wall. [-]

    Notes
    -----
    All that is left of the series after about one time constant.

    Examples
    --------
    >>> f"{first_mode(np.inf).mean:.3f}"
    '0.692'
    """

    root: Any
    center: Any
    mean: Any
    skin: Any


def first_mode(biot: Any) -> SlowMode:
    r"""Slowest mode of a long full cylinder warmed through a resistance at its wall.

    .. math:: \beta J_1(\beta) = \mathrm{Bi} J_0(\beta), \qquad
              A = \frac{2 J_1}{\beta (J_0^2 + J_1^2)}

    Parameters
    ----------
    biot : float or array, shape (...)
        Heat transfer coefficient times radius over conductivity; infinite is no resistance. [-]

    Returns
    -------
    SlowMode
        Root, and what is lacking on the axis (A), on average and at the wall. [-]

    Raises
    ------
    ValueError
        A Biot number not above 0.

    Notes
    -----
    Newton from a guess that is right at both ends; the power series is exact to rounding here.

    References
    ----------
    H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids (1959), ch. 7 (from memory).

    Examples
    --------
    >>> mode = first_mode(1.0)
    >>> print(f"{mode.root:.4f} {mode.center:.4f}")
    1.2558 1.2071
    """
    biot = np.asarray(biot, dtype=float)
    if np.any(biot <= 0):
        raise ValueError(f"biot must be above 0, got {np.min(biot):g}")
    resistance = 1.0 / biot
    beta = 1.0 / np.sqrt(1.0 / 5.783185962946785 + 0.5 * resistance)
    for _ in range(4):
        j0, j1 = _bessel(beta)
        # J0 - beta J1 / Bi = 0 has no pole and is finite without resistance
        value = j0 - resistance * beta * j1
        slope = -j1 - resistance * beta * j0
        beta = beta - value / slope
    j0, j1 = _bessel(beta)
    center = 2.0 * j1 / (beta * (j0**2 + j1**2))
    return SlowMode(beta[()], center[()], (center * 2.0 * j1 / beta)[()], (center * j0)[()])


def warming_shortfall(where: str, fourier: Any, mode: SlowMode, *, check: bool = True) -> Any:
    """Temperature still missing, over wall minus start, in a round charge.

    Parameters
    ----------
    where : str
        ``"center"`` (the coldest place), ``"mean"`` or ``"skin"``. [-]
    fourier : float or array, shape (...)
        Diffusivity times time over outer radius squared. [-]
    mode : SlowMode
        Of the shape and its wall. [-]
    check : bool, optional
        Warn below Fourier 0.2, where one mode is not enough. [-]

    Returns
    -------
    float or array, shape (...)
        1 at the start, 0 when even. [-]

    Raises
    ------
    ValueError
        Another place, or a negative Fourier number.

    Notes
    -----
    One material throughout. A charge that warms as loose pellets and finishes as melt lies between
    the two; a test holds a finite-volume solution of that case beside it.

    References
    ----------
    H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids (1959), ch. 7 (from memory).

    Examples
    --------
    >>> print(f"{warming_shortfall('center', 0.5, first_mode(np.inf)):.4f}")
    0.0889
    """
    if where not in _PLACES:
        raise ValueError(f"where must be one of {', '.join(_PLACES)}, got {where!r}")
    fourier = inside("fourier", fourier, 0.0, np.inf, "-")
    if check:
        _ONE_MODE.check("warming_shortfall", "Fourier number", fourier)
    return np.minimum(getattr(mode, where) * np.exp(-(mode.root**2) * fourier), 1.0)[()]


def hot_time(
    time: Any, time_constant: Any, shortfall: Any, t_wall: Any, activation_energy: Any
) -> Any:
    r"""Time at wall temperature that ages a layer as much as its own warming up does.

    .. math:: t - \tau\,[\mathrm{Ein}(\kappa) - \mathrm{Ein}(\kappa e^{-t/\tau})], \qquad
              \kappa = \frac{E\,D}{R\,T_w^2}

    Parameters
    ----------
    time : float or array, shape (...)
        Time since loading. [s]
    time_constant : float or array, shape (...)
        Of the slowest mode. [s]
    shortfall : float or array, shape (...)
        D: what the slowest mode lacks at time 0 in that layer, a temperature difference. [K]
    t_wall : float or array, shape (...)
        Wall temperature. [K]
    activation_energy : float or array, shape (...)
        Of the ageing. [J/mol]

    Returns
    -------
    float or array, shape (...)
        Equivalent time at the wall temperature, at most ``time``. [s]

    Raises
    ------
    ValueError
        A time constant or wall temperature not above 0.

    Notes
    -----
    The integral of an Arrhenius rate over a temperature that comes up as an exponential, with the
    exponent straightened about the wall temperature: a little on the safe side.

    References
    ----------
    Ein is the entire exponential integral, NIST DLMF 6.2.3 (from memory).

    Examples
    --------
    >>> print(f"{hot_time(600.0, 150.0, 20.0, 413.15, 105e3):.0f} s")
    443 s
    """
    tau = above_zero("time_constant", time_constant, "s")
    t_wall = above_zero("t_wall", t_wall, "K")
    time = np.asarray(time, dtype=float)
    kappa = np.asarray(activation_energy) * np.asarray(shortfall) / (_GAS_CONSTANT * t_wall**2)
    lag = _ein(kappa) - _ein(kappa * np.exp(-time / tau))
    return np.maximum(time - tau * lag, 0.0)[()]


def _bessel(x: Any) -> tuple[Any, Any]:
    """J0 and J1 by their power series, for arguments up to the first zero of J0 or so."""
    quarter = -0.25 * np.asarray(x, dtype=float) ** 2
    term = np.ones_like(quarter)
    j0, j1 = term, term
    for k in range(1, _TERMS):
        term = term * quarter / k**2
        j0 = j0 + term
        j1 = j1 + term / (k + 1)
    return j0, 0.5 * np.asarray(x) * j1


def _ein(x: Any) -> Any:
    """Entire exponential integral, the integral of (1 - exp(-u))/u from 0 to x; to 1e-9.

    By its alternating power series as long as that loses no digits, which it does where the terms
    grow before they shrink.
    """
    x = np.asarray(x, dtype=float)
    total = np.zeros_like(x)
    largest = float(np.max(x, initial=0.0))
    if largest <= _SERIES_UP_TO:
        for k in range(_terms(largest), 0, -1):
            total += (-1.0) ** (k + 1) / (k * math.factorial(k))
            total *= x
        return total
    for node, weight in zip(_NODES, _WEIGHTS, strict=True):
        part = np.expm1(-node * x)
        part *= weight / node
        total -= part
    return total


def _terms(x: float) -> int:
    """Terms of that series until they are below 1e-9."""
    k, term = 1, x
    while term > 1e-9 * k:
        k += 1
        term *= x / k
    return k
