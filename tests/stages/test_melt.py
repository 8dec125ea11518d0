"""The heat of the charge: by mixing, and as unsure as four published values say."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.stages import melt
from tests.jobs import change, dry, job, setup_of

_FACTOR = "melt.heat_capacity_factor"
_T = 393.15
#: Maize starch, printed over what mixing gives for corn starch alone: moisture (dry basis),
#: temperature [K], heat capacity [J/kg/K]; Aklouche and co-workers 2019, native and steamed.
_PRINTED = (
    (0.05, 313.15, 1964.0),
    (0.215, 433.15, 2699.0),
    (0.06, 313.15, 1380.0),
    (0.06, 433.15, 2085.0),
)


def _windows(**sections):
    """The same job with the spread of the heat capacity, without it, and that factor."""
    setups = [
        setup_of(job(**sections), count=2048, spreads={_FACTOR: spread}) for spread in (1.0, 0.0)
    ]
    unsure, sure = (setup.window(0.10) for setup in setups)
    return unsure, sure, setups[0].bench.typical("melt", "heat_capacity_factor")


@pytest.fixture(scope="module")
def windows():
    return _windows()


def _of(window, law):
    stage = window.barrel_stage
    return law(stage.bench, stage.blend, window.state.w_water, _T)


def test_the_factor_spans_a_quarter_either_way(windows):
    found = np.quantile(windows[2], [0.05, 0.5, 0.95])
    assert found == pytest.approx([1.0 / 1.25, 1.0, 1.25], rel=0.005)


def test_the_card_tells_the_printed_values_over_the_mixing_rule():
    setup = setup_of(job(ingredient=dry(corn_starch=100)), spread=0.0)
    blend, count = setup.material.blend, setup.bench.count
    over = []
    for x, t, printed in _PRINTED:
        ours = melt.melt_heat_capacity(setup.bench, blend, np.full(count, x / (1.0 + x)), t)
        over.append(printed / float(ours[0]))
    quantity = setup.bench.library.card("melt")["heat_capacity_factor"]
    assert all(f"{ratio:.2f}" in quantity.where for ratio in over)
    assert quantity.factor == pytest.approx(np.sqrt(max(over) / min(over)), abs=0.02)
    # the lowest lies just outside
    assert sum(1.0 / quantity.factor <= ratio <= quantity.factor for ratio in over) == 3


def test_more_heat_to_hold_warms_slower_and_conducts_alike(windows):
    unsure, sure, factor = windows

    def ratio(law):
        return _of(unsure, law) / _of(sure, law)

    assert ratio(melt.melt_density) == pytest.approx(1.0)
    assert ratio(melt.melt_heat_capacity) == pytest.approx(factor)
    assert ratio(melt.melt_diffusivity) == pytest.approx(1.0 / factor)
    assert ratio(melt.melt_effusivity) == pytest.approx(np.sqrt(factor))


def test_a_charge_that_holds_more_heat_soaks_longer(windows):
    """The share of the time that passes as melt; loose pellets have a diffusivity of their own."""
    unsure, sure, factor = windows
    longer = unsure.barrel_stage.warming.time_constant / sure.barrel_stage.warming.time_constant
    assert longer == pytest.approx(factor**0.8)


def test_a_part_that_holds_more_heat_cools_longer(windows):
    unsure, sure, factor = windows
    times = [w.cavity.core_cooling(w.cavity.t_steam + 40.0, 300.0) for w in (unsure, sure)]
    some = np.isfinite(times[1]) & (times[1] > 0.0)
    assert some.mean() > 0.9
    assert times[0][some] / times[1][some] == pytest.approx(factor[some])


def test_a_melt_that_holds_more_heat_stays_thinner_while_it_fills():
    thin = {"length_mm": 60, "width_mm": 20, "thickness_mm": 1, "shape": "plate"}
    unsure, sure, factor = _windows(part={"solid": [thin]})
    needed, likely = (
        window.barrel_stage.flow.pressure_needed(window.barrel_stage.geometry, 420.0, 320.0)
        for window in (unsure, sure)
    )
    assert np.all(needed[factor > 1.0] < likely[factor > 1.0])
    assert np.all(needed[factor < 1.0] > likely[factor < 1.0])


def test_steam_delays_an_open_charge_less_where_it_holds_more_heat_itself():
    """The heat of the steam counts against that of the charge."""
    unsure, sure, factor = _windows(press=change("press", sealed_nozzle=False))
    wall = np.full((1, 1, 2048), 433.15)
    stretches = [w.barrel_stage._open._boiling(wall)[1][0, 0] for w in (unsure, sure)]
    differs = np.abs(stretches[1] - 1.0) > 1e-6
    assert differs.mean() > 0.9
    shorter = (stretches[0] < stretches[1])[differs]
    assert np.all(shorter == (factor > 1.0)[differs])
