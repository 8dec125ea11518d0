"""What the surface of a body meets: the activity of its own water, and the air of a room."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

__all__: list[str] = []

_NODES = 257


@dataclass(frozen=True)
class ActivityTable:
    """Water activity over moisture, per set by straight lines between even nodes.

    Beyond its ends the first or last line goes on: a stage may step a little outside.
    """

    low: Any
    per_step: Any  # nodes per unit of moisture
    table: Any  # flat
    offset: Any  # where the table of each set begins

    @classmethod
    def over(cls, low: Any, high: Any, activity: Any) -> ActivityTable:
        """The table for moistures ``low`` to ``high`` (sets,) from ``activity`` (nodes, sets)."""
        count = len(low)
        table = np.ascontiguousarray(activity.T).ravel()
        return cls(low, (_NODES - 1) / (high - low), table, np.arange(count) * _NODES)

    def take(self, sets: Any) -> ActivityTable:
        return replace(
            self, low=self.low[sets], per_step=self.per_step[sets], offset=self.offset[sets]
        )

    def at(self, x: Any) -> tuple[Any, Any]:
        """Activity at ``x`` (sets,), and its slope."""
        place = (x - self.low) * self.per_step
        below = np.minimum(np.maximum(place, 0.0), _NODES - 2).astype(np.intp)
        row = self.offset + below
        first = self.table[row]
        rise = self.table[row + 1] - first
        return first + (place - below) * rise, rise * self.per_step

    def steepest(self) -> Any:
        """Largest slope of each set."""
        rise = np.diff(self.table.reshape(-1, _NODES), axis=1).max(axis=1)
        return rise[self.offset // _NODES] * self.per_step


def activity_nodes(low: Any, high: Any) -> Any:
    """Moistures at which the table needs the activity, shape (nodes, ...)."""
    share = np.linspace(0.0, 1.0, _NODES).reshape(-1, *(1,) * np.ndim(low))
    return low + share * (high - low)


@dataclass(frozen=True)
class OpenAir:
    """Air so plentiful that the body does not change it; its activity runs straight in time.

    ``transfer`` is the flow per kg of dry solids and unit of activity [1/s].
    """

    activity: ActivityTable
    transfer: Any
    air: Any
    drift: Any  # per second
    since: float

    def take(self, sets: Any) -> OpenAir:
        return OpenAir(
            self.activity.take(sets),
            self.transfer[sets],
            self.air[sets],
            self.drift[sets],
            self.since,
        )

    def flow(self, x: Any, z: Any, t: Any) -> Any:
        """Flow out of a body whose surface holds ``x``. [1/s]"""
        air = self.air + self.drift * (t - self.since)
        return self.transfer * (self.activity.at(x)[0] - air)

    @property
    def steady(self) -> Any:
        """Whether a body that has come to rest stays so."""
        return self.drift == 0.0

    def longest(self, z: Any, rates: Any) -> Any:
        """The longest step that may be tried: air without end sets none. [s]"""
        return np.inf

    def sealed(self, z: Any) -> Any:
        """Which sets lie sealed, so that only their profile moves: none in open air."""
        return None

    def settled(self, z: Any, solved: Any) -> Any:
        """Whether a stage that set out from ``z`` and came to ``solved`` may be kept."""
        return np.ones(self.transfer.shape, dtype=bool)

    def line(
        self, x: Any, w: Any, slope: Any, z: Any, z_rest: Any, gh: Any, t: Any
    ) -> tuple[Any, Any, Any, Any]:
        """Flow out of the body as a line in its potential, and ``z`` as another.

        ``x`` is the moisture at the surface where its potential is ``w``, ``slope`` = dx/dw.
        """
        own, rise = self.activity.at(x)
        air = self.air + self.drift * (t - self.since)
        out_slope = self.transfer * rise * slope
        return out_slope, self.transfer * (own - air) - out_slope * w, z, z
