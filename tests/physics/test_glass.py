"""Glass transition rules: limits, trends, shapes and refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldwin.base.ranges import OutOfRangeWarning, Range
from moldwin.physics.glass import (
    fox,
    gordon_taylor,
    kwei,
    linear_heat_capacity,
    logarithmic_heat_capacity,
)

W = np.linspace(0.0, 1.0, 11)
BLEND = np.stack([1 - W, W], axis=-1)
TG = [523.0, 138.0]
RULES = {
    "gordon_taylor": lambda w: gordon_taylor(w, TG, [1.0, 5.2]),
    "linear": lambda w: linear_heat_capacity(w, TG, [0.40, 1.9]),
    "logarithmic": lambda w: logarithmic_heat_capacity(w, TG, [0.40, 1.9]),
    "fox": lambda w: fox(w, TG),
    "kwei": lambda w: kwei(w, TG, [1.0, 5.2], -20.0),
}
each_rule = pytest.mark.parametrize("rule", RULES.values(), ids=RULES.keys())


@each_rule
def test_pure_components_keep_their_own(rule):
    assert rule(BLEND[[0, -1]]) == pytest.approx(TG)


@each_rule
def test_water_always_softens(rule):
    assert np.all(np.diff(rule(BLEND)) < 0)


@each_rule
def test_scalar_equals_array_and_nan_stays_nan(rule):
    many = rule(BLEND)
    assert many.shape == (11,)
    assert [rule(blend) for blend in BLEND] == list(many)
    assert np.isscalar(rule([0.9, 0.1]))
    assert np.isnan(rule([np.nan, 0.1]))


def test_becomes_the_fox_rule_when_k_is_the_tg_ratio():
    assert gordon_taylor(BLEND, TG, [1.0, TG[0] / TG[1]]) == pytest.approx(fox(BLEND, TG))


def test_linear_heat_capacity_is_gordon_taylor_with_the_ratio_of_steps():
    assert linear_heat_capacity(BLEND, TG, [0.40, 1.9]) == pytest.approx(
        gordon_taylor(BLEND, TG, [1.0, 1.9 / 0.40])
    )


def test_kwei_without_interaction_is_gordon_taylor():
    assert kwei(BLEND, TG, [1.0, 5.2], 0.0) == pytest.approx(gordon_taylor(BLEND, TG, [1.0, 5.2]))


@given(
    w=st.floats(0.01, 0.99),
    k=st.floats(0.5, 10.0),
    shift=st.floats(-100.0, 300.0),
)
def test_trap_gordon_taylor_does_not_care_for_the_zero_of_temperature(w, k, shift):
    """Celsius or kelvin, any shift: the weights sum to one."""
    here = gordon_taylor([1 - w, w], TG, [1.0, k])
    there = gordon_taylor([1 - w, w], np.array(TG) + shift, [1.0, k])
    assert there - shift == pytest.approx(here, abs=1e-9)


@pytest.mark.parametrize("rule", [fox, lambda w, tg: logarithmic_heat_capacity(w, tg, [0.4, 1.9])])
def test_trap_the_other_rules_need_kelvin(rule):
    here = rule([0.9, 0.1], np.array(TG))
    there = rule([0.9, 0.1], np.array(TG) + 100.0) - 100.0
    assert abs(here - there) > 5.0


def test_an_ingredient_split_in_two_changes_nothing():
    whole = gordon_taylor([0.7, 0.3], [523.0, 190.0], [1.0, 3.0])
    split = gordon_taylor([0.7, 0.1, 0.2], [523.0, 190.0, 190.0], [1.0, 3.0, 3.0])
    assert split == pytest.approx(whole)


def test_draws_broadcast_over_components():
    draws = np.linspace(500.0, 540.0, 7)
    tg = np.stack([draws, np.full(7, 138.0)], axis=-1)
    assert gordon_taylor([0.9, 0.1], tg, [1.0, 5.2]).shape == (7,)
    assert np.all(np.diff(gordon_taylor([0.9, 0.1], tg, [1.0, 5.2])) > 0)


@pytest.mark.parametrize(
    ("w", "tg", "k", "says"),
    [
        ([90.0, 10.0], TG, [1.0, 5.2], "percentage"),
        ([-0.1, 1.1], TG, [1.0, 5.2], "w must lie in"),
        ([0.7, 0.1], TG, [1.0, 5.2], "sum to 1"),
        (0.9, TG, [1.0, 5.2], "last axis"),
        ([0.9, 0.1], [250.0, -135.0], [1.0, 5.2], "in °C"),
        ([0.9, 0.1], TG, [1.0, 0.0], "k must be above 0"),
    ],
)
def test_impossible_mixture_is_refused(w, tg, k, says):
    with pytest.raises(ValueError, match=says):
        gordon_taylor(w, tg, k)


def test_kwei_knows_two_components_only():
    with pytest.raises(ValueError, match="two components"):
        kwei([0.7, 0.2, 0.1], [500.0, 190.0, 136.0], [1.0, 2.4, 4.75], 0.0)


def test_leaving_the_fitted_share_warns():
    fitted = Range(0.0, 0.27, "kg/kg", "example")
    gordon_taylor([0.9, 0.1], TG, [1.0, 5.2], fitted=fitted)
    with pytest.warns(OutOfRangeWarning, match="diluent share = 0.4"):
        gordon_taylor([0.6, 0.4], TG, [1.0, 5.2], fitted=fitted)
