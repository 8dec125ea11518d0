"""Three numbers out of many, and how many digits they bear."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.percentiles import BAND, Triple, digits_for, in_words, share, triple


def test_a_triple_is_the_fifth_fiftieth_and_ninety_fifth_percentile():
    assert BAND == (0.05, 0.5, 0.95)
    samples = np.random.default_rng(2).permutation(np.arange(1001.0))
    assert triple(samples) == Triple(50.0, 500.0, 950.0)


def test_a_triple_names_samples_that_exist():
    samples = np.array([1.0, 2.0, 4.0, 8.0])
    got = triple(samples)
    assert {got.low, got.likely, got.high} <= set(samples)


def test_infinities_stay_what_they_are():
    samples = np.concatenate([np.zeros(60), np.full(40, np.inf)])
    assert triple(samples) == Triple(0.0, 0.0, np.inf)
    assert triple(-samples) == Triple(-np.inf, 0.0, 0.0)


def test_equal_samples_collapse():
    assert triple(np.full(7, 0.1)) == Triple(0.1, 0.1, 0.1)
    assert triple(3.0) == Triple(3.0, 3.0, 3.0)


def test_a_triple_as_plain_data():
    got = triple(np.arange(101.0)).to_dict()
    assert got == {"low": 5.0, "likely": 50.0, "high": 95.0}
    assert list(got) == ["low", "likely", "high"]


def test_share():
    assert share(np.array([True, True, False, False])) == 0.5
    assert share(np.zeros(3, dtype=bool)) == 0.0


@pytest.mark.parametrize(
    ("width", "digits"),
    [(300.0, 0), (5.0, 0), (4.9, 1), (0.51, 1), (0.5, 2), (0.051, 2), (0.05, 3), (1e-6, 3)],
)
def test_digits_follow_the_width(width, digits):
    assert digits_for(width) == digits


@pytest.mark.parametrize("width", [np.inf, np.nan])
def test_a_width_without_end_bears_no_decimals(width):
    assert digits_for(width) == 0


def test_the_last_digit_shown_is_finer_than_the_interval():
    for width in (40.0, 5.0, 3.0, 0.7, 0.4, 0.06):
        assert 10.0 ** -digits_for(width) <= width


@pytest.mark.parametrize(
    ("part", "words"),
    [
        (0.0, "no case"),
        (0.004, "under 1 in 100 cases"),
        (0.02, "2 in 100 cases"),
        (0.094, "9 in 100 cases"),
        (0.10, "1 in 10 cases"),
        (0.52, "5 in 10 cases"),
        (0.90, "9 in 10 cases"),
        (0.97, "97 in 100 cases"),
        (0.999, "99 in 100 cases"),
        (1.0, "every case"),
    ],
)
def test_shares_in_words(part, words):
    assert in_words(part) == words
