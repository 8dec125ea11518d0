"""Weeks: crystals above the glass transition, a tighter glass below."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.ageing import ageing_decades, crystal_stiffening, crystallized

WEEK = 604800.0


def test_nothing_crystallizes_in_a_glass_or_at_once():
    assert crystallized(-0.1, 1e9, WEEK) == 0.0
    assert crystallized(30.0, 0.0, WEEK) == 0.0


def test_crystals_come_with_time_and_with_softness_and_end():
    by_time = crystallized(40.0, WEEK * np.geomspace(0.01, 20, 20), WEEK)
    by_softness = crystallized(np.linspace(0, 80, 9), WEEK, WEEK)
    assert np.all(np.diff(by_time) > 0)
    assert np.all(np.diff(by_softness) > 0)
    assert by_time[-1] == pytest.approx(1.0)
    assert crystallized(40.0, WEEK, WEEK) == pytest.approx(1 - np.exp(-1))
    assert crystallized(200.0, WEEK, WEEK) == crystallized(80.0, WEEK, WEEK)


def test_the_published_pair_of_crystals_and_stiffness():
    """van Soest 1996: 10 to 70 MPa over 25 % of crystals; the law is fixed by this pair."""
    growth = np.log(70 / 10) / 0.25
    assert growth == pytest.approx(7.784, abs=5e-4)
    assert 10e6 * crystal_stiffening(0.25, growth) == pytest.approx(70e6)
    assert crystal_stiffening(0.0, growth) == 1.0


def test_more_crystals_than_were_seen_warn():
    with pytest.warns(UserWarning, match="crystal_stiffening: gained"):
        crystal_stiffening(0.4, 7.8)


def test_a_glass_tightens_by_the_logarithm_of_time():
    hours = np.array([1.0, 10.0, 100.0, 1000.0])
    assert ageing_decades(-30.0, 3600 * hours) == pytest.approx([0, 1, 2, 3])
    assert ageing_decades(-30.0, 60.0) == 0.0


def test_above_its_transition_and_far_below_it_does_not():
    assert ageing_decades(0.0, 1e7) == 0.0
    assert ageing_decades(-100.0, 1e7) == 0.0
    assert ageing_decades(-75.0, 1e7) == pytest.approx(0.5 * ageing_decades(-50.0, 1e7))


def test_array_is_scalar_after_scalar_and_nan():
    above = np.array([-60.0, -10.0, 30.0])
    assert ageing_decades(above, WEEK).tolist() == [ageing_decades(a, WEEK) for a in above]
    assert crystallized(above, WEEK, WEEK).tolist() == [crystallized(a, WEEK, WEEK) for a in above]
    for found in (ageing_decades(np.nan, WEEK), crystallized(np.nan, WEEK, WEEK)):
        assert np.isnan(found)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: crystallized(10.0, -1.0, WEEK), "time"),
        (lambda: crystallized(10.0, 1.0, 0.0), "tau"),
        (lambda: crystal_stiffening(25.0, 7.8), "percentage"),
        (lambda: crystal_stiffening(0.2, -1.0), "growth"),
        (lambda: ageing_decades(-10.0, -1.0), "time"),
    ],
)
def test_what_cannot_be_is_refused(call, match):
    with pytest.raises(ValueError, match=match):
        call()
