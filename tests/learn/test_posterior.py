"""The sampler against answers known in closed form."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.draws import Draws
from moldwin.learn.posterior import posterior

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
