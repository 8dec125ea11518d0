"""Diffusivity that changes with moisture, turned into a potential whose gradient is the flux.

The Kirchhoff potential W is the integral of D over x. In it the flux is linear however steep D(x)
is, and the whole non-linearity sits in what a node holds, x(W): concave where D grows with x,
which is what lets Newton's method run to the answer without hunting.

Laws work in a scaled moisture y = scale (x - origin) and a potential scaled so that
dy/dt = (rate / l²) div grad W. Arrays end in the axis of sets.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

__all__: list[str] = []

#: A diffusivity that changes by less than this over the whole step is a constant one.
_NO_GROWTH = 1e-9
#: Room for a stage to step outside the range of moistures, as a share of it.
_ROOM = 0.4
#: Cells of a table of one set, and of one that all sets share.
_OWN, _SHARED = 1024, 4096


@dataclass(frozen=True)
class ExponentialLaw:
    """D = rate exp(y), y = a (x - origin): W = exp(y) - 1, with no constant that differs by set.

    Counted from 0, W keeps its digits when ``a`` is next to nothing and D constant.
    """

    scale: Any
    origin: Any
    rate: Any
    lowest: Any
    highest: Any

    #: d ln D/dy: how fast a tangent to y(W) goes wrong.
    bend = 1.0

    @classmethod
    def over(cls, low: Any, high: Any, d: Any, growth: Any, x: Any) -> ExponentialLaw:
        """The law for moistures ``low`` to ``high``, from D = d exp(growth (x' - x))."""
        span = high - low
        flat = np.abs(growth) * span < _NO_GROWTH
        scale = np.where(flat, _NO_GROWTH / span, growth)
        origin = (low + high) / 2
        half = np.abs(scale) * span * (0.5 + _ROOM)
        rate = d * np.exp(np.where(flat, 0.0, growth) * (origin - x))
        return cls(scale, origin, rate, np.expm1(-half), np.expm1(half))

    def take(self, sets: Any) -> ExponentialLaw:
        parts = (self.scale, self.origin, self.rate, self.lowest, self.highest)
        return ExponentialLaw(*(part[sets] for part in parts))

    def potential(self, y: Any) -> Any:
        return np.expm1(y)

    def at(self, w: Any) -> tuple[Any, Any]:
        """Moisture y at the potential, and dy/dW."""
        slope = 1.0 + w
        return np.log1p(w), np.divide(1.0, slope, out=slope)


@dataclass(frozen=True)
class TableLaw:
    """Any D(x): y(W) on a table even in the root of W, one for all sets or one for each.

    Steps in the root of W are fine where D is small and x(W) steep.
    """

    scale: Any
    origin: Any
    rate: Any
    lowest: Any
    highest: Any
    bend: Any
    table: Any  # flat
    offset: Any  # where the table of each set begins

    cells: int

    @classmethod
    def over(cls, x: Any, d: Any, factor: Any) -> TableLaw:
        """The law for D = ``factor`` times ``d`` at even ``x``.

        ``x`` and ``d`` are (nodes,) for one table, or (nodes, sets) for one per set.
        """
        sets = np.shape(factor) if x.ndim == 1 else x.shape[1:]
        x, d = (a.reshape(len(a), -1) for a in (x, d))
        cells, span = len(x) - 1, x[-1] - x[0]
        d = np.fmax(d, 1e-6 * d.max(axis=0))
        content = np.cumsum(np.concatenate([0.0 * d[:1], (d[1:] + d[:-1]) / 2]), axis=0)
        share, y = np.linspace(0.0, 1.0, cells + 1), (x - x[0]) / span
        w = content / content[-1]
        table = np.array([np.interp(share**2, w[:, i], y[:, i]) for i in range(x.shape[1])])
        bend = np.abs(np.diff(np.log(d), axis=0)).max(axis=0) * cells
        own = np.arange(x.shape[1]) * (cells + 1) if x.shape[1] > 1 else 0
        ends = (1e-7, 1.0 - 1e-7)
        rate = content[-1] / cells * factor
        numbers = (1.0 / span, x[0], rate, *ends, bend, own)
        scale, origin, rate, lowest, highest, bend, offset = (
            np.broadcast_to(a, sets) for a in numbers
        )
        flat = table.ravel()
        return cls(scale, origin, rate, lowest, highest, bend, flat, offset, cells)

    def take(self, sets: Any) -> TableLaw:
        names = ("scale", "origin", "rate", "lowest", "highest", "bend", "offset")
        return replace(self, **{name: getattr(self, name)[sets] for name in names})

    def potential(self, y: Any) -> Any:
        """By halving, since the table runs the other way; used at the start only."""
        low, high = np.zeros_like(y), np.ones_like(y)
        for _ in range(50):
            middle = (low + high) / 2
            less = self.at(middle)[0] < y
            low, high = np.where(less, middle, low), np.where(less, high, middle)
        return (low + high) / 2

    def at(self, w: Any) -> tuple[Any, Any]:
        """Moisture y at the potential, and dy/dW."""
        root = np.sqrt(w)
        place = root * self.cells
        below = np.minimum(place.astype(np.intp), self.cells - 1)
        place -= below
        below += self.offset
        y = self.table.take(below)
        below += 1
        slope = self.table.take(below)
        slope -= y
        place *= slope
        y += place
        slope *= self.cells / 2
        slope /= root
        return y, slope


def own_nodes(low: Any, high: Any) -> Any:
    """Even moistures for a table per set, shape (nodes, ...): the range, and room on both sides."""
    return _even(low, high, _OWN)


def shared_nodes(low: Any, high: Any) -> Any:
    """Even moistures for one table of all sets, shape (nodes,)."""
    return _even(np.min(low), np.max(high), _SHARED)


def _even(low: Any, high: Any, cells: int) -> Any:
    room = _ROOM * (high - low)
    share = np.linspace(0.0, 1.0, cells + 1).reshape(-1, *(1,) * np.ndim(low))
    return (low - room) + share * (high - low + 2 * room)
