"""Six trials by plan against six at random: how well is the barrel window known afterward?

Fixed before anything was measured:

- A maker is a job of `tests.second_press.known` and one sample of draws of a seed of its own, the
  truth. Makers for whom nothing may be tried are passed over. Outcomes are drawn from the truth by
  `simulate`; what is known afterward is the posterior of the fit.
- What is to be known: low and high end of the barrel window at moisture and soak of the setting
  that looks best before the first trial, the same for every way of choosing. Spread is the root
  of the mean of both variances.
- ``random``: uniform over what the press can be set to and a maker could try: moisture from as dry
  as an oven leaves it to what the dampest jar gives (the range in which the advice looks for its
  target), barrel from 80 °C to the heater's end, soak 1 to 20 min, mold from the room's temperature
  to the mold's end; minus only what a stop forbids (fumes, or an open barrel that spits).
- ``one_by_one``: the tool's own way of working: plan one, press, fit, plan again.
- ``at_once``: the first six of one plan, pressed without learning between.
- ``random_of_tool``: six at random out of the settings that the tool itself would try.
- Narrowing is the spread before less the spread after.

``python -m tests.learn.narrowing 100`` prints the figures for 100 makers.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from functools import partial
from typing import Any

import numpy as np

from moldwin.base.draws import Draws
from moldwin.inputs.read_job import read_job
from moldwin.learn.evidence import Evidence
from moldwin.learn.outcomes import Foresight, Seen, Setting, simulate
from moldwin.learn.planning import plan_trials, spread_of
from moldwin.learn.possible import Possible, own_edges, possible_trials
from moldwin.learn.posterior import posterior
from moldwin.stages.bench import Bench
from moldwin.stages.room import room_temperature
from moldwin.window.judge import broken_shares
from moldwin.window.windows import FUMES_STOP, Setup
from tests.second_press.known import job, makers

__all__ = ["WAYS", "Spreads", "narrowed", "spreads", "summary"]

TRIALS, COUNT = 6, 512
#: More makers than are asked for: some have nothing to try.
_SPARE = 2
_COLDEST, _SOAKS = 353.15, (60.0, 1200.0)
WAYS = ("one_by_one", "at_once", "random", "random_of_tool")


@dataclass(frozen=True)
class Spreads:
    """Spread of the window's ends of one maker, before and after six trials. [K]"""

    maker: int
    before: float
    one_by_one: float = np.nan
    at_once: float = np.nan
    random: float = np.nan
    random_of_tool: float = np.nan


class _Maker:
    """One maker: what the tool knows of the job, and the truth."""

    def __init__(self, number: int, count: int) -> None:
        self.number = number
        known = makers(np.random.default_rng([77, number]), 1)
        self.job = read_job(job(known, 0))
        self.bench = Bench(self.job, count=count)
        self.setup = Setup(self.bench)
        self.ground = possible_trials(self.setup)
        truth = Draws(seed=2_000_000 + number, count=64)
        bench = Bench(self.job, seed=truth.seed, count=64, library=self.bench.library)
        bench.draws = bench.fresh_draws = truth
        self._truth = Foresight(Setup(bench))

    def press(self, settings: Sequence[Setting], way: str) -> list[tuple[Setting, Seen]]:
        luck = np.random.default_rng([self.number, WAYS.index(way)])
        return [(s, simulate(self._truth.at(s), 0, luck)) for s in settings]

    def learned(self, seen: Sequence[tuple[Setting, Seen]]) -> Setup:
        data = [(n, 0, *one) for n, one in enumerate(seen, 1)]
        evidence = Evidence([self.job], data, self.bench.library)
        prior = self.bench.draws
        found = posterior(prior, evidence.columns(prior), evidence.logs)
        return Setup(evidence.bench(0, found.draws))

    def spread(self, learned: Setup) -> float:
        best = self.ground.best
        edges = own_edges(learned, learned.window(best.moisture), best.soak)
        return float(np.sqrt(edges.var(axis=0).mean()))

    # -- ways of choosing ----------------------------------------------------------------------

    def one_by_one(self) -> Setup:
        setup, seen = self.setup, []
        for n in range(TRIALS):
            trials = plan_trials(setup, 1).trials
            if not trials:
                break
            at = _setting(trials[0].setting)
            luck = np.random.default_rng([self.number, 0, n])
            seen.append((at, simulate(self._truth.at(at), 0, luck)))
            setup = self.learned(seen)
        return setup

    def at_once(self) -> Setup:
        chosen = [_setting(t.setting) for t in plan_trials(self.setup, TRIALS).trials]
        return self.learned(self.press(chosen, "at_once"))

    def random_of_tool(self) -> Setup:
        rng, every = np.random.default_rng([self.number, 5]), self.ground.open
        chosen = [_setting(every[i]) for i in rng.choice(len(every), TRIALS)]
        return self.learned(self.press(chosen, "random_of_tool"))

    def random(self) -> Setup:
        rng = np.random.default_rng([self.number, 6])
        chosen: list[Setting] = []
        while len(chosen) < TRIALS:
            one = self._anything(rng)
            if not self._stopped(one):
                chosen.append(one)
        return self.learned(self.press(chosen, "random"))

    def _anything(self, rng: np.random.Generator) -> Setting:
        moistures = self._moistures()
        room = float(np.median(room_temperature(self.bench)))
        hottest_mold = float(self.job.mold.temperature_max or room)
        return Setting(
            moisture=float(rng.uniform(*moistures)),
            barrel=float(rng.uniform(_COLDEST, self.setup.hottest)),
            soak=float(rng.uniform(*_SOAKS)),
            mold=float(rng.uniform(room, hottest_mold)),
        )

    def _moistures(self) -> tuple[float, float]:
        grid = self.setup.target(float(self.job.pellets.moisture or 0.0)).grid
        return float(grid[0]), float(grid[-1])

    def _stopped(self, one: Setting) -> bool:
        barrel = self.setup.barrel(one.moisture)
        margins = barrel.margins(np.array([one.barrel]), np.array([one.soak]), side="high")
        broken = {name: float(s[0, 0]) for name, s in broken_shares(margins).items()}
        spits = broken["steam"] > self.ground.most_steam
        return broken.get("fumes", 0.0) >= FUMES_STOP or spits


