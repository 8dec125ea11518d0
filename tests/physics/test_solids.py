"""Simple solids against integration, each other, and what cannot be."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics import solids
from moldwin.physics.runners import trapezoid


def revolved(radius_at, length, steps=200_001):
    """Volume and shadow of a lying body of revolution, by the trapezoid rule."""
    x = np.linspace(0.0, length, steps)
    r = radius_at(x)
    areas = np.pi * r**2, 2 * r
    return [float(np.sum((a[1:] + a[:-1]) / 2) * (x[1] - x[0])) for a in areas]


@pytest.mark.parametrize(
    ("solid", "radius_at", "length"),
    [
        (solids.rod(6e-3, 50e-3), lambda x: 3e-3 + 0 * x, 50e-3),
        (solids.cone(6e-3, 4e-3, 30e-3), lambda x: 3e-3 - x / 30, 30e-3),
        (solids.cone(6e-3, 0.0, 30e-3), lambda x: 3e-3 - x / 10, 30e-3),
        (
            solids.sphere(20e-3),
            lambda x: np.sqrt(np.maximum(1e-4 - (x - 1e-2) ** 2, 0.0)),
            20e-3,
        ),
    ],
)
def test_revolved(solid, radius_at, length):
    volume, shadow = revolved(radius_at, length)
    assert solid.volume == pytest.approx(volume, rel=1e-6)
    assert solid.projected_area == pytest.approx(shadow, rel=1e-6)
    assert solid.flow_length == length


def test_flat_ones():
    plate = solids.plate(0.1, 0.03, 0.002)
    assert plate.volume == pytest.approx(6e-6)
    assert plate.projected_area == pytest.approx(3e-3)
    assert (plate.thickness, plate.flow_length, plate.max_thickness) == (0.002, 0.1, 0.002)
    disc = solids.disc(0.05, 0.002)
    assert disc.volume == pytest.approx(np.pi * 0.025**2 * 0.002)
    assert disc.projected_area == pytest.approx(np.pi * 0.025**2)
    assert disc.flow_length == 0.025
    assert solids.box(0.02, 0.03, 0.01).volume == pytest.approx(6e-6)
    assert solids.box(0.02, 0.03, 0.01).max_thickness == 0.01


def test_a_tube_is_a_rod_less_a_rod():
    tube = solids.tube(0.02, 0.016, 0.05)
    cut = solids.combine(
        [solids.rod(0.02, 0.05), solids.rod(0.016, 0.05)], subtract_flags=[False, True]
    )
    assert tube.volume == pytest.approx(cut.volume)
    assert tube.projected_area == pytest.approx(cut.projected_area)
    assert tube.thickness == pytest.approx(0.002)


def test_a_cone_without_taper_is_a_rod():
    assert solids.cone(6e-3, 6e-3, 0.03).volume == pytest.approx(solids.rod(6e-3, 0.03).volume)


def test_a_dome_is_half_a_ball():
    dome, ball = solids.dome(0.02, 0.01), solids.sphere(0.02)
    assert dome.volume == pytest.approx(ball.volume / 2)
    assert dome.projected_area == pytest.approx(ball.projected_area)
    assert dome.max_thickness == 0.01
    assert solids.dome(0.02, 1e-6).volume == pytest.approx(np.pi * 1e-4 * 0.5e-6, rel=1e-6)


def test_a_shell_of_two_domes():
    shell = solids.combine(
        [solids.dome(0.02, 0.01), solids.dome(0.016, 0.008)], None, [False, True]
    )
    assert shell.volume == pytest.approx(2 / 3 * np.pi * (0.01**3 - 0.008**3))


def test_a_trapezoid_without_taper_is_a_plate():
    groove, plate = trapezoid(0.005, 0.005, 0.004, 0.03), solids.plate(0.03, 0.005, 0.004)
    assert groove.volume == pytest.approx(plate.volume)
    assert groove.projected_area == pytest.approx(plate.projected_area)
    assert groove.thickness == plate.thickness
    with pytest.raises(ValueError, match="swapped"):
        trapezoid(0.004, 0.005, 0.004, 0.03)
    assert np.isnan(trapezoid(np.nan, 0.005, 0.004, 0.03).volume)


def test_combining():
    plate, boss = solids.plate(0.1, 0.03, 0.002), solids.disc(0.01, 0.005)
    part = solids.combine([plate, boss, solids.disc(0.006, 0.002)], [1, 2, 3], [False, False, True])
    assert part.volume == pytest.approx(
        plate.volume + 2 * boss.volume - 3 * np.pi * 0.003**2 * 0.002
    )
    assert part.projected_area == pytest.approx(plate.projected_area + 2 * boss.projected_area)
    assert part.flow_length == 0.1
    assert part.max_thickness == 0.005
    assert 0.002 < part.thickness < 0.005
    assert solids.combine([plate]) == plate


def test_array_is_scalar_after_scalar():
    d = np.array([0.01, 0.02])
    assert solids.sphere(d).volume.tolist() == [solids.sphere(x).volume for x in d]
    assert np.ndim(solids.plate(0.1, 0.03, 0.002).volume) == 0
    both = solids.combine([solids.sphere(d), solids.rod(0.01, 0.02)])
    assert both.max_thickness.tolist() == [0.01, 0.02]
    assert np.isnan(solids.rod(np.nan, 0.1).volume)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: solids.plate(0.1, 0.0, 0.002), "width"),
        (lambda: solids.rod(-1.0, 0.1), "diameter"),
        (lambda: solids.tube(0.01, 0.01, 0.1), "swapped"),
        (lambda: solids.cone(0.01, 0.02, 0.1), "swapped"),
        (lambda: solids.dome(0.02, 0.011), "half its diameter"),
        (lambda: solids.combine([]), "nothing"),
        (lambda: solids.combine([solids.sphere(1.0)], [0]), "count"),
        (lambda: solids.combine([solids.sphere(1.0)], [1, 2]), "same length"),
        (lambda: solids.combine([solids.sphere(1.0)], None, [True]), "nothing"),
        (lambda: solids.combine([solids.sphere(1.0)] * 2, None, [False, True]), "more volume"),
    ],
)
def test_refuses_the_impossible(call, match):
    with pytest.raises(ValueError, match=match):
        call()
