"""Presses that cannot be, presses told by half, and what follows from a press that is told."""

from __future__ import annotations

import re

import pytest

from moldwin.advice.advise import advise
from moldwin.advice.conditioned import condition_job
from moldwin.advice.mapped import map_job
from moldwin.inputs.errors import InputError
from moldwin.inputs.read_job import read_job
from moldwin.report.terminal import advice_page
from tests.jobs import BAR, EXAMPLES, change, job

COUNT = 256


@pytest.mark.parametrize(
    ("made", "key", "words"),
    [
        (job(press=change("press", force_kn=None, gauge_mpa=12)), "gauge_mpa", "piston"),
        (job(press=change("press", nozzle_diameter_mm=18)), "nozzle_diameter_mm", "barrel"),
        (job(mold={"temperature_max_c": 10}), "temperature_max_c", "room"),
    ],
    ids=["gauge alone", "nozzle wider than the barrel", "mold colder than its room"],
)
def test_what_cannot_be_is_refused_by_its_key(made, key, words):
    with pytest.raises(InputError) as caught:
        advise(made, count=64)
    (fault,) = caught.value.faults
    assert fault.key.endswith(key)
    assert words in fault.message


@pytest.mark.parametrize("confidence", [0.49, 0.995, float("nan")])
def test_a_confidence_outside_is_refused(confidence):
    with pytest.raises(ValueError, match=r"0\.5 to 0\.99"):
        advise(BAR, confidence=confidence, count=64)


@pytest.mark.parametrize("confidence", [0.5, 0.99])
def test_a_confidence_at_either_end_is_answered(confidence):
    assert advise(BAR, confidence=confidence, count=64).now.barrel.confidence == confidence


def test_a_press_without_force_says_what_it_was_taken_for():
    answer = advise(job(press=change("press", force_kn=None)), count=COUNT)
    page = " ".join(advice_page(answer, width=80).split())
    assert "The job names no force on the ram" in page
    assert "a gauge with its jack's piston" in page


def test_without_a_sealed_nozzle_the_onset_of_steam_is_named_as_what_to_stay_below():
    answer = advise(BAR, sets=["press.sealed_nozzle=false"], count=COUNT)
    (steam,) = [warning for warning in answer.warnings if warning.code == "steam"]
    assert steam.severity == "caution"
    assert "not sealed: stay below that" in steam.message
    onset = float(re.search(r"starts at (\d+) °C", steam.message).group(1))
    assert answer.now.barrel.high_c < onset
    assert advise(BAR, count=COUNT).now.barrel.high_c > onset


def test_a_wide_barrel_is_soaked_longer_and_held_cooler_than_a_narrow_one():
    """The same pressure in the melt; only the bore differs."""
    narrow, wide = (
        advise(
            job(press=change("press", plunger_diameter_mm=bore, force_kn=6.0 * (bore / 15) ** 2)),
            count=1024,
        )
        for bore in (15, 30)
    )
    assert wide.now.soak_s > 2.0 * narrow.now.soak_s
    assert wide.now.barrel.best_c < narrow.now.barrel.best_c
    for answer in (narrow, wide):
        chance = f"{100 * answer.now.barrel.chance:.0f} %"
        page = advice_page(answer, width=80)
        assert chance in page or "over 99 %" in page


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_command_goes_to_the_same_moisture(path):
    read = read_job(path)
    answer = advise(read)
    goal = answer.moisture.now_pct
    if answer.after_conditioning is not None:
        goal = answer.moisture.target_best_pct
    assert 100 * map_job(read, grid=3).map.target.moisture == pytest.approx(goal)
    assert condition_job(read).to_dict()["target_pct"] == pytest.approx(goal)
