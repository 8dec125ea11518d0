"""Vapor pressures: limits, trends, shapes and refusals."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics.vapor import (
    _BLOCK,
    dew_point,
    glycerol_vapor_pressure,
    standard_air_pressure,
    water_saturation_pressure,
    water_saturation_temperature,
)

T = np.linspace(293.0, 560.0, 40)


def test_temperature_and_pressure_are_inverses():
    t = np.linspace(273.15, 647.0, 500)
    assert water_saturation_temperature(water_saturation_pressure(t)) == pytest.approx(t, abs=1e-9)


def test_the_line_ends_at_the_critical_point():
    assert water_saturation_pressure(647.096) == pytest.approx(22.064e6, rel=1e-6)


@pytest.mark.parametrize("pressure", [water_saturation_pressure, glycerol_vapor_pressure])
def test_pressure_rises_with_temperature(pressure):
    assert np.all(np.diff(pressure(T)) > 0)


def test_glycerol_is_far_less_volatile_than_water():
    assert np.all(glycerol_vapor_pressure(T) < 0.05 * water_saturation_pressure(T))


@pytest.mark.parametrize(
    "function", [water_saturation_pressure, glycerol_vapor_pressure, water_saturation_temperature]
)
def test_scalar_equals_array_and_nan_stays_nan(function):
    values = np.array([[300.0, 350.0], [400.0, np.nan]])
    if function is water_saturation_temperature:
        values = values * 100
    many = function(values)
    assert many.shape == values.shape
    assert np.isnan(many[1, 1])
    for i in np.ndindex(values.shape):
        np.testing.assert_array_equal(function(values[i]), many[i])


@pytest.mark.parametrize("t", [-5.0, 21.0, 130.0, 700.0, np.inf])
def test_impossible_water_temperature_is_refused(t):
    with pytest.raises(ValueError, match="t must lie in"):
        water_saturation_pressure(t)


def test_the_message_guesses_the_slip():
    with pytest.raises(ValueError, match=r"add 273\.15"):
        glycerol_vapor_pressure([400.0, 130.0])


@pytest.mark.parametrize("p", [0.0, -1.0, 3e7])
def test_impossible_pressure_is_refused(p):
    with pytest.raises(ValueError, match="p must lie in"):
        water_saturation_temperature(p)


def test_extrapolation_warns_with_data():
    with pytest.warns(OutOfRangeWarning) as caught:
        water_saturation_pressure([250.0, 300.0])
    assert (caught[0].message.worst, caught[0].message.low) == (250.0, 273.15)
    with pytest.warns(OutOfRangeWarning):
        glycerol_vapor_pressure(280.0)
    with pytest.warns(OutOfRangeWarning):
        water_saturation_temperature(500.0)
    with pytest.warns(OutOfRangeWarning):
        standard_air_pressure(12000.0)


def test_stages_are_spared_the_warning():
    water_saturation_pressure(250.0, check=False)
    glycerol_vapor_pressure(280.0, check=False)
    standard_air_pressure(12000.0, check=False)


def test_supercooled_water_lies_above_ice():
    # 260 Pa over ice at -10 °C, 287 Pa over supercooled water, both from memory
    assert water_saturation_pressure(263.15, check=False) == pytest.approx(287.0, rel=0.005)


def test_air_thins_with_height_and_refuses_the_sky():
    h = np.linspace(0.0, 11000.0, 20)
    assert standard_air_pressure(0.0) == 101325.0
    assert np.all(np.diff(standard_air_pressure(h)) < 0)
    with pytest.raises(ValueError, match="altitude"):
        standard_air_pressure(50e3)


def test_dew_point_of_saturated_air_is_its_temperature():
    t = np.array([280.0, 294.15, 310.0])
    assert dew_point(t, 1.0) == pytest.approx(t, abs=1e-9)


def test_dew_point_at_a_textbook_point():
    # 20 °C, 50 %: 9.3 °C on every psychrometric chart (from memory)
    assert dew_point(293.15, 0.50) - 273.15 == pytest.approx(9.3, abs=0.05)


def test_dew_point_refuses_percent_and_bone_dry_air():
    with pytest.raises(ValueError, match="percentage"):
        dew_point(294.15, 48)
    with pytest.raises(ValueError, match="bone-dry"):
        dew_point(294.15, 0.0)


def test_dew_point_below_freezing_warns():
    with pytest.warns(OutOfRangeWarning, match="dew point"):
        dew_point(294.15, 0.1)
    assert dew_point(294.15, 0.1, check=False) < 273.15


def test_a_long_array_is_worked_on_in_blocks_and_stays_the_same_to_the_bit():
    t = np.linspace(280.0, 640.0, 3 * _BLOCK + 7).reshape(-1, 1)
    found = water_saturation_pressure(t)
    assert found.shape == t.shape
    some = slice(_BLOCK - 2, _BLOCK + 3)
    assert np.array_equal(found[some], water_saturation_pressure(t[some]))
    assert found[-1, 0] == pytest.approx(water_saturation_pressure(640.0), rel=1e-15)
    t[-1] = np.nan
    assert np.isnan(water_saturation_pressure(t)[-1, 0])


def test_above_the_critical_pressure_there_is_nothing_to_boil():
    """The end of the line, as published: 647.096 K and 22.064 MPa."""
    assert water_saturation_temperature(22.064e6) == pytest.approx(647.096, abs=1e-6)
    with pytest.raises(ValueError, match="no liquid stands beside its vapor"):
        water_saturation_temperature(22.065e6)
