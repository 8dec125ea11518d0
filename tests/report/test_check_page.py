"""What a job leaves out is said with the very value that stands in for it."""

from __future__ import annotations

import pytest

from moldwin.inputs.cards import Library
from moldwin.inputs.read_job import read_job
from moldwin.report.check_page import check_page, left_out

SMALLEST = {
    "ingredient": [{"card": "corn-starch", "mass_g": 100}],
    "pellets": {"moisture_pct": 12},
}


def gaps(job: dict, *sets: str) -> list[str]:
    return list(left_out(read_job(job, sets), Library()))


@pytest.mark.parametrize("section", ["press", "mold", "part", "room", "jar"])
def test_a_missing_section_is_named(section):
    assert [row for row in gaps(SMALLEST) if row.startswith(f"no [{section}]")]


def test_what_stands_in_comes_from_the_bench_cards():
    cards = Library()
    room = next(row for row in gaps(SMALLEST) if row.startswith("no [room]"))
    assert f"{cards.card('room')['temperature'].value - 273.15:.3g} °C" in room
    assert f"{100 * cards.card('room')['humidity'].value:.3g} %" in room
    force = next(row for row in gaps(SMALLEST) if "force" in row)
    assert f"{cards.card('press')['force'].value / 1000:.3g} kN" in force


@pytest.mark.parametrize(
    ("setting", "gone"),
    [
        ("room.humidity_pct=40", "relative humidity"),
        ("press.force_kn=3", "no force"),
        ("press.lever_force_n=200", "no force"),
        ("press.sealed_nozzle=false", "sealed_nozzle"),
        ("press.clamp_kn=3", "clamp_kn"),
        ("press.heater_u_c=3", "heater_u_c"),
        ("pellets.mass_g=50", "mass_g in [pellets]"),
        ("pellets.moisture_u_pct=0.5", "moisture_u_pct"),
        ("part.specimen=ISO 178 bar", "[part]"),
        ("jar.bed_depth_cm=2", "area of the bed"),
        ("ingredient.corn-starch.moisture_pct=11", "moisture_pct of corn-starch"),
    ],
)
def test_what_is_given_is_no_longer_missed(setting, gone):
    sets = [setting, "press.lever_ratio=10"] if "lever_force" in setting else [setting]
    assert [row for row in gaps(SMALLEST) if gone in row]
    assert not [row for row in gaps(SMALLEST, *sets) if gone in row]


def test_the_page_says_fine_first():
    page = check_page(read_job(SMALLEST), Library(), "my.toml", width=80)
    assert page.startswith("my.toml: fine.\nLeft out, and what that costs:\n - ")
