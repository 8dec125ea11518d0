"""Loss on drying: glycerol that leaves with the water, and whether a drying curve is at its end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.physics._checks import above_zero, inside, kelvin
from moldwin.physics.vapor import glycerol_vapor_pressure

__all__ = ["DryingCurve", "fit_drying_curve", "glycerol_flux", "glycerol_lost"]

_GAS_CONSTANT = 8.314462618
_GLYCEROL_MOLAR_MASS = 0.0920938  # kg/mol
#: Time constants looked at: from a fraction of the first weighing's time to a multiple of the last.
_SHORTEST, _LONGEST = 0.125, 3.0
_CONSTANTS = 121
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

    .. math:: \text{loss}(t) = a \left(1 - e^{-t/\tau}\right) + r\, t

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
    For each time constant the two other numbers follow by least squares, none of them below 0; the
    time constants are then weighed by how well their curves fit, so that a tail that could as well
    be slow water gets a wide uncertainty. The wet weighing is in every loss and its error with it.
    Where the curve fits worse than the scale explains, all uncertainties grow by that ratio. A
    real sample dries as a sum of exponentials: the early ones are over by the time that counts.

    References
    ----------
    Generalized least squares with a shared error; variable projection over one non-linear number,
    as in G. H. Golub, V. Pereyra, SIAM J. Numer. Anal. 10 (1973) 413 (from memory).

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
    low, high = np.log(_SHORTEST * time[0]), np.log(_LONGEST * time[-1])
    while True:  # closer and closer, until the likely time constants fill the list
        logs = np.linspace(low, high, _CONSTANTS)
        fits = _Fits(time, loss, u, np.exp(logs))
        likely = np.flatnonzero(fits.chi2 - fits.chi2.min() < _CHI2_OUT * fits.inflation)
        if len(likely) > _CONSTANTS // 8 or high - low < 1e-9:
            return fits.mean()
        low = logs[max(likely[0] - 1, 0)]
        high = logs[min(likely[-1] + 1, _CONSTANTS - 1)]


class _Fits:
    """The best curve for each of many time constants, shape (k,)."""

    def __init__(self, time: Any, loss: Any, u: float, constants: Any) -> None:
        self.constants, self._last = constants, time[-1]
        rise = -np.expm1(-time / constants[:, None])
        # products in the metric of equal errors that share the wet weighing
        rr, rt, tt = _product(rise, rise), _product(rise, time), _product(time, time)
        rl, tl, ll = _product(rise, loss), _product(time, loss), _product(loss, loss)
        determinant = np.maximum(rr * tt - rt**2, 1e-12 * rr * tt)
        a, r = (tt * rl - rt * tl) / determinant, (rr * tl - rt * rl) / determinant
        # neither water nor tail comes back: at the edge the other one is fitted alone
        a, r = np.where(r < 0.0, rl / rr, a), np.maximum(r, 0.0)
        a, r = np.maximum(a, 0.0), np.where(a < 0.0, np.maximum(tl / tt, 0.0), r)
        misfit = ll - 2 * a * rl - 2 * r * tl + a**2 * rr + 2 * a * r * rt + r**2 * tt
        self.amplitude, self.tail = a, r
        self.chi2 = np.maximum(misfit, 0.0) / u**2
        self.inflation = max(1.0, float(self.chi2.min()) / max(len(time) - 3, 1))
        self._tail_var = u**2 * rr / determinant
        self._amplitude_var = u**2 * tt / determinant

    def mean(self) -> DryingCurve:
        """All curves weighed by their likelihood."""
        weights = np.exp(-0.5 * (self.chi2 - self.chi2.min()) / self.inflation)
        weights /= weights.sum()
        left = np.exp(-self._last / self.constants)
        tail, tail_u = self._spread(weights, self.tail, self._tail_var)
        rest, rest_u = self._spread(weights, self.amplitude * left, self._amplitude_var * left**2)
        return DryingCurve(
            amplitude=float(weights @ self.amplitude),
            time_constant=float(np.exp(weights @ np.log(self.constants))),
            rest=rest,
            rest_u=rest_u,
            tail=tail,
            tail_u=tail_u,
        )

    def _spread(self, weights: Any, values: Any, variances: Any) -> tuple[float, float]:
        """Mean, and the spread within and between the curves."""
        mean = float(weights @ values)
        within = self.inflation * variances
        return mean, float(np.sqrt(weights @ (within + (values - mean) ** 2)))


def _product(x: Any, y: Any) -> Any:
    """Inner product over weighings with equal errors, each holding the wet weighing's error too."""
    n = x.shape[-1]
    return (x * y).sum(axis=-1) - x.sum(axis=-1) * y.sum(axis=-1) / (n + 1)
