"""From pellets as described to arrays a solver can march: one set after another, scaled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.physics._checks import above_zero, inside
from moldwin.physics._grid import short_cylinder
from moldwin.physics._laws import ExponentialLaw, TableLaw, own_nodes, shared_nodes
from moldwin.physics._series import DIMENSION
from moldwin.physics._surface import ActivityTable, activity_nodes
from moldwin.physics.diffusion import dense_starch_diffusivity
from moldwin.physics.pellet import DenseStarch, ExponentialDiffusivity, Pellet

__all__: list[str] = []

#: A change of moisture below this is none.
_NO_CHANGE = 1e-9
#: Moisture beyond which no activity is looked for.
_WETTEST = 2.0
_REFERENCE = 298.15
_LAST = 1e15


@dataclass(frozen=True)
class Prepared:
    """Sets that can be computed, flat; ``known`` says which of all (shape (...)) they are.

    ``low`` and ``high`` hold every moisture a set can take; ``fastest`` and ``slowest`` are the
    diffusivities there. ``per_area`` is surface over dry mass [m2/kg].
    """

    known: Any
    dimension: float
    half: Any
    density: Any
    per_area: Any
    law: Any
    activity: ActivityTable
    low: Any
    high: Any
    start: Any
    slowest: Any
    fastest: Any

    @property
    def span(self) -> Any:
        return np.abs(self.law.scale) * (self.high - self.low)

    @property
    def pace(self) -> Any:
        return self.law.rate / self.half**2

    def only(self, values: Any) -> Any:
        """The values (...) of the sets that can be computed, flat."""
        return np.broadcast_to(values, self.known.shape)[self.known].astype(float)

    def scaled(self, x: Any) -> Any:
        return self.law.scale * (x - self.law.origin)

    def back(self, y: Any) -> Any:
        return self.law.origin + y / self.law.scale

    def asked(self, times: Any) -> Any:
        """Times as asked for (..., n), turned (n, sets); unknown ones replaced by known ones."""
        full = np.broadcast_to(times, (*self.known.shape, times.shape[-1]))[self.known]
        return np.fmax.accumulate(np.nan_to_num(full), axis=-1).T

    def spread(self, values: Any, times: Any) -> Any:
        """Values (n, sets) put back among all, (..., n), with NaN where nothing is known."""
        out = np.full((*self.known.shape, len(values)), np.nan)
        out[self.known] = values.T
        return np.where(np.isnan(times), np.nan, out)


def prepare(pellet: Pellet, x_start: Any, driest: Any, wettest: Any, *others: Any) -> Prepared:
    """Prepare sets between activities ``driest`` and ``wettest``, of which ``others`` are part."""
    half = above_zero("half", pellet.half, "m")
    density = above_zero("density", pellet.density, "kg/m3")
    x_start = inside("x_start", x_start, 0.0, _WETTEST, "kg/kg dry basis", "a percentage?")
    dimension, size = _body(pellet)
    named = _numbers(pellet.diffusivity)
    # What the functions have of their own by set shows in what they give.
    functions = [f for f in (pellet.activity, pellet.diffusivity) if callable(f)]
    others = (*others, *(np.zeros(np.shape(f(np.float64(0.1)))) for f in functions))
    given = (x_start, half, density, driest, wettest, *named, *others)
    shape = np.broadcast_shapes(*(np.shape(a) for a in given))
    full = [np.broadcast_to(np.asarray(a, float), shape) for a in given]
    known = np.all([~np.isnan(a) for a in full], axis=0)
    start = np.where(known, full[0], 0.1)
    low, high = (_reach(pellet, np.where(known, a, 0.5)) for a in full[3:5])
    low, high = np.minimum(low, start), np.maximum(high, start)
    high = np.maximum(high, low + _NO_CHANGE)

    nodes = activity_nodes(low, high)
    activity = np.broadcast_to(pellet.activity(nodes), nodes.shape)
    table = None
    if callable(pellet.diffusivity):
        moistures = own_nodes(low, high)
        table = np.broadcast_to(pellet.diffusivity(np.maximum(moistures, 0.0)), moistures.shape)
        known = known & ~np.isnan(table).any(axis=0)
        above_zero("diffusivity", table[:, known].max(axis=0, initial=0.0), "m2/s")
    known = known & ~np.isnan(activity).any(axis=0)
    if np.any(np.diff(activity[:, known], axis=0) < 0):
        raise ValueError(
            "activity must rise with moisture, and falls somewhere between "
            f"{low.min():g} and {high.max():g} kg/kg"
        )

    flat = [a[known] for a in full]
    low, high, start = low[known], high[known], start[known]
    if table is not None:
        law: Any = TableLaw.over(moistures[:, known], table[:, known], 1.0)
    else:
        law = _law(pellet.diffusivity, low, high, flat[5 : 5 + len(named)])
    ends = [law.rate * _relative(law, x) for x in (low, high)]
    return Prepared(
        known,
        dimension,
        flat[1] * size,
        flat[2],
        dimension / (flat[1] * size * flat[2]),
        law,
        ActivityTable.over(low, high, activity[:, known]),
        low,
        high,
        start,
        np.minimum(*ends),
        np.maximum(*ends),
    )


def _body(pellet: Pellet) -> tuple[float, float]:
    """Dimension of the body, and its half-thickness in units of the pellet's."""
    if (pellet.shape == "finite-cylinder") != (pellet.aspect is not None):
        raise ValueError('aspect belongs to the shape "finite-cylinder", which needs it')
    if pellet.aspect is not None:
        return short_cylinder(
            float(above_zero("aspect", pellet.aspect, "(half-length over radius)"))
        )
    if pellet.shape not in DIMENSION:
        known = ", ".join((*DIMENSION, "finite-cylinder"))
        raise ValueError(f"shape must be one of {known}, got {pellet.shape!r}")
    return float(DIMENSION[pellet.shape]), 1.0


