"""A job that cannot be done names no setting, in every command, and says what would make it one."""

from __future__ import annotations

import pytest

from moldwin.advice.advise import advise
from moldwin.advice.conditioned import condition_job
from moldwin.advice.dried import dry_job
from moldwin.advice.heating import may_heat, not_for_the_press, why_not
from moldwin.advice.mapped import map_job
from moldwin.advice.sheet_grid import sheet_grid
from moldwin.base.remarks import Remark
from moldwin.inputs.read_job import read_job
from moldwin.report.condition_page import condition_page
from moldwin.report.dry_page import dry_page
from moldwin.report.map_page import map_page
from moldwin.report.terminal import advice_page
from tests.jobs import BAR, DRY, KELP, setup_of

COUNT = 128

#: Code, what stops the bundled job, what its remedies change.
_STOPPED = {
    # through so thin a gate only a hot melt goes, and that never cools in a wall like this
    "hot-core": (
        ["part.wall_mm=100", "mold.gate_thickness_mm=0.2", "press.force_kn=3"],
        {"part.wall_mm", "press.force_kn"},
    ),
    "shot-size": (["press.barrel_capacity_cm3=0.5"], {"press.barrel_capacity_cm3"}),
    "flash": (["press.clamp_kn=0.2"], {"press.clamp_kn"}),
    "many": (
        ["mold.cavities=12", "press.barrel_capacity_cm3=6"],
        {"mold.cavities", "press.barrel_capacity_cm3"},
    ),
}


@pytest.fixture(scope="module")
def told():
    return {name: advise(BAR, sets=sets, count=COUNT) for name, (sets, _) in _STOPPED.items()}


def _stops(answer):
    return [warning.code for warning in answer.warnings if warning.severity == "stop"]


@pytest.mark.parametrize("name", _STOPPED)
def test_behind_a_stop_every_setting_is_null(told, name):
    answer = told[name]
    assert _stops(answer) == (["shot-size", "flash"] if name == "many" else [name])
    plain = answer.to_dict()
    assert plain["settings"] is None
    for situation in (plain, plain["after_conditioning"]):
        if situation is not None:
            barrel = situation["barrel"]
            assert barrel["best_c"] is barrel["low_c"] is barrel["high_c"] is None
            assert situation["soak_s"] is None
            assert barrel["open"] is False
    reasons = {row["name"]: row["source"] for row in plain["assumptions"]}
    assert "stop" in reasons["settings"]


@pytest.mark.parametrize("name", _STOPPED)
def test_the_page_says_do_not_heat_and_what_would_do(told, name):
    page = advice_page(told[name], width=80)
    words = " ".join(page.split())
    assert "Do not heat this. STOP:" in words
    assert "Heat the barrel" not in page
    assert "SOAK" not in page
    assert "What would make it possible" in words
    assert max(len(line) for line in page.splitlines() if "--set" not in line) <= 80


@pytest.mark.parametrize("name", _STOPPED)
def test_a_remedy_lifts_the_stop_when_it_is_tried(told, name):
    sets, keys = _STOPPED[name]
    remedies = told[name].remedies
    assert remedies
    assert {key for remedy in remedies for key in remedy.set} & keys
    for remedy in remedies[:2]:
        again = advise(BAR, sets=[*sets, *(f"{k}={v}" for k, v in remedy.set.items())], count=COUNT)
        assert _stops(again) == []
        assert again.now.barrel.open
        assert again.now.barrel.chance == remedy.chance
        assert again.settings is not None


@pytest.mark.parametrize("name", _STOPPED)
def test_map_and_sheet_agree_with_the_advice(told, name):
    sets, _ = _STOPPED[name]
    job = read_job(BAR, sets)
    drawn = map_job(job, grid=4, count=COUNT)
    assert (drawn.heat_now, drawn.heat_target) == (False, False)
    assert set(_stops(drawn)) == set(_stops(told[name]))
    assert "Do not heat this" in map_page(drawn, width=80)
    here = told[name].moisture.now_pct
    grid = sheet_grid(job, told[name], moistures=[here], count=COUNT)
    assert not any(cell.heat for column in grid.columns for cell in column.cells)


@pytest.mark.parametrize("name", ["shot-size", "flash"])
def test_jar_and_oven_answer_and_say_that_the_press_cannot(name):
    job = read_job(BAR, _STOPPED[name][0])
    jar, oven = condition_job(job, to=0.11, count=64), dry_job(job, to=0.07, count=64)
    for told, page in ((jar, condition_page(jar, width=80)), (oven, dry_page(oven, width=80))):
        top = " ".join(page.split())[:500]
        assert "STOP: The press part of this job cannot be done as it stands" in top
        assert told.not_for_the_press in " ".join(page.split())
        assert told.to_dict()["not_for_the_press"] == told.not_for_the_press
        assert told.not_for_the_press.count(". ") == 0
        assert "HOW LONG" in page


