"""Six trials by plan against six at random: how well is the barrel window known afterward?

The makers' truths come from draws of another seed than the plan's, and the trials' outcomes from
them. What is known afterward is the posterior of the fit.
"""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.inputs.read_job import read_job
from moldwin.learn.evidence import Evidence
from moldwin.learn.outcomes import Foresight, Setting, simulate
from moldwin.learn.planning import plan_trials, spread_of
from moldwin.learn.possible import own_edges
from moldwin.learn.posterior import posterior
from moldwin.stages.bench import Bench
from moldwin.window.windows import Setup
from tests.jobs import BAR, KELP
from tests.second_press.known import job, makers

TRIALS, COUNT = 6, 512
#: Truths per job: with five jobs 15 makers.
TRUTHS = 3


def after(jobs, setup, truths, settings, moisture, soak, i):
    """Standard deviation of the window's ends after these trials of one maker. [K]"""
    rng = np.random.default_rng(i)
    data = [(k, 0, s, simulate(truths.at(s), i, rng)) for k, s in enumerate(settings, 1)]
    evidence = Evidence([jobs], data, setup.bench.library)
    prior = setup.bench.draws
    found = posterior(prior, evidence.columns(prior), evidence.logs)
    learned = Setup(evidence.bench(0, found.draws))
    edges = own_edges(learned, learned.window(moisture), soak)
    return float(np.sqrt(edges.var(axis=0).mean()))


def setting(one):
    return Setting(one.moisture, one.barrel, one.soak, one.mold)


@pytest.fixture(scope="module")
def spreads():
    """Before, after six planned, after six random trials, by maker. [K]"""
    known = makers(np.random.default_rng(77), 3)
    rng, rows = np.random.default_rng(5), []
    for source in (BAR, KELP, *(job(known, i) for i in range(3))):
        read = read_job(source)
        setup = Setup(Bench(read, count=COUNT))
        plan = plan_trials(setup, TRIALS)
        if not plan.trials:
            continue
        truths = Foresight(Setup(Bench(read, count=64, seed=99)))
        best, every = plan.ground.best, plan.ground.settings
        for i in range(TRUTHS):
            chosen = [setting(t.setting) for t in plan.trials]
            random = [setting(every[k]) for k in rng.choice(len(every), TRIALS)]
            row = [
                after(read, setup, truths, settings, best.moisture, best.soak, i)
                for settings in (chosen, random)
            ]
            rows.append((spread_of(plan.ground), *row))
    return np.array(rows).T


def test_six_trials_halve_what_is_not_known(spreads):
    before, planned, _ = spreads
    assert np.median(planned / before) < 0.6


def test_planned_trials_teach_no_less_than_random_ones(spreads):
    _, planned, random = spreads
    assert np.median(random / planned) > 1.0


@pytest.mark.xfail(
    strict=True,
    reason="misses by 0.48: 1.02 times as much (six at once, 15 makers). What is noted of any "
    "trial halves the spread, and random settings of the same grid are good ones. One by one, "
    "learning between and without regard to cost, it was 1.23 times (8 makers)",
)
def test_planned_trials_narrow_one_and_a_half_times_as_much_as_random_ones(spreads):
    before, planned, random = spreads
    assert np.median((before - planned) / (before - random)) >= 1.5
