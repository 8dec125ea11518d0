"""Jobs that once ended in a traceback or showed a number that is none: each found by the fuzz."""

from __future__ import annotations

import random
import warnings

import pytest

from moldwin.advice.advise import advise
from moldwin.advice.dried import dry_job
from moldwin.advice.film import film_job
from moldwin.advice.in_service import service_job
from moldwin.inputs.read_job import read_job
from moldwin.physics.mesh import measure
from moldwin.physics.mesh_file import MeshError
from moldwin.report.film_page import film_page
from moldwin.report.service_page import service_page
from tests.hardening.answers import ANSWERS, check_numbers, check_page, try_answer
from tests.jobs import change, job, row
from tests.meshes import BOX, text_stl


@pytest.fixture(autouse=True)
def _any_warning_is_an_error():
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        yield


@pytest.mark.parametrize("hottest", [60, 400])
def test_a_heater_nobody_can_trust_has_no_barrel_colder_or_hotter_than_matter_allows(hottest):
    """A heater error of 60 °C either way reached -115 °C, where no cooling time exists."""
    press = change("press", heater_u_c=60, heater_max_c=hottest, sealed_nozzle=False)
    check_numbers(advise(job(press=press), count=1024).to_dict())


def test_a_long_thin_plug_leaves_no_pressure_and_no_warning():
    """The share that reaches the melt was too small for a float, its logarithm without end."""
    press = change("press", plunger_diameter_mm=1.1, nozzle_diameter_mm=1.0, force_kn=0.3)
    mold = {"temperature_max_c": 110, "runner_volume_cm3": 10000}
    told = advise(job(press=press, mold=mold), count=64)
    check_numbers(told.to_dict())
    assert not told.now.barrel.open


@pytest.mark.parametrize("name", ["service", "dry", "condition"])
def test_a_moisture_that_may_mean_a_gel_is_followed_as_far_as_pellets_go(name):
    """31 % give or take 20: one sample in a hundred was wetter than 2 kg water a kg dry."""
    pellets = change("pellets", moisture_pct=31.6, moisture_u_pct=20)
    try_answer(read_job(job(pellets=pellets)), random.Random(1), name)


def test_pellets_dried_in_the_air_of_a_deep_frost_come_to_rest():
    """Their dry skin swung from stage to stage: 22 years were followed half an hour at a time."""
    made = {
        "ingredient": [row("agar", 7.2, 0), row("hemp-fiber", 22.6)],
        "pellets": {"moisture_pct": 60, "moisture_u_pct": 0.082, "shape": "slab"},
        "room": {"temperature_c": -20, "humidity_pct": 100, "altitude_m": 3860},
        "jar": {"bed_depth_cm": 94},
    }
    made["pellets"]["thickness_mm"] = 3.7257829354781804
    check_numbers(dry_job(read_job(made), count=16).to_dict(), "dry")


def test_a_sheet_that_never_dries_says_so_in_words():
    """The page said: stays wet for inf days (up to inf)."""
    made = job(
        sheet={"spread_mm": 8},
        room={"temperature_c": 30, "humidity_pct": 97},
    )
    told = film_job(read_job(made), count=64)
    check_page(film_page(told))
    assert any("for good" in remark.message for remark in told.warnings)


def test_a_jam_of_fiber_flows_in_words_too():
    """The page said: the melt gets inf (inf to no limit) times more viscous."""
    made = job(
        ingredient=[row("corn-starch", 100), row("cellulose", 1000, 5), row("wood-fiber", 80)]
    )
    page = service_page(service_job(read_job(made), count=64))
    check_page(page)
    assert "does not flow" in page


def test_every_answer_of_the_fuzz_is_an_answer_of_a_plain_job():
    """The search itself: each of them answers a job that has everything."""
    made = job(sheet={"spread_mm": 4})
    for name in ANSWERS:
        if name != "dry":  # its pellets are drier than their target already
            assert try_answer(read_job(made), random.Random(1), name) == name


def test_the_search_for_numbers_that_are_none_finds_them():
    nan = float("nan")
    with pytest.raises(AssertionError, match=r"answer\.a\[1\]"):
        check_numbers({"a": [1.0, nan]})
    with pytest.raises(AssertionError, match="tg_c is inf"):
        check_numbers({"tg_c": float("inf")})
    check_numbers({"days_90": float("inf")})
    for page in ("about nan days", "-inf to 3", "(inf)"):
        with pytest.raises(AssertionError):
            check_page(page)
    check_page("information on nano-fiber and naninf")


def test_a_corner_at_the_end_of_all_numbers_is_refused_in_words(tmp_path):
    """One corner at 1e308 in an open surface: the lids over its holes overflowed."""
    far = BOX.copy().reshape(-1, 3, 3)[:-1]
    far[0, 1, 2] = 1e308
    with pytest.raises(MeshError, match="a corner"):
        measure(text_stl(tmp_path / "far.stl", far), "mm")


def test_a_part_that_its_salt_turns_to_brine_is_followed_from_as_wet_as_pellets_go():
    """More calcium chloride than seaweed, in damp air by the season: 5 kg water a kg dry."""
    made = job(
        ingredient=[row("brown-seaweed-powder", 3000), row("calcium-chloride", 4700)],
        pellets=change("pellets", moisture_pct=24),
        use={"humidity_low_pct": 92.8, "humidity_high_pct": 95},
    )
    try_answer(read_job(made), random.Random(1), "service")


def test_seaweed_in_a_cold_room_is_not_followed_a_second_at_a_time_for_years():
    """Its skin swung, and steps of a second reached the end of all the steps there are."""
    made = {
        "ingredient": [row("brown-seaweed-powder", 9563.0, 99.0)],
        "room": {"temperature_c": -2.6391095481471964},
        "pellets": {"moisture_pct": 60.0, "shape": "flake", "thickness_mm": 0.252505642899494},
        "press": {"sealed_nozzle": False},
    }
    try_answer(read_job(made), random.Random(1), "dry")
