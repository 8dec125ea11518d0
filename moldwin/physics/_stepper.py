"""Marching thousands of wetting or drying bodies through time at once, each at its own pace.

Space is split into finite volumes, so that what leaves one node arrives in the next. Time goes by
the two-stage SDIRK of order 2 (L-stable: steep starts are damped, not rung). Each stage is solved
by Newton's method in the Kirchhoff potential; its last iterate is kept in its linear form, in
which the balance of water holds to rounding however early the iteration stops.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from moldwin.physics._grid import SURFACE, Grid

__all__: list[str] = []

_GAMMA = 1.0 - np.sqrt(0.5)
#: From the start of a step to its first stage, and as far again times this to its end.
_ONWARD = (1.0 - _GAMMA) / _GAMMA
_MOST_SWEEPS = 6
_MOST_STEPS = 20000
#: Steps after which a set crawls, looked at again after as many as the second number says.
_CRAWLS, _LOOK = 3000, 500
#: A set that crawls may lengthen a step that moves less than this share of a step's error.
_LITTLE = 0.01
#: Error of a stage's linear form at a node, as a share of the range of moistures.
_LINEAR_ENOUGH = 0.02
#: A step is at most so many times as long as the one before it.
_GROWTH = 4.0
#: A step takes at most this many of the times in which the flow fades by e; beyond 2.4 the method
#: would step over the end it nears.
_LONGEST = 1.8
#: What is still to flow counts as nothing below this share of the range of moistures.
_NOTHING = 1e-11

#: Called after a step with the sets and where they stand.
Listener = Callable[[Any, "State"], None]


@dataclass(frozen=True)
class Body:
    """One grid for all sets; per set a law of diffusion, a pace and what surrounds it.

    ``pace`` is the law's rate over the half-thickness squared [1/s], ``span`` the range of scaled
    moistures that errors are measured against, ``watched`` the nodes whose course is wanted, and
    ``jump`` the time since when the surroundings have been smooth.
    """

    grid: Grid
    law: Any
    surface: Any
    pace: Any
    span: Any
    watched: Any
    jump: float

    def take(self, sets: Any) -> Body:
        law, surface = self.law.take(sets), self.surface.take(sets)
        own = self.pace[sets], self.span[sets]
        return Body(self.grid, law, surface, *own, self.watched, self.jump)

    def watch(self, y: Any, z: Any) -> Any:
        """Mean, watched nodes and surroundings, shape (1 + watched + z, sets)."""
        return np.concatenate([self.grid.volume.T @ y, y[self.watched], z])


@dataclass
class State:
    """Where every set stands; every array ends in the axis of sets.

    ``y`` is the scaled moisture of the nodes, ``w`` a guess of its potential, ``z`` what the
    surroundings hold, ``t`` and ``stop`` the time now and at the end, ``step`` the next step to
    try, ``before`` and ``root_before`` a potential some time ago and the root of its time since
    the jump, ``seen`` and ``rates`` what is watched and how fast it changes.
    """

    y: Any
    w: Any
    z: Any
    t: Any
    stop: Any
    step: Any
    before: Any
    root_before: Any
    seen: Any
    rates: Any

    def take(self, sets: Any) -> State:
        return State(*(getattr(self, f.name).take(sets, axis=-1) for f in fields(self)))

    def put(self, sets: Any, other: State) -> None:
        for f in fields(self):
            getattr(self, f.name)[..., sets] = getattr(other, f.name)


def rest_state(body: Body, y: Any, z: Any, t: float) -> State:
    """Bodies of even moisture ``y`` (sets,) at time ``t``."""
    y = np.repeat(y[None], len(body.grid.volume), axis=0)
    w = np.repeat(body.law.potential(y[0])[None], len(y), axis=0)
    seen = body.watch(y, z)
    now = np.full(y.shape[1], t)
    still = np.zeros_like(seen)
    return State(y, w, z.copy(), now, now.copy(), now.copy(), w.copy(), now - 1.0, seen, still)


def march(body: Body, state: State, tolerance: float, listen: Listener) -> None:
    """Bring every set to its own time to stop, or to where nothing more happens before it."""
    sets = np.arange(len(state.t))
    now = state
    for count in range(_MOST_STEPS):
        if count >= _CRAWLS and count % _LOOK == 0:
            rests = _hardly_moves(body, now, tolerance, _MOST_STEPS - count)
            now.stop = np.where(rests, now.t, now.stop)
        done = now.t >= now.stop
        # Sets that have arrived cost time until they are left out; leaving them out costs some too.
        if done.all() or done.mean() > 0.1:
            arrived, going = np.flatnonzero(done), np.flatnonzero(~done)
            state.put(sets[arrived], now.take(arrived))
            sets, body, now, done = sets[going], body.take(going), now.take(going), done[going]
        if not len(sets):
            return
        now = _advance(body, now, done, tolerance, crawls=count >= _CRAWLS)
        listen(sets, now)
    raise RuntimeError(f"{len(sets)} sets were not done after {_MOST_STEPS} steps")


def _hardly_moves(body: Body, now: State, tolerance: float, steps: int) -> Any:
    """Sets in which all that may still flow is less than the error of a step.

    Where next to nothing flows through a skin that is dry, its node may swing from stage to stage:
    that keeps steps short over years in which the mean no longer moves, or moves so slowly that it
    is not followed by that much in all the ``steps`` there are.
    """
    followed = np.minimum(now.stop - now.t, steps * now.step)
    return (np.abs(now.rates[0]) * followed < tolerance * body.span) & body.surface.steady


def _advance(body: Body, now: State, done: Any, tolerance: float, *, crawls: bool) -> State:
    """One step of every set that is not done; those whose error is too large stay where they are.

    The error is that of the water that came through the surface, by the change of the flow between
    the stages; an error of the profile that never shows there does not matter, unless the body lies
    sealed and evens out: then that of skin against heart counts too.
    """
    left = now.stop - now.t
    wish = np.fmin(now.step, body.surface.longest(now.z, now.rates[len(now.rates) - len(now.z) :]))
    last = wish >= left
    step = np.where(done, 1.0, np.minimum(wish, left))  # any step will do for those at rest
    gh = _GAMMA * step
    weight = body.grid.volume * body.grid.unit / (gh * body.pace)
    # After a jump potentials run with the root of time: so do the guesses.
    t1, t = now.t + gh, np.where(last, now.stop, now.t + step)
    root, root1, root2 = (np.sqrt(a - body.jump) for a in (now.t, t1, t))
    guess = _ahead(now.w, now.before, (root1 - root) / (root - now.root_before))
    y1, w1, z1, failed = _stage(body, weight, now.y, now.z, guess, now.z, gh, t1)
    rest, z_rest = _ahead(now.y, y1, -_ONWARD), _ahead(now.z, z1, -_ONWARD)
    guess = _ahead(w1, now.w, (root2 - root1) / (root1 - root))
    y2, w2, z2, failed2 = _stage(body, weight, rest, z_rest, guess, z1, gh, t)
    failed |= failed2

    # What left a body is what it lost, to rounding: its flow is read there and not at its surface,
    # where it may be a small difference of large numbers.
    seen1, seen = body.watch(y1, z1), body.watch(y2, z2)
    rates1 = (seen1 - now.seen) / gh
    rates = (seen - now.seen) / gh - _ONWARD * rates1
    flow1, flow2 = (_pace(body, now.z, r) for r in (rates1, rates))
    change = np.abs(flow2 - flow1)
    with np.errstate(divide="ignore", invalid="ignore"):
        error = gh * change.max(axis=0) / body.span
        factor = np.fmin(np.fmax(0.85 * np.sqrt(tolerance / error), 0.2), _GROWTH)
        # seconds in which a lone exponential fades
        fading = (1.0 - _GAMMA) * step * np.fmin.reduce(np.abs(flow1) / change) - gh
    longest = np.fmax(_LONGEST * fading / step, 0.5)
    if crawls:  # a dry skin that swings from stage to stage, where a step moves next to nothing
        moved = step * np.maximum(np.abs(flow1), np.abs(flow2)).max(axis=0)
        longest = np.where(moved < _LITTLE * tolerance * body.span, _GROWTH, longest)
    factor = np.fmin(factor, longest)
    accepted = ~failed & (error <= tolerance) & ~done
    planned = np.where(failed, 0.25, factor) * step
    # A step cut short to arrive says nothing against the longer one that was planned.
    planned = np.where(last & accepted, np.maximum(planned, now.step), planned)
    still = np.where(fading > 0.0, np.fmin(fading, now.stop - t), now.stop - t)
    over = np.abs(flow2).max(axis=0) * still < _NOTHING * body.span
    stop = np.where(over & accepted & body.surface.steady, t, now.stop)
    new = State(y2, w2, z2, t, stop, planned, w1, root1, seen, rates)
    if not accepted.all():
        stay = np.flatnonzero(~accepted)
        planned = np.where(done, now.step, planned)
        new.put(stay, now.take(stay))
        new.step = planned
    return new


def _pace(body: Body, z: Any, rates: Any) -> Any:
    """How fast what matters changes, shape (1 or 2, sets): the mean, and sealed the unevenness."""
    sealed = body.surface.sealed(z)
    if sealed is None:
        return rates[:1]
    skin = rates[len(rates) - len(z) - 1]
    return np.stack([rates[0], np.where(sealed, skin - rates[1], 0.0)])


def _ahead(now: Any, before: Any, far: Any) -> Any:
    """The line from ``before`` to ``now``, drawn on by ``far`` times its length."""
    line = now - before
    line *= far
    line += now
    return line


def _stage(
    body: Body, weight: Any, rest: Any, z_rest: Any, w: Any, z: Any, gh: Any, t: Any
) -> tuple[Any, Any, Any, Any]:
    """Solve y - rest = gh dy/dt: moisture, potential, surroundings, and who failed."""
    y, w, z, wrong = _sweep(body, weight, rest, z_rest, w, z, gh, t)
    for _ in range(_MOST_SWEEPS - 1):
        if not wrong.any():
            break
        again = np.flatnonzero(wrong)
        parts = (a.take(again, axis=-1) for a in (weight, rest, z_rest, w, z, gh, t))
        y[:, again], w[:, again], z[:, again], wrong[again] = _sweep(body.take(again), *parts)
    return y, w, z, wrong


def _sweep(
    body: Body, weight: Any, rest: Any, z_rest: Any, w: Any, z: Any, gh: Any, t: Any
) -> tuple[Any, Any, Any, Any]:
    """One Newton iteration for all sets; the last value says who needs another.

    Each row is the balance of a node over gh times the pace, times the node's unit.
    """
    grid, law = body.grid, body.law
    w = np.fmin(np.fmax(w, law.lowest), law.highest)
    y, slope = law.at(w)
    right = rest - y
    right += slope * w
    right *= weight
    diagonal = weight * slope
    diagonal *= grid.unit
    diagonal += grid.links

    edge, rise = w[SURFACE], slope[SURFACE] / law.scale
    line = body.surface.line(law.origin + y[SURFACE] / law.scale, edge, rise, z, z_rest, gh, t)
    out_slope, out_const, z_const, z_slope = line
    from_outside = law.scale / body.pace * grid.unit[SURFACE]
    diagonal[SURFACE] += from_outside * grid.unit[SURFACE] * out_slope
    right[SURFACE] -= from_outside * out_const
    solved = _eliminate(diagonal, right)
    solved *= grid.unit

    w -= solved
    w *= slope
    moved = np.maximum(w.max(axis=0), -w.min(axis=0))
    enough = np.minimum(np.sqrt(2.0 * _LINEAR_ENOUGH * body.span / law.bend), 0.1 * body.span)
    y -= w
    z_new = z_const + z_slope * solved[SURFACE]
    if len(z_new):
        # With long steps the elimination's rounding grows; what it loses is put back evenly.
        y -= grid.volume.T @ (y - rest) + law.scale * (z_new - z_rest).sum(axis=0)
    good = (moved <= enough) & body.surface.settled(z, z_new)
    return y, solved, z_new, ~good


def _eliminate(diagonal: Any, right: Any) -> Any:
    """Thomas' algorithm for rows linked by -1, from both ends to the middle; uses up its arguments.

    Pairs of rows and all sets go at once, since each call costs more than the numbers in it.
    """
    pairs = (len(right) // 2, 2, right.shape[1])
    rows = list(zip(diagonal[:-1].reshape(pairs), right[:-1].reshape(pairs), strict=True))
    spare = np.empty(pairs[1:])
    for (d, b), (d_next, b_next) in itertools.pairwise(rows):
        np.divide(1.0, d, out=d)
        d_next -= d
        np.multiply(d, b, out=spare)
        b_next += spare
    d, b = rows[-1]
    np.divide(1.0, d, out=d)
    right[-1] += (d * b).sum(axis=0)
    right[-1] /= diagonal[-1] - d.sum(axis=0)
    inner = right[-1]
    for d, b in reversed(rows):
        b += inner
        b *= d
        inner = b
    return right
