"""The drying sheet as an answer."""

from __future__ import annotations

import re

import pytest

from moldwin.advice.film import film_job
from moldwin.inputs.errors import InputError
from moldwin.inputs.read_job import read_job
from moldwin.report.film_page import film_page
from moldwin.stages.bench import Bench
from moldwin.stages.jar_stage import described
from moldwin.stages.sheet import SheetAir, dry_thickness
from tests.jobs import KELP, dry, job

SHEET = {"spread_mm": 4, "area_cm2": 2000}


def film(air=SheetAir(), **sections):  # noqa: B008
    made = {"pot": {"water_g": 1500, "loss_pct": 0}, "sheet": SHEET, **sections}
    return film_job(read_job(job(**made)), air=air, count=64)


def test_masses_fall_by_the_water_and_nothing_else():
    wet, peeled, dried = (
        stage.mass.likely * (1.0 - stage.moisture.likely) for stage in film().stages.values()
    )
    assert dried == pytest.approx(wet, rel=0.01)
    # when it peels differs much between the samples, and medians do not multiply
    assert peeled == pytest.approx(wet, rel=0.05)


def test_stages_come_in_their_order():
    hours = [stage.hours.likely for stage in film().stages.values()]
    assert hours == sorted(hours)
    assert hours[0] == 0.0


def test_what_helps_helps():
    told = film()
    by_change = {each.change: each for each in told.helps}
    now = by_change["as it is"]
    assert (now.hours, now.tears) == (told.hours, told.tear_chance)
    thin, thick = by_change["spread half as thick"], by_change["spread twice as thick"]
    assert thin.hours.likely < now.hours.likely < thick.hours.likely
    assert thin.tears <= now.tears <= thick.tears
    assert thin.molds <= now.molds <= thick.molds
    assert by_change["under a cloth"].tears <= now.tears
    assert by_change["peeled early, on a mesh"].hours.likely < now.hours.likely
    assert by_change["10 g more glycerol per 100 g dry"].tears <= now.tears


def test_all_of_the_shrinkage_is_in_the_thickness_or_in_every_direction():
    told = film()
    stuck = told.dry / told.spread
    assert told.block_left == pytest.approx(stuck, rel=0.02)
    assert told.dry_free / told.spread == pytest.approx(stuck ** (1 / 3), rel=0.02)
    assert told.free_shrink == pytest.approx(1.0 - stuck ** (1 / 3), rel=0.02)


def test_the_gel_of_the_pot_covers_so_many_sheets():
    small = film(sheet={**SHEET, "area_cm2": 1000}).gel_for
    large = film(sheet=SHEET).gel_for
    assert small == pytest.approx(2.0 * large, rel=1e-6)
    assert film(sheet={"spread_mm": 4}).gel_for is None


def test_a_bench_press_takes_flakes_no_wider_than_a_third_of_its_barrel():
    wide, narrow = (film(press={"plunger_diameter_mm": bore}).flake.edge for bore in (30.0, 6.0))
    assert narrow == pytest.approx(0.002)
    assert wide > narrow


def test_flakes_without_a_thickness_take_it_from_their_sheet():
    pellets = {"moisture_pct": 9, "shape": "flake", "mass_g": 50}
    read = read_job(job(pot={"water_g": 1500}, sheet=SHEET, pellets=pellets))
    bench = Bench(read, count=64)
    assert described(bench).thickness == pytest.approx(dry_thickness(bench))
    assert bench.used["pellets.thickness"].status == "derived"
    given = read_job(job(sheet=SHEET, pellets={**pellets, "thickness_mm": 2.0}))
    assert described(Bench(given, count=64)).thickness == 0.002


def test_flakes_without_a_thickness_or_a_sheet_are_refused():
    with pytest.raises(InputError, match=r"or sheet\.spread_mm"):
        read_job(job(pellets={"moisture_pct": 9, "shape": "flake"}))


def test_dried_from_one_face_it_curls_less_when_left_stuck():
    told = film()
    assert told.curl_peeled.likely > told.curl_dry.likely > 0.0


def test_a_sticky_blend_and_a_brittle_one_are_told_apart():
    sticky = film(ingredient=dry(potato_starch=50, glycerol=50))
    brittle = film(ingredient=dry(potato_starch=100))
    assert any(each.code == "sticky" for each in sticky.warnings)
    assert any(each.code == "dust" for each in brittle.warnings)
    assert brittle.flake.snaps_when_dry > sticky.flake.snaps_when_dry


def test_a_sheet_that_stays_wet_for_days_is_warned_of():
    told = film(sheet={"spread_mm": 15})
    assert any(each.code == "mold-growth" for each in told.warnings)
    warm = film(air=SheetAir(t=323.15, fan=True), sheet={"spread_mm": 3})
    assert not any(
        "mold may come first" in " ".join(each.message.split()) for each in warm.warnings
    )


def test_dough_is_no_gel():
    told = film(pot={"water_g": 100})
    assert any(each.code == "extrapolated" for each in told.warnings)
    assert not any(each.code == "extrapolated" for each in film().warnings)


@pytest.mark.parametrize("width", [40, 60, 80])
def test_the_page_fits_its_columns(width):
    page = film_page(film(), width)
    words = [line for line in page.splitlines() if len(line) > width]
    assert words == []


def test_a_sheet_that_never_dries_still_weighs_what_was_spread():
    found = film_job(read_job(KELP, ["sheet.spread_mm=100"]), count=256)
    assert found.stages["wet"].hours.high == 0.0
    assert found.stages["wet"].mass.low == pytest.approx(0.1 * 0.36 * 1080, rel=0.05)


def test_a_pot_that_fills_less_than_one_sheet_says_so():
    page = film_page(film_job(read_job(KELP), count=256), 80)
    assert re.search(r"enough for 0\.9\d? such sheets of 3600 cm²", " ".join(page.split()))
    page = film_page(film_job(read_job(KELP, ["sheet.area_cm2=3280"]), count=256), 80)
    assert "such sheets" not in page
