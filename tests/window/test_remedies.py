"""Remedies: each tried by recomputing, each true when tried again."""

from __future__ import annotations

import pytest

from moldwin.advice.advise import advise
from moldwin.window.levers import levers_of
from moldwin.window.remedies import _Remembered, find_remedies
from moldwin.window.stops import shares_of
from tests.jobs import BAR, DRY, change, dry, job, row, setup_of

COUNT = 128

#: Closed jobs of different kinds: what, job, settings.
_CLOSED = {
    "too-dry": (DRY, []),
    "too-dry-for-one": (DRY, ["press.force_kn=1.5"]),
    "open-nozzle": (
        job(press=change("press", sealed_nozzle=False, force_kn=2.8)),
        ["pellets.moisture_pct=12"],
    ),
    "weak-lever": (BAR, ["press.lever_force_n=120", "press.lever_ratio=8"]),
    "cold-mold": (BAR, ["mold.temperature_c=20", "pellets.moisture_pct=8", "press.force_kn=4.6"]),
    "often-heated": (BAR, ["pellets.times_heated=60"]),
    "uncooked": (job(blend={"cooked": False}), []),
}


@pytest.fixture(scope="module")
def closed():
    return {n: advise(source, sets=sets, count=COUNT) for n, (source, sets) in _CLOSED.items()}


def _again(name, remedy):
    source, sets = _CLOSED[name]
    more = [f"{key}={value}" for key, value in remedy.set.items()]
    return advise(source, sets=[*sets, *more], count=COUNT)


@pytest.mark.parametrize("name", _CLOSED)
def test_every_remedy_gives_what_it_promises(closed, name):
    answer = closed[name]
    assert not answer.now.barrel.open
    assert answer.remedies
    for remedy in answer.remedies[:4]:
        barrel = _again(name, remedy).now.barrel
        assert barrel.chance == remedy.chance, remedy.set
        assert (barrel.low_c, barrel.high_c) == (remedy.low_c, remedy.high_c), remedy.set
        assert barrel.open == (remedy.low_c is not None)


@pytest.mark.parametrize("name", ["too-dry", "open-nozzle", "weak-lever", "cold-mold", "uncooked"])
def test_something_opens_the_window(closed, name):
    opening = [remedy for remedy in closed[name].remedies if remedy.low_c is not None]
    assert opening
    assert all(remedy.chance >= 0.7 for remedy in opening)


def test_remedies_after_a_bend_test_know_of_it_once():
    """A reading is one reading: trying a remedy must not teach it a second time."""
    told = ["blend.softening_c=80", "blend.softening_moisture_pct=10"]
    answer = advise(DRY, sets=told, count=COUNT)
    assert answer.remedies
    for remedy in answer.remedies[:2]:
        more = [f"{key}={value}" for key, value in remedy.set.items()]
        barrel = advise(DRY, sets=[*told, *more], count=COUNT).now.barrel
        assert barrel.chance == remedy.chance, remedy.set


def test_the_cheap_comes_before_the_dear(closed):
    costs = ("low", "medium", "high")
    for answer in closed.values():
        dear = [costs.index(remedy.cost) for remedy in answer.remedies]
        assert dear == sorted(dear)


def test_what_opens_nothing_is_not_listed_beside_what_does(closed):
    for answer in closed.values():
        opening = [remedy for remedy in answer.remedies if remedy.low_c is not None]
        assert opening in ([], answer.remedies)


def test_two_together_where_one_is_not_enough(closed):
    """No single lever opens it, and of each pair both are needed."""
    remedies = closed["too-dry-for-one"].remedies
    assert remedies
    assert all(len(remedy.set) >= 2 for remedy in remedies)
    for remedy in remedies:
        for key, value in remedy.set.items():
            sets = [*_CLOSED["too-dry-for-one"][1], f"{key}={value}"]
            alone = advise(DRY, sets=sets, count=COUNT).now.barrel
            assert not alone.open


