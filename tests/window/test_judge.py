"""Where margins become a verdict."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.window.judge import broken_shares, chance, holds


def test_every_margin_must_hold():
    margins = {"a": np.array([1.0, -1.0, 2.0, -3.0]), "b": np.array([1.0, 1.0, -1.0, -1.0])}
    assert holds(margins).tolist() == [True, False, False, False]
    assert chance(margins) == 0.25


def test_a_margin_of_nothing_does_not_hold():
    assert not holds({"a": np.array([0.0])})[0]
    assert holds({"a": np.array([1e-300])})[0]


def test_a_margin_nobody_knows_does_not_hold():
    assert not holds({"a": np.array([np.nan])})[0]
    assert holds({"a": np.array([np.inf])})[0]


def test_margins_broadcast_over_setting_soak_and_sample():
    margins = {
        "by_setting": np.array([-1.0, 1.0, 1.0])[:, None, None],
        "by_soak": np.array([1.0, -1.0])[None, :, None],
        "by_sample": np.array([1.0, 1.0, 1.0, -1.0]),
    }
    verdict = holds(margins)
    assert verdict.shape == (3, 2, 4)
    assert chance(margins) == pytest.approx(np.array([[0, 0], [0.75, 0], [0.75, 0]]))


def test_each_limits_own_share():
    margins = {"a": np.array([1.0, -1.0, -1.0, 1.0]), "b": np.array([1.0, 1.0, 1.0, -1.0])}
    assert broken_shares(margins) == {"a": 0.5, "b": 0.25}
    # together they break more than either alone, never less
    assert 1.0 - chance(margins) >= max(broken_shares(margins).values())


def test_more_limits_never_raise_the_chance():
    rng = np.random.default_rng(1)
    margins = {str(i): rng.normal(1.0, 1.0, 400) for i in range(6)}
    chances = [chance(dict(list(margins.items())[: i + 1])) for i in range(6)]
    assert chances == sorted(chances, reverse=True)
