"""An open charge boiling dry: against a finite-volume solution, limits and trends."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest

from moldwin.physics.boiling_off import boiling_shortfall, evaporation_stretch, layered_moisture
from moldwin.physics.diffusion import unaccomplished
from moldwin.physics.melt_water import flory_huggins_activity, volume_fractions
from moldwin.physics.soaking import first_mode, warming_shortfall
from moldwin.physics.vapor import water_saturation_pressure

_START, _LOADED = 294.0, 0.10
_HEAT, _CAPACITY, _DENSITY, _CONDUCTIVITY = 2.2e6, 2000.0, 1350.0, 0.25
_GLYCEROL_PER_DRY = 20.0 / 90.0


def _boiling_curve():
    """Temperatures, and the water whose steam is at the air's pressure there: 70/20/10."""
    w = np.linspace(0.001, 0.12, 4000)
    fractions = volume_fractions(w, _GLYCEROL_PER_DRY * (1.0 - w))
    activity = flory_huggins_activity(*fractions, 1.15)
    t = np.linspace(360.0, 460.0, 2001)
    return t, np.interp(101325.0 / water_saturation_pressure(t), activity, w)


_T, _HELD = _boiling_curve()
_ONSET = _T[np.argmax(_HELD < _LOADED)]


class _Soaked(NamedTuple):
    center: float
    mean: float
    water: float


def _finite_volume(radius, t_wall, transfer, until, cells=40):
    """Conduction in a cylinder whose every layer boils along the curve; implicit in time."""
    faces = np.linspace(0.0, radius, cells + 1)
    middle, volume = (faces[1:] + faces[:-1]) / 2, (faces[1:] ** 2 - faces[:-1] ** 2) / 2
    held = np.minimum(_HELD, _LOADED)
    heat = _CAPACITY * _T + _HEAT * (_LOADED - held) / (1.0 - held)
    apparent = np.gradient(heat, _T)
    between = _CONDUCTIVITY * faces[1:-1] / np.diff(middle)
    wall = radius / (1.0 / transfer + (radius - middle[-1]) / _CONDUCTIVITY)
    t, step, inner = np.full(cells, _START), 1.0, np.arange(cells - 1)
    for _ in range(int(until / step)):
        store = _DENSITY * np.interp(t, _T, apparent, left=_CAPACITY) * volume / step
        matrix = np.diag(store) - np.diag(between, 1) - np.diag(between, -1)
        matrix[inner, inner] += between
        matrix[inner + 1, inner + 1] += between
        matrix[-1, -1] += wall
        source = store * t
        source[-1] += wall * t_wall
        t = np.linalg.solve(matrix, source)
    share = volume / volume.sum()
    return _Soaked(t[0], float(t @ share), float(np.interp(t, _T, held, left=_LOADED) @ share))


def _closed_form(radius, t_wall, transfer, until):
    mode = first_mode(transfer * radius / _CONDUCTIVITY)
    fourier = _CONDUCTIVITY / _DENSITY / _CAPACITY * until / radius**2
    even, middle = np.interp([t_wall, 0.5 * (t_wall + _ONSET)], _T, _HELD)
    stretch = evaporation_stretch(_LOADED, even, _ONSET, t_wall, _CAPACITY)
    rise, begun = t_wall - _START, (t_wall - _ONSET) / (t_wall - _START)
    left = {w: warming_shortfall(w, fourier, mode) for w in ("center", "mean")}
    center = boiling_shortfall(left["center"], begun, stretch**2)
    mean = boiling_shortfall(left["mean"], begun, stretch)
    # the layers by the full mode itself, not by the stage's parabola
    from scipy.special import j0

    layers = [
        min(mode.center * j0(mode.root * np.sqrt(share)) * np.exp(-(mode.root**2) * fourier), 1.0)
        for share in (1 / 6, 1 / 2, 5 / 6)
    ]
    missing = [boiling_shortfall(layer, begun, stretch) / begun for layer in layers]
    water = layered_moisture(missing, _LOADED, middle, even)
    return _Soaked(t_wall - center * rise, t_wall - mean * rise, float(water))


@pytest.mark.parametrize(
    ("radius", "celsius", "transfer"), [(0.008, 130, 800), (0.008, 140, 800), (0.011, 150, 300)]
)
@pytest.mark.parametrize("constants", [2.0, 3.2, 5.0])
def test_the_closed_form_follows_a_finite_volume_solution(radius, celsius, transfer, constants):
    """Within 3 K on average, 7 K in the middle, and 0.8 points of water."""
    mode = first_mode(transfer * radius / _CONDUCTIVITY)
    until = constants * radius**2 * _DENSITY * _CAPACITY / _CONDUCTIVITY / mode.root**2
    t_wall = celsius + 273.15
    true = _finite_volume(radius, t_wall, transfer, until)
    ours = _closed_form(radius, t_wall, transfer, until)
    assert ours.mean == pytest.approx(true.mean, abs=3.0)
    assert ours.center == pytest.approx(true.center, abs=7.0)
    assert ours.water == pytest.approx(true.water, abs=0.008)
    # without the heat of evaporation it would be far off
    dry = t_wall - warming_shortfall("center", until * 9.26e-8 / radius**2, mode) * (t_wall - 294.0)
    assert constants < 3.0 or dry > true.center + 10.0


