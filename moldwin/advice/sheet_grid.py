"""What the run sheet's two controls show: the answer at many moistures and barrel temperatures.

Every cell comes from the functions that ``advise`` uses, on the same draws: a column is what
``moldwin advise --set pellets.moisture_pct=…`` says of pellets as they are, and a cell is that
column held at another barrel temperature, each at its best soak.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from moldwin.advice.answer import Advice, Settings, Situation
from moldwin.advice.heating import may_heat, stops_among
from moldwin.advice.remarks import remarks
from moldwin.advice.situation import Found, describe, find, settings, with_shot
from moldwin.base.draws import DEFAULT_COUNT, DEFAULT_SEED
from moldwin.base.memory import keep_memory
from moldwin.base.remarks import Remark
from moldwin.inputs.job import Job
from moldwin.stages.bench import Bench
from moldwin.stages.melting import LOW_LIMITS
from moldwin.stages.service import moisture_margins
from moldwin.window.aim import whole_chance
from moldwin.window.judge import broken_shares
from moldwin.window.soaks import longest_hold
from moldwin.window.stops import HOPELESS
from moldwin.window.windows import BarrelWindow, Limit, Setup

__all__ = ["SheetCell", "SheetColumn", "SheetGrid", "sheet_grid", "sheet_moistures"]

#: The control reaches this far beyond the pellets and their target, within what pellets are. [%]
_BEYOND = 2.0
_DRIEST, _WETTEST = 3.0, 30.0
#: Steps of the control from fine to coarse, and how many moistures are enough. [%]
_STEPS, _MOST = (0.5, 1.0, 2.0, 5.0), 16
#: Moistures this close are one. [%]
_SAME = 0.05
#: Shown where no set point anywhere is worth advising, down to this chance. [-]
_SHOWN = 0.05
#: A closed window's charge may be held until this share of its chance is left (assumed).
_STILL_AS_GOOD = 0.9
_THREADS = 2
_ZERO_C = 273.15


@dataclass(frozen=True)
class SheetCell:
    """One barrel temperature [°C] at one moisture, at its best soak.

    ``heat`` is False behind a stop and where the chance is hopeless; then ``settings`` is None and
    the situation names no setting. ``part_chance`` counts the part in its mold and its room too;
    None where the place is not worked out.
    """

    barrel_c: float
    chance: float
    heat: bool
    situation: Situation | None
    settings: Settings | None
    warnings: list[Remark]
    part_chance: float | None = None


@dataclass(frozen=True)
class SheetColumn:
    """One moisture [%, wet basis]: the answer for pellets that moist, and its cells.

    ``best`` is the index of the cell that the answer names, None where nobody should heat.
    """

    moisture_pct: float
    situation: Situation
    heat: bool
    best: int | None
    cells: list[SheetCell]
    warnings: list[Remark]


@dataclass(frozen=True)
class SheetGrid:
    """All columns over the same rising barrel temperatures. [°C]"""

    barrel_c: list[float]
    columns: list[SheetColumn]

    def nearest(self, moisture_pct: float) -> int:
        """Index of the column closest to a moisture. [%]"""
        away = [abs(column.moisture_pct - moisture_pct) for column in self.columns]
        return away.index(min(away))


def sheet_moistures(now: float, target: float) -> list[float]:
    """Moistures that the control offers: present one, target, and even steps round both.

    Parameters
    ----------
    now, target : float
        Of the pellets, and to mold at; wet basis. [%]

    Returns
    -------
    list of float
        Rising. [%]

    Examples
    --------
    >>> sheet_moistures(10.0, 10.0)
    [8.0, 8.5, 9.0, 9.5, 10.0, 10.5, 11.0, 11.5, 12.0]
    >>> sheet_moistures(8.0, 12.84)
    [6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 12.84, 13.0, 14.0]
    """
    low = min(now, max(min(now, target) - _BEYOND, _DRIEST))
    high = max(now, target, min(max(now, target) + _BEYOND, _WETTEST))
    step = next((s for s in _STEPS if (high - low) / s < _MOST), _STEPS[-1])
    even = step * np.arange(np.ceil(low / step - 1e-9), np.floor(high / step + 1e-9) + 1)
    kept = [float(w) for w in even if min(abs(w - now), abs(w - target)) > _SAME]
    own = [now] if abs(now - target) <= _SAME else [now, target]
    return sorted([*kept, *own])


def sheet_grid(
    job: Job,
    advice: Advice,
    *,
    moistures: Sequence[float] | None = None,
    seed: int = DEFAULT_SEED,
    count: int = DEFAULT_COUNT,
    tick: Callable[[int, int], None] | None = None,
) -> SheetGrid:
    """Results for every position of both controls.

    Parameters
    ----------
    job : Job
        The job. [-]
    advice : Advice
        Its answer: gives present moisture, target and confidence. [-]
    moistures : sequence of float, optional
        Rising, wet basis; left out, those of `sheet_moistures`. [%]
    seed, count : int
        Of the draws; those of the answer. [-]
    tick : callable, optional
        Told how many moistures of how many are done. [-]

    Returns
    -------
    SheetGrid
        Columns over common barrel temperatures.

    Notes
    -----
    Where the answer leads with conditioning, the target's column is worked out as the answer does:
    the present pellets brought there, not other pellets that lay there all along. What differs is
    the soaks that are tried.
    """
    water = advice.moisture
    if moistures is None:
        moistures = sheet_moistures(water.now_pct, water.target_best_pct)
    keep_memory()
    pool = ThreadPoolExecutor(_THREADS)

    def column(pct: float) -> _Column:
        own = advice.conditioning_leads and pct == water.target_best_pct
        bench = Bench(job if own else _job_at(job, pct), seed=seed, count=count)
        return _Column(bench, advice.confidence, pct)

    try:
        tasks = [pool.submit(column, pct) for pct in moistures]
        for done, task in enumerate(as_completed(tasks), 1):
            task.result()
            if tick is not None:
                tick(done, len(tasks))
        found = [task.result() for task in tasks]
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
    shown = _shown(found)
    return SheetGrid(
        [float(t) - _ZERO_C for t in found[0].barrel.grid[shown]],
        [column.told(shown) for column in found],
    )


def _job_at(job: Job, moisture_pct: float) -> Job:
    """The job with pellets of another moisture, as ``--set pellets.moisture_pct`` makes it."""
    if 100.0 * float(job.pellets.moisture or 0.0) == moisture_pct:
        return job
    return replace(job, pellets=replace(job.pellets, moisture=moisture_pct / 100.0, weighings=None))


class _Column:
    """One moisture: its window once, then any of its set points; hopeless ones are not worked out.

    What is told of a set point needs the heavy arrays of its window, so that all of them are told
    before the column is let go.
    """

    def __init__(self, bench: Bench, confidence: float, moisture_pct: float) -> None:
        setup = Setup(bench, confidence)
        found = find(setup, moisture_pct / 100.0)
        said = remarks(setup, found, None)
        self.moisture_pct = moisture_pct
        self.barrel: BarrelWindow = found.window.barrel
        self.warnings = said
        self.heat = may_heat(self.barrel.chance, said)
        self.situation = describe(setup, found, self.heat)
        self.best = int(np.abs(self.barrel.grid - self.barrel.best).argmin())
        reached = self.barrel.grid <= setup.hottest + 1e-6
        self._reached = np.where(reached, self.barrel.chances, 0.0)
        self._cells = {int(i): self._cell(setup, found, int(i)) for i in self.worth(HOPELESS)}

    def worth(self, chance: float) -> Any:
        """Indices of the set points that the heater reaches and that have at least this chance."""
        return np.flatnonzero(self._reached >= chance)

    def _cell(self, setup: Setup, found: Found, i: int) -> SheetCell:
        here = found if i == self.best else _held_at(setup, found, i)
        said = self.warnings if here is found else remarks(setup, here, None)
        heat = may_heat(here.window.barrel.chance, said, self.warnings)
        return SheetCell(
            barrel_c=float(self.barrel.grid[i]) - _ZERO_C,
            chance=here.window.barrel.chance,
            heat=heat,
            situation=describe(setup, here, heat),
            settings=settings(setup, here, heat),
            warnings=said,
            part_chance=whole_chance(here.window),
        )

    def told(self, shown: Any) -> SheetColumn:
        """The column over the set points that every column shows."""
        places = [int(i) for i in shown]
        heated = self.heat and self.best in places
        return SheetColumn(
            moisture_pct=self.moisture_pct,
            situation=self.situation,
            heat=self.heat,
            best=places.index(self.best) if heated else None,
            cells=[self._cells.get(i) or self._cold(i) for i in places],
            warnings=self.warnings,
        )

    def _cold(self, i: int) -> SheetCell:
        """A set point of which only its small chance is told."""
        stops = stops_among(self.warnings)
        at, chance = float(self.barrel.grid[i]) - _ZERO_C, float(self.barrel.chances[i])
        return SheetCell(at, chance, False, None, None, stops)


def _held_at(setup: Setup, found: Found, i: int) -> Found:
    """The same moisture at another set point of its grid, at the best soak there."""
    window = found.window
    stage, barrel = window.barrel_stage, window.barrel
    t, soak, share = (float(a[i]) for a in (barrel.grid, barrel.soaks, barrel.chances))
    inside = barrel.low is not None and share >= setup.confidence
    broken = broken_shares(stage.margins(np.array([t]), np.array([soak])))
    limits = [
        Limit(name, "low" if name in LOW_LIMITS else "high", None, float(part[0, 0]))
        for name, part in broken.items()
    ]
    asked = setup.confidence if inside else _STILL_AS_GOOD * share
    held = replace(
        barrel,
        best=t,
        soak=soak,
        chance=share,
        limits=sorted(limits, key=lambda limit: -limit.broken_share),
        hold_max=longest_hold(stage, t, soak, asked),
    )
    t_melt = stage.true_temperature(np.array([t]))[0, 0]
    stiff, core = window.cavity.cooling(t_melt, window.mold.best)
    margins = moisture_margins(
        setup.bench, setup.material.blend, window.state, setup.geometry, setup.room_w, core
    )
    return with_shot(
        setup,
        replace(
            window,
            barrel=held,
            cooling_stiff=stiff,
            cooling_core=core,
            moisture_margins=margins,
        ),
    )


def _shown(columns: list[_Column]) -> Any:
    """Indices of the set points worth showing at some moisture, and one more on either side."""
    for chance in (HOPELESS, _SHOWN):
        worth = np.unique(np.concatenate([column.worth(chance) for column in columns]))
        if worth.size:
            break
    else:
        return worth
    top = len(columns[0].barrel.grid) - 1
    return np.arange(max(worth[0] - 1, 0), min(worth[-1] + 1, top) + 1)
