"""What of the charge has not welded rubs on its way: none of it, all of it, or half."""

from __future__ import annotations

import numpy as np
import pytest

from tests.jobs import change, dry, job, setup_of

#: So much runner that the charge is long and its plug matters.
_LONG = {"mold": change("mold", runner_volume_cm3=3)}


def _barrel(w=0.10, **sections):
    setup = setup_of(job(**_LONG, **sections), [f"pellets.moisture_pct={100 * w:g}"])
    return setup.window(w).barrel_stage


def _filling_alone(barrel, wall, soak, share):
    """ln of the pressure at hand behind a plug of this share, over what the mean melt needs."""
    mean = barrel.charge_temperature(wall, soak, "mean")
    needed = barrel.flow.pressure_needed(barrel.geometry, mean, barrel.t_mold)
    return np.log(barrel.reach.pressure * barrel.reach.share(share)) - needed


def test_a_charge_welded_to_its_middle_has_no_plug_but_the_cold_end():
    barrel = _barrel()
    barrel.t_mold = 343.15
    wall, soak = barrel.true_temperature(np.array([433.15])), np.array([4000.0])
    welded = (barrel.charge_temperature(wall, soak, "center") > barrel.t_weld)[0, 0]
    assert welded.mean() > 0.9
    fill = barrel.margins(np.array([433.15]), soak)["fill"][0, 0]
    assert fill[welded] == pytest.approx(_filling_alone(barrel, wall, soak, 0.0)[0, 0][welded])
    at_melt = np.log(barrel.reach.at_melt / barrel.reach.pressure)
    assert np.log(barrel.reach.share(0.0)) == pytest.approx(at_melt)


def test_a_charge_that_welds_nowhere_is_all_plug():
    barrel = _barrel(0.04, ingredient=dry(corn_starch=100))
    barrel.t_mold = 303.15
    wall, soak = barrel.true_temperature(np.array([343.15])), np.array([500.0])
    cold = (wall < barrel.t_weld)[0, 0]
    assert cold.mean() > 0.9
    fill = barrel.margins(np.array([343.15]), soak)["fill"][0, 0]
    assert fill[cold] == pytest.approx(_filling_alone(barrel, wall, soak, 1.0)[0, 0][cold])
    kept = barrel.reach.kept ** np.maximum(barrel.reach.depth, 0.8)
    assert barrel.reach.share(1.0) == pytest.approx(kept)


def test_half_way_to_welding_half_the_charge_rubs():
    """The wall has as far to the welding point as that has to the middle."""
    barrel = _barrel()
    barrel.t_mold = 343.15
    wall, soak = barrel.true_temperature(np.array([413.15])), np.array([300.0])
    center = barrel.charge_temperature(wall, soak, "center")
    barrel.t_weld = ((wall + center) / 2.0)[0, 0]
    fill = barrel.margins(np.array([413.15]), soak)["fill"]
    assert fill == pytest.approx(_filling_alone(barrel, wall, soak, 0.5))
