"""How fast the ram goes: at the speed that needs the least pressure, as the melt cools."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from moldwin.physics import heat
from moldwin.stages import filling
from tests.jobs import dry, job, setup_of

#: Below the join to above it for most samples. [K]
_T = np.array([383.15, 403.15, 423.15])


def _setup(sets=(), **sections):
    """Without a runner: what that adds stands in its own tests."""
    return setup_of(job(**sections), ["mold.runner_volume_cm3=0", *sets])


def _flow(sets=(), **sections):
    setup = _setup(sets, **sections)
    return setup, setup.window(0.10).barrel_stage.flow


def _lost(setup, flow, time):
    """Share of its heat that the melt loses in a filling time, by part, contact and melt."""
    thickness = setup.geometry.thickness
    contact, conductivity = (
        setup.bench.typical(*key) for key in (("mold", "contact"), ("melt", "conductivity"))
    )
    fourier = flow.diffusivity * time / thickness**2
    return heat.filling_heat_loss(fourier, contact * thickness / conductivity, check=False)


def _pressure(setup, flow, t_melt, t_mold, time):
    """ln of the pressure that filling in a given time needs, section after section."""
    geometry = setup.geometry
    t_fill = t_melt - _lost(setup, flow, time) * (t_melt - t_mold)
    rate = flow.n * np.log(geometry.shot_volume / 1e-6 / time)
    nozzle = flow._nozzle() + flow.consistency(t_melt)
    return rate + np.logaddexp(nozzle, flow._part(geometry) + flow.consistency(t_fill))


def test_the_melt_loses_the_heat_of_the_time_it_takes():
    """The melt of the mean never gets colder than the mold, nor hotter than it came."""
    setup, flow = _flow()
    time, t_fill = flow.filling(setup.geometry, 413.15, 343.15)
    lost = (413.15 - t_fill) / 70.0
    assert lost == pytest.approx(_lost(setup, flow, time))
    assert np.all((lost > 0) & (lost < 1))


def _tried(setup):
    longest = setup.bench.typical("press", "flow_time_longest")
    return [np.maximum(longest * share, 0.3) for share in filling._TIMES]


@pytest.mark.parametrize("wall", [0.8, 2.0, 4.0])
@pytest.mark.parametrize("t_mold", [303.15, 343.15])
def test_the_pressure_is_the_least_of_the_times_tried(wall, t_mold):
    setup, flow = _flow([f"part.wall_mm={wall}"])
    t_melt = _T[:, None] + np.zeros(512)
    tried = np.stack([_pressure(setup, flow, t_melt, t_mold, t) for t in _tried(setup)])
    needed = flow.pressure_needed(setup.geometry, t_melt, t_mold)
    assert needed == pytest.approx(tried.min(axis=0), rel=1e-12)
    # and `filling` tells of that very time
    time, t_fill = flow.filling(setup.geometry, t_melt, t_mold)
    assert _pressure(setup, flow, t_melt, t_mold, time) == pytest.approx(needed, rel=1e-12)
    best = np.take_along_axis(
        np.broadcast_to(np.stack(_tried(setup))[:, None], tried.shape), tried.argmin(0)[None], 0
    )[0]
    assert time == pytest.approx(best)
    assert t_fill == pytest.approx(t_melt - _lost(setup, flow, best) * (t_melt - t_mold))


def test_nobody_leans_longer_nor_fills_quicker_than_stated():
    for wall, t_mold in ((0.5, 283.15), (8.0, 363.15)):
        setup, flow = _flow([f"part.wall_mm={wall}"])
        time, _ = flow.filling(setup.geometry, 403.15, t_mold)
        longest = setup.bench.typical("press", "flow_time_longest")
        assert np.all(time >= 0.3)
        assert np.all(time <= longest)
        if wall > 1.0:  # thick and warm: there is all the time
            assert np.all(time == longest)
        else:  # thin and cold: quick, or creeping where it is as cold as the mold in any case
            assert np.mean(time == _tried(setup)[-1]) > 0.6


@pytest.mark.parametrize(
    ("wall", "t_mold"),
    [
        (1.0, 303.15),
        (1.0, 343.15),
        (2.0, 303.15),
        (2.0, 343.15),
        (4.0, 303.15),
        (4.0, 343.15),
    ],
)
def test_no_other_time_needs_a_tenth_less_pressure(wall, t_mold):
    """Against every time from the quickest to the longest, 2 % apart, for 19 samples of 20."""
    setup, flow = _flow([f"part.wall_mm={wall}"])
    t_melt = _T[:, None] + np.zeros(512)
    longest = setup.bench.typical("press", "flow_time_longest")
    times = [np.maximum(longest * share, 0.3) for share in np.geomspace(0.005, 1.0, 270)]
    least = np.min([_pressure(setup, flow, t_melt, t_mold, t) for t in times], axis=0)
    over = np.exp(flow.pressure_needed(setup.geometry, t_melt, t_mold) - least)
    assert np.median(over) < 1.03
    assert np.quantile(over, 0.95) < 1.10


def test_why_every_time_is_tried():
    """Slower than some speed a thin part needs more, and slower still less again.

    Once the melt is as cold as the mold, more time costs nothing. A search that stops where the
    pressure begins to rise would be wrong for about every other sample.
    """
    setup, flow = _flow(["part.wall_mm=0.8"])
    t_melt = np.full(512, 453.15)
    tried = np.stack([_pressure(setup, flow, t_melt, 343.15, t) for t in _tried(setup)])
    step = np.diff(tried, axis=0)  # ever quicker
    hill = np.any((step[:-1] > 1e-9) & (step[1:] < -1e-9), axis=0)
    assert 0.3 < hill.mean() < 0.9
    best = tried.argmin(axis=0)
    assert np.mean(best == 0) > 0.1
    assert np.mean(best > 2) > 0.3


def test_what_a_part_asks_is_worked_out_once_and_kept_for_a_dried_melt_too():
    setup, flow = _flow()
    way = flow._way(setup.geometry)
    assert flow._way(replace(setup.geometry)) is way
    thicker = replace(setup.geometry, thickness=2.0 * setup.geometry.thickness)
    assert flow._way(thicker) is not way
    dried = flow.at_moisture(flow.water - 0.02, flow.plasticizer, flow._t_join - 30.0)
    assert dried._way(setup.geometry) is way
    t_melt = np.full(512, 403.15)
    assert np.all(
        dried.pressure_needed(setup.geometry, t_melt, 343.15)
        > flow.pressure_needed(setup.geometry, t_melt, 343.15)
    )


def test_slower_is_easier_until_the_melt_cools():
    """A mold as warm as the melt takes nothing: the longest time is best, by its index alone."""
    setup, flow = _flow()
    t_melt = np.full(512, 403.15)
    time, t_fill = flow.filling(setup.geometry, t_melt, 403.15)
    longest = setup.bench.typical("press", "flow_time_longest")
    assert time == pytest.approx(longest)
    assert t_fill == pytest.approx(t_melt)
    cold, _ = flow.filling(setup.geometry, t_melt, 303.15)
    assert np.all(cold <= time)
    assert np.median(cold) < 0.2 * np.median(time)


def test_what_is_not_known_is_not_filled():
    setup, flow = _flow()
    t_melt = np.full(512, 403.15)
    t_melt[7] = np.nan
    time, t_fill = flow.filling(setup.geometry, t_melt, 343.15)
    for found in (time, t_fill, flow.pressure_needed(setup.geometry, t_melt, 343.15)):
        assert np.flatnonzero(np.isnan(found)).tolist() == [7]
    assert np.all(np.isnan(flow.pressure_needed(setup.geometry, t_melt, np.nan)))


def test_each_place_is_filled_as_if_it_were_alone():
    setup, flow = _flow(["mold.gate_thickness_mm=0.8"])
    rng = np.random.default_rng(3)
    t_melt, t_mold = rng.uniform(340.0, 450.0, (4, 3, 512)), rng.uniform(290.0, 370.0, (4, 1, 512))
    together = flow.pressure_needed(setup.geometry, t_melt, t_mold)
    assert together.shape == (4, 3, 512)
    for i, k in ((0, 0), (3, 2)):
        alone = flow.pressure_needed(setup.geometry, t_melt[i, k], t_mold[i, 0])
        assert together[i, k] == pytest.approx(alone, rel=1e-13)


def test_solids_that_jam_fill_nothing_but_their_flow_is_still_told():
    setup, flow = _flow(ingredient=dry(corn_starch=10, cellulose=400))
    t_melt = np.full(512, 403.15)
    assert np.all(flow.pressure_needed(setup.geometry, t_melt, 343.15) == np.inf)
    time, t_fill = flow.filling(setup.geometry, t_melt, 343.15)
    shares = flow.pressure_shares(setup.geometry, t_melt, 343.15)
    for found in (time, t_fill, *shares.values()):
        assert np.all(np.isfinite(found))


# ------------------------------------------------------------------ freezing


def test_in_one_time_a_thinner_part_takes_more_of_the_heat_and_no_end_is_set_to_it():
    made = [_flow([f"part.wall_mm={wall}"]) for wall in (4.0, 2.0, 1.0, 0.3)]
    tries = [flow._tries(setup.geometry) for setup, flow in made]
    lost = np.array([[one.lost["part"] for one in of_part] for of_part in tries])
    assert np.all(np.diff(lost, axis=0) > 0)  # thinner
    assert np.all(np.diff(lost, axis=1) <= 0)  # quicker
    assert np.all(lost[:, -1] < lost[:, 0])
    assert np.all(lost[-1, 0] > 0.97)  # .3 mm, as slowly as anyone leans on it
    assert np.all(lost < 1.0)


def test_the_freezing_margin_is_the_melts_mean_over_where_it_welds():
    barrel = _setup().window(0.10).barrel_stage
    barrel.t_mold = 303.15
    wall, soak = barrel.true_temperature(np.array([413.15])), np.array([800.0])
    mean = barrel.charge_temperature(wall, soak, "mean")
    time, t_fill = barrel.flow.filling(barrel.geometry, mean, 303.15)
    assert barrel.freezing_margin(413.15, 800.0) == pytest.approx((t_fill - barrel.t_weld)[0, 0])
    # at half the time the same melt would have stayed warmer
    lost = _lost(barrel, barrel.flow, 0.5 * time)
    assert np.all(mean - lost * (mean - 303.15) > t_fill)


def test_freezing_is_nearer_in_a_very_thin_cold_part():
    """So thin that no hand is quick enough; elsewhere the ram is quicker in a colder mold."""

    def middle(wall, t_mold):
        barrel = _setup([f"part.wall_mm={wall}"]).window(0.10).barrel_stage
        barrel.t_mold = t_mold
        return np.median(barrel.freezing_margin(413.15, 800.0))

    assert middle(0.3, 283.15) < middle(0.3, 363.15) - 10.0
    assert middle(0.3, 303.15) < middle(3.0, 303.15) - 15.0
