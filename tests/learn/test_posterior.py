"""The sampler against answers known in closed form."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.draws import Draws
from moldwin.inputs.cards import Library
from moldwin.inputs.read_job import read_job
from moldwin.learn.evidence import Evidence
from moldwin.learn.posterior import _Chain, _true_variances, posterior
from tests.jobs import BAR
from tests.learn.makers import maker_trials

PRIOR = Draws(seed=3, count=1024)


def normal(name: str, at: float, u: float):
    return lambda draws: -0.5 * ((draws.scores(name) - at) / u)[None] ** 2


@pytest.mark.parametrize(("at", "u"), [(1.0, 0.5), (2.5, 0.2), (-3.0, 0.1)])
def test_one_normal_reading(at, u):
    found = posterior(PRIOR, ["a", "b"], normal("a", at, u))
    share = 1.0 / (1.0 + u**2)
    z = found.draws.scores("a")
    spread = np.sqrt(1.0 - share)
    assert z.mean() == pytest.approx(share * at, abs=0.2 * spread)
    assert z.std() == pytest.approx(spread, rel=0.15)
    assert found.touched("a")
    assert not found.touched("b")
    assert found.disagreement < 4.0


def test_a_sum_is_told_and_not_its_parts():
    """Two unknowns seen only as a sum: that narrows, each keeps what the other leaves it."""

    def seen(draws: Draws):
        return -0.5 * ((draws.scores("a") + draws.scores("b") - 2.0) / 0.1)[None] ** 2

    found = posterior(PRIOR, ["a", "b", *"cdefgh"], seen)
    a, b = found.draws.scores("a"), found.draws.scores("b")
    assert (a + b).mean() == pytest.approx(2.0 * 2.0 / 2.01, abs=0.03)
    assert (a + b).std() == pytest.approx(0.1, rel=0.2)
    assert a.std() == pytest.approx(np.sqrt(0.5), rel=0.12)
    assert np.corrcoef(a, b)[0, 1] < -0.9
    assert not any(found.touched(name) for name in "cdefgh")


def test_two_hills_keep_their_shares():
    """No single normal holds this: the moves must correct it."""

    def seen(draws: Draws):
        z = draws.scores("a")
        near, far = -0.5 * ((z - 1.5) / 0.2) ** 2, -0.5 * ((z + 1.5) / 0.2) ** 2
        return np.logaddexp(near + np.log(0.75), far + np.log(0.25))[None]

    z = posterior(PRIOR, ["a"], seen).draws.scores("a")
    assert np.mean(z > 0) == pytest.approx(0.75, abs=0.08)
    assert np.abs(z[z > 0].mean() - 1.5 / 1.04) < 0.05


def test_the_prior_stays_as_it_is_and_the_seed_decides():
    before = PRIOR.scores("a").copy()
    one, two = (posterior(PRIOR, ["a"], normal("a", 1.0, 0.3)) for _ in range(2))
    assert np.array_equal(one.draws.scores("a"), two.draws.scores("a"))
    assert np.array_equal(PRIOR.scores("a"), before)
    other = posterior(Draws(seed=4, count=1024), ["a"], normal("a", 1.0, 0.3))
    assert not np.array_equal(one.draws.scores("a"), other.draws.scores("a"))


def test_no_data_leaves_everything():
    found = posterior(PRIOR, ["a", "b"], lambda draws: np.zeros((1, draws.count)))
    assert found.ratios["a"] == pytest.approx(1.0, abs=0.06)
    assert abs(found.shifts["a"]) < 0.1


@pytest.mark.parametrize("columns", [20, 60])
def test_what_chance_made_narrow_is_not_believed(columns):
    """Six sums of many unknowns: every column keeps the spread that the sums leave it, in closed
    form. Normals that believe what chance made narrow in them keep 3 to 8 % too little."""
    rng = np.random.default_rng(columns)
    names = [f"x{i:02}" for i in range(columns)]
    sums, u = rng.standard_normal((6, columns)) / np.sqrt(columns), 0.2
    true = np.sqrt(np.diag(np.linalg.inv(np.eye(columns) + sums.T @ sums / u**2)))

    def seen(draws: Draws):
        z = np.stack([draws.scores(name) for name in names])
        return -0.5 * ((sums @ z - 1.0) / u) ** 2

    kept = []
    for seed in range(4):
        found = posterior(Draws(seed=seed, count=512), names, seen)
        spread = np.array([found.draws.scores(name).std() for name in names])
        kept.append(np.mean(spread / true))
    assert np.mean(kept) == pytest.approx(1.0, abs=0.02)


def test_variances_stand_out_of_chance_or_are_those_of_the_prior():
    rng = np.random.default_rng(1)
    z = rng.standard_normal((500, 50))
    z[:, 0] *= 0.2
    found = _true_variances(np.linalg.eigvalsh(np.cov(z.T)), 50 / 500)
    assert found[0] == pytest.approx(0.04, rel=0.3)
    assert np.all(found[2:] == 1.0)
    many = _true_variances(np.array([0.04, 0.5, 1.5]), 1e-9)  # nothing to doubt
    assert many == pytest.approx([0.04, 0.5, 1.0], abs=1e-6)


def test_samples_are_worth_what_they_say():
    """The means of many fits scatter as the effective size of each has it."""
    off, worth = [], []
    for seed in range(40):
        found = posterior(Draws(seed=seed, count=256), ["a", "b"], normal("a", 1.5, 0.3))
        z = found.draws.scores("a")
        off.append((z.mean() - 1.5 / 1.09) / z.std())
        worth.append(found.effective)
    expected = np.sqrt(np.mean(1.0 / np.array(worth)))
    assert 0.5 * expected < np.sqrt(np.mean(np.square(off))) < 1.5 * expected


def test_copies_that_never_part_are_worth_little():
    """Samples of a few origins that lie together count as those few."""
    chain = _Chain(np.zeros((64, 1)), np.zeros((1, 64)), lambda z: None, None)
    chain.z = np.repeat([-1.0, 0.0, 0.5, 1.0], 16)[:, None]
    chain._eve = np.repeat([3, 9, 20, 41], 16)
    assert chain.worth() == pytest.approx(4.0)
    chain._eve = np.arange(64)
    assert chain.worth() == pytest.approx(64.0)


def test_fifty_trials_leave_samples_worth_trusting():
    job = read_job(BAR)
    data, _, _ = maker_trials(job, 4, 50)
    evidence = Evidence([job], data, Library())
    prior = Draws(count=512)
    found = posterior(prior, evidence.columns(prior), evidence.logs)
    assert found.effective > 100.0
    assert found.disagreement < 6.0