def _numbers(diffusivity: Any) -> tuple[Any, ...]:
    """The numbers in a law, each a float or an array over the sets."""
    if isinstance(diffusivity, ExponentialDiffusivity):
        return above_zero("d", diffusivity.d, "m2/s"), diffusivity.growth, diffusivity.x
    if isinstance(diffusivity, DenseStarch):
        one = dense_starch_diffusivity(0.1, diffusivity.t, check=False)
        reference = dense_starch_diffusivity(0.1, _REFERENCE, check=False)
        return (above_zero("factor", diffusivity.factor, "(a factor)") * one / reference,)
    if callable(diffusivity):
        return ()
    return (above_zero("diffusivity", diffusivity, "m2/s"),)


def _law(diffusivity: Any, low: Any, high: Any, numbers: list[Any]) -> Any:
    if isinstance(diffusivity, DenseStarch):
        x = shared_nodes(low, high) if low.size else np.array([0.1, 0.2])
        d = dense_starch_diffusivity(np.maximum(x, 0.0), _REFERENCE, check=False)
        return TableLaw.over(x, d, numbers[0])
    d, growth, at = (*numbers, np.zeros_like(low), low)[:3]
    return ExponentialLaw.over(low, high, d, growth, at)


def _relative(law: Any, x: Any) -> Any:
    """Diffusivity at a moisture over the law's rate: the inverse of the slope of y(W)."""
    y = law.scale * (x - law.origin)
    return 1.0 / law.at(np.clip(law.potential(y), law.lowest, law.highest))[1]


def _reach(pellet: Pellet, a_water: Any) -> Any:
    """Moisture at which the pellet's activity is ``a_water``, by halving."""
    low, high = np.zeros_like(a_water), np.full_like(a_water, _WETTEST)
    if np.any(np.asarray(pellet.activity(high)) < a_water):
        raise ValueError(
            f"activity must reach that of the air, up to {np.max(a_water):g}, below "
            f"{_WETTEST:g} kg/kg; it takes a moisture, dry basis, and gives a water activity"
        )
    for _ in range(52):
        middle = (low + high) / 2
        less = np.asarray(pellet.activity(middle)) < a_water
        low, high = np.where(less, middle, low), np.where(less, high, middle)
    return (low + high) / 2


def rising_times(times: Any) -> Any:
    """Times as floats with an axis of their own, refused where they fall."""
    times = np.atleast_1d(inside("times", times, 0.0, _LAST, "s"))
    if np.any(np.diff(times, axis=-1) < 0):
        raise ValueError("times must rise along their last axis")
    return times


def sensible(accuracy: float) -> float:
    """The accuracy, refused where no course could have it or it would say nothing."""
    if not 1e-9 <= accuracy <= 0.1:
        raise ValueError(f"accuracy must lie in 1e-9 to 0.1 of the change, got {accuracy:g}")
    return accuracy


def warn_of_range(pellet: Pellet, some: Prepared) -> None:
    """Warn where the correlation for dense starch is used outside its measurements."""
    if isinstance(pellet.diffusivity, DenseStarch) and len(some.low):
        extremes = np.array([some.low.min(), some.high.max()])
        dense_starch_diffusivity(extremes, np.ravel(pellet.diffusivity.t)[:, None])
