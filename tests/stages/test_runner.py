"""The runner: what it takes of the pressure and of the heat, and what is assumed of it."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.inputs.errors import InputError
from moldwin.physics import flow, heat
from moldwin.stages.runner import Runner, runner_to
from tests.jobs import change, job, setup_of

_T = np.array([383.15, 403.15, 423.15])


def _mold(**told):
    return change("mold", runner_volume_cm3=told.pop("volume", 0.4), **told)


def _flow(spread=1.0, **told):
    setup = setup_of(job(mold=_mold(**told)), spread=spread)
    return setup, setup.window(0.10).barrel_stage.flow


def _needed(t_mold=343.15, **told):
    setup, melt = _flow(**told)
    return melt.pressure_needed(setup.geometry, _T[:, None] + np.zeros(512), t_mold)


def test_no_volume_no_runner():
    setup, melt = _flow(volume=0)
    assert runner_to(setup.bench, setup.geometry) is None
    assert set(melt.pressure_shares(setup.geometry, np.full(512, 403.15), 343.15)) == {
        "nozzle",
        "part",
    }


def test_a_runner_of_next_to_nothing_takes_nothing():
    """A thousandth of a millimeter, as wide as the nozzle that is ten thousand times as long."""
    small = _needed(volume=1e-5, runner_diameter_mm=3)
    assert small == pytest.approx(_needed(volume=0), abs=0.005)


def test_narrower_and_longer_take_more():
    bores = [_needed(runner_diameter_mm=mm) for mm in (8, 5, 3, 2)]
    assert np.all(np.diff(bores, axis=0) > 0)
    ways = [_needed(runner_diameter_mm=4, runner_length_mm=mm) for mm in (5, 20, 80)]
    assert np.all(np.diff(ways, axis=0) > 0)


def test_a_colder_mold_takes_more():
    molds = [_needed(t_mold, runner_diameter_mm=4) for t_mold in (363.15, 333.15, 303.15)]
    assert np.all(np.diff(molds, axis=0) > 0)


def test_the_pressure_is_that_of_a_tube_whose_melt_has_lost_its_share():
    """Section by section by hand, at the time that fills best."""
    setup, melt = _flow(runner_diameter_mm=4, runner_length_mm=25, gate_thickness_mm=0.8)
    geometry, t_melt = setup.geometry, np.full(512, 403.15)
    time, t_part = melt.filling(geometry, t_melt, 343.15)
    rate = geometry.shot_volume / time
    held = np.pi / 4.0 * 4e-3**2 * 25e-3 / rate
    contact = setup.bench.typical("mold", "contact") / setup.bench.typical("melt", "conductivity")
    end = heat.tube_heat_loss(melt.diffusivity * held / 4e-3**2, contact * 4e-3)
    k = np.exp(melt.consistency(t_melt - 0.6 * end * 60.0))
    by_hand = flow.power_law_tube(k, melt.n, rate, 2e-3, 25e-3)
    whole = np.exp(melt.pressure_needed(geometry, t_melt, 343.15))
    shares = melt.pressure_shares(geometry, t_melt, 343.15)
    assert shares["runner"] == pytest.approx(by_hand / whole, rel=1e-9)
    assert sum(shares.values()) == pytest.approx(np.ones(512), rel=1e-12)
    # the gate is as cold as the runner ends, and the part colder still
    at_end = 403.15 - end * 60.0
    gate = np.exp(melt._gate(geometry) + melt.consistency(at_end)) * (rate / 1e-6) ** melt.n
    assert shares["gate"] == pytest.approx(gate / whole, rel=1e-9)
    assert np.all(t_part < at_end)


def test_a_mold_as_warm_as_the_melt_leaves_it_as_it_came():
    setup, melt = _flow(runner_diameter_mm=4)
    _, t_part = melt.filling(setup.geometry, np.full(512, 403.15), 403.15)
    assert t_part == pytest.approx(np.full(512, 403.15))


def test_what_is_left_out_follows_from_the_volume():
    for told, bore, length in (
        ({"runner_diameter_mm": 4}, 4e-3, 0.4e-6 / (np.pi / 4 * 4e-3**2)),
        ({"runner_length_mm": 50}, np.sqrt(0.4e-6 / 50e-3 / (np.pi / 4)), 50e-3),
        ({"runner_length_mm": 50, "runner_diameter_mm": 5}, 5e-3, 50e-3),
    ):
        setup, _ = _flow(**told)
        found = runner_to(setup.bench, setup.geometry)
        assert found.bore == pytest.approx(bore)
        assert found.length == pytest.approx(length)


def test_a_bore_nobody_gave_is_typical_for_the_wall_and_said_to_be_assumed():
    setup, _ = _flow()
    found = runner_to(setup.bench, setup.geometry)
    middle = setup.geometry.thickest + 1.5e-3
    assert np.median(found.bore) == pytest.approx(middle, rel=0.02)
    assert np.quantile(found.bore, 0.95) > 1.2 * middle
    assert np.all((found.bore >= 3e-3) & (found.bore <= 8e-3))
    assert found.volume == pytest.approx(np.full(512, 0.4e-6))
    assert setup.bench.used["mold.runner_over_wall"].status == "assumed"
    given, _ = _flow(runner_diameter_mm=4)
    assert "mold.runner_over_wall" not in given.bench.used


@pytest.mark.parametrize("cavities", [1, 2, 8])
def test_the_first_half_of_the_way_is_shared(cavities):
    """Half the way at the whole flow, half at each cavity's own."""
    bore, length, n, rate = 4e-3, 40e-3, 0.35, 1e-6
    runner = Runner(bore, length, cavities)
    shared, own = (
        flow.power_law_tube(1.0, n, q, bore / 2, length / 2) for q in (rate, rate / cavities)
    )
    assert runner.pressure(n, rate) == pytest.approx(shared + own)
    section = np.pi / 4 * bore**2
    assert runner.volume == pytest.approx(section * length / 2 * (1 + cavities))
    setup, _ = _flow(cavities=cavities)
    assert runner_to(setup.bench, setup.geometry).volume == pytest.approx(np.full(512, 0.4e-6))


@pytest.mark.parametrize("key", ["runner_diameter_mm", "runner_length_mm"])
def test_a_size_without_the_volume_is_asked_about(key):
    with pytest.raises(InputError, match=rf"{key}.*runner_volume_cm3"):
        setup_of(job(mold={key: 5}))
