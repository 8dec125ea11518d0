"""The map: chance across moisture and barrel temperature, by the very margins the advice uses.

The chance of a cell is the share of samples that satisfy every limit there: those of barrel and
filling, and those of the moisture, which are about the bag, the mold and the part in its room.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.base.memory import keep_memory
from moldwin.window import judge
from moldwin.window.aim import aim
from moldwin.window.cells import Stretch, median_limits
from moldwin.window.edges import at_best_soak, best_index
from moldwin.window.hot_core import chances_that_cool
from moldwin.window.windows import Limit, MoistureTarget, Setup

__all__ = ["GRID", "Line", "Map", "Place", "moisture_map"]

#: Points along either axis.
GRID = 40
#: The map reaches from where at most this share works to where at most this share works again.
_HARDLY = 0.1
#: Set points of the coarse pass: from a warm room to where nothing of a plant survives. [K]
_COARSE_BARREL = np.arange(303.15, 543.16, 10.0)
#: Moistures of the coarse pass.
_COARSE_COUNT = 12
#: Shown where nothing works anywhere. [K]
_ANY_BARREL = (353.15, 493.15)
#: Free space round what must be seen: barrel [K], moisture [kg/kg].
_PAD_T, _PAD_W = 5.0, 0.005
#: The axes end at multiples of these. [K], [kg/kg]
_STEP_T, _STEP_W = 5.0, 0.005
#: Moistures that a map never leaves, and the step by which its ends are pushed out. [kg/kg]
_DRIEST, _WETTEST, _REACH = 0.005, 0.40, 0.01
#: Soaks whose chances are this close are as good: the optimum is flat.
_SAME = 0.02
#: Enough for two cores; the bits do not depend on it. With fewer samples threads only wait for each
#: other.
_THREADS, _WORTH_THREADS = 2, 4096


@dataclass(frozen=True)
class Place:
    """One moisture at its best setting.

    Wet basis [kg/kg], set point [K], soak [s], chance that every limit holds and that those of the
    barrel do [-].
    """

    moisture: float
    barrel: float
    soak: float
    chance: float
    barrel_chance: float


@dataclass(frozen=True)
class Line:
    """A barrel limit across the map.

    ``at`` is for each moisture the temperature [K] at which it breaks half the samples, at the best
    soak of that moisture; of soaks as good, at the one nearest to that of now or of the target,
    whichever is nearer, for a line that went to and fro between them would show noise. NaN where it
    does not bind on the map.
    """

    name: str
    side: str
    at: Any


@dataclass(frozen=True)
class Map:
    """Chance over moisture and barrel temperature.

    Parameters
    ----------
    moisture : array, shape (w,)
        Rising, wet basis. [kg/kg]
    barrel : array, shape (t,)
        Rising set points. [K]
    chance, soak : array, shape (t, w)
        Share of samples that satisfy every limit at the best soak [-], and that soak [s].
    barrel_chance : array, shape (t, w)
        Share of samples that satisfy every barrel limit, at the best soak for that. [-]
    low, high : array, shape (w,)
        Barrel window of each moisture at the confidence, NaN where it is closed. [K]
    limits_soak : array, shape (w,)
        Soak of each moisture at which its limits are drawn. [s]
    lines : list of Line
        Barrel limits. [K]
    uprights : list of Limit
        Moisture limits, at the median moisture where each binds. [kg/kg]
    now, target : Place
        Where the pellets are, and the moisture to mold at.
    confidence : float
        Chance asked of a window. [-]
    """

    moisture: Any
    barrel: Any
    chance: Any
    soak: Any
    barrel_chance: Any
    low: Any
    high: Any
    limits_soak: Any
    lines: list[Line]
    uprights: list[Limit]
    now: Place
    target: Place
    confidence: float

    @property
    def open(self) -> Any:
        """Cells where the chance reaches the confidence, shape (t, w). [-]"""
        return self.chance >= self.confidence


@dataclass(frozen=True)
class _Column:
    """One moisture of the map."""

    chance: Any
    soak: Any
    barrel_chance: Any
    ends: tuple[float, float] | None
    limits_soak: float
    limits: dict[str, tuple[str, float]]


def moisture_map(
    setup: Setup,
    grid: int = GRID,
    *,
    moisture: Any = None,
    barrel: Any = None,
    threads: int | None = None,
    tick: Callable[[int, int], None] | None = None,
) -> Map:
    """Chance of success at every moisture and barrel temperature, each at its best soak.

    The draws, margins and verdict are those of the advice: a cell is what the advice would say of
    pellets that moist in a barrel that hot.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    grid : int
        Points along either axis, 2 or more. [-]
    moisture : array, shape (w,), optional
        Rising moistures, wet basis; left out, they cover the present one, the target and all
        between the two sides where hardly one sample in ten stays inside the moisture limits.
        [kg/kg]
    barrel : array, shape (t,), optional
        Rising set points, at least two; left out, from where hardly one sample in ten works at any
        moisture to where hardly one in ten works again. [K]
    threads : int, optional
        Columns worked on side by side; the bits do not depend on it. Left out, as many as are
        worth it for that many samples. [-]
    tick : callable, optional
        Told how many columns of how many are done. [-]

    Returns
    -------
    Map
        The map.

    Raises
    ------
    ValueError
        Too few points along an axis, or places that do not rise.
    """
    _check_places(grid, moisture, barrel)
    if threads is None:
        threads = _THREADS if setup.bench.count >= _WORTH_THREADS else 1
    nominal = float(setup.bench.job.pellets.moisture or 0.0)
    target = setup.target(nominal)
    # the target also drew every number, so that the threads find all of them drawn
    now, goal = (_place(setup, at) for at in (nominal, aim(setup, target, nominal)))
    if moisture is None:
        moisture = np.linspace(*_moisture_ends(setup, target, nominal, now.barrel), grid)
    if barrel is None:
        barrel = np.linspace(*_barrel_ends(setup, moisture, threads), grid)

    def column(w: float) -> _Column:
        nearer = min(goal, now, key=lambda place: abs(place.moisture - w))
        return _column(setup, w, barrel, nearer.soak)

    columns = _each(column, moisture, threads, tick)
    ends = np.array([column.ends or (np.nan, np.nan) for column in columns])
    return Map(
        moisture=np.asarray(moisture, dtype=float),
        barrel=np.asarray(barrel, dtype=float),
        chance=np.stack([column.chance for column in columns], axis=1),
        soak=np.stack([column.soak for column in columns], axis=1),
        barrel_chance=np.stack([column.barrel_chance for column in columns], axis=1),
        low=ends[:, 0],
        high=ends[:, 1],
        limits_soak=np.array([column.limits_soak for column in columns]),
        lines=_lines(columns, barrel),
        uprights=target.limits,
        now=now,
        target=goal,
        confidence=setup.confidence,
    )


def _check_places(grid: int, moisture: Any, barrel: Any) -> None:
    if grid < 2:
        raise ValueError(f"grid must be at least 2 points along either axis, got {grid}")
    for name, given, least in (("moisture", moisture, 1), ("barrel", barrel, 2)):
        if given is not None and (len(given) < least or np.any(np.diff(given) <= 0)):
            raise ValueError(f"{name} must hold at least {least} rising values, got {given!r}")


# ------------------------------------------------------------------- one moisture


def _column(setup: Setup, nominal: float, shown: Any, usual: float) -> _Column:
    """One moisture at the set points shown, with its window and limits as the advice finds them.

    Limits are drawn at the best soak; of those as good somewhere, at that nearest to ``usual`` [s].
    """
    state, barrel, cavity, mold = setup._stages(nominal)
    advised = setup._barrel_grid()
    places = np.union1d(shown, advised)
    own, at_shown = np.searchsorted(places, advised), np.searchsorted(places, shown)
    stretch, core = Stretch(barrel, places, setup.soaks), setup.core(barrel, cavity, mold)
    cells = stretch.chances()
    among, by_soak = at_best_soak(cells[own])
    best = best_index(among)
    cool = chances_that_cool(core, stretch, places, cells, (int(own[best]), int(by_soak[best])))
    if cool is not None:
        cells = cool
        among, _ = at_best_soak(cells[own])
        best = best_index(among)
    margins = setup.part_margins_at(state, core, advised[best])
    if cool is None:
        whole = stretch.chances(judge.holds(margins))
    else:  # the core is another at each set point
        del margins["hot-core"]
        whole = stretch.chances_with(judge.holds(margins) & core.holds(places))
    chance, by_soak = at_best_soak(whole[at_shown])
    good = setup.soaks[cells[own].max(axis=0) >= cells[own].max() - _SAME]
    soak = good[[np.abs(good - usual).argmin()]]
    return _Column(
        chance=chance,
        soak=setup.soaks[by_soak],
        barrel_chance=cells[at_shown].max(axis=1),
        ends=setup._ends(barrel, advised, among, best),
        limits_soak=float(soak[0]),
        limits=median_limits(barrel, advised, soak),
    )


def _lines(columns: list[_Column], barrel: Any) -> list[Line]:
    lines = []
    for name in sorted(columns[0].limits):
        side, _ = columns[0].limits[name]
        at = np.array([column.limits[name][1] for column in columns])
        seen = (at >= barrel[0]) & (at <= barrel[-1])
        lines.append(Line(name, side, np.where(seen, at, np.nan)))
    return lines


def _place(setup: Setup, nominal: float) -> Place:
    """One moisture at the very setting that the advice gives for it."""
    window = setup.window(nominal)
    best = window.barrel
    margins = window.barrel_stage.margins(np.array([best.best]), np.array([best.soak]))
    every = float(judge.chance(margins | window.part_margins)[0, 0])
    return Place(nominal, best.best, best.soak, every, best.chance)


# --------------------------------------------------------------------- the frame


def _moisture_ends(
    setup: Setup, target: MoistureTarget, now: float, hottest: float
) -> tuple[float, float]:
    """Driest and wettest moisture worth showing. [kg/kg]"""
    at, inside = target.grid, target.moisture_chances
    works = np.flatnonzero(inside > _HARDLY)
    first, last = (works[0], works[-1]) if works.size else (0, len(at) - 1)
    low = float(at[max(first - 1, 0)])
    high = float(at[min(last + 1, len(at) - 1)])
    if works.size:
        low = _pushed(setup, low, -_REACH, hottest)
        high = _pushed(setup, high, _REACH, hottest)
    low, high = min(low, now - _PAD_W, target.best - _PAD_W), max(high, now + _PAD_W)
    return _outward(max(low, _DRIEST), min(max(high, target.best + _PAD_W), 0.95), _STEP_W)


def _pushed(setup: Setup, end: float, step: float, hottest: float) -> float:
    """An end moved out until hardly a sample stays inside the moisture limits. [kg/kg]"""
    while _DRIEST < end < _WETTEST and _inside(setup, end, hottest) > _HARDLY:
        end += step
    return end


def _inside(setup: Setup, nominal: float, hottest: float) -> float:
    """Share of samples inside the moisture limits, the part cooling from ``hottest`` [K]. [-]"""
    state, barrel, cavity, mold = setup._stages(nominal)
    margins = setup.moisture_margins_at(state, setup.core(barrel, cavity, mold), hottest)
    return float(judge.chance(margins))


def _barrel_ends(setup: Setup, moisture: Any, threads: int) -> tuple[float, float]:
    """Coldest and hottest set point worth showing. [K]"""
    some = np.linspace(moisture[0], moisture[-1], min(_COARSE_COUNT, len(moisture)))
    # the coldest barrel that works wants the longest soak, the hottest the shortest
    soaks = setup.soaks[[0, len(setup.soaks) // 2, -1]]

    def best(nominal: float) -> Any:
        state, barrel, cavity, mold = setup._stages(nominal)
        stretch = Stretch(barrel, _COARSE_BARREL, soaks)
        warmest = float(_COARSE_BARREL[best_index(stretch.chances().max(axis=1))])
        core = setup.core(barrel, cavity, mold)
        inside = judge.holds(setup.part_margins_at(state, core, warmest))
        return stretch.chances(inside).max(axis=1)

    works = np.flatnonzero(np.max(_each(best, some, threads), axis=0) > _HARDLY)
    if not works.size:
        return _ANY_BARREL
    top = len(_COARSE_BARREL) - 1
    low, high = (
        _COARSE_BARREL[max(works[0] - 1, 0)],
        _COARSE_BARREL[min(works[-1] + 1, top)],
    )
    # in whole degrees Celsius, as the axis is read
    ends = _outward(low - _PAD_T - 273.15, high + _PAD_T - 273.15, _STEP_T)
    return ends[0] + 273.15, ends[1] + 273.15


def _outward(low: float, high: float, step: float) -> tuple[float, float]:
    """Both ends moved out to a multiple of the step."""
    return (
        step * float(np.floor(low / step + 1e-9)),
        step * float(np.ceil(high / step - 1e-9)),
    )


# ----------------------------------------------------------------------- threads


def _each(
    work: Callable[[float], Any],
    items: Any,
    threads: int,
    tick: Callable[[int, int], None] | None = None,
) -> list[Any]:
    """Results in the order of the items. What was not begun when one fails, or when the user stops,
    is not done.
    """
    keep_memory()
    pool = ThreadPoolExecutor(max(1, threads))
    try:
        jobs = [pool.submit(work, float(item)) for item in items]
        for done, job in enumerate(as_completed(jobs), 1):
            job.result()
            if tick is not None:
                tick(done, len(jobs))
        return [job.result() for job in jobs]
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
