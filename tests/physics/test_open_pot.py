"""The open pot: limits and trends."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.open_pot import HEAT_OF_EVAPORATION, open_pot_flux
from moldwin.physics.vapor import water_saturation_pressure

P = 101325.0


def test_cool_water_evaporates_by_plain_diffusion():
    """Where vapor is scarce, Stefan's law is k (rho_s - rho_room)."""
    t, room = 293.15, 1000.0
    plain = 0.005 * (water_saturation_pressure(t) - room) / (461.5 * t)
    assert open_pot_flux(t, room, P, 0.005, 1e6) == pytest.approx(plain, rel=0.02)


def test_at_the_boil_the_stove_sets_the_pace():
    assert open_pot_flux(373.2, 1000.0, P, 0.005, 2e4) == pytest.approx(2e4 / HEAT_OF_EVAPORATION)


def test_hotter_windier_and_drier_takes_more():
    t = np.linspace(300.0, 371.0, 12)
    assert np.all(np.diff(open_pot_flux(t, 1000.0, P, 0.005, 1e6)) > 0)
    assert open_pot_flux(350.0, 1000.0, P, 0.01, 1e6) > open_pot_flux(350.0, 1000.0, P, 0.005, 1e6)
    assert open_pot_flux(350.0, 500.0, P, 0.005, 1e6) > open_pot_flux(350.0, 2000.0, P, 0.005, 1e6)


def test_on_a_mountain_the_same_pot_boils_sooner():
    assert open_pot_flux(363.15, 800.0, 7.5e4, 0.005, 1e6) > open_pot_flux(
        363.15, 800.0, P, 0.005, 1e6
    )


def test_a_room_damper_than_the_pot_takes_nothing():
    assert open_pot_flux(293.15, 3000.0, P, 0.005, 1e4) == 0.0


def test_scalar_is_array_and_nan_stays_nan():
    t = np.array([330.0, np.nan])
    found = open_pot_flux(t, 1000.0, P, 0.005, 1e4)
    assert found[0] == open_pot_flux(330.0, 1000.0, P, 0.005, 1e4)
    assert np.isnan(found[1])


@pytest.mark.parametrize(
    ("arguments", "slip"),
    [
        ((88.0, 1000.0, P, 0.005, 1e4), "273.15"),
        ((360.0, 1000.0, 0.0, 0.005, 1e4), "pressure"),
        ((360.0, 1000.0, P, -0.1, 1e4), "film"),
        ((360.0, -1.0, P, 0.005, 1e4), "p_vapor"),
    ],
)
def test_the_impossible_is_refused(arguments, slip):
    with pytest.raises(ValueError, match=slip):
        open_pot_flux(*arguments)