def test_pellets_at_a_target_that_nobody_can_mold_are_only_sealed():
    words = " ".join(
        condition_page(
            condition_job(read_job(BAR, _STOPPED["shot-size"][0]), to=0.10, count=64), width=80
        ).split()
    )
    assert "at their target already: seal them." in words


def test_a_job_that_can_be_pressed_is_not_spoken_of():
    job = read_job(BAR)
    jar = condition_job(job, to=0.11, count=64)
    assert jar.not_for_the_press is None
    assert jar.to_dict()["not_for_the_press"] is None
    assert "press part" not in condition_page(jar, width=80)


def test_a_hopeless_chance_is_as_good_a_reason_as_a_stop():
    setup = setup_of(DRY, count=COUNT)
    assert "the best chance at any barrel temperature" in not_for_the_press(setup)
    window = setup.window(0.12)
    stop = Remark("hot-core", "stop", "It never cools.", "molding", "assumed")
    assert why_not(window, [stop]) == "It never cools."
    assert why_not(setup_of(BAR, count=COUNT).window(0.10), []) is None


def test_a_weak_clamp_that_a_gentle_push_suits_is_a_caution_with_its_number():
    answer = advise(BAR, sets=["press.clamp_kn=3"], count=COUNT)
    (flash,) = [warning for warning in answer.warnings if warning.code == "flash"]
    assert flash.severity == "caution"
    assert "kN on the ram: that fills and keeps it shut" in flash.message
    assert answer.settings is not None
    assert "Push gently" in " ".join(advice_page(answer, width=80).split())


def test_a_clamp_that_holds_the_full_push_is_not_spoken_of():
    assert "flash" not in {w.code for w in advise(BAR, sets=["press.clamp_kn=40"]).warnings}


def test_the_rule():
    stop = Remark("hot-core", "stop", "It never cools.", "molding", "assumed")
    caution = Remark("steam", "caution", "Steam.", "melting", "assumed")
    assert may_heat(0.2, [caution])
    assert not may_heat(0.19, [caution])
    assert not may_heat(1.0, [caution, stop])
    assert not may_heat(1.0, [], [stop])


# --------------------------------------------------------------------------- the window's page


def test_a_heater_that_cannot_get_there_is_told_what_it_would_have_to_reach():
    answer = advise(BAR, sets=["press.heater_max_c=60"], count=COUNT)
    assert answer.settings is None or not answer.now.barrel.open
    (found,) = [warning for warning in answer.warnings if warning.code == "heater-limit"]
    assert "60 °C this heater reaches" in found.message
    assert "asked for need" in found.message
    (remedy,) = [r for r in answer.remedies if "press.heater_max_c" in r.set]
    again = advise(
        BAR, sets=[f"press.heater_max_c={remedy.set['press.heater_max_c']}"], count=COUNT
    )
    assert again.now.barrel.open


@pytest.mark.parametrize(
    ("sets", "first"),
    [
        (["press.nozzle_diameter_mm=0.4", "press.force_kn=0.5"], "the nozzle eats"),
        (["part.flow_length_mm=900", "press.force_kn=1"], "the part itself takes"),
        (["mold.gate_thickness_mm=0.1", "press.force_kn=1"], "the gate eats"),
        (["mold.runner_diameter_mm=1.5", "press.force_kn=1"], "the runner eats"),
    ],
)
def test_too_stiff_always_names_every_section_with_its_share(sets, first):
    said = {w.code: w.message for w in advise(BAR, sets=sets, count=COUNT).warnings}
    words = said["too-stiff-to-fill"]
    assert first in words
    for section in ("nozzle", "runner", "part"):
        assert section in words
    assert words.count("%") >= 3


def test_where_no_barrel_limit_breaks_often_the_first_on_either_side_is_named():
    answer = advise(BAR, sets=["press.force_kn=20"])
    assert all(limit.broken_share < 0.02 for limit in answer.now.barrel.limits)
    page = advice_page(answer, width=80)
    limits = " ".join(page.partition("WHAT LIMITS IT")[2].partition("MEASURE")[0].split())
    assert "Below about" in limits
    assert "Above about" in limits


def test_the_page_says_at_which_moisture_its_limits_stand():
    assert "WHAT LIMITS IT, at 12.8 % water" in advice_page(advise(KELP), width=80)
    assert "WHAT LIMITS IT, and how often" in advice_page(advise(BAR), width=80)
