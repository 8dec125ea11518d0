"""Surfaces go through what they are laid through, and say nothing where nothing is known."""

from __future__ import annotations

import pickle

import numpy as np
import pytest
from scipy.interpolate import RBFInterpolator

from moldwin.advice.screening import surface
from moldwin.advice.screening.surface import Surface, chances_of, scores_of, spread_out


@pytest.fixture
def places():
    return np.random.default_rng(1).uniform(-1.0, 1.0, (200, 3))


def smooth(places):
    x, y, z = places.T
    return np.column_stack([np.sin(2.0 * x + y), np.exp(0.5 * x) + 0.1 * z])


# ------------------------------------------------------------------------- what it goes through


def test_plates_are_those_of_a_library(places):
    values = smooth(places)
    mean, spread = values.mean(axis=0), values.std(axis=0)
    own = surface._Plates(np.zeros(3), np.eye(3), places, values)
    theirs = RBFInterpolator(
        places,
        (values - mean) / spread,
        kernel="thin_plate_spline",
        degree=2,
        smoothing=surface._STIFFNESS,
    )
    at = np.random.default_rng(2).uniform(-1.0, 1.0, (16, 3))
    assert own(at) == pytest.approx(theirs(at) * spread + mean, abs=1e-9)


def test_a_parabola_is_found_everywhere_even_outside(places):
    def parabola(at):
        x, y, z = at.T
        return (1.0 + x - 2.0 * y * z + z**2)[:, None]

    outside = np.random.default_rng(3).uniform(-2.0, 2.0, (50, 3))
    found = Surface(places, parabola(places)).at(outside)
    assert found == pytest.approx(parabola(outside), abs=1e-6)


def test_it_is_near_between_and_nearer_with_more(places):
    between = np.random.default_rng(4).uniform(-0.9, 0.9, (100, 3))
    few, many = (
        np.abs(Surface(places[:n], smooth(places[:n])).at(between) - smooth(between)).mean()
        for n in (25, 200)
    )
    assert many < 0.01 * np.ptp(smooth(places))
    assert many < 0.5 * few


def test_directions_that_move_nothing_cost_nothing():
    # twelve numbers of which only a sum of two matters: as near as if there were one
    places = np.random.default_rng(5).uniform(-1.0, 1.0, (250, 12))
    between = np.random.default_rng(6).uniform(-0.8, 0.8, (100, 12))

    def along(at):
        return np.sin(2.0 * (at[:, :1] + 0.5 * at[:, 1:2]))

    plain = RBFInterpolator(places, along(places), kernel="thin_plate_spline")(between)
    off = np.abs(Surface(places, along(places)).at(between) - along(between))
    assert np.quantile(off, 0.9) < 0.5 * np.quantile(np.abs(plain - along(between)), 0.9)


def test_noise_is_passed_by(places):
    rng = np.random.default_rng(7)
    true = smooth(places)
    noisy = true + rng.normal(0.0, 0.05, true.shape)
    off = Surface(places, noisy).at(places) - true
    assert off.std() < 0.05


# ------------------------------------------------------------------------------ what it leaves out


def test_what_never_changes_stays_as_it_is_to_the_last_bit(places):
    values = np.column_stack([smooth(places), np.full(len(places), 0.1)])
    assert set(Surface(places, values).at(10.0 * places)[:, 2]) == {0.1}


def test_values_with_gaps_are_read_from_the_others(places):
    values = smooth(places)
    gappy = values.copy()
    gappy[::2, 1] = np.nan
    found = Surface(places, gappy).at(places)
    alone = Surface(places[1::2], values[1::2, 1:]).at(places)
    assert (found[:, 1] == alone[:, 0]).all()
    assert (found[:, 0] == Surface(places, values[:, :1]).at(places)[:, 0]).all()


def test_of_what_nothing_is_known_nothing_is_said(places):
    values = smooth(places)
    values[3:, 0] = np.nan  # three places span no space
    values[:, 1] = np.nan
    assert np.isnan(Surface(places, values).at(places)).all()


def test_a_number_that_follows_from_others_or_stands_still_does_no_harm(places):
    more = np.column_stack([places, places[:, 0] - places[:, 1], np.full(len(places), 7.0)])
    more[:, -1] = 0.1  # whose mean is not 0.1
    plain = np.abs(Surface(places, smooth(places)).at(places) - smooth(places)).mean()
    assert np.abs(Surface(more, smooth(places)).at(more) - smooth(places)).mean() < 1.5 * plain


@pytest.mark.parametrize(
    ("places", "values", "said"),
    [
        (np.zeros((3, 2)), np.zeros((4, 1)), "as many rows"),
        (np.zeros(3), np.zeros((3, 1)), "as many rows"),
        (np.full((3, 1), np.inf), np.zeros((3, 1)), "finite"),
        (np.zeros((3, 1)), np.full((3, 1), np.inf), "finite"),
    ],
)
def test_what_is_no_table_is_refused(places, values, said):
    with pytest.raises(ValueError, match=said):
        Surface(places, values)


# ----------------------------------------------------------------------------- the same every time


def test_a_place_gives_the_same_alone_and_in_any_company(places):
    laid = Surface(places, smooth(places))
    at = np.random.default_rng(8).uniform(-1.0, 1.0, (53, 3))
    whole = laid.at(at)
    for i in range(len(at)):
        assert (laid.at(at[i : i + 1])[0] == whole[i]).all()
    assert (laid.at(at[7:40]) == whole[7:40]).all()
    assert (pickle.loads(pickle.dumps(laid)).at(at) == whole).all()


# ----------------------------------------------------------------------------------- scores, choice


def test_scores_come_back_as_shares_and_stay_within():
    shares = np.linspace(0.0, 1.0, 257)
    scores = scores_of(shares, 256)
    assert np.isfinite(scores).all()
    assert (np.diff(scores) > 0.0).all()
    assert chances_of(scores, 256) == pytest.approx(shares, abs=1e-12)
    assert (chances_of(np.array([-9.0, 9.0]), 256) == [0.0, 1.0]).all()
    assert scores_of(0.3, 256) == scores_of(np.array([0.3]), 256)[0]


def test_places_are_chosen_apart_and_more_of_them_begin_with_the_same(places):
    few, many = spread_out(places, 10), spread_out(places, 40)
    assert (many[:10] == few).all()

    def nearest(some):
        apart = np.linalg.norm(places[some][:, None] - places[some], axis=2)
        return apart[np.triu_indices(len(some), 1)].min()

    assert nearest(many) > nearest(np.arange(40))
    assert len(spread_out(np.zeros((5, 2)), 3)) == 1
