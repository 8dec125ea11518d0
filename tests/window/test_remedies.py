"""Remedies: each tried by recomputing, each true when tried again."""

from __future__ import annotations

import pytest

from moldwin.advice.advise import advise
from tests.jobs import BAR, DRY, change, dry, job

COUNT = 128

#: Closed jobs of different kinds: what, job, settings.
_CLOSED = {
    "too-dry": (DRY, []),
    "open-nozzle": (
        job(press=change("press", sealed_nozzle=False, force_kn=4)),
        ["pellets.moisture_pct=12"],
    ),
    "weak-lever": (BAR, ["press.lever_force_n=200", "press.lever_ratio=8"]),
    "cold-mold": (BAR, ["mold.temperature_c=20", "pellets.moisture_pct=8"]),
    "often-heated": (BAR, ["pellets.times_heated=12"]),
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


def test_what_opens_comes_first_and_the_cheap_before_the_dear(closed):
    costs = ("low", "medium", "high")
    for answer in closed.values():
        keys = [
            (remedy.low_c is None, len(remedy.change.split(" and "))) for remedy in answer.remedies
        ]
        assert [key[0] for key in keys] == sorted(key[0] for key in keys)
        for remedy in answer.remedies:
            assert remedy.cost in costs


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
    answer = advise(job(pellets=pellets), count=COUNT)
    assert answer.moisture.now_pct == pytest.approx(5.1, abs=0.2)
    for remedy in answer.remedies:
        if "pellets.moisture_pct" in remedy.set:
            more = [f"{key}={value}" for key, value in remedy.set.items()]
            again = advise(job(pellets=pellets), sets=more, count=COUNT)
            assert again.now.barrel.chance == remedy.chance
            break
    else:
        pytest.fail("no remedy changes the moisture")
