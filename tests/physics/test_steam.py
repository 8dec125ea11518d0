"""Where steam starts and how much flashes."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics.steam import flash_share, onset_temperature
from moldwin.physics.vapor import water_saturation_pressure


def test_pure_water_boils_where_it_boils():
    assert onset_temperature(1.0) - 273.15 == pytest.approx(99.97, abs=0.005)


@pytest.mark.parametrize("a_water", [0.2, 0.5, 0.9])
@pytest.mark.parametrize("pressure", [84e3, 101325.0, 2e6])
def test_onset_is_where_the_pressures_meet(a_water, pressure):
    t = onset_temperature(a_water, pressure)
    assert a_water * water_saturation_pressure(t) == pytest.approx(pressure, rel=1e-8)


def test_height_lowers_the_onset_by_about_five_kelvin_at_1500_m():
    drop = onset_temperature(0.6, 101325.0) - onset_temperature(0.6, 84556.0)
    assert drop == pytest.approx(5.0, abs=0.6)


@pytest.mark.parametrize(
    ("a_water", "low_c", "high_c"),
    [(0.55, 117, 118), (0.38, 129, 130), (0.79, 106, 107.5), (0.60, 114, 116)],
)
def test_published_onsets(a_water, low_c, high_c):
    """Derived figures for 5 and 10 % water at the ends of the melt's activity."""
    assert low_c <= onset_temperature(a_water) - 273.15 <= high_c


@pytest.mark.parametrize(
    ("t_c", "share"),
    [(120, 0.019), (130, 0.029), (140, 0.039), (150, 0.049), (160, 0.058), (170, 0.068)],
)
def test_flash(t_c, share):
    """Derived figures, 2.2 kJ/kg/K."""
    assert flash_share(t_c + 273.15, 0.2, 2200.0) == pytest.approx(share, abs=0.00051)


def test_limits():
    assert onset_temperature(0.0) == np.inf
    assert onset_temperature(0.01, 10e6) == np.inf
    assert flash_share(360.0, 0.1, 2200.0) == 0.0
    assert flash_share(450.0, 0.01, 2200.0) == 0.01  # no more steam than water
    assert np.isnan(onset_temperature(np.nan))
    assert np.isnan(flash_share(np.nan, 0.1, 2200.0))


def test_array_is_scalar_after_scalar():
    a = np.array([0.0, 0.3, 0.8])
    assert onset_temperature(a).tolist() == [onset_temperature(x) for x in a]
    assert np.ndim(onset_temperature(0.5)) == 0


def test_refuses_and_warns():
    with pytest.raises(ValueError, match="a_water"):
        onset_temperature(65.0)
    with pytest.raises(ValueError, match="pressure"):
        onset_temperature(0.5, 0.0)
    with pytest.raises(ValueError, match="°C"):
        flash_share(150.0, 0.1, 2200.0)
    with pytest.warns(OutOfRangeWarning):
        onset_temperature(1.0, 100.0)
