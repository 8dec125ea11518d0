"""The range behind a fit: what lies outside, and the warning that carries its data."""

from __future__ import annotations

import pickle
import warnings

import numpy as np
import pytest

from moldwin.base.ranges import OutOfRangeWarning, Range

FIT = Range(273.15, 373.15, "K", "somebody 1990")


def test_the_ends_belong_to_the_range():
    assert FIT.outside([273.15, 300.0, 373.15]).tolist() == [False, False, False]
    assert FIT.outside([273.0, 374.0]).tolist() == [True, True]


def test_a_missing_number_is_nobodys_extrapolation():
    assert not FIT.outside(np.nan)
    FIT.check("law", "t", np.array([300.0, np.nan]))


def test_inside_is_silent():
    FIT.check("law", "t", 300.0)


@pytest.mark.parametrize(
    ("values", "worst"), [([200.0, 374.0], 200.0), ([272.0, 500.0], 500.0), (999.0, 999.0)]
)
def test_the_warning_names_the_value_farthest_outside(values, worst):
    with pytest.warns(OutOfRangeWarning) as caught:
        FIT.check("law", "t", values)
    (warning,) = caught
    told = warning.message
    assert (told.model, told.name, told.worst) == ("law", "t", worst)
    assert (told.low, told.high, told.unit, told.source) == (273.15, 373.15, "K", "somebody 1990")
    assert f"{worst:g} K" in str(told)
    assert "somebody 1990" in str(told)


def test_the_warning_points_at_the_caller_of_the_law():
    def law(t):
        FIT.check("law", "t", t)

    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        law(999.0)
    assert caught[0].filename == __file__


def test_the_warning_survives_pickling():
    told = OutOfRangeWarning("law", "t", 999.0, 273.15, 373.15, "K", "somebody 1990")
    again = pickle.loads(pickle.dumps(told))
    assert str(again) == str(told)
    assert again.worst == 999.0


def test_the_range_is_frozen():
    with pytest.raises(AttributeError):
        FIT.low = 0.0
