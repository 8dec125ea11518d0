"""Edges of a window and crossings of a limit, against brute force on fine grids."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldwin.window.edges import best_index, crossing, unbroken

#: The same examples every time, however slow the machine.
_STEADY = settings(deadline=None, derandomize=True)

_chances = st.lists(st.integers(0, 20), min_size=2, max_size=25).map(lambda v: np.array(v) / 20.0)


# ------------------------------------------------------------------ best


@pytest.mark.parametrize(
    ("chance", "best"),
    [
        ([0.1, 0.9, 0.2], 1),
        ([0.1, 0.9, 0.9, 0.9, 0.2], 2),
        ([0.5, 0.5, 0.5], 1),
        ([0.9, 0.1, 0.9, 0.9], 0),  # the first best stretch, not a mean of two
        ([0.0, 0.0], 0),
        ([0.895, 0.9, 0.3], 0),  # a hundredth is the same
    ],
)
def test_the_middle_of_the_best_stretch(chance, best):
    assert best_index(np.array(chance)) == best


@_STEADY
@given(_chances)
def test_the_best_index_is_as_good_as_the_best_and_joined_to_it(chance):
    best, top = best_index(chance), int(np.argmax(chance))
    between = chance[min(best, top) : max(best, top) + 1]
    assert np.all(between >= chance.max() - 0.01)


# ------------------------------------------------------------------ unbroken


def _brute(at, chance, best, confidence):
    """Walk outward from the best on a grid a thousand times finer."""
    fine = np.linspace(at[0], at[-1], 1000 * (len(at) - 1) + 1)
    above = np.interp(fine, at, chance) >= confidence - 1e-12
    low = high = 1000 * best
    if not above[low]:
        return None
    while low > 0 and above[low - 1]:
        low -= 1
    while high < len(fine) - 1 and above[high + 1]:
        high += 1
    return fine[low], fine[high]


@_STEADY
@given(_chances, st.sampled_from([0.31, 0.52, 0.7, 0.87]), st.data())
def test_the_stretch_round_the_best_as_by_brute_force(chance, confidence, data):
    at = 300.0 + 5.0 * np.arange(len(chance))
    best = data.draw(st.integers(0, len(chance) - 1))
    got, expected = unbroken(at, chance, best, confidence), _brute(at, chance, best, confidence)
    if expected is None:
        assert got is None
    else:
        assert got == pytest.approx(expected, abs=2 * 5.0 / 1000.0)


@_STEADY
@given(_chances, st.sampled_from([0.3, 0.5, 0.7]))
def test_the_ends_lie_round_the_best_and_have_the_asked_chance(chance, confidence):
    at = np.arange(len(chance), dtype=float)
    best = int(np.argmax(chance))
    ends = unbroken(at, chance, best, confidence)
    if ends is None:
        assert chance[best] < confidence
        return
    assert at[0] <= ends[0] <= at[best] <= ends[1] <= at[-1]
    assert np.all(np.interp(ends, at, chance) >= confidence - 1e-9)


def test_a_second_stretch_farther_on_does_not_count():
    at = np.arange(6.0)
    chance = np.array([0.2, 0.9, 0.9, 0.3, 0.9, 0.2])
    _, high = unbroken(at, chance, 1, 0.7)
    assert high < 3.0


def test_a_stretch_that_reaches_the_end_stops_there():
    at = np.array([1.0, 2.0, 3.0])
    assert unbroken(at, np.array([0.9, 0.9, 0.9]), 1, 0.7) == (1.0, 3.0)


def test_a_higher_confidence_gives_a_narrower_window():
    at = np.arange(9.0)
    chance = np.array([0.0, 0.4, 0.6, 0.8, 0.95, 0.85, 0.6, 0.3, 0.0])
    widths = [np.subtract(*unbroken(at, chance, 4, c)[::-1]) for c in (0.5, 0.7, 0.9)]
    assert widths[0] > widths[1] > widths[2]


# ------------------------------------------------------------------ crossing


@_STEADY
@given(st.lists(st.floats(-40.0, 140.0), min_size=1, max_size=8), st.floats(0.1, 5.0))
def test_a_straight_low_limit_is_met_where_it_is_met(places, slope):
    at = np.linspace(0.0, 100.0, 21)
    places = np.array(places)
    found = crossing(at, slope * (at[:, None] - places), "low")
    for got, place in zip(found, places, strict=True):
        if place < 0:
            assert got == -np.inf
        elif place >= 100:
            assert got == np.inf
        else:
            assert got == pytest.approx(place, abs=1e-6)


@_STEADY
@given(st.lists(st.floats(-40.0, 140.0), min_size=1, max_size=8))
def test_a_high_limit_is_a_low_one_in_the_mirror(places):
    at = np.linspace(0.0, 100.0, 21)
    margin = at[:, None] - np.array(places)
    low = crossing(at, margin, "low")
    high = crossing(-at[::-1], margin[::-1], "high")
    assert np.array_equal(high, -low)


def test_a_high_limit_met_everywhere_and_nowhere():
    at = np.array([0.0, 1.0, 2.0])
    assert crossing(at, np.array([[3.0], [2.0], [1.0]]), "high") == [np.inf]
    assert crossing(at, np.array([[-1.0], [-2.0], [-3.0]]), "high") == [-np.inf]


def test_a_low_limit_that_breaks_again_higher_up_counts_from_there():
    at = np.arange(5.0)
    margin = np.array([-1.0, 1.0, -1.0, 1.0, 1.0])[:, None]
    assert crossing(at, margin, "low") == pytest.approx([2.5])


def test_a_curved_limit_is_found_within_a_step():
    at = np.linspace(340.0, 500.0, 33)
    places = np.linspace(351.0, 489.0, 40)
    margin = np.exp(at[:, None] / 40.0) - np.exp(places / 40.0)
    # straight lines through an exponential of 40 K, read on a grid of 5 K: a tenth of a kelvin
    assert crossing(at, margin, "low") == pytest.approx(places, abs=0.1)


def test_infinite_margins_are_met_everywhere():
    at = np.arange(3.0)
    assert crossing(at, np.full((3, 2), np.inf), "low").tolist() == [-np.inf, -np.inf]
    step = np.array([[-np.inf], [np.inf], [np.inf]])
    assert 0.0 <= crossing(at, step, "low")[0] <= 1.0


def test_several_samples_at_once_are_as_one_by_one():
    rng = np.random.default_rng(7)
    at = np.linspace(0.0, 10.0, 11)
    margin = np.cumsum(rng.normal(0.3, 1.0, (11, 50)), axis=0) - 1.0
    together = crossing(at, margin, "low")
    apart = [crossing(at, margin[:, [i]], "low")[0] for i in range(50)]
    assert together.tolist() == apart
