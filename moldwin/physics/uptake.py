"""Wetting and drying of bodies whose diffusivity changes with their moisture, many at once."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.physics._checks import fraction
from moldwin.physics._course import Problem, Stretch, course
from moldwin.physics._grid import steepness
from moldwin.physics._prepare import Prepared, prepare, rising_times, sensible, warn_of_range
from moldwin.physics._surface import OpenAir
from moldwin.physics.pellet import Pellet

__all__ = ["UptakeCurve", "first_time", "uptake_curve"]

#: A surface without resistance is one whose Biot number is this.
_OPEN = 1e7


@dataclass(frozen=True)
class UptakeCurve:
    """Moisture of pellets over time.

    Parameters
    ----------
    times : array, shape (n,) or (..., n)
        As asked for. [s]
    mean : array, shape (..., n)
        Mean moisture, dry basis. [kg/kg]
    skin, heart : array, shape (..., n)
        Moisture at the surface and in the middle, dry basis. [kg/kg]
    depth : array, shape (nodes,)
        Where the profile is known, as distance from the middle over half-thickness or radius;
        empty when it was not asked for. [-]
    profile : array, shape (..., n, nodes)
        Moisture there, dry basis. [kg/kg]

    Examples
    --------
    >>> pellet = Pellet("slab", 1e-3, 1300.0, 1e-12, lambda x: x / 0.2)
    >>> curve = uptake_curve([0.0, 86400.0], 0.05, 0.6, pellet, np.inf)
    >>> bool(curve.heart[1] < curve.mean[1] < curve.skin[1])
    True
    """

    times: Any
    mean: Any
    skin: Any
    heart: Any
    depth: Any
    profile: Any


def uptake_curve(
    times: Any,
    x_start: Any,
    a_air: Any,
    pellet: Pellet,
    film: Any,
    *,
    air_times: Any = None,
    accuracy: float = 1e-4,
    profile: bool = False,
    check: bool = True,
) -> UptakeCurve:
    r"""Moisture of evenly moist pellets after they come into other air.

    .. math:: \frac{\partial x}{\partial t} = \nabla\cdot\left(D(x)\nabla x\right),\qquad
              -\rho D\,\frac{\partial x}{\partial n} = k\,\left[a_w(x) - a_{air}(t)\right]

    Parameters
    ----------
    times : float or array, shape (n,) or (..., n)
        Times since then, rising; per set if they have axes for the sets. [s]
    x_start : float or array, shape (...)
        Moisture at the start, dry basis. [kg/kg]
    a_air : float or array, shape (...) or (m, ...)
        Water activity of the air; with ``air_times`` one for each of them. [-]
    pellet : Pellet
        What they are; its numbers may differ by set. [SI]
    film : float or array, shape (...)
        Resistance of the air, as its inverse: water per area, time and difference of activity; see
        ``still_air_conductance`` for an area of 1 m2. Infinite is no resistance. [kg/m2/s]
    air_times : array, shape (m,), optional
        Times of ``a_air``, not falling; it runs straight between them and stays as it is beyond.
        The same time twice is a jump. [s]
    accuracy : float, optional
        Error of the mean moisture aimed at, as a share of the whole change. [-]
    profile : bool, optional
        Give the whole profile too. [-]
    check : bool, optional
        Warn when ``DenseStarch`` is used outside its range. [-]

    Returns
    -------
    UptakeCurve
        Mean, skin and heart over time. [kg/kg]

    Raises
    ------
    ValueError
        Times that fall or are negative, an activity outside 0..1, a size, density, diffusivity or
        film not above 0, an unknown shape, an isotherm that falls or never reaches the air's
        activity.

    Notes
    -----
    One temperature throughout, no swelling, Fick's law. Tests hold the mean to ``accuracy`` for
    diffusivities that change up to 55 times across the step and any Biot number; skin and heart
    are good to some thousandths of the change, 0.02 where a steep front just arrives. Where the
    air is all that resists (Biot numbers below 0.01) the last millionths of the way are rounding.

    A finite cylinder is replaced by a body of one dimension with the same surface over volume and
    the same slowest rate, which has a broken number of dimensions: rods 2, discs 1, and as long as
    wide 4. Where the diffusivity is constant its mean is within 0.016 of the change from the exact
    product of cylinder and slab (worst near a Biot number of 5); a sphere of the same surface over
    volume would be off by up to 0.13.

    A thousand sets together take about as long as thirty, one after another, by a library's
    stiff integrator.

    References
    ----------
    J. Crank, The Mathematics of Diffusion, 2nd ed. (1975), ch. 9 (from memory).
    R. Alexander, SIAM J. Numer. Anal. 14 (1977) 1006 (the time steps; from memory).

    Examples
    --------
    A 3 mm pellet of dense starch on its slow way from 5 to about 12 %:

    >>> from moldwin.physics.pellet import DenseStarch
    >>> from moldwin.physics.sorption import gab_water_activity
    >>> def isotherm(x):
    ...     return gab_water_activity(x, 0.0743, 26.87, 0.7842, check=False)
    >>> pellet = Pellet("sphere", 1.5e-3, 1350.0, DenseStarch(298.15), isotherm)
    >>> days = np.array([0.0, 1.0, 3.0, 9.0])
    >>> curve = uptake_curve(days * 86400, 0.05, 0.53, pellet, 1e-7, check=False)
    >>> print(curve.mean.round(3))
    [0.05  0.055 0.065 0.085]
    """
    times = rising_times(times)
    a_air, air_times = _air(a_air, air_times)
    film = np.asarray(film, dtype=float)
    if np.any(film <= 0):
        raise ValueError(f"film must be above 0 kg/m2/s, got {film.min():g}; 0 would seal it")
    sets = np.zeros(times.shape[:-1])
    some = prepare(pellet, x_start, a_air.min(axis=0), a_air.max(axis=0), film, sets)
    if check:
        warn_of_range(pellet, some)
    transfer, biot = _transfer(some, film)
    air = np.stack([some.only(row) for row in a_air])
    problem = Problem(
        some.dimension,
        some.law,
        some.pace,
        some.span,
        some.scaled(some.start),
        np.zeros((0, len(some.start))),
        _stretches(some.activity, transfer, air, air_times),
        steepness(biot),
    )
    values, depth = course(problem, some.asked(times), sensible(accuracy), profile)
    mean, *nodes = (some.spread(some.back(y), times) for y in values)
    return UptakeCurve(
        times=times,
        mean=mean,
        skin=nodes[-1],
        heart=nodes[0],
        depth=depth if profile else depth[:0],
        profile=np.stack(nodes, axis=-1)[..., : len(depth) if profile else 0],
    )


def first_time(times: Any, values: Any, goal: Any) -> Any:
    """When a course first reaches a goal, by straight lines between its points.

    Parameters
    ----------
    times : array, shape (n,) or (..., n)
        Rising. [s]
    values : array, shape (..., n)
        The course, in any unit. [kg/kg]
    goal : float or array, shape (...)
        What it is to reach, from whichever side it starts. [kg/kg]

    Returns
    -------
    float or array, shape (...)
        Time; infinite where it never gets there, NaN where the course is unknown. [s]

    Raises
    ------
    ValueError
        Fewer than two times.

    Notes
    -----
    No better than the points are close: ask the course for enough of them.

    References
    ----------
    None: linear interpolation.

    Examples
    --------
    >>> print(first_time([0.0, 10.0, 20.0], [1.0, 3.0, 4.0], 2.0))
    5.0
    """
    parts = (np.asarray(a, dtype=float) for a in (times, values))
    times, values, goal = np.broadcast_arrays(*parts, np.asarray(goal, dtype=float)[..., None])
    if values.shape[-1] < 2:
        raise ValueError(f"a course needs at least 2 times, got {values.shape[-1]}")
    ahead = (values - goal) * np.sign(goal - values[..., :1])  # below 0 until it gets there
    there = ahead >= 0
    after = np.argmax(there, axis=-1)[..., None]
    before = np.maximum(after - 1, 0)
    t0, t1 = (np.take_along_axis(times, i, axis=-1) for i in (before, after))
    a0, a1 = (np.take_along_axis(ahead, i, axis=-1) for i in (before, after))
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(after > 0, a0 / (a0 - a1), 0.0)
    found = np.where(there.any(axis=-1, keepdims=True), t0 + share * (t1 - t0), np.inf)
    unknown = np.isnan(values + goal).any(axis=-1)
    return np.where(unknown, np.nan, found[..., 0])[()]


def _air(a_air: Any, air_times: Any) -> tuple[Any, Any]:
    """Activities with a first axis of time, and the times."""
    a_air = fraction("a_air", a_air)
    if air_times is None:
        return a_air[None], np.zeros(1)
    air_times = rising_times(air_times)
    if a_air.ndim == 0 or len(a_air) != len(air_times):
        raise ValueError(
            f"a_air needs one row for each of the {len(air_times)} air_times, "
            f"got shape {a_air.shape}"
        )
    return a_air, air_times


def _transfer(some: Prepared, film: Any) -> tuple[Any, float]:
    """Flow per kg of dry solids and unit of activity [1/s], and the largest Biot number."""
    film = some.only(film)
    steepest = some.activity.steepest()
    to_biot = some.half * steepest / some.density
    film = np.fmin(film, _OPEN * some.fastest / np.maximum(to_biot, 1e-300))
    biot = np.max(film * to_biot / some.slowest, initial=0.0)
    return film * some.per_area, float(biot)


def _stretches(activity: Any, transfer: Any, air: Any, times: Any) -> list[Stretch]:
    """Stretches between the times at which the air is known, and the ones outside."""
    still = np.zeros_like(transfer)
    edges = [0.0, *times, np.inf]
    rows = [air[0], *air, air[-1]]
    found: list[Stretch] = []
    jump = True
    for i, (begin, end) in enumerate(itertools.pairwise(edges)):
        if end <= begin:
            jump = jump or bool(np.any(rows[i] != rows[i + 1]))
            continue
        drift = still if np.isinf(end) else (rows[i + 1] - rows[i]) / (end - begin)
        surface = OpenAir(activity, transfer, rows[i], drift, begin)
        found.append(Stretch(begin, end, surface, jump))
        jump = False
    return found
