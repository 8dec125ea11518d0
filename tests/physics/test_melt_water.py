"""Water activity of the melt: limits, trends, shapes and refusals."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics.melt_water import flory_huggins_activity, volume_fractions


@pytest.mark.parametrize(
    "function",
    [
        lambda v: volume_fractions(v / 2, 0.1)[0],
        lambda v: flory_huggins_activity(v / 2, 0.1, 1.1),
    ],
)
def test_scalar_equals_array_and_nan_stays_nan(function):
    values = np.array([0.0, 0.3, 0.72, 0.9, np.nan])
    many = function(values)
    assert np.isnan(many[-1])
    np.testing.assert_allclose([function(v) for v in values], many, rtol=1e-14)
    assert np.isscalar(function(0.3))


@pytest.mark.parametrize("chi1", [0.9, 1.4])
def test_more_water_is_never_less_active(chi1):
    f_water = np.linspace(0.0, 0.97, 98)
    assert np.all(np.diff(flory_huggins_activity(f_water, 0.0, chi1)) >= 0)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: volume_fractions(0.7, 0.4), "w_water \\+ w_glycerol"),
        (lambda: flory_huggins_activity(0.7, 0.4, 1.0), "f_water \\+ f_glycerol"),
    ],
)
def test_impossible_input_is_refused(call, says):
    with pytest.raises(ValueError, match=says):
        call()


def test_extrapolation_warns_unless_a_stage_asks():
    with pytest.warns(OutOfRangeWarning):
        warned = flory_huggins_activity(0.1, 0.0, 2.0)
    assert flory_huggins_activity(0.1, 0.0, 2.0, check=False) == warned


def test_melt_limits():
    assert flory_huggins_activity(0.0, 0.2, 1.15) == 0.0
    assert flory_huggins_activity(1.0, 0.0, 1.15) == pytest.approx(1.0)
    # by hand: ln 0.5 + 0.5 + (0.5 + 0.65 / 4) / 4
    assert flory_huggins_activity(0.5, 0.0, 1.15) == pytest.approx(
        np.exp(np.log(0.5) + 0.5 + 0.6625 * 0.25)
    )


def test_glycerol_in_the_melt_lowers_the_activity_of_a_volume_of_water():
    assert flory_huggins_activity(0.1, 0.2, 1.15) < flory_huggins_activity(0.1, 0.0, 1.15)


def test_volume_fractions_add_up():
    water, glycerol = volume_fractions(0.1, 0.2)
    assert (water / glycerol) == pytest.approx(0.1 / 0.2 * 1.26)
    assert volume_fractions(1.0) == (1.0, 0.0)
    assert sum(volume_fractions(0.3, 0.7)) == pytest.approx(1.0)
