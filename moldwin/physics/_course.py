"""Courses over time of many bodies: two grids, extrapolated to one of cells without size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.physics._grid import SURFACE, graded
from moldwin.physics._stepper import Body, State, march, rest_state

__all__: list[str] = []

#: Cells of the coarse grid and error allowed per step on the fine one, where an error of 1e-4 is
#: asked: found by trial on 1000 sets against grids ten times finer.
_CELLS, _STEP_ERROR = 12, 1.2e-3
_USUAL = 1e-4
#: The grid of half the cell errs four times as little, and so should its steps: then the same
#: extrapolation takes away most of the errors of both.
_COARSER = 4.0
#: Share of the whole change in the first step.
_FIRST = 3.0
#: Sets marched together: their arrays fit into the processor's cache.
_TOGETHER = 1024
#: Steps kept before the values between them are worked out, and numbers worked out at once.
_ROWS, _TABLE_BLOCK = 128, 4096


@dataclass(frozen=True)
class Stretch:
    """A stretch of time with surroundings that change smoothly; ``jump``: not so at its start."""

    start: float
    stop: float
    surface: Any
    jump: bool


@dataclass(frozen=True)
class Problem:
    """Bodies to march, one grid for all: ``y_start`` their even scaled moisture at the start,
    ``z_start`` what their surroundings hold then; the rest as in `_stepper.Body`."""

    dimension: float
    law: Any
    pace: Any
    span: Any
    y_start: Any
    z_start: Any
    stretches: Sequence[Stretch]
    steepness: float

    def take(self, sets: Any) -> Problem:
        stretches = [Stretch(s.start, s.stop, s.surface.take(sets), s.jump) for s in self.stretches]
        parts = (self.pace[sets], self.span[sets], self.y_start[sets], self.z_start[:, sets])
        return Problem(self.dimension, self.law.take(sets), *parts, stretches, self.steepness)


def course(problem: Problem, times: Any, accuracy: float, profile: bool) -> tuple[Any, Any]:
    """What is watched at ``times`` (n, sets), shape (watched, n, sets), and where the nodes lie.

    Watched are the mean, then heart and skin or every node of the coarse grid, then ``z``;
    moistures scaled.
    """
    # The error of the pair of grids falls with the fourth power of the cell; how that of the pair
    # of step errors falls was found by trial.
    finer = max((_USUAL / accuracy) ** 0.25, 0.5) * max(problem.steepness / 4.0, 1.0)
    cells = 2 * int(np.ceil(_CELLS / 2 * finer))
    step_error = _STEP_ERROR * min(accuracy / _USUAL, 16.0) ** 0.9
    nodes = np.arange(cells + 1) if profile else np.array([0, cells])
    pieces = []
    for begin in range(0, times.shape[1], _TOGETHER):
        sets = slice(begin, begin + _TOGETHER)
        some, at = problem.take(sets), np.ascontiguousarray(times[:, sets])
        fine = _march(some, 2 * cells, 2 * nodes, at, step_error, accuracy)
        coarse = _march(some, cells, nodes, at, _COARSER * step_error, accuracy)
        pieces.append((4.0 * fine - coarse) / 3.0)
    grid = graded(problem.dimension, cells, problem.steepness)
    if not pieces:
        pieces = [np.empty((1 + len(nodes) + len(problem.z_start), *times.shape))]
    return np.concatenate(pieces, axis=-1), grid.radius[grid.rows(nodes)]


def _march(
    problem: Problem, cells: int, watched: Any, times: Any, step_error: float, accuracy: float
) -> Any:
    grid = graded(problem.dimension, cells, problem.steepness)
    state: State | None = None
    record: Record | None = None
    jump = 0.0
    for stretch in problem.stretches:
        jump = stretch.start if stretch.jump else jump
        own = problem.law, stretch.surface, problem.pace, problem.span
        body = Body(grid, *own, grid.rows(watched), jump)
        if state is None or record is None:
            state = rest_state(body, problem.y_start, problem.z_start, stretch.start)
            record = Record(times, state)
        # Sets at rest have stopped before; from here on they go with the others.
        state.t = np.minimum(stretch.start, times[-1])
        state.stop = np.minimum(stretch.stop, times[-1])
        record(np.arange(len(state.t)), state)
        if stretch.jump:
            record.origin = stretch.start
            _start_over(body, state, stretch, _FIRST * accuracy)
        march(body, state, step_error, record)
    assert record is not None
    record.settle()
    return record.values


def _start_over(body: Body, state: State, stretch: Stretch, share: float) -> None:
    """A first step after a jump so short that only ``share`` of the whole change happens in it."""
    x = body.law.origin + state.y[SURFACE] / body.law.scale
    flow = np.abs(body.law.scale * stretch.surface.flow(x, state.z, state.t))
    with np.errstate(divide="ignore"):
        step = np.fmax(share * body.span / flow, 1e-12 * stretch.start)
    state.step = np.fmin(step, stretch.stop - stretch.start)
    state.before, state.root_before = state.w.copy(), np.full(state.t.shape, -1.0)


class Record:
    """Values at the asked times, by cubics in the root of the time since the last jump.

    After a jump uptake runs with the root of time, in which its course is smooth.
    """

    def __init__(self, times: Any, state: State) -> None:
        self.times, self.origin = times, 0.0
        self.values = np.repeat(state.seen[:, None, :], len(times), axis=1)
        watched, count = state.seen.shape
        self._origin = np.zeros(_ROWS)
        self._t = np.empty((_ROWS, count))
        self._seen, self._rate = np.empty((2, _ROWS, watched, count))
        self._t[0], self._seen[0], self._rate[0] = state.t, state.seen, state.rates
        self._last = 0

    def __call__(self, sets: Any, now: State) -> None:
        """Keep where the sets stand; those not named have not moved."""
        if self._last == _ROWS - 1:
            self.settle()
        old, row = self._last, self._last + 1
        for kept, new in ((self._t, now.t), (self._seen, now.seen), (self._rate, now.rates)):
            if len(sets) == kept.shape[-1]:
                kept[row] = new
            else:
                kept[row] = kept[old]
                kept[row][..., sets] = new
        self._origin[row] = self.origin
        self._last = row

    def settle(self) -> None:
        """Work out the values between the rows kept so far, and keep the last row only."""
        at_once = max(1, _TABLE_BLOCK // self.times.shape[1])
        for begin in range(0, len(self.times), at_once):
            block = slice(begin, begin + at_once)
            self._between(self.times[block], self.values[:, block])
        for kept in (self._t, self._seen, self._rate, self._origin):
            kept[0] = kept[self._last]
        self._last = 0

    def _between(self, times: Any, out: Any) -> None:
        t, count = self._t[: self._last + 1], self._t.shape[1]
        counts = np.zeros(times.shape, dtype=np.uint8)  # small numbers are added much faster
        for row in t:
            counts += (row < times).view(np.uint8)
        for values, last in zip(out, self._seen[self._last], strict=True):
            np.copyto(values, last, where=counts == len(t))
        known = (counts > 0) & (counts < len(t))
        if not known.any():
            return
        end = np.where(known, counts, 1).astype(np.intp)
        place = end * count + np.arange(count)
        since = self._origin[end]
        root1 = np.sqrt(t.take(place) - since)
        root0 = np.sqrt(np.maximum(t.take(place - count) - since, 0.0))
        h = np.where(known, root1 - root0, 1.0)
        u = (np.sqrt(np.maximum(times - since, 0.0)) - root0) / h
        # The cubic through both ends with their slopes, as weights of the four.
        ends = u * u * (3.0 - 2.0 * u)
        slope1, slope0 = 2.0 * root1 * h * u * u * (u - 1.0), 2.0 * root0 * h * u * (u - 1.0) ** 2
        place += end * count * (len(out) - 1)
        before = place - count * len(out)
        for values in out:
            first = self._seen.take(before)
            cubic = first + ends * (self._seen.take(place) - first)
            cubic += slope0 * self._rate.take(before) + slope1 * self._rate.take(place)
            np.copyto(values, cubic, where=known)
            place += count
            before += count
