"""An isotherm from a few points of one's own: what they say joined with what was known before."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.physics._checks import above_zero, fraction, inside
from moldwin.physics.sorption import gab

__all__ = ["GabFit", "fit_gab", "gab_log_spread"]

#: Steps of the fit at the most, and the change of every logarithm at which it has settled.
_STEPS, _SETTLED = 80, 1e-7
#: K aw is kept under this: the isotherm has no end at 1.
_TOP = 0.999
#: A step is halved this often before it is given up.
_HALVINGS = 12


@dataclass(frozen=True)
class GabFit:
    """Constants of a GAB isotherm as a normal distribution of their logarithms.

    Parameters
    ----------
    mean : array, shape (..., 3)
        Most likely ln xm, ln C, ln K. [ln(kg/kg), -, -]
    covariance : array, shape (..., 3, 3)
        Of the three. [-]
    misfit : array, shape (...)
        What was made small: squares of what the points miss by and of how far the constants lie
        from the prior. About the number of points where all of it agrees. [-]
    settled : array, shape (...)
        Whether the search came to rest; points hundreds of times less likely than the prior
        allows may leave it swinging. [-]

    Examples
    --------
    >>> fit = fit_gab(0.53, 0.121, 0.002, np.log([0.08, 36.0, 0.76]), np.diag([0.01, 0.1, 0.001]))
    >>> bool(fit.settled)
    True
    """

    mean: Any
    covariance: Any
    misfit: Any
    settled: Any


def fit_gab(
    aw: Any, x: Any, u_x: Any, prior_mean: Any, prior_covariance: Any, *, u_aw: Any = 0.0
) -> GabFit:
    r"""GAB constants from measured points and from what was known before (a Bayesian fit).

    .. math:: \min_\theta \sum_i \frac{[x_i - x(a_i;\theta)]^2}{u_{x,i}^2 + (x'(a_i) u_{a,i})^2}
              + (\theta - \theta_0)^T P^{-1} (\theta - \theta_0),\quad
              \theta = (\ln x_m, \ln C, \ln K)

    Parameters
    ----------
    aw : float or array, shape (..., n)
        Water activity at each point. [-]
    x : float or array, shape (..., n)
        Moisture there, dry basis. [kg/kg]
    u_x : float or array, shape (..., n)
        Its standard uncertainty; infinite leaves a point out. [kg/kg]
    prior_mean : array, shape (3,) or (..., 3)
        ln xm, ln C, ln K before. [ln(kg/kg), -, -]
    prior_covariance : array, shape (3, 3) or (..., 3, 3)
        Of the three. [-]
    u_aw : float or array, shape (..., n), optional
        Standard uncertainty of the activity, carried to the moisture by the slope. [-]

    Returns
    -------
    GabFit
        Most likely logarithms, covariance, misfit; many users at once along leading axes. [SI]

    Raises
    ------
    ValueError
        An activity or its uncertainty outside 0..1, a moisture or its uncertainty not above 0, a
        covariance that is not one.

    Notes
    -----
    Gauss-Newton with halved steps, then the inverse of the curvature at the best point (Laplace):
    exact where the isotherm is straight in its constants, close where they move by less than a
    factor of two. What is known before keeps two points usable: alone they cannot tell three
    constants. Errors of the points are taken as independent.

    References
    ----------
    A. Gelman and others, Bayesian Data Analysis, 3rd ed. (2013), ch. 4 (from memory): the normal
    approximation about the posterior mode.

    Examples
    --------
    Three points pull a wide guess to the set they were made with (0.0743, 26.87, 0.7842):

    >>> aw = np.array([0.33, 0.53, 0.75])
    >>> x = gab(aw, 0.0743, 26.87, 0.7842)
    >>> wide = np.diag([0.3, 0.6, 0.06]) ** 2
    >>> fit = fit_gab(aw, x, 0.001, np.log([0.1, 15.0, 0.80]), wide)
    >>> print(np.round(np.exp(fit.mean), 3))
    [ 0.076 22.678  0.776]
    """
    aw, x = np.atleast_1d(fraction("aw", aw)), above_zero("x", x, "kg/kg dry")
    u_x = inside("u_x", u_x, np.nextafter(0.0, 1.0), np.inf, "kg/kg dry")
    u_aw = fraction("u_aw", u_aw)
    start = np.asarray(prior_mean, dtype=float)
    precision = _inverse(prior_covariance)
    shape = np.broadcast_shapes(
        np.broadcast_shapes(aw.shape, x.shape, u_x.shape, u_aw.shape)[:-1],
        start.shape[:-1],
        precision.shape[:-2],
    )
    theta = np.broadcast_to(start, (*shape, 3)).copy()
    problem = _Problem(aw, x, u_x, u_aw, start, precision)
    theta, settled = _search(problem, theta)
    curvature, _ = problem.normal_equations(theta, problem.spread(theta))
    covariance = np.linalg.inv(curvature)
    return GabFit(theta, covariance, problem.cost(theta, problem.spread(theta))[()], settled[()])


def gab_log_spread(aw: Any, mean: Any, covariance: Any) -> Any:
    """Standard uncertainty of the logarithm of a fitted isotherm's moisture.

    Parameters
    ----------
    aw : float or array, shape (...)
        Water activity. [-]
    mean : array, shape (3,)
        ln xm, ln C, ln K. [ln(kg/kg), -, -]
    covariance : array, shape (3, 3)
        Of the three. [-]

    Returns
    -------
    float or array, shape (...)
        Of ln x: 0.05 is about 5 % of the moisture. [-]

    Raises
    ------
    ValueError
        An activity outside 0..1.

    Notes
    -----
    By the slopes at the likely constants: good while K aw stays well under 1, so up to a water
    activity of about 0.9.

    Examples
    --------
    >>> mean, covariance = np.log([0.0743, 26.87, 0.7842]), np.diag([0.1, 0.4, 0.03]) ** 2
    >>> print(f"{gab_log_spread(0.5, mean, covariance):.3f}")
    0.105
    """
    aw = fraction("aw", aw)
    slopes = _log_slopes(aw, np.asarray(mean, dtype=float))
    return np.sqrt(np.einsum("...i,ij,...j->...", slopes, np.asarray(covariance), slopes))[()]


@dataclass(frozen=True)
class _Problem:
    """Points and prior; every method takes constants (..., 3)."""

    aw: Any
    x: Any
    u_x: Any
    u_aw: Any
    start: Any
    precision: Any

    def fitted(self, theta: Any) -> Any:
        """Moisture at the points, shape (..., n)."""
        xm, c, k = (np.exp(theta[..., i, None]) for i in range(3))
        return gab(self.aw, xm, c, np.minimum(k, _TOP / np.maximum(self.aw, 1e-9)))

    def spread(self, theta: Any) -> Any:
        """Uncertainty of each point, that of its activity included, shape (..., n)."""
        with np.errstate(divide="ignore", invalid="ignore"):
            slope = self.fitted(theta) * _log_slopes(self.aw, theta)[..., 2] / self.aw
        return np.hypot(self.u_x, np.where(self.u_aw > 0.0, slope * self.u_aw, 0.0))

    def cost(self, theta: Any, spread: Any) -> Any:
        """What the search makes small, shape (...)."""
        off = theta - self.start
        prior = np.einsum("...i,...ij,...j->...", off, self.precision, off)
        return (((self.x - self.fitted(theta)) / spread) ** 2).sum(-1) + prior

    def normal_equations(self, theta: Any, spread: Any) -> tuple[Any, Any]:
        """Curvature (..., 3, 3) and downhill direction (..., 3)."""
        fitted = self.fitted(theta)
        slopes = (fitted / spread)[..., None] * _log_slopes(self.aw, theta)
        left = (self.x - fitted) / spread
        curvature = np.einsum("...ni,...nj->...ij", slopes, slopes) + self.precision
        pull = np.einsum("...ij,...j->...i", self.precision, theta - self.start)
        return curvature, np.einsum("...ni,...n->...i", slopes, left) - pull


def _search(problem: _Problem, theta: Any) -> tuple[Any, Any]:
    """Most likely constants and whether each search came to rest."""
    highest = np.log(_TOP / np.fmax.reduce(problem.aw, axis=-1, initial=1e-9))
    theta[..., 2] = np.minimum(theta[..., 2], highest)
    settled = np.zeros(theta.shape[:-1], dtype=bool)
    for _ in range(_STEPS):
        # the points' spread hangs on the slope, hardly: held still during one step
        spread = problem.spread(theta)
        curvature, downhill = problem.normal_equations(theta, spread)
        step = np.linalg.solve(curvature, downhill[..., None])[..., 0]
        before, share = problem.cost(theta, spread), np.ones(theta.shape[:-1])
        for _ in range(_HALVINGS):
            trial = theta + share[..., None] * step
            trial[..., 2] = np.minimum(trial[..., 2], highest)
            worse = problem.cost(trial, spread) > before
            if not np.any(worse):
                break
            share = np.where(worse, share / 2.0, share)
        moved = np.abs(trial - theta).max(-1)
        theta, settled = trial, moved < _SETTLED
        if np.all(settled | np.isnan(moved)):
            break
    return theta, settled


def _log_slopes(aw: Any, theta: Any) -> Any:
    """Slopes of ln x in ln xm, ln C, ln K, shape (..., n, 3) for constants (..., 3)."""
    one = np.ndim(theta) == 1
    c, k = (np.exp(theta[..., i] if one else theta[..., i, None]) for i in (1, 2))
    u = np.minimum(k * aw, _TOP)
    bottom = 1.0 - u + c * u
    by_c = (1.0 - u) / bottom
    by_k = 1.0 / (1.0 - u) - u * (c - 1.0) / bottom
    return np.stack(np.broadcast_arrays(np.ones_like(by_c), by_c, by_k), axis=-1)


def _inverse(covariance: Any) -> Any:
    covariance = np.asarray(covariance, dtype=float)
    even = np.allclose(covariance, np.swapaxes(covariance, -1, -2), equal_nan=True)
    if covariance.shape[-2:] != (3, 3) or not even:
        raise ValueError("prior_covariance must be 3 by 3 and symmetric")
    if np.any(np.linalg.eigvalsh(covariance) <= 0.0):
        raise ValueError("prior_covariance must have a spread above 0 in every direction")
    return np.linalg.inv(covariance)
