"""Mixing rules against water's own values, limits and traps."""

from __future__ import annotations

import numpy as np
import pytest
from iapws import IAPWS97

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics import mixing

MELT = ("carbohydrate", "glycerol", "water")


@pytest.mark.parametrize("t_c", [10.0, 40.0, 100.0, 140.0])
def test_water_against_the_steam_tables(t_c):
    """A second opinion on the printed polynomials, at saturation."""
    t = t_c + 273.15
    water = IAPWS97(T=t, x=0)
    assert mixing.density("water", t) == pytest.approx(water.rho, rel=0.006)
    assert mixing.heat_capacity("water", t) / 1e3 == pytest.approx(water.cp, rel=0.006)


COLD = pytest.mark.xfail(strict=True, reason="misses by 1.6 %: the polynomial is high when cold")


@pytest.mark.parametrize("t_c", [pytest.param(10.0, marks=COLD), 40.0, 100.0, 140.0])
def test_conductivity_of_water_against_the_steam_tables(t_c):
    t = t_c + 273.15
    assert mixing.conductivity("water", t) == pytest.approx(IAPWS97(T=t, x=0).k, rel=0.015)


def test_trap_heat_capacity_of_water():
    """Copies with turned signs give 4.08 at 100 °C."""
    assert mixing.heat_capacity("water", 373.15) == pytest.approx(4220.0, abs=5.0)


def test_glycerol():
    assert mixing.density("glycerol", 293.15) == pytest.approx(1260.0)
    slope = mixing.density("glycerol", 303.15) / 1260.0 - 1
    assert slope == pytest.approx(-5e-4 * 10)


@pytest.mark.parametrize("name", mixing.COMPONENTS)
def test_a_pure_blend_is_its_component(name):
    w = np.array([float(n == name) for n in mixing.COMPONENTS])
    t = 350.0
    assert mixing.blend_density(w, t) == pytest.approx(mixing.density(name, t))
    assert mixing.blend_heat_capacity(w, t) == pytest.approx(mixing.heat_capacity(name, t))
    assert mixing.blend_conductivity(w, t) == pytest.approx(mixing.conductivity(name, t))


def test_volumes_add():
    w, t = np.array([0.7, 0.2, 0.1]), 298.15
    volume = sum(x / mixing.density(n, t) for x, n in zip(w, MELT, strict=True))
    assert mixing.blend_density(w, t, MELT) == pytest.approx(1 / volume)


def test_diffusivity_is_where_melts_lie_and_glycerol_lowers_it():
    """.08 to .13 mm²/s is the published band for melts."""
    alpha = [
        mixing.thermal_diffusivity(w, 403.15, MELT) * 1e6
        for w in ([0.9, 0.0, 0.1], [0.7, 0.2, 0.1])
    ]
    assert 0.08 < alpha[1] < alpha[0] < 0.135


def test_order_of_components_does_not_matter():
    w, turned = [0.7, 0.2, 0.1], [0.1, 0.2, 0.7]
    for model in (mixing.blend_density, mixing.thermal_diffusivity):
        assert model(w, 400.0, MELT) == pytest.approx(model(turned, 400.0, MELT[::-1]), rel=1e-14)


def test_array_is_scalar_after_scalar():
    w = np.array([[0.7, 0.2, 0.1], [0.8, 0.1, 0.1]])
    t = np.array([[300.0], [350.0], [400.0]])
    for model in (
        mixing.blend_density,
        mixing.blend_heat_capacity,
        mixing.blend_conductivity,
        mixing.thermal_diffusivity,
    ):
        together = model(w, t, MELT)
        assert together.shape == (3, 2)
        alone = model(w[1], 400.0, MELT)
        assert np.ndim(alone) == 0
        assert together[2, 1] == pytest.approx(alone, rel=1e-14)
    assert np.isnan(mixing.blend_density([np.nan, 0.5, 0.5], 300.0, MELT))


def test_refuses_the_impossible():
    with pytest.raises(ValueError, match="sugar"):
        mixing.density("sugar", 300.0)
    with pytest.raises(ValueError, match="sum to 1"):
        mixing.blend_density([0.7, 0.2, 0.2], 300.0, MELT)
    with pytest.raises(ValueError, match="percentage"):
        mixing.blend_density([70, 20, 10], 300.0, MELT)
    with pytest.raises(ValueError, match="3 entries"):
        mixing.blend_density([0.5, 0.5], 300.0, MELT)
    with pytest.raises(ValueError, match="°C"):
        mixing.conductivity("fat", 25.0)


def test_warns_outside_the_fit():
    with pytest.warns(OutOfRangeWarning, match="density"):
        mixing.density("ash", 453.15)
    with pytest.warns(OutOfRangeWarning, match="heat_capacity"):
        mixing.heat_capacity("water", 263.15)
    with pytest.warns(OutOfRangeWarning, match="blend_density"):
        mixing.blend_density([0.7, 0.2, 0.1], 453.15, MELT)
    mixing.thermal_diffusivity([0.7, 0.2, 0.1], 453.15, MELT, check=False)