def test_a_smaller_step_would_not_do(closed):
    """The smallest of five halvings: a sixteenth less of the way does not open it."""
    (first, *_) = [r for r in closed["open-nozzle"].remedies if "press.force_kn" in r.set]
    step = 2.8 / 16.0  # the lever goes to twice the force
    source, sets = _CLOSED["open-nozzle"]
    less = first.set["press.force_kn"] - 1.01 * step
    assert not advise(source, sets=[*sets, f"press.force_kn={less}"], count=COUNT).now.barrel.open


def test_every_lever_there_is_can_be_pulled():
    """One job that has them all, and one that has what the first has not."""
    every = setup_of(
        job(
            blend={"cooked": False},
            ingredient=[*dry(corn_starch=400, glycerol=20), row("gelatin", 40)],
            press=change("press", sealed_nozzle=False),
            mold=change("mold", temperature_c=40, temperature_max_c=90),
        ),
        ["pellets.moisture_pct=6"],
    )
    names = {lever.name for lever in levers_of(every, 0.12)}
    assert names == {
        "leave out",
        "seal",
        "moisture",
        "preheat",
        "mold",
        "cook",
        "glycerol",
        "force",
        "flow length",
        "nozzle",
        "wall",
        "plunger",
    }
    cold = setup_of(job(mold=change("mold", temperature_max_c=40)))
    (mold,) = [lever for lever in levers_of(cold, 0.10) if lever.name == "mold"]
    assert mold.at(1.0).set == {"mold.temperature_max_c": 80}


def test_every_lever_but_the_recipe_begins_where_the_job_is():
    """A reach of 0 changes next to nothing, or the smallest step would be a leap."""
    setup = setup_of(BAR, ["mold.temperature_c=60", "pellets.moisture_pct=8"])
    for lever in levers_of(setup, 0.12):
        if lever.all_or_nothing:
            continue
        sets = [f"{key}={value}" for key, value in lever.at(0.0).set.items()]
        moved = setup_of(setup.bench.job, sets).window(0.08).barrel
        assert moved.chance == pytest.approx(setup.window(0.08).barrel.chance, abs=0.03), lever.name


def test_a_remedy_says_what_it_does(closed):
    for answer in closed.values():
        for remedy in answer.remedies:
            assert remedy.change
            assert "chance" in remedy.effect
            assert remedy.set
            assert remedy.low_c is not None or remedy.chance > 0.0


def test_too_dry_is_opened_by_glycerol_and_not_by_force_alone(closed):
    opening = [r for r in closed["too-dry"].remedies if r.low_c is not None]
    assert any("ingredient.glycerol.mass_g" in remedy.set for remedy in opening)


def test_an_open_nozzle_is_told_to_be_sealed(closed):
    assert any(
        remedy.set.get("press.sealed_nozzle") is True for remedy in closed["open-nozzle"].remedies
    )


def test_a_cold_mold_is_told_to_be_warmed(closed):
    first = closed["cold-mold"].remedies[0]
    assert any("mold.temperature_c" in remedy.set for remedy in closed["cold-mold"].remedies)
    assert first.low_c is not None


def test_granules_are_told_to_be_cooked(closed):
    assert closed["uncooked"].remedies[0].set == {"blend.cooked": True}


def test_a_lever_is_lengthened_in_the_words_of_the_job(closed):
    keys = {key for remedy in closed["weak-lever"].remedies for key in remedy.set}
    assert "press.lever_force_n" in keys or not any(key.endswith("force_kn") for key in keys)