def _setting(one: Possible) -> Setting:
    return Setting(one.moisture, one.barrel, one.soak, one.mold)


def spreads(number: int, *, count: int = COUNT, ways: Sequence[str] = WAYS) -> Spreads | None:
    """One maker by each way; None where nothing may be tried."""
    one = _Maker(number, count)
    if not one.ground.open:
        return None
    found = {way: one.spread(getattr(one, way)()) for way in ways}
    return Spreads(number, spread_of(one.ground), **found)


def narrowed(
    wanted: int, *, count: int = COUNT, ways: Sequence[str] = WAYS, processes: int = 1
) -> list[Spreads]:
    """As many makers who have something to try."""
    one = partial(spreads, count=count, ways=tuple(ways))
    numbers = range(_SPARE * wanted)
    if processes == 1:
        every = map(one, numbers)
        return [s for _, s in zip(range(wanted), (s for s in every if s), strict=False)]
    with ProcessPoolExecutor(processes) as pool:
        found: list[Spreads] = []
        for start in range(0, len(numbers), 2 * processes):
            found += [s for s in pool.map(one, numbers[start : start + 2 * processes]) if s]
            if len(found) >= wanted:
                break
        return found[:wanted]


def summary(found: Sequence[Spreads]) -> dict[str, Any]:
    """By way, medians over the makers: spread left over before, narrowing, and over random's.

    ``most`` is what perfect knowledge would narrow, over random's narrowing.
    """
    table = {name: np.array([getattr(s, name) for s in found]) for name in ("before", *WAYS)}
    before = table["before"]
    gains = {way: before - table[way] for way in WAYS if np.isfinite(table[way]).all()}
    said: dict[str, Any] = {"makers": len(found), "before_k": float(np.median(before))}
    for way, gain in gains.items():
        over = {
            f"over_{other}": _median_ratio(gain, gains[other])
            for other in ("random", "random_of_tool")
            if other in gains
        }
        said[way] = {
            "left": float(np.median(table[way] / before)),
            "narrowing_k": float(np.median(gain)),
            "random_left_over_left": float(np.median(table["random"] / table[way])),
            **over,
        }
    if "random" in gains:
        said["most"] = _median_ratio(before, gains["random"])
    return said


def _median_ratio(gain: Any, other: Any) -> float:
    """Random trials that teach nothing at all are beaten infinitely often, not by a minus."""
    beaten = np.where(gain > 0.0, np.inf, 0.0)
    return float(np.median(np.divide(gain, other, out=beaten, where=other > 0.0)))


if __name__ == "__main__":
    begun = time.time()
    result = narrowed(int(sys.argv[1]), processes=2)
    print(json.dumps(summary(result) | {"minutes": (time.time() - begun) / 60}, indent=1))
    if len(sys.argv) > 2:
        with open(sys.argv[2], "w", encoding="utf-8") as file:
            json.dump([asdict(s) for s in result], file)
