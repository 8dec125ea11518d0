"""Synthetic makers: known truths, simulated trials, and how often a fit's interval holds them.

``python -m tests.learn.makers 200`` reports the figures, ``200 1000`` those of makers 1000 to 1199;
the suite asks a few of them only.

The first 200 are unlucky in one thing: of their browning limits .82 lie inside even where nothing
but colors counts and 16384 samples of the prior are weighed, which leaves no sampler to be wrong;
of the next 400, .90 do.
"""

from __future__ import annotations

import json
import sys
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from typing import Any

import numpy as np

from moldwin.base.draws import Draws
from moldwin.inputs.cards import Library
from moldwin.inputs.job import Job
from moldwin.inputs.read_job import read_job
from moldwin.learn.evidence import Evidence
from moldwin.learn.outcomes import Foresight, Setting, simulate
from moldwin.learn.posterior import posterior
from moldwin.stages.bench import Bench
from moldwin.window.windows import Setup
from tests.jobs import BAR, KELP

__all__ = ["covered", "maker", "maker_trials"]

#: What a maker might run: cold to hot, dry to damp, short to long.
_MOISTURES = (0.07, 0.10, 0.13)
_BARRELS = (383.15, 398.15, 413.15, 428.15, 443.15)
_SOAKS = (300.0, 600.0, 1200.0)
_MOLD = 343.15
_TRIALS = 8
_COUNT = 512
#: Half the width that counts: the interval from the 5th to the 95th percentile.
_INSIDE = (0.05, 0.95)


def maker_trials(job: Job, seed: int, trials: int = _TRIALS) -> tuple[Any, Draws, int]:
    """Trials of one maker: what was seen, the draws the truth is among, and which it is."""
    rng = np.random.default_rng([seed, 3])
    truth = Draws(seed=1_000_000 + seed, count=256)
    bench = Bench(job, seed=truth.seed, count=256, library=Library())
    bench.draws = bench.fresh_draws = truth
    foresight, data = Foresight(bench), []
    for number in range(1, trials + 1):
        setting = Setting(
            float(rng.choice(_MOISTURES)),
            float(rng.choice(_BARRELS)),
            float(rng.choice(_SOAKS)),
            _MOLD,
        )
        seen = simulate(foresight.at(setting), 0, rng)
        data.append((number, 0, setting, seen))
    return data, truth, 0


def maker(seed: int) -> dict[str, tuple[float, float, float]]:
    """Share of the posterior below the truth, its spread over the prior's, and the rounds."""
    job = read_job(KELP if seed % 2 else BAR)
    data, truth, index = maker_trials(job, seed)
    evidence = Evidence([job], data, Library())
    prior = Draws(count=_COUNT)
    found = posterior(prior, evidence.columns(prior), evidence.logs)
    after, before = _quantities(evidence, found.draws), _quantities(evidence, prior)
    true = _quantities(evidence, truth)
    return {
        name: (
            float(np.mean(samples < true[name][index])),
            float(samples.std() / before[name].std()),
            float(found.rounds),
        )
        for name, samples in after.items()
    }


def _quantities(evidence: Evidence, draws: Draws) -> dict[str, Any]:
    """What a fit is asked for, one number a sample."""
    bench = evidence.bench(0, draws)
    setup = Setup(bench)
    barrel = setup.barrel(0.10)
    polymer = setup.material.blend.polymers[0].card
    browns = min(setup.material.blend.polymers, key=lambda e: e.card.family != "seaweed").card
    wall = np.full(draws.count, 408.15)
    found = {
        "melt viscosity at 135 °C": barrel.flow.consistency(wall),
        "melt viscosity, pivot": np.log(bench.of(polymer, "melt_viscosity")),
        "browning limit": np.log(bench.of(browns, "browning_limit")),
        "glass transition": barrel.state.tg,
        "fill margin at 125 °C": barrel.margins(np.array([398.15]), np.array([600.0]))["fill"][
            0, 0
        ],
        "heater error": barrel.true_temperature(np.array([400.0]))[0, 0],
    }
    if browns.family == "seaweed":
        found["native plasticizer"] = setup.material.blend.dry_share_of("mannitol")
    return {name: np.asarray(v, dtype=float) for name, v in found.items()}


def covered(results: list[dict[str, tuple[float, float, float]]]) -> dict[str, dict[str, float]]:
    """Share of makers whose truth lies inside the 90 % interval, by quantity."""
    by_name: dict[str, list[tuple[float, float, float]]] = defaultdict(list)
    for result in results:
        for name, values in result.items():
            by_name[name].append(values)
    return {
        name: {
            "inside": float(np.mean([_INSIDE[0] <= v[0] <= _INSIDE[1] for v in values])),
            "narrowed_to": float(np.median([v[1] for v in values])),
            "makers": len(values),
        }
        for name, values in by_name.items()
    }


if __name__ == "__main__":
    with ProcessPoolExecutor(2) as pool:
        many, first = int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 0
        print(json.dumps(covered(list(pool.map(maker, range(first, first + many)))), indent=1))
