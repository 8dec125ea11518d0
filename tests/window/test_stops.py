"""Stops: what no barrel temperature mends, from the samples, just inside and just outside."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from moldwin.window import judge
from moldwin.window.aim import aim, whole_chance, worth_going
from moldwin.window.hot_core import Core
from moldwin.window.stops import HOPELESS, STOPPED, best_push, quick_look, shares_of, stops
from tests.jobs import BAR, DRY, EXAMPLES, KELP, setup_of

COUNT = 256
_WATER = 0.10

#: So thin a gate that only a hot melt goes through it.
_THIN_GATE = ["mold.gate_thickness_mm=0.2", "press.force_kn=2"]

#: Code, what stops it, what is just not enough to.
_TABLE = [
    ("hot-core", [*_THIN_GATE, "part.wall_mm=100"], [*_THIN_GATE, "part.wall_mm=20"]),
    ("shot-size", ["press.barrel_capacity_cm3=1.5"], ["press.barrel_capacity_cm3=1.8"]),
    ("flash", ["press.clamp_kn=0.3"], ["press.clamp_kn=1"]),
]


def found(*sets):
    setup = setup_of(BAR, sets, count=COUNT)
    return setup, setup.window(_WATER)


@pytest.mark.parametrize(("code", "outside", "inside"), _TABLE, ids=[row[0] for row in _TABLE])
def test_a_stop_where_nearly_every_sample_fails_and_none_where_few_do(code, outside, inside):
    assert stops(*found(*outside)) == (code,)
    assert stops(*found(*inside)) == ()


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_no_example_is_stopped(path):
    setup = setup_of(path, count=COUNT)
    assert stops(setup, setup.window(setup.target(0.1).best)) == ()


@pytest.mark.parametrize("code", [row[0] for row in _TABLE])
def test_the_quick_look_sees_the_same_stop(code):
    (_, outside, inside) = next(row for row in _TABLE if row[0] == code)
    assert quick_look(setup_of(BAR, outside, count=COUNT), _WATER).shares[code] >= STOPPED
    assert quick_look(setup_of(BAR, inside, count=COUNT), _WATER).shares[code] < STOPPED


def test_the_share_rises_with_what_is_asked_of_the_clamp():
    shares = [shares_of(*found(f"press.clamp_kn={clamp}"))["flash"] for clamp in (0.1, 1, 3, 20)]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] > 0.9
    assert shares[-1] < 0.05


def test_what_the_job_does_not_tell_is_no_stop():
    setup = setup_of(
        {"ingredient": [{"card": "corn-starch", "mass_g": 100}], "pellets": {"moisture_pct": 12}}
    )
    assert not {"shot-size", "flash"} & set(shares_of(setup, setup.window(0.12)))


def test_every_push_again_by_itself():
    """The best push beats every other, sample by sample: it fills, and the mold stays shut."""
    setup, window = found("press.clamp_kn=3")
    best = window.barrel
    push = best_push(setup, window.state, window.barrel_stage, (best.best, best.soak))
    fill = window.barrel_stage.margins(np.array([best.best]), np.array([best.soak]))["fill"][0, 0]
    t_melt = window.barrel_stage.true_temperature(np.array([best.best]))[0, 0]
    full = 1e3 * 6.0 * np.ones(COUNT)
    full = setup.ram.pressure * setup.ram.area * np.ones(COUNT)
    needed = setup.shot(window.state, t_melt).clamp_needed

    def works(force):
        fills = full * np.exp(-fill) < force
        return float(np.mean(fills & (needed * force / full < 3000.0)))

    assert works(push.force) == pytest.approx(push.works, abs=1.5 / COUNT)
    others = [works(force) for force in np.geomspace(0.02, 1.0, 40) * full[0]]
    assert push.works >= max(others) - 0.03
    assert push.force < full[0]


def test_a_strong_clamp_needs_no_gentle_push():
    setup, window = found("press.clamp_kn=1000")
    at = window.barrel.best, window.barrel.soak
    push = best_push(setup, window.state, window.barrel_stage, at)
    assert push.fails < 0.02
    assert best_push(*_without_clamp(), at) is None


def _without_clamp():
    job = {k: dict(v) if isinstance(v, dict) else v for k, v in setup_of(BAR).bench.job.raw.items()}
    del job["press"]["clamp_kn"]
    setup = setup_of(job, count=COUNT)
    window = setup.window(_WATER)
    return setup, window.state, window.barrel_stage


def test_one_rule_for_a_hopeless_barrel_and_a_hopeless_step():
    assert HOPELESS + STOPPED == 1.0


# ------------------------------------------------------------------------------- where to go


def test_pellets_in_the_band_stay_and_others_go_to_its_best():
    setup = setup_of(BAR, count=COUNT)
    target = setup.target(_WATER)
    assert aim(setup, target, _WATER) == _WATER
    assert aim(setup, target, target.low - 0.005) == target.best
    assert aim(setup, target, target.high + 0.005) == target.best


def test_in_the_band_but_closed_they_go_where_it_opens():
    setup = setup_of(KELP, count=COUNT)
    target = setup.target(0.08)
    wide = type(target)(0.07, target.best, 0.15, target.limits, *[target.grid] * 3)
    assert not setup.window(0.08).barrel.open
    assert setup.window(target.best).barrel.open
    assert aim(setup, wide, 0.08) == target.best


def test_nobody_waits_for_a_part_that_fails_all_the_same():
    _, window = found()
    ranks = np.arange(COUNT) / COUNT
    now, there = (
        replace(window, moisture_margins={"hot-core": share - ranks}) for share in (0.0, 0.15)
    )
    assert whole_chance(now) == 0.0
    assert 0.1 < whole_chance(there) < HOPELESS
    assert not worth_going(now, there)
    assert worth_going(now, replace(window, moisture_margins={"hot-core": 0.4 - ranks}))
    kelp = setup_of(KELP, count=COUNT)
    assert worth_going(kelp.window(0.08), kelp.window(0.128))


@pytest.mark.parametrize(("there", "worth"), [(0.15, False), (0.25, True)])
def test_nor_for_a_barrel_that_stays_hopeless(there, worth):
    _, window = found()
    now, then = (
        replace(window, barrel=replace(window.barrel, chance=share)) for share in (0.01, there)
    )
    assert worth_going(now, then) is worth


def test_too_dry_is_no_stop_but_a_closed_window():
    setup = setup_of(DRY, count=COUNT)
    assert stops(setup, setup.window(0.12)) == ()


# ------------------------------------------------------------- a cooler barrel for a thick part


def test_a_thick_part_is_molded_below_its_steam_onset_rather_than_refused():
    """The same blend and press, 20 and 30 mm of wall: the second is held cooler and is no stop."""
    _, thin = found("part.wall_mm=20")
    setup, thick = found("part.wall_mm=30")
    assert not thin.barrel.for_core
    assert thick.barrel.for_core
    assert thick.barrel.best < thin.barrel.best - 10.0
    assert thick.barrel.open
    assert stops(setup, thick) == ()
    assert shares_of(setup, thick)["hot-core"] < 0.1
    # where the thin one is best, the thick one's core would stop it
    core = setup.core(thick.barrel_stage, thick.cavity, thick.mold)
    assert np.mean(core.holds(np.array([thin.barrel.best]))) < 0.3


def test_a_cooler_barrels_chance_is_that_of_every_set_point_by_itself():
    setup, window = found("part.wall_mm=30")
    best, stage = window.barrel, window.barrel_stage
    core = setup.core(stage, window.cavity, window.mold)
    for i in (12, 15, 20):
        at = best.grid[i : i + 1]
        margins = stage.margins(at, best.soaks[i : i + 1]) | {"core": core.margin(at)[:, None]}
        assert judge.chance(margins)[0, 0] == best.chances[i]


def test_a_30_mm_wall_that_only_a_hot_melt_fills_is_refused():
    hot = ["mold.gate_thickness_mm=0.1", "press.force_kn=4"]
    setup, window = found("part.wall_mm=30", *hot)
    assert not window.barrel.for_core
    assert stops(setup, window) == ("hot-core",)
    assert stops(*found("part.wall_mm=15", *hot)) == ()


def test_a_thin_part_is_not_looked_at_again():
    """No set point but the best is asked for the core of the bundled bars."""
    asked = []

    class Counting(Core):
        def margin(self, places):
            asked.append(len(places))
            return super().margin(places)

    setup, window = found()
    plain = setup.core(window.barrel_stage, window.cavity, window.mold)
    counting = Counting(plain.barrel, plain.cavity, plain.t_mold, plain.longest)
    assert setup._barrel_window(window.barrel_stage, counting).best == window.barrel.best
    assert asked == [1]
