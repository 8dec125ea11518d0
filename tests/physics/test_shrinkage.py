"""Shrinkage from volume, from drying and from cooling."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.shrinkage import cooling_shrinkage, drying_shrinkage, linear_from_volume


def test_linear_from_volume():
    assert linear_from_volume(1.0) == 0.0
    assert linear_from_volume(0.9**3) == pytest.approx(0.1)
    assert linear_from_volume(1.1**3) == pytest.approx(-0.1)
    assert linear_from_volume(0.997) == pytest.approx(0.001, rel=2e-3)  # a third of the volume


def test_drying_by_weighing_a_cube():
    """A 10 mm cube of 1.4 g at 12 %: dried to 8 % it has lost its water's volume."""
    dry = 1.4e-3 * 0.88
    lost = (1.4e-3 - dry / 0.92) / 997.0
    edge = (1e-6 - lost) ** (1 / 3)
    assert drying_shrinkage(0.12, 0.08, 1400.0) == pytest.approx(1 - edge / 0.01)


def test_drying_is_about_a_third_of_the_volume_lost():
    volume = 1400 / 997 * 0.02 / 0.9
    assert drying_shrinkage(0.12, 0.10, 1400.0) == pytest.approx(volume / 3, rel=0.02)


def test_taking_up_water_swells():
    assert drying_shrinkage(0.1, 0.1, 1400.0) == 0.0
    assert drying_shrinkage(0.08, 0.12, 1400.0) < 0


def test_cooling_is_where_melts_lie():
    """1.5 to 2 % linear with 4e-4 to 6e-4 per kelvin (from memory), 130 °C to room."""
    low, high = cooling_shrinkage(403.15, 294.15, np.array([4.2e-4, 5.5e-4]))
    assert 0.015 <= low < high <= 0.02
    there, back = cooling_shrinkage(400.0, 300.0, 5e-4), cooling_shrinkage(300.0, 400.0, 5e-4)
    assert (1 - there) * (1 - back) == pytest.approx(1.0)


def test_array_is_scalar_after_scalar_and_nan():
    w = np.array([0.05, 0.1])
    assert drying_shrinkage(0.12, w, 1400.0).tolist() == [
        drying_shrinkage(0.12, x, 1400.0) for x in w
    ]
    assert np.ndim(cooling_shrinkage(400.0, 300.0, 5e-4)) == 0
    assert np.isnan(drying_shrinkage(np.nan, 0.1, 1400.0))
    assert np.isnan(linear_from_volume(np.nan))


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: linear_from_volume(0.0), "ratio"),
        (lambda: drying_shrinkage(12.0, 0.08, 1400.0), "percentage"),
        (lambda: drying_shrinkage(0.12, 1.0, 1400.0), "w_to"),
        (lambda: drying_shrinkage(0.9, 0.0, 1400.0), "ratio"),
        (lambda: cooling_shrinkage(130.0, 21.0, 5e-4), "°C"),
        (lambda: cooling_shrinkage(400.0, 300.0, 5.0), "expansion"),
    ],
)
def test_refuses_the_impossible(call, match):
    with pytest.raises(ValueError, match=match):
        call()
