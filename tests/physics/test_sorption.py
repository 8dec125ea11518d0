"""Isotherms: limits, trends, shapes and refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldwin.base.ranges import OutOfRangeWarning, Range
from moldwin.physics.sorption import (
    gab,
    gab_water_activity,
    glycerol_interaction,
    hailwood_horrobin,
    net_sorption_heat,
    shift_water_activity,
)

STARCH = (0.0743, 26.87, 0.7842)
AW = np.linspace(0.0, 0.97, 98)


@given(
    aw=st.floats(0.0, 1.0),
    xm=st.floats(0.01, 0.3),
    c=st.floats(0.05, 500.0),
    k=st.floats(0.3, 0.99),
)
def test_round_trip(aw, xm, c, k):
    x = gab(aw, xm, c, k)
    assert gab_water_activity(x, xm, c, k) == pytest.approx(aw, rel=1e-12, abs=1e-15)


@pytest.mark.parametrize("c", [1.0, 2.0, 1.0 + 1e-13, 2.0 - 1e-13])
def test_round_trip_where_the_quadratic_changes_shape(c):
    aw = np.array([0.0, 1e-12, 1e-6, 0.5, 1.0])
    assert gab_water_activity(gab(aw, 0.08, c, 0.8), 0.08, c, 0.8) == pytest.approx(aw, rel=1e-12)


def test_k_of_one_is_the_brunauer_emmett_teller_isotherm():
    aw, xm, c = 0.4, 0.08, 10.0
    assert gab(aw, xm, c, 1.0) == pytest.approx(xm * c * aw / ((1 - aw) * (1 + (c - 1) * aw)))


@pytest.mark.parametrize(
    "function",
    [
        lambda v: gab(v, *STARCH),
        lambda v: gab_water_activity(v / 4, *STARCH),
        lambda v: net_sorption_heat(v / 4, check=False),
        lambda v: shift_water_activity(v, 298.15, 320.0, 5e3),
        lambda v: glycerol_interaction(v / 5),
        lambda v: hailwood_horrobin(v, 298.15),
    ],
)
def test_scalar_equals_array_and_nan_stays_nan(function):
    values = np.array([0.0, 0.3, 0.72, 0.9, np.nan])
    many = function(values)
    assert np.isnan(many[-1])
    np.testing.assert_allclose([function(v) for v in values], many, rtol=1e-14)
    assert np.isscalar(function(0.3))


@pytest.mark.parametrize(
    "function",
    [
        lambda v: gab(v, *STARCH),
        lambda v: hailwood_horrobin(v, 298.15),
    ],
)
def test_more_of_one_is_more_of_the_other(function):
    assert np.all(np.diff(function(AW)) >= 0)


def test_more_water_than_the_isotherm_holds_warns():
    with pytest.warns(OutOfRangeWarning, match="aw = "):
        assert gab_water_activity(1.0, *STARCH) > 1
    assert gab_water_activity(1.0, *STARCH, check=False) > 1


def test_leaving_the_fitted_activity_warns():
    fitted = Range(0.11, 0.90, "-", "example")
    with pytest.warns(OutOfRangeWarning):
        gab(0.95, *STARCH, fitted=fitted)
    with pytest.warns(OutOfRangeWarning):
        gab_water_activity(0.01, *STARCH, fitted=fitted)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: gab(53, *STARCH), "percentage"),
        (lambda: gab(0.5, 0.07, -1.0, 0.8), "c must be above 0"),
        (lambda: gab(0.99, 0.07, 10.0, 1.2), "no end"),
        (lambda: gab_water_activity(-0.1, *STARCH), "x must lie in"),
        (lambda: net_sorption_heat(-0.1), "x must lie in"),
        (lambda: shift_water_activity(0.5, 25.0, 45.0, 6e3), "add 273.15"),
        (lambda: shift_water_activity(1.5, 298.0, 308.0, 6e3), "aw must lie in"),
        (lambda: glycerol_interaction(20), "percentage"),
        (lambda: hailwood_horrobin(0.65, 21.0), "add 273.15"),
        (lambda: gab(1.0, 0.07, 10.0, 1.0), "no end at 1"),  # infinite, not merely large
    ],
)
def test_impossible_input_is_refused(call, says):
    with pytest.raises(ValueError, match=says):
        call()


@pytest.mark.parametrize(
    "call",
    [
        lambda **kw: net_sorption_heat(0.01, **kw),
        lambda **kw: shift_water_activity(0.5, 298.15, 340.0, 6e3, **kw),
        lambda **kw: glycerol_interaction(0.4, **kw),
        lambda **kw: hailwood_horrobin(0.5, 450.0, **kw),
    ],
)
def test_extrapolation_warns_unless_a_stage_asks(call):
    with pytest.warns(OutOfRangeWarning):
        warned = call()
    assert call(check=False) == warned


def test_warming_raises_activity_and_never_beyond_one():
    t = np.linspace(298.15, 330.0, 12)
    shifted = shift_water_activity(0.6, 298.15, t, 8e3)
    assert shifted[0] == pytest.approx(0.6)
    assert np.all(np.diff(shifted) > 0)
    assert shift_water_activity(0.95, 298.15, 330.0, 17e3) == 1.0
    assert shift_water_activity(0.6, 298.15, 330.0, 0.0) == pytest.approx(0.6)


def test_there_and_back_again():
    warm = shift_water_activity(0.4, 298.15, 320.0, 7e3)
    assert shift_water_activity(warm, 320.0, 298.15, 7e3) == pytest.approx(0.4)


def test_net_heat_fades_with_moisture():
    assert np.all(np.diff(net_sorption_heat(np.linspace(0.05, 0.26, 20))) < 0)


def test_glycerol_interaction_falls_without_a_jump():
    share = np.linspace(0.0, 0.20, 201)
    factor = glycerol_interaction(share)
    assert factor[0] == 1.0
    assert np.all(np.diff(factor) < 0)
    assert np.max(np.abs(np.diff(factor))) < 0.0021


def test_wood_at_the_boil_is_what_its_constants_give_by_hand():
    """Each constant has a square of the temperature, which at 100 °C weighs as much as the rest."""
    # K .8513, K1 2.302, K2 3.05, W 613; at aw .5: 18/613 (.7411 + 3.5240 / 3.2519)
    assert hailwood_horrobin(0.5, 373.15) == pytest.approx(0.05358, abs=5e-6)


def test_wood_dries_as_it_warms_at_any_humidity():
    t = np.linspace(275.0, 400.0, 26)
    for aw in (0.1, 0.5, 0.9):
        assert np.all(np.diff(hailwood_horrobin(aw, t)) < 0.0)
