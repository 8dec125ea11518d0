"""Evaporation from a wet sheet, and water on its way through it."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics.diffusion import dense_starch_diffusivity
from moldwin.physics.film_drying import (
    convective_heat_transfer,
    evaporation_flux,
    gel_diffusivity,
    shrinking_diffusivity,
    surface_temperature,
    volume_left,
)
from moldwin.physics.vapor import water_saturation_pressure

ROOM = (294.15, 0.5)


def test_the_heat_that_comes_in_is_the_heat_that_leaves():
    t = surface_temperature(*ROOM, 1.0, 0.005, 11.0)
    flux = evaporation_flux(*ROOM, 1.0, 0.005, 11.0)
    latent = 2.501e6 - 2.381e3 * (t - 273.15)
    assert 11.0 * (ROOM[0] - t) == pytest.approx(latent * flux, rel=1e-9)


def test_plenty_of_heat_keeps_the_surface_as_warm_as_the_air():
    flux = evaporation_flux(*ROOM, 1.0, 0.005, 1e9)
    vapor = water_saturation_pressure(294.15) / 461.526 / 294.15
    assert flux == pytest.approx(0.005 * 0.5 * vapor, rel=1e-6)


def test_in_balance_nothing_passes_and_damp_air_wets():
    assert evaporation_flux(294.15, 0.5, 0.5, 0.005, 11.0) == pytest.approx(0.0, abs=1e-15)
    assert evaporation_flux(294.15, 0.9, 0.5, 0.005, 11.0) < 0.0
    assert surface_temperature(294.15, 0.9, 0.5, 0.005, 11.0) > 294.15


def test_drier_air_faster_air_and_more_heat_dry_faster():
    plain = evaporation_flux(*ROOM, 1.0, 0.005, 11.0)
    assert evaporation_flux(294.15, 0.3, 1.0, 0.005, 11.0) > plain
    assert evaporation_flux(*ROOM, 1.0, 0.010, 11.0) > plain
    assert evaporation_flux(*ROOM, 1.0, 0.005, 16.0) > plain


def test_faster_air_brings_heat_in_proportion():
    one, two = (convective_heat_transfer(film, 294.15) for film in (0.005, 0.010))
    assert two == pytest.approx(2.0 * one)


def test_volumes_add():
    # 1 kg of solids of 1500 kg/m3 with 4 kg of water, then with none
    before, after = 1 / 1500.0 + 4 / 998.0, 1 / 1500.0
    assert volume_left(4.0, 0.0, 1500.0) == pytest.approx(after / before)
    assert volume_left(0.3, 0.3, 1500.0) == 1.0


def test_up_to_leather_it_is_the_law_that_pellets_are_conditioned_by():
    x = np.array([0.05, 0.1, 0.2, 0.25])
    assert gel_diffusivity(x, 333.15) == pytest.approx(dense_starch_diffusivity(x, 333.15))


def test_very_dilute_it_is_waters_own():
    assert gel_diffusivity(1e6, 298.15, check=False) == pytest.approx(2.3e-9, rel=1e-3)


def test_published_gels_and_kelp_lie_about_it():
    # starch gels 3e-11 to 3e-9 (Karathanos 1991), kelp blades 1e-10 to 5e-10 at 38 °C
    # (Tolstorebrov 2024): a factor 3 either way of the law
    wet = gel_diffusivity(np.array([1.5, 4.0]), 311.15, check=False)
    assert np.all((wet > 1e-10 / 3) & (wet < 5e-10 * 3))


def test_the_frame_of_the_solids_is_the_one_at_rest_when_dry():
    assert shrinking_diffusivity(1e-12, 0.0, 1500.0) == 1e-12
    assert shrinking_diffusivity(1e-12, 998.0 / 1500.0, 1500.0) == pytest.approx(0.25e-12)


def test_arrays_are_scalars_side_by_side():
    x = np.array([0.1, 1.0, 4.0])
    many = gel_diffusivity(x, 333.15)
    assert many.tolist() == [gel_diffusivity(float(each), 333.15) for each in x]
    a = np.array([0.2, 0.6])
    many = evaporation_flux(294.15, a, 1.0, 0.005, 11.0)
    assert many == pytest.approx([evaporation_flux(294.15, float(i), 1.0, 0.005, 11.0) for i in a])


def test_nan_stays_nan():
    assert np.isnan(evaporation_flux(294.15, np.nan, 1.0, 0.005, 11.0))
    assert np.isnan(gel_diffusivity(np.nan, 333.15))
    assert np.isnan(volume_left(np.nan, 0.1, 1500.0))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: evaporation_flux(21.0, 0.5, 1.0, 0.005, 11.0), "in °C"),
        (lambda: evaporation_flux(294.15, 50.0, 1.0, 0.005, 11.0), "a percentage"),
        (lambda: evaporation_flux(294.15, 0.5, 1.0, 0.0, 11.0), "film must be above 0"),
        (lambda: convective_heat_transfer(0.005, 294.15, 0.0), "pressure must be above 0"),
        (lambda: volume_left(-1.0, 0.1, 1500.0), "x_from must lie"),
        (lambda: volume_left(4.0, 0.1, 0.0), "density must be above 0"),
        (lambda: gel_diffusivity(1.0, 333.15, 0.0), "factor must be above 0"),
        (lambda: shrinking_diffusivity(0.0, 1.0, 1500.0), "d must be above 0"),
    ],
)
def test_the_impossible_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_outside_the_fit_it_warns():
    with pytest.warns(OutOfRangeWarning, match="t_air"):
        evaporation_flux(373.15, 0.1, 1.0, 0.005, 11.0)
    with pytest.warns(OutOfRangeWarning, match="dense_starch"):
        gel_diffusivity(1.0, 293.15)
