"""Columns by name: reproducible, independent of each other, evenly spread."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys

import numpy as np
import pytest
from scipy.special import ndtr

from moldwin.base.draws import _LEADING, DEFAULT_COUNT, DEFAULT_SEED, Draws
from moldwin.base.quantities import Quantity

NAMES = ("starch.tg_dry", "melt.chi1", "room.humidity", "anything at all ° ü")

_PRINT_DIGEST = """
import hashlib
from moldwin.base.draws import Draws
draws = Draws(seed={seed}, count=512)
columns = b"".join(draws.scores(name).tobytes() for name in {names!r})
print(hashlib.sha256(columns).hexdigest())
"""


def _digest(names, seed):
    draws = Draws(seed=seed, count=512)
    return hashlib.sha256(b"".join(draws.scores(n).tobytes() for n in names)).hexdigest()


@pytest.mark.parametrize("hash_seed", ["0", "1"])
def test_the_same_seed_gives_the_same_bytes_in_another_process(hash_seed):
    code = _PRINT_DIGEST.format(seed=7, names=NAMES)
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONHASHSEED": hash_seed},
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip() == _digest(NAMES, 7)


def test_another_seed_gives_other_columns():
    for name in NAMES:
        assert not np.array_equal(Draws(1, 64).scores(name), Draws(2, 64).scores(name))


def test_a_column_does_not_depend_on_the_order_or_the_presence_of_others():
    forward, backward, alone = Draws(5, 256), Draws(5, 256), Draws(5, 256)
    first = {name: forward.scores(name) for name in NAMES}
    second = {name: backward.scores(name) for name in reversed(NAMES)}
    for name in NAMES:
        assert np.array_equal(first[name], second[name])
    assert np.array_equal(alone.scores(NAMES[-1]), first[NAMES[-1]])


def test_asking_twice_gives_the_same_column():
    draws = Draws(5, 256)
    assert np.array_equal(draws.scores("a"), draws.scores("a"))


@pytest.mark.parametrize("count", [256, DEFAULT_COUNT])
@pytest.mark.parametrize("name", [_LEADING[0], _LEADING[31], "some.late_comer"])
def test_a_column_puts_one_score_in_every_stratum(name, count):
    strata = np.floor(ndtr(Draws(1, count).scores(name)) * count).astype(int)
    assert sorted(strata) == list(range(count))


def test_a_hypercube_column_is_even_for_any_count():
    strata = np.floor(ndtr(Draws(1, 300).scores("some.late_comer")) * 300).astype(int)
    assert sorted(strata) == list(range(300))


def test_scores_are_standard_normal():
    for name in (*_LEADING[:4], "some.late_comer"):
        scores = Draws().scores(name)
        # even strata: far closer than the 0.022 that independent draws would allow
        assert abs(scores.mean()) < 2e-3
        assert scores.std() == pytest.approx(1.0, abs=5e-3)


@pytest.mark.parametrize("seed", [DEFAULT_SEED, 1, 2])
def test_leading_columns_are_less_correlated_than_independent_draws(seed):
    draws = Draws(seed)
    pairs = np.corrcoef(np.stack([draws.scores(name) for name in _LEADING]))
    worst = np.abs(pairs - np.eye(len(_LEADING))).max()
    # the worst of 496 independent pairs would lie at 3 to 3.5 over the root of the count
    assert worst < 2.0 / np.sqrt(DEFAULT_COUNT)


def test_few_samples_are_not_worse_than_independent_draws():
    draws = Draws(count=256)
    pairs = np.corrcoef(np.stack([draws.scores(name) for name in _LEADING]))
    assert np.abs(pairs - np.eye(len(_LEADING))).max() < 4.5 / np.sqrt(256)


def test_other_columns_are_independent_of_the_leading_ones():
    draws = Draws()
    leading = np.stack([draws.scores(name) for name in _LEADING])
    others = np.stack([draws.scores(f"card.key_{i}") for i in range(20)])
    cross = np.corrcoef(np.concatenate([leading, others]))[: len(leading), len(leading) :]
    assert np.abs(cross).max() < 5.0 / np.sqrt(DEFAULT_COUNT)  # of 640 pairs


def test_spread_and_spreads_multiply():
    q = Quantity("card.key", 10.0, "K", u=1.0)
    plain = Draws(1, 64).samples(q) - 10.0
    doubled = Draws(1, 64, spread=2.0).samples(q) - 10.0
    both = Draws(1, 64, spread=2.0, spreads={"card.key": 3.0}).samples(q) - 10.0
    assert doubled == pytest.approx(2.0 * plain)
    assert both == pytest.approx(6.0 * plain)


def test_no_spread_is_exactly_the_value():
    q = Quantity("card.key", 0.1, "1", factor=3.0)
    assert np.array_equal(Draws(1, 8, spread=0.0).samples(q), np.full(8, 0.1))
    named = Draws(1, 8, spreads={"card.key": 0.0})
    assert np.array_equal(named.samples(q), np.full(8, 0.1))
    assert Draws(1, 8, spreads={"another.key": 0.0}).samples(q).std() > 0


def test_quantities_may_share_a_column():
    draws = Draws(1, 64)
    a = draws.samples(Quantity("corn-starch.tg_dry", 0.0, "K", u=1.0), "starch.tg_dry")
    b = draws.samples(Quantity("potato-starch.tg_dry", 5.0, "K", u=2.0), "starch.tg_dry")
    assert (b - 5.0) / 2.0 == pytest.approx(a)


def test_a_copy_can_be_shifted_apart():
    draws = Draws(1, 256)
    before = draws.scores("a").copy()
    twin = draws.copy()
    twin.shift(["a"], before, 2.0, 0.5)
    assert not np.array_equal(twin.scores("a"), before)
    assert np.array_equal(draws.scores("a"), before)


@pytest.mark.parametrize("count", [1, 0, -3])
def test_too_few_samples_are_refused(count):
    with pytest.raises(ValueError, match="at least 2"):
        Draws(count=count)
