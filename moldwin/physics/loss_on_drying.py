"""Loss on drying: glycerol that leaves with the water, and whether a drying curve is at its end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from moldwin.physics._checks import above_zero, inside, kelvin
from moldwin.physics.diffusion import unaccomplished
from moldwin.physics.vapor import glycerol_vapor_pressure

__all__ = ["DryingCurve", "fit_drying_curve", "glycerol_flux", "glycerol_lost"]

_GAS_CONSTANT = 8.314462618
_GLYCEROL_MOLAR_MASS = 0.0920938  # kg/mol
#: Time constants looked at: from a fraction of the first weighing's time to a multiple of the last.
_SHORTEST, _LONGEST = 0.125, 3.0
_CONSTANTS = 81
#: Width of the last search round the best time constant, in its logarithm.
_CLOSE = 1e-7
#: A time constant this much less likely than the best one is out of the running (chi-square).
_CHI2_OUT = 18.0


@dataclass(frozen=True)
class DryingCurve:
    """A drying curve taken apart: what dries off, and what goes on leaving at a steady rate.

    Parameters
    ----------
    amplitude : float
        What dries off in the end, of the wet mass. [kg/kg]
    time_constant : float
        Time in which the rest falls to 1/e. [s]
    rest, rest_u : float
        What is still to dry off after the last weighing, and its standard uncertainty. [kg/kg]
    tail, tail_u : float
        Steady loss that goes on for ever, and its standard uncertainty. [1/s]

    Examples
    --------
    >>> DryingCurve(0.1, 1200.0, 0.0, 0.0, 1e-7, 1e-8).tail_is_seen
    True
    """

    amplitude: float
    time_constant: float
    rest: float
    rest_u: float
    tail: float
    tail_u: float

    @property
    def tail_is_seen(self) -> bool:
        """True where the steady loss stands out of its own uncertainty (twice over)."""
        return self.tail > 2.0 * self.tail_u


def glycerol_flux(t: Any, activity: Any, film: Any, *, check: bool = True) -> Any:
    r"""Glycerol that evaporates from a surface through the air film above it.

    .. math:: j = k\, a\, \frac{p_g(T)\, M}{R\, T}

    Parameters
    ----------
    t : float or array, shape (...)
        Temperature of sample and oven air. [K]
    activity : float or array, shape (...)
        Activity of the glycerol in the sample. [-]
    film : float or array, shape (...)
        Film coefficient k of glycerol vapor in the oven's air. [m/s]
    check : bool, optional
        Warn when ``t`` lies outside the vapor pressure's fit. [-]

    Returns
    -------
    float or array, shape (...)
        Mass flux. [kg/m2/s]

    Raises
    ------
    ValueError
        A temperature in °C, an activity outside 0..1, a film coefficient not above 0.

    Notes
    -----
    An oven's air holds no glycerol of its own. The sample counts as warm all along and its surface
    as never running dry, so this is an upper estimate for a thick sample. In a still oven k is
    about 5 mm/s, a factor 2 either way, and the activity of glycerol in dried starch about 0.3, in
    0.2 to 0.6 (all assumed).

    References
    ----------
    H. K. Cammenga, F. W. Schulze, W. Theuerl, J. Chem. Eng. Data 22 (1977) 131 (abstract read),
    through ``glycerol_vapor_pressure``.

    Examples
    --------
    5 g in a dish of 20 cm² at 130 °C lose a hundredth of their mass in an hour:

    >>> print(f"{glycerol_flux(403.15, 0.3, 0.005) * 20e-4 * 3600 / 5e-3:.3f}")
    0.011
    """
    t = kelvin("t", t)
    activity = inside("activity", activity, 0.0, 1.0, "(a fraction)")
    film = above_zero("film", film, "m/s", "5 mm/s are 0.005 m/s")
    pressure = glycerol_vapor_pressure(t, check=check)
    return (film * activity * pressure * _GLYCEROL_MOLAR_MASS / (_GAS_CONSTANT * t))[()]


def glycerol_lost(time: Any, flux: Any, area: Any, glycerol: Any) -> Any:
    r"""Glycerol that a sample has lost after a time in the oven.

    .. math:: m = m_0 \left(1 - e^{-j A t / m_0}\right)

    Parameters
    ----------
    time : float or array, shape (...)
        Time in the oven. [s]
    flux : float or array, shape (...)
        Mass flux while all glycerol is still there. [kg/m2/s]
    area : float or array, shape (...)
        Open area of the dish. [m2]
    glycerol : float or array, shape (...)
        Glycerol in the sample at the start, m0. [kg]

    Returns
    -------
    float or array, shape (...)
        Glycerol gone; never more than there was. [kg]

    Raises
    ------
    ValueError
        A negative time, flux, area or mass.

    Notes
    -----
    Activity, and with it the flux, falls in proportion to what is left (Henry's law, assumed);
    what comes up from inside the sample is taken as fast enough.

    References
    ----------
    Follows from the flux and Henry's law; no published measurement stands behind it.

    Examples
    --------
    >>> print(f"{glycerol_lost(5400.0, 7.5e-6, 20e-4, 1e-3) * 1e3:.3f} g")
    0.078 g
    >>> float(glycerol_lost(3600.0, 1e-6, 20e-4, 0.0))
    0.0
    """
    time = inside("time", time, 0.0, np.inf, "s")
    flux = inside("flux", flux, 0.0, np.inf, "kg/m2/s")
    area = inside("area", area, 0.0, np.inf, "m2")
    glycerol = inside("glycerol", glycerol, 0.0, np.inf, "kg")
    given = flux * area * time
    some = np.where(glycerol > 0.0, glycerol, 1.0)
    return np.where(glycerol == 0.0, 0.0 * given, -glycerol * np.expm1(-given / some))[()]


def fit_drying_curve(time: Any, loss: Any, reading_u: float) -> DryingCurve:
    r"""Fit weighings by water that dries off and something that goes on leaving.

    .. math:: \text{loss}(t) = a \left[1 - f(t/\tau)\right] + r\, t

    Parameters
    ----------
    time : array, shape (n,)
        Time in the oven at each weighing, rising; n at least 3, the wet weighing left out. [s]
    loss : array, shape (n,)
        Mass lost by then, of the wet mass. [kg/kg]
    reading_u : float
        Standard uncertainty of one weighing, of the wet mass. [kg/kg]

    Returns
    -------
    DryingCurve
        Mean and spread over all curves that the weighings allow. [SI]

    Raises
    ------
    ValueError
        Fewer than three weighings, times that do not rise, a reading without uncertainty.

    Notes
    -----
    f is what is left of the water: an exponential where air or heat limits the drying, the series
    of a slab or of a sphere where it must diffuse out of the pellet; tau is its slowest time
    constant. For each f and tau the two other numbers follow by least squares, none of them below
    0, and all curves are weighed by how well they fit: a tail that could as well be slow water
    gets a wide uncertainty. The wet weighing is in every loss and its error with it. Where no
    curve fits as well as the scale would, all uncertainties grow by that ratio.

    References
    ----------
    Generalized least squares with a shared error; variable projection over one non-linear number,
    as in G. H. Golub, V. Pereyra, SIAM J. Numer. Anal. 10 (1973) 413 (from memory). The series are
    those of ``diffusion.unaccomplished``.

    Examples
    --------
    >>> t = np.array([1800.0, 3600.0, 7200.0, 10800.0])
    >>> curve = fit_drying_curve(t, 0.1 * (1 - np.exp(-t / 1200.0)) + 1e-6 * t, 1e-5)
    >>> print(f"{curve.amplitude:.3f}, {curve.tail:.2e} 1/s, {curve.rest:.0e}")
    0.100, 1.00e-06 1/s, 1e-05
    """
    time, loss = np.asarray(time, dtype=float), np.asarray(loss, dtype=float)
    if time.ndim != 1 or time.shape != loss.shape or len(time) < 3:
        raise ValueError(f"three weighings after the wet one are needed, got {time.shape}")
    if time[0] <= 0.0 or np.any(np.diff(time) <= 0.0):
        raise ValueError("time must rise from one weighing to the next, and start above 0")
    u = float(above_zero("reading_u", reading_u, "kg/kg", "a scale always has a step"))
    ends = float(np.log(_SHORTEST * time[0])), float(np.log(_LONGEST * time[-1]))
    ways = [_Way(left, time, loss, u, ends) for left in _WAYS]
    best = min(way.chi2 for way in ways)
    inflation = max(1.0, best / max(len(time) - 3, 1))
    return _mean([way.around(_CHI2_OUT * inflation) for way in ways], inflation)


def _by_exponential(times: Any) -> Any:
    return np.exp(-times)


def _from_slab(times: Any) -> Any:
    return unaccomplished("slab", times * (4.0 / np.pi**2))


def _from_sphere(times: Any) -> Any:
    return unaccomplished("sphere", times / np.pi**2)


#: What is left of the water at times in units of the slowest time constant, for each way of drying.
_WAYS = (_by_exponential, _from_slab, _from_sphere)


class _Curves(NamedTuple):
    """The best curve for each of many time constants, shape (k,), evenly apart in the logarithm."""

    logs: Any
    amplitude: Any
    tail: Any
    left: Any
    chi2: Any
    amplitude_var: Any
    tail_var: Any


class _Way:
    """One way of drying, fitted over its time constant."""

    def __init__(
        self, left: Any, time: Any, loss: Any, u: float, ends: tuple[float, float]
    ) -> None:
        self._left, self._time, self._loss, self._u = left, time, loss, u
        self._ends = ends
        low, high = ends
        while True:  # closer and closer round the best one
            curves = self._curves(low, high)
            best = int(curves.chi2.argmin())
            self._at, self.chi2 = float(curves.logs[best]), float(curves.chi2[best])
            if high - low < _CLOSE:
                break
            low = float(curves.logs[max(best - 1, 0)])
            high = float(curves.logs[min(best + 1, _CONSTANTS - 1)])

    def around(self, chi2: float) -> _Curves:
        """The curves round the best one, as far as they fit at most so much worse."""
        lowest, highest = self._ends
        reach = _CLOSE
        while True:
            low, high = max(self._at - reach, lowest), min(self._at + reach, highest)
            curves = self._curves(low, high)
            open_ends = curves.chi2[[0, -1]] - self.chi2 < chi2
            if not (open_ends[0] and low > lowest) and not (open_ends[1] and high < highest):
                return curves
            reach *= 2.0

    def _curves(self, low: float, high: float) -> _Curves:
        logs = np.linspace(low, high, _CONSTANTS)
        left = self._left(self._time / np.exp(logs)[:, None])
        rise, time, loss = 1.0 - left, self._time, self._loss
        rr, rt, tt = _product(rise, rise), _product(rise, time), _product(time, time)
        rl, tl, ll = _product(rise, loss), _product(time, loss), _product(loss, loss)
        determinant = np.maximum(rr * tt - rt**2, 1e-12 * rr * tt)
        a, r = (tt * rl - rt * tl) / determinant, (rr * tl - rt * rl) / determinant
        # neither water nor tail comes back: at the edge the other one is fitted alone
        a, r = np.where(r < 0.0, rl / rr, a), np.maximum(r, 0.0)
        a, r = np.maximum(a, 0.0), np.where(a < 0.0, np.maximum(tl / tt, 0.0), r)
        misfit = ll - 2 * a * rl - 2 * r * tl + a**2 * rr + 2 * a * r * rt + r**2 * tt
        var = self._u**2 / determinant
        chi2 = np.maximum(misfit, 0.0) / self._u**2
        return _Curves(logs, a, r, left[:, -1], chi2, var * tt, var * rr)


def _mean(found: Sequence[_Curves], inflation: float) -> DryingCurve:
    """All curves of all ways, weighed by their likelihood."""
    best = min(float(curves.chi2.min()) for curves in found)
    weights = np.concatenate(
        [
            np.exp(-0.5 * (curves.chi2 - best) / inflation) * (curves.logs[1] - curves.logs[0])
            for curves in found
        ]
    )
    weights /= weights.sum()
    every = _Curves(*(np.concatenate(column) for column in zip(*found, strict=True)))

    def spread(values: Any, variances: Any) -> tuple[float, float]:
        mean = float(weights @ values)
        return mean, float(np.sqrt(weights @ (inflation * variances + (values - mean) ** 2)))

    tail, tail_u = spread(every.tail, every.tail_var)
    rest, rest_u = spread(every.amplitude * every.left, every.amplitude_var * every.left**2)
    constant = float(np.exp(weights @ every.logs))
    return DryingCurve(float(weights @ every.amplitude), constant, rest, rest_u, tail, tail_u)


def _product(x: Any, y: Any) -> Any:
    """Inner product over weighings with equal errors, each holding the wet weighing's error too."""
    n = x.shape[-1]
    return (x * y).sum(axis=-1) - x.sum(axis=-1) * y.sum(axis=-1) / (n + 1)
