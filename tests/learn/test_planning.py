"""Which trials are proposed: by the advice's own numbers, past no stop, the same every time."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from moldwin.inputs.read_job import read_job
from moldwin.learn.designs import design
from moldwin.learn.gains import Tells
from moldwin.learn.planning import AIMS, Beside, PlannedTest, plan_trials, spread_of
from moldwin.learn.possible import own_edges, possible_trials
from moldwin.learn.trial_sheet import SheetRow, trial_sheet
from moldwin.learn.trial_table import TABLE
from moldwin.stages.bench import Bench
from moldwin.window.judge import broken_shares, chance
from moldwin.window.windows import FUMES_STOP, Setup
from tests.jobs import BAR, KELP
from tests.second_press.known import job, makers

COUNT = 256


def setup_of(source=None, *sets, count=COUNT, seed=20260):
    return Setup(Bench(read_job(source, sets), count=count, seed=seed))


@pytest.fixture(scope="module")
def ground():
    return possible_trials(setup_of(KELP))


@pytest.fixture(scope="module")
def plan():
    return plan_trials(setup_of(KELP), 3)


# ------------------------------------------------------------------ the advice's own numbers


def test_chances_are_those_of_the_advice(ground):
    setup = setup_of(KELP)
    for one in ground.settings[:: len(ground.settings) // 7]:
        margins = setup.barrel(one.moisture).margins(np.array([one.barrel]), np.array([one.soak]))
        assert one.barrel_chance == float(chance(margins)[0, 0])


def test_the_best_of_each_moisture_is_as_good_as_the_window_says(ground):
    setup = setup_of(KELP)
    for moisture in {one.moisture for one in ground.settings}:
        best = max(o.barrel_chance for o in ground.settings if o.moisture == moisture)
        assert best == pytest.approx(setup.window(moisture).barrel.chance, abs=0.03)


def test_a_good_part_needs_the_moisture_limits_too(ground):
    assert all(one.chance <= one.barrel_chance for one in ground.settings)
    assert any(one.chance < one.barrel_chance for one in ground.settings)


def test_every_samples_own_low_end_is_where_its_low_limits_begin_to_hold():
    setup = setup_of(BAR)
    window = setup.window(0.10)
    grid, soak = window.barrel.grid, window.barrel.soak
    low = own_edges(setup, window, soak)[:, 0]
    margins = window.barrel_stage.margins(grid, np.array([soak]), side="low")
    whole = (len(grid), 1, COUNT)
    worst = np.minimum.reduce([np.broadcast_to(m, whole) for m in margins.values()])[:, 0]
    for sample in range(0, COUNT, 5):
        above = grid >= low[sample]
        assert np.all(worst[above, sample] >= 0.0)
        assert not np.any(worst[~above, sample][-1:] > 0.0)


# ------------------------------------------------------------------------- what is left out


def test_the_pellets_as_they_are_can_be_tried_without_a_wait(ground):
    now = float(read_job(KELP).pellets.moisture)
    assert {one.wait for one in ground.settings if one.moisture == now} == {0.0}
    assert all(one.wait > 0.0 for one in ground.settings if one.moisture != now)


def test_nothing_beyond_the_heater():
    ground = possible_trials(setup_of(BAR, "press.heater_max_c=128"))
    assert max(one.barrel for one in ground.settings) <= 128.0 + 273.15 + 1e-6


def test_nothing_where_the_plasticizer_fumes():
    hot = setup_of(BAR, "pellets.moisture_pct=3", "press.heater_max_c=260")
    ground = possible_trials(hot)
    for one in ground.open:
        margins = hot.barrel(one.moisture).margins(np.array([one.barrel]), np.array([one.soak]))
        assert broken_shares(margins)["fumes"][0, 0] < FUMES_STOP


def test_an_open_barrel_is_kept_from_foaming():
    setup = setup_of(BAR, "press.sealed_nozzle=false")
    ground = possible_trials(setup)
    hotter = [one for one in ground.settings if one.screened.startswith("steam")]
    assert hotter
    for moisture in {one.moisture for one in ground.open}:
        most = max(one.barrel for one in ground.open if one.moisture == moisture)
        margins = setup.barrel(moisture).margins(np.array([most]), np.array([300.0]))
        assert broken_shares(margins)["steam"][0, 0] <= ground.most_steam


def test_nothing_that_would_plainly_fail(ground):
    assert min(one.chance for one in ground.open) >= 0.25 * ground.best.chance
    assert any(one.screened for one in ground.settings)


def test_where_nothing_can_work_nothing_is_proposed():
    hopeless = setup_of(BAR, "press.force_kn=0.01")
    plan = plan_trials(hopeless, 4)
    assert plan.ground.best.screened
    assert plan.trials == ()


# -------------------------------------------------------------------------------- the choice


@pytest.mark.parametrize("aim", AIMS)
def test_the_same_seed_gives_the_same_plan(aim):
    first, again = (plan_trials(setup_of(BAR, count=128), 2, aim=aim) for _ in range(2))
    assert [t.setting.barrel for t in first.trials] == [t.setting.barrel for t in again.trials]
    assert [t.spread for t in first.trials] == [t.spread for t in again.trials]


def test_trials_are_different_and_each_narrows(plan):
    places = [(t.setting.moisture, t.setting.barrel, t.setting.soak) for t in plan.trials]
    assert len(set(places)) == 3
    left = [spread_of(plan.ground), *(t.spread for t in plan.trials)]
    assert left == sorted(left, reverse=True)
    assert left[1] < 0.9 * left[0]


def test_a_longer_plan_starts_as_a_shorter_one(plan):
    shorter = plan_trials(setup_of(KELP), 1)
    assert shorter.trials[0].setting.barrel == plan.trials[0].setting.barrel
    assert shorter.trials[0].spread == plan.trials[0].spread


def test_no_trial_is_chosen_twice_where_there_are_few(ground):
    few = [one for one in ground.open if one.wait == 0.0][:2]
    plan = plan_trials(setup_of(KELP), 5, among=few)
    assert len(plan.trials) == 2


def test_of_trials_that_teach_the_same_the_one_without_a_wait_is_taken(ground):
    near = next(one for one in ground.open if one.wait == 0.0)
    far = replace(near, wait=20.0)
    for among in ([near, far], [far, near]):
        assert plan_trials(setup_of(KELP), 1, among=among).trials[0].setting.wait == 0.0


def test_progress_is_told():
    told = []
    plan_trials(setup_of(BAR, count=64), 1, tick=lambda done, total: told.append((done, total)))
    assert told[-1][0] == told[-1][1] == len(told)


def test_impossible_wishes_are_refused():
    with pytest.raises(ValueError, match="window, part"):
        plan_trials(setup_of(BAR, count=64), aim="both")
    with pytest.raises(ValueError, match="at least 1"):
        plan_trials(setup_of(BAR, count=64), 0)


def test_the_first_trial_of_a_new_maker_tells_the_flow():
    """Telling: it takes a fifth of the spread away."""
    known = makers(np.random.default_rng(8), 12)
    telling = []
    for i in range(12):
        plan = plan_trials(setup_of(job(known, i)), 1)
        if plan.trials:
            telling.append(plan.trials[0].spread < 0.8 * plan.spread)
    assert len(telling) >= 9
    assert np.mean(telling) > 0.7


def test_for_a_part_only_settings_with_a_fair_chance_are_tried():
    for source in (BAR, KELP):
        plan = plan_trials(setup_of(source), 2, aim="part")
        assert min(t.setting.chance for t in plan.trials) >= 0.25 * plan.best_chance


def test_to_learn_a_part_may_stay_short_but_not_burn_foam_or_fume(ground):
    setup = setup_of(BAR, "press.sealed_nozzle=false")
    wide = possible_trials(setup, wide=True)
    short = [one for one in wide.teaching if one.screened]
    assert short
    places = {(one.moisture, one.barrel, one.soak) for one in wide.teaching}
    assert places >= {(one.moisture, one.barrel, one.soak) for one in wide.open}
    assert len(places) == len(wide.teaching)
    for one in wide.teaching:
        margins = setup.barrel(one.moisture).margins(np.array([one.barrel]), np.array([one.soak]))
        broken = {name: float(share[0, 0]) for name, share in broken_shares(margins).items()}
        assert broken.get("fumes", 0.0) < FUMES_STOP
        assert broken["steam"] <= wide.most_steam
    for one in short:
        assert one.bears >= 0.5
    assert ground.wider == ()


# ------------------------------------------------------------------ measurements beside the press


def beside(name, values, u):
    return Beside(name, 20.0, Tells(np.array([values]), np.array([u**2])))


@pytest.mark.parametrize("aim", AIMS)
def test_a_measurement_that_tells_all_comes_before_any_trial(ground, aim):
    ends = ground.edges[:, 0]
    plan = plan_trials(setup_of(KELP), 2, aim=aim, beside=[beside("the low end", ends, 0.1)])
    by_name = [step.name for step in plan.steps if isinstance(step, PlannedTest)]
    if aim == "window":  # for a part a trial that is good at once may be worth more
        assert isinstance(plan.steps[0], PlannedTest)
        assert by_name == ["the low end"]
        high = np.sqrt(0.5 * ground.edges[:, 1].var())
        assert plan.steps[0].spread == pytest.approx(high, rel=0.1)
        assert not plan.steps[0].effort.hot


def test_a_measurement_that_tells_nothing_is_not_proposed():
    noise = np.random.default_rng(2).normal(size=COUNT)
    nothing = [beside("the weather", noise, 5.0)]
    plan = plan_trials(setup_of(BAR), 3, beside=nothing)
    assert len(plan.steps) == len(plan.trials) == 3
    assert plan_trials(setup_of(BAR), 3, among=(), beside=nothing).steps == ()


# ------------------------------------------------------------------------- designs and sheet


@pytest.mark.parametrize(("shape", "points"), [("grid", 9), ("cross", 7)])
def test_a_design_has_its_points(shape, points):
    found = design(setup_of(BAR), shape)[1]
    assert len(found) == points
    levels = {(p.glycerol, p.setting.moisture, p.setting.barrel) for p in found}
    assert len(levels) == points
    assert sum(not p.new_batch for p in found) == (1 if shape == "grid" else 5)


def test_a_design_is_screened_by_the_same_margins():
    setup = setup_of(BAR, "press.sealed_nozzle=false", "room.altitude_m=2500")
    ground, points = design(setup, "cross")
    assert any(point.setting.screened for point in points)
    best = ground.best
    place = (best.moisture, best.barrel, best.soak)
    same = [p.setting for p in points if not p.new_batch]
    center = next(s for s in same if (s.moisture, s.barrel, s.soak) == place)
    assert center.chance == best.chance


def test_more_glycerol_is_another_job():
    setup = setup_of(BAR)
    points = [p for p in design(setup, "cross")[1] if p.new_batch]
    grams = [1e3 * r.mass for p in points for r in p.job.ingredients if r.card == "glycerol"]
    now = next(1e3 * r.mass for r in setup.bench.job.ingredients if r.card == "glycerol")
    assert len(grams) == 2
    assert min(grams) < now < max(grams)


def test_an_unknown_design_is_refused():
    with pytest.raises(ValueError, match="grid, cross"):
        design(setup_of(BAR, count=64), "star")


def test_the_sheet_has_the_columns_of_the_table_of_trials():
    row = SheetRow(10.0, 130.0, 420.0, 90.0, 2.2, 30.0)
    names = trial_sheet([row]).splitlines()[0].split(",")
    assert set(names) <= set(TABLE)
    assert "job_tables" not in names
    both = trial_sheet([row, replace(row, job_tables="{}")]).splitlines()[0].split(",")
    assert {"job", "job_tables"} <= set(both)