def test_nothing_to_lose_or_a_wall_below_the_onset_takes_no_more_heat():
    assert evaporation_stretch(0.10, 0.10, 385.0, 410.0, 2000.0) == 1.0
    assert evaporation_stretch(0.10, 0.05, 385.0, 380.0, 2000.0) == 1.0
    assert evaporation_stretch(0.10, 0.15, 385.0, 410.0, 2000.0) == 1.0


def test_the_stretch_is_the_heat_over_the_sensible_heat():
    # 1 kg of 10 % loses 0.1 - 0.9/0.95 * 0.05 kg of water: 0.0526 kg
    assert evaporation_stretch(0.10, 0.05, 385.0, 410.0, 2000.0) == pytest.approx(
        1.0 + 0.052631579 * 2.2e6 / (2000.0 * 25.0)
    )


def test_no_stretch_changes_nothing_and_more_holds_back_more():
    left = np.linspace(0.0, 1.0, 21)
    assert boiling_shortfall(left, 0.2, 1.0) == pytest.approx(left)
    some, more = boiling_shortfall(left, 0.2, 2.0), boiling_shortfall(left, 0.2, 5.0)
    assert np.all(more >= some)
    assert np.all(some >= left - 1e-12)
    assert np.array_equal(some[left >= 0.2], left[left >= 0.2])
    assert np.all(np.diff(more) >= 0)
    assert boiling_shortfall(0.1, -0.3, 4.0) == 0.1  # the wall never gets so hot


def test_layers_hold_what_was_loaded_until_they_boil_and_what_is_even_at_last():
    assert layered_moisture([1.0, 3.0, 2.0], 0.1, 0.06, 0.04) == pytest.approx(0.1)
    assert layered_moisture([0.0, 0.0], 0.1, 0.06, 0.04) == pytest.approx(0.04)
    assert layered_moisture([0.5], 0.1, 0.06, 0.04) == pytest.approx(0.06)
    assert layered_moisture([1.0, 0.4], 0.1, 0.04, 0.04) == pytest.approx(0.07)
    share = np.linspace(0.0, 1.0, 41)
    assert np.all(np.diff(layered_moisture([share], 0.3, 0.05, 0.01)) > 0)


def test_scalar_and_array_agree():
    left = np.array([0.02, 0.1, 0.6])
    assert boiling_shortfall(left, 0.2, 4.0).tolist() == [
        boiling_shortfall(x, 0.2, 4.0) for x in left
    ]
    walls = np.array([390.0, 410.0])
    assert evaporation_stretch(0.1, 0.05, 385.0, walls, 2000.0).tolist() == [
        evaporation_stretch(0.1, 0.05, 385.0, t, 2000.0) for t in walls
    ]


def test_nan_passes():
    assert np.isnan(boiling_shortfall(np.nan, 0.2, 4.0))
    assert np.isnan(layered_moisture([np.nan], 0.1, 0.06, 0.04))


@pytest.mark.parametrize(
    "call",
    [
        lambda: evaporation_stretch(10.0, 0.05, 385.0, 410.0, 2000.0),
        lambda: evaporation_stretch(0.1, 0.05, 112.0, 410.0, 2000.0),
        lambda: boiling_shortfall(1.2, 0.2, 4.0),
        lambda: boiling_shortfall(0.1, 0.2, 0.5),
        lambda: layered_moisture([0.5], 10.0, 0.06, 0.04),
    ],
)
def test_the_impossible_is_refused(call):
    with pytest.raises(ValueError, match="must lie in"):
        call()


# ------------------------------------------------------------------ what is not counted


def test_the_voids_of_a_sealed_charge_take_up_two_hundredths_of_a_gram():
    """Derived: 13 cm³ of steam at 130 °C."""
    steam = water_saturation_pressure(403.15) * 13e-6 * 0.018015 / (8.314 * 403.15)
    assert 1e3 * steam == pytest.approx(0.02, abs=0.005)


def test_a_compacted_charge_loses_next_to_nothing_through_its_ends():
    """Ten minutes hot, 35 mm long, both ends open, water diffusing ten times as fast as likely."""
    fourier = 3e-10 * 600.0 / 0.0175**2
    assert 1.0 - unaccomplished("slab", fourier) < 0.03