@pytest.mark.parametrize(
    ("force", "key"),
    [
        ({"melt_pressure_mpa": 8}, "press.melt_pressure_mpa"),
        ({"gauge_mpa": 2, "jack_piston_diameter_mm": 30}, "press.gauge_mpa"),
        ({"lever_force_n": 60, "lever_ratio": 20}, "press.lever_force_n"),
        ({"force_kn": 1.6}, "press.force_kn"),
    ],
    ids=lambda v: v if isinstance(v, str) else "",
)
def test_force_is_raised_the_way_the_job_gives_it(force, key):
    press = change("press", **{"force_kn": None, **force})
    answer = advise(job(press=press), count=COUNT)
    forces = {k for r in answer.remedies for k in r.set if "force" in k or k.endswith("_mpa")}
    assert forces <= {key}


def test_an_open_window_needs_no_remedy():
    assert advise(BAR, count=COUNT).remedies == []


def test_nothing_is_tried_on_a_part_nobody_described():
    answer = advise(job(ingredient=dry(corn_starch=100), part=None), count=COUNT)
    assert not answer.now.barrel.open
    assert not any(key.startswith("part.") for r in answer.remedies for key in r.set)


def test_moisture_given_by_weighings_can_be_changed(tmp_path):
    table = tmp_path / "oven.csv"
    table.write_text(
        "sample,minutes,dish_g,gross_g\n"
        "a,0,20.00,30.00\na,90,20.00,29.50\nb,0,20.00,30.00\nb,90,20.00,29.48\n"
    )
    pellets = {**change("pellets", moisture_pct=None, moisture_u_pct=None), "weighings": str(table)}
    made = job(pellets=pellets, press=change("press", force_kn=2.5))
    answer = advise(made, count=COUNT)
    assert answer.moisture.now_pct == pytest.approx(5.1, abs=0.2)
    for remedy in answer.remedies:
        if "pellets.moisture_pct" in remedy.set:
            more = [f"{key}={value}" for key, value in remedy.set.items()]
            again = advise(made, sets=more, count=COUNT)
            assert again.now.barrel.chance == remedy.chance
            break
    else:
        pytest.fail("no remedy changes the moisture")


def test_never_more_than_two_at_once(closed):
    """Each remedy is one lever, or two where no single one opens the window."""
    for name, answer in closed.items():
        steps = [remedy.change.count(" and ") for remedy in answer.remedies]
        opening = [r for r in answer.remedies if r.low_c is not None]
        assert max(len(remedy.set) for remedy in answer.remedies) <= 3, name
        if any(len(remedy.set) == 1 for remedy in opening):
            assert all(len(r.set) == 1 or "and barrel" in r.change for r in opening), steps


def test_where_nothing_opens_it_one_lever_or_two_that_help_are_named():
    answer = advise(BAR, sets=["press.force_kn=0.12"], count=COUNT)
    assert answer.settings is None
    assert answer.remedies
    assert all(remedy.low_c is None for remedy in answer.remedies)
    changes = find_remedies(setup_of(BAR, ["press.force_kn=0.12"], count=COUNT), 0.1)
    assert {len(change.steps) for change in changes} == {1, 2}
    chances = [change.window.chance for change in changes]
    assert max(chances) == max(c.window.chance for c in changes if len(c.steps) == 2)


def test_a_stop_is_lifted_as_surely_as_is_asked_of_a_window():
    setup = setup_of(BAR, ["press.clamp_kn=0.2"], count=COUNT)
    changes = find_remedies(setup, 0.1)
    assert changes
    for made in changes:
        assert made.lifts
        sets = [f"{key}={value}" for key, value in made.set.items()]
        again = setup_of(setup.bench.job, sets, count=COUNT)
        water = float(again.bench.job.pellets.moisture)
        assert shares_of(again, again.window(water))["flash"] <= 1.0 - setup.confidence


def test_each_number_is_drawn_once_and_is_the_same_as_ever():
    bench = setup_of(BAR, count=COUNT).bench
    quantity = bench.library.card("press")["packing_share"]
    kept = _Remembered(bench.fresh_draws)
    assert kept.samples(quantity) is kept.samples(quantity)
    assert kept.samples(quantity).tolist() == bench.fresh_draws.samples(quantity).tolist()
    assert type(kept.copy()) is not _Remembered
