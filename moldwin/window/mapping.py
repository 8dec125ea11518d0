"""The map: chance across moisture and barrel temperature, by the very margins the advice uses."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.base.memory import keep_memory
from moldwin.stages.melting import LOW_LIMITS, Barrel
from moldwin.window import judge
from moldwin.window.edges import best_index, crossing, unbroken
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
#: Samples times soaks times set points worked on at once: enough to forget what each block costs
#: anew, and few enough to keep the memory small.
_BLOCK = 262_144
#: Enough for two cores; the bits do not depend on it.
_THREADS = 2


@dataclass(frozen=True)
class Place:
    """One moisture at its best setting.

    Wet basis [kg/kg], set point [K], soak [s], chance that every barrel limit holds [-].
    """

    moisture: float
    barrel: float
    soak: float
    chance: float


@dataclass(frozen=True)
class Line:
    """A barrel limit across the map.

    ``at`` is for each moisture the temperature [K] at which it breaks half the samples, at the best
    soak of the target: a soak of its own for each moisture would make the line jump. NaN where it
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
        Share of samples that satisfy every barrel limit at the best soak [-], and that soak [s].
    low, high : array, shape (w,)
        Window of each moisture at the confidence, NaN where it is closed. [K]
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
    low: Any
    high: Any
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
    ends: tuple[float, float] | None
    limits: dict[str, float]


def moisture_map(
    setup: Setup,
    grid: int = GRID,
    *,
    moisture: Any = None,
    barrel: Any = None,
    threads: int = _THREADS,
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
    threads : int
        Columns worked on side by side; the bits do not depend on it. [-]
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
    nominal = float(setup.bench.job.pellets.moisture or 0.0)
    target = setup.target(nominal)
    # the first places also draw every number, so that the threads find all of them drawn
    now, goal = _place(setup, nominal), _place(setup, _goal(target, nominal))
    if moisture is None:
        moisture = np.linspace(*_moisture_ends(setup, target, nominal, now.barrel), grid)
    if barrel is None:
        barrel = np.linspace(*_barrel_ends(setup, moisture, threads), grid)
    # where nothing works every soak is as good as another: the lines are drawn at a middling one
    shown = len(setup.soaks) // 2
    if goal.chance > _HARDLY:
        shown = int(np.abs(setup.soaks - goal.soak).argmin())
    columns = _each(lambda w: _column(setup, w, barrel, shown), moisture, threads, tick)
    ends = np.array([column.ends or (np.nan, np.nan) for column in columns])
    return Map(
        moisture=np.asarray(moisture, dtype=float),
        barrel=np.asarray(barrel, dtype=float),
        chance=np.stack([column.chance for column in columns], axis=1),
        soak=np.stack([column.soak for column in columns], axis=1),
        low=ends[:, 0],
        high=ends[:, 1],
        lines=_lines(columns),
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


def _column(setup: Setup, nominal: float, barrel_grid: Any, shown: int) -> _Column:
    """All set points of one moisture; ``shown`` is the soak at which limits are drawn."""
    barrel = setup._stages(float(nominal))[1]
    cells, broken = _cells(barrel, barrel_grid, setup.soaks, shown)
    by_soak = cells.argmax(axis=1)
    chances = cells[np.arange(len(barrel_grid)), by_soak]
    return _Column(
        chance=chances,
        soak=setup.soaks[by_soak],
        ends=unbroken(barrel_grid, chances, best_index(chances), setup.confidence),
        limits=_where_limits_bind(barrel, barrel_grid, setup.soaks[[shown]], broken),
    )


def _cells(barrel: Barrel, barrel_grid: Any, soaks: Any, shown: int) -> tuple[Any, dict[str, Any]]:
    """Chance at every set point and soak, (t, k), and each limit's broken share at one, (t,). [-]

    Block by block: all at once would not fit in memory at a fine grid.
    """
    rows = max(1, _BLOCK // (barrel.bench.count * len(soaks)))
    cells, broken = [], []
    for first in range(0, len(barrel_grid), rows):
        margins = barrel.margins(barrel_grid[first : first + rows], soaks)
        cells.append(judge.chance(margins))
        at_soak = {name: m[:, min(shown, m.shape[1] - 1)] for name, m in margins.items()}
        broken.append(judge.broken_shares(at_soak))
    shares = {name: np.concatenate([block[name] for block in broken]) for name in broken[0]}
    return np.concatenate(cells), shares


def _where_limits_bind(
    barrel: Barrel, barrel_grid: Any, soak: Any, broken: dict[str, Any]
) -> dict[str, float]:
    """Where each limit breaks half the samples; infinite where it does not within the grid. [K]

    A share may jump from none to all between two set points; the margins there tell where.
    """
    found = {
        name: float(crossing(barrel_grid, (0.5 - share)[:, None], _side(name))[0])
        for name, share in broken.items()
    }
    last = len(barrel_grid) - 2
    below = {
        name: int(np.clip(np.searchsorted(barrel_grid, at) - 1, 0, last))
        for name, at in found.items()
        if np.isfinite(at)
    }
    rows = sorted({row for i in below.values() for row in (i, i + 1)})
    if not rows:
        return found
    margins = barrel.margins(barrel_grid[rows], soak)
    for name, i in below.items():
        pair = margins[name][[rows.index(i), rows.index(i + 1)], 0]
        low, high = np.median(pair, axis=-1)
        if np.isfinite(high - low) and high != low:
            share = float(np.clip(low / (low - high), 0.0, 1.0))
            found[name] = float(barrel_grid[i] + share * (barrel_grid[i + 1] - barrel_grid[i]))
    return found


def _side(name: str) -> str:
    return "low" if name in LOW_LIMITS else "high"


def _lines(columns: list[_Column]) -> list[Line]:
    names = sorted({name for column in columns for name in column.limits})
    lines = []
    for name in names:
        at = np.array([column.limits.get(name, np.nan) for column in columns])
        lines.append(Line(name, _side(name), np.where(np.isfinite(at), at, np.nan)))
    return lines


def _place(setup: Setup, nominal: float) -> Place:
    found = setup.window(nominal).barrel
    return Place(nominal, found.best, found.soak, found.chance)


def _goal(target: MoistureTarget, now: float) -> float:
    """The moisture to go to: pellets inside the target's band stay as they are."""
    return now if target.low <= now <= target.high else target.best


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
    state, _, cavity, mold = setup._stages(nominal)
    _, core = cavity.cooling(np.full(setup.bench.count, hottest), mold.best)
    return float(judge.chance(setup._moisture_margins(state, core)))


def _barrel_ends(setup: Setup, moisture: Any, threads: int) -> tuple[float, float]:
    """Coldest and hottest set point worth showing. [K]"""
    some = np.linspace(moisture[0], moisture[-1], min(_COARSE_COUNT, len(moisture)))
    # the coldest barrel that works wants the longest soak, the hottest the shortest
    soaks = setup.soaks[[0, len(setup.soaks) // 2, -1]]

    def best(nominal: float) -> Any:
        return _cells(setup._stages(nominal)[1], _COARSE_BARREL, soaks, 0)[0].max(axis=1)

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
