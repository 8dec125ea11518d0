"""``moldwin film`` as a user meets it."""

from __future__ import annotations

import json

import pytest

from moldwin.cli.app import run
from tests.jobs import BAR, EXAMPLES, KELP


def data(capsys, *arguments):
    assert run(["film", *map(str, arguments), "--json"]) == 0
    return json.loads(capsys.readouterr().out)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_answers(capsys, example):
    code = run(["film", str(example)])
    page, err = capsys.readouterr()
    assert (code, err) == (0, "")
    assert max(len(line) for line in page.splitlines()) <= 80
    assert "…" not in page  # nothing is cut off
    for heading in ("HOW THICK", "HOW LONG", "WHEN IT TEARS", "CURL", "EVEN PELLETS", "WHAT HELPS"):
        assert heading in page


def test_the_data(capsys):
    told = data(capsys, KELP)
    assert told["schema"] == "moldwin.film/1"
    assert told["spread_mm"] == 5.0
    for key in ("hours", "tear_mm"):
        assert list(told[key]) == ["low", "likely", "high"]
        assert told[key]["low"] < told[key]["likely"] < told[key]["high"]
    assert 0.5 < told["dry_mm"] < 2.0
    assert 20.0 < told["free_shrink_pct"] < 60.0
    assert told["area_given"] is True
    assert told["sheets"] is None
    masses = [told["stages"][name]["mass_g"]["likely"] for name in ("wet", "peel", "dry")]
    assert masses == sorted(masses, reverse=True)
    assert {"change", "hours", "tear_chance", "mold_chance"} == set(told["helps"][0])
    assert any(each["name"] == "sheet.film" for each in told["assumptions"])


def test_the_same_seed_gives_the_same_bytes(capsys):
    first, again = (data(capsys, BAR, "--seed", "7") for _ in range(2))
    assert first == again


def test_a_torn_and_a_whole_sheet_narrow_it_from_job_or_command_line(capsys):
    before = data(capsys, KELP)["tear_mm"]
    after = data(capsys, KELP, "--torn-mm", "9", "--whole-mm", "4")
    in_job = data(capsys, KELP, "--set", "sheet.torn_mm=9", "--set", "sheet.whole_mm=4")
    told = after["tear_mm"]
    assert told["high"] / told["low"] < 0.3 * before["high"] / before["low"]
    assert 4.0 < told["likely"] < 9.0
    assert in_job["tear_mm"] == told
    assert after["sheets"]["tear_mm_before"] == before
    assert not any(each["code"] == "unmeasured-material" for each in after["warnings"])


def test_what_is_not_in_the_job_is_said(capsys):
    sets = ("--set", "pot.water_g=1500", "--set", "sheet.spread_mm=4")
    assert run(["film", str(BAR), *sets]) == 0
    page = capsys.readouterr().out
    assert "masses for 100 cm² (sheet.area_cm2)" in page.replace("\n", " ")
    assert "a spread of" not in page


def test_no_water_in_the_pot_is_said(capsys, tmp_path):
    text = BAR.read_text(encoding="utf-8")
    kept = [line for line in text.splitlines() if not line.startswith("water_g")]
    path = tmp_path / "job.toml"
    path.write_text("\n".join(kept), encoding="utf-8")
    assert run(["film", str(path)]) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert "a gel that can be stirred (pot.water_g)" in page


def test_a_damp_room_says_that_it_never_gets_safe_to_store(capsys):
    told = data(capsys, KELP, "--set", "room.humidity_pct=85")
    assert told["never_stored_share"] > 0.9
    assert told["hours_to_store"]["likely"] is None
    assert told["hours"]["high"] is not None
    assert any(
        each["code"] == "mold-growth" and "too damp" in each["message"] for each in told["warnings"]
    )


def test_a_hot_oven_with_glycerol_wants_air(capsys):
    told = data(capsys, BAR, "--air-c", "70")
    assert any(each["code"] == "fume" for each in told["warnings"])
    assert told["air_c"] == pytest.approx(70.0)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--air-c", "318"), "in kelvin? That is 45 °C"),
        (("--air-c", "-5"), "allowed: 0 to 90"),
        (("--torn-mm", "0"), "allowed: 0.05 to 100 mm"),
        (("--whole-mm", "-3"), "allowed: 0.05 to 100 mm"),
        (("--torn-mm", "3", "--whole-mm", "5"), "are the two swapped?"),
        (("--set", "sheet.spread_mm=0"), "sheet.spread_mm"),
        (("--set", "sheet.spread_mm=-2"), "sheet.spread_mm"),
        (("--set", "sheet.area_cm2=0"), "sheet.area_cm2"),
        (("--set", "sheet.torn_mm=3", "--set", "sheet.whole_mm=5"), "are the two swapped?"),
    ],
)
def test_what_is_wrong_is_a_sentence_and_exit_2(capsys, arguments, words):
    code = run(["film", str(BAR), *arguments])
    out, err = capsys.readouterr()
    assert (code, out) == (2, "")
    assert words in err


def test_before_there_are_pellets_it_answers_all_the_same(capsys, tmp_path):
    path = tmp_path / "gel.toml"
    path.write_text('[[ingredient]]\ncard = "potato-starch"\nmass_g = 300\n', encoding="utf-8")
    assert run(["film", str(path)]) == 0
    page, err = capsys.readouterr()
    assert "HOW LONG" in page
    assert "no pellets in the job yet: a sheet needs none" in err


@pytest.mark.parametrize(
    ("command", "kept"), [("film", ()), ("recipe", ("WHAT GOES IN", "WHAT COMES OUT"))]
)
def test_another_material_gets_no_numbers_that_would_be_untrue(capsys, command, kept):
    assert run([command, "--set", "ingredient.gelatin.mass_g=900"]) == 0
    page = capsys.readouterr().out
    assert "STOP: About" in page
    for words in kept:
        assert words in page
    for words in ("HOW LONG", "TEARS", "IN ITS ROOM", "COOKING"):
        assert words not in page
