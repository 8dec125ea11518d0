"""What people type into ``moldwin new``: amounts, recipes, forces, parts."""

from __future__ import annotations

import math

import pytest

from moldwin.inputs.cards import Library
from moldwin.inputs.job_values import SlipError
from moldwin.inputs.new_answers import (
    is_unknown,
    read_barrel,
    read_force,
    read_moisture,
    read_mold,
    read_nozzle,
    read_part,
    read_pieces,
)
from moldwin.inputs.new_job import job_text, merged
from moldwin.inputs.toml_plain import parse_toml
from moldwin.inputs.typed_amounts import FORCES_N, LENGTHS_MM, MASSES_G, amount, amounts, number
from moldwin.inputs.typed_recipe import IN_A_POT, card_for, read_recipe

LIBRARY = Library()


@pytest.mark.parametrize(
    ("text", "value"), [("3", 3), ("3.5", 3.5), ("3,5", 3.5), ("0,250", 0.25), (" 12 ", 12)]
)
def test_numbers_with_point_or_comma(text, value):
    assert number(text) == value


@pytest.mark.parametrize("text", ["1,500", "1.234,5", "1,234.5", "1,5,0", "three", "", "1e5", "∞"])
def test_what_is_no_number_or_has_two_meanings(text):
    with pytest.raises(SlipError):
        number(text)


@pytest.mark.parametrize(
    ("text", "mm"),
    [("22", 22), ("22mm", 22), ("2,2 cm", 22), ('0.5"', 12.7), ("1 in", 25.4), ("500 µm", 0.5)],
)
def test_lengths(text, mm):
    assert amount(text, LENGTHS_MM, "mm", "22 mm") == pytest.approx(mm, abs=1e-9)


@pytest.mark.parametrize("text", ["60 x 15 x 3 mm", "60x15x3", "60 15 3", "6 × 1,5 × 0.3 cm",
                                  "60 mm by 15 mm by 3 mm", "60, 15, 3"])  # fmt: skip
def test_ways_to_write_three_sizes(text):
    assert amounts(text, LENGTHS_MM, "mm", "60 x 15 x 3 mm") == (60, 15, 3)


def test_units_are_those_of_the_standards():
    assert MASSES_G["lb"] == 453.59237  # international pound, exact
    assert MASSES_G["oz"] * 16 == pytest.approx(MASSES_G["lb"], rel=1e-12)
    assert FORCES_N["kg"] == 9.80665  # standard gravity, exact
    assert pytest.approx(MASSES_G["lb"] / 1000 * FORCES_N["kg"], rel=1e-7) == FORCES_N["lb"]


# -------------------------------------------------------------------------------- recipes


@pytest.mark.parametrize("role", IN_A_POT)
def test_every_card_is_found_by_its_own_name_and_without_its_hyphens(role):
    for name in LIBRARY.names(role):
        assert card_for(name, LIBRARY) == name
        assert card_for(name.replace("-", " ").title(), LIBRARY) == name


@pytest.mark.parametrize(
    ("words", "card"),
    [
        ("cornstarch", "corn-starch"),
        ("maize starch", "corn-starch"),
        ("tapioca", "cassava-starch"),
        ("kelp powder", "brown-seaweed-powder"),
        ("dried brown seaweed", "brown-seaweed-powder"),
        ("glycerine", "glycerol"),
        ("alginate", "sodium-alginate"),
        ("hemp fibres", "hemp-fiber"),
        ("agar agar", "agar"),
    ],
)
def test_what_kitchens_say(words, card):
    assert card_for(words, LIBRARY) == card


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("starch", "which one? cassava-starch, corn-starch"),
        ("rice", "did you mean 'rice-starch'?"),
        ("potatoe starch", "did you mean 'potato-starch'?"),
        ("glicerol", "did you mean 'glycerol'?"),
        ("red seaweed", "no material is known"),
        ("wheat flour", "no material is known"),
        ("press", "no material is known"),
        ("NaCl", "no material is known"),
    ],
)
def test_what_is_not_surely_meant_is_not_taken(words, said):
    with pytest.raises(SlipError, match=said.replace("?", r"\?")):
        card_for(words, LIBRARY)


@pytest.mark.parametrize(
    "text",
    [
        "300 g potato starch, 90 g glycerol",
        "0,3 kg potato starch;90 g glycerol",
        "300g potato-starch and 90g glycerin",
        "potato starch 300 g + glycerol 90 g",
        "potato starch: 300 g, glycerol: 90 g",
    ],
)
def test_one_recipe_in_many_ways(text):
    rows = [(row.card, row.mass_g) for row in read_recipe(text, LIBRARY)]
    assert rows == [("potato-starch", 300), ("glycerol", 90)]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("300 potato starch", "300 of what"),
        ("potato starch", "a mass and a material belong here"),
        ("300 g", "a mass and a material belong here"),
        ("90 ml glycerol", "weigh it"),
        ("70 % agar, 30 g glycerol", "write all of them alike"),
        ("0 g agar", "above 0"),
        ("-5 g agar", "a mass and a material belong here"),
        ("", "nothing can be molded"),
        ("300 g \x1b[31magar", "a mass and a material belong here"),
    ],
)
def test_a_recipe_that_cannot_be_told_is_refused(text, said):
    with pytest.raises(SlipError, match=said) as slip:
        read_recipe(text, LIBRARY)
    assert str(slip.value).isprintable()


# ---------------------------------------------------------------------------- the answers


@pytest.mark.parametrize(
    "text", ["25 kg x 14", "25 kg on a lever 1:14", "lever 14:1, 25 kg", "14 x 25 kg", "25kg*14"]
)
def test_ways_to_tell_of_a_lever(text):
    assert read_force(text) == {"press": {"lever_force_n": 245.2, "lever_ratio": 14}}


def test_a_lever_pushes_as_hard_as_its_force_alone():
    lever = read_force("30 kg x 12")["press"]
    alone = read_force("360 kg")["press"]
    product = lever["lever_force_n"] * lever["lever_ratio"] / 1000
    assert product == pytest.approx(alone["force_kn"], rel=1e-3)


@pytest.mark.parametrize(
    "text", ["3.5", "hard", "2 tons", "3 kN 4 kN", "8 MPa", "3 mm", "0:0 5 kg", "80 bar x 3"]
)
def test_a_force_without_a_unit_or_of_two_meanings_is_refused(text):
    with pytest.raises(SlipError):
        read_force(text)


def test_a_barrel_of_bore_and_depth_holds_a_cylinder():
    found = read_barrel("20 x 100 mm")["press"]
    assert found["barrel_capacity_cm3"] == pytest.approx(math.pi * 10**2 * 100 / 1000, rel=5e-3)
    with pytest.raises(SlipError, match="diameter comes first"):
        read_barrel("100 x 20")


def test_moisture_as_a_fraction_is_asked_about_but_percent_is_taken():
    assert read_moisture("0.5 %") == {"pellets": {"moisture_pct": 0.5}}
    with pytest.raises(SlipError, match="did you mean 12 %"):
        read_moisture("0.12")


def test_a_mold_without_heat_is_as_warm_as_its_room():
    assert read_mold("not heated", 19.5) == {"mold": {"temperature_max_c": 19.5}}
    assert read_mold("194 F", 19.5) == {"mold": {"temperature_max_c": 90.0}}


@pytest.mark.parametrize(
    ("text", "solid"),
    [
        ("3 x 60 x 15 mm", {"shape": "plate", "length_mm": 60, "width_mm": 15, "thickness_mm": 3}),
        ("disk 40 x 3", {"shape": "disc", "diameter_mm": 40, "thickness_mm": 3}),
        ("sphere Ø20 mm", {"shape": "sphere", "diameter_mm": 20}),
        ("cone 20 x 30", {"shape": "cone", "diameter_mm": 20, "length_mm": 30}),
    ],
)
def test_parts_of_one_solid(text, solid):
    assert read_part(text) == {"part": {"solid": [solid]}}


@pytest.mark.parametrize("text", ["iso 527-2 1ba", "1BA", "ISO  527-2 1BA"])
def test_specimens(text):
    assert read_part(text) == {"part": {"specimen": "ISO 527-2 1BA"}}


@pytest.mark.parametrize("text", ["60 x 15", "cup", "ISO 999", "part.stl", "frisbee 20 mm", "1AB"])
def test_parts_that_cannot_be_told(text):
    with pytest.raises(SlipError):
        read_part(text)


@pytest.mark.parametrize(("read", "text"), [(read_pieces, "3 mm"), (read_nozzle, "1 x 2 x 3")])
def test_a_size_too_few_or_too_many(read, text):
    with pytest.raises(SlipError):
        read(text)


def test_an_answer_of_none_is_an_answer():
    assert is_unknown(" ? ")
    assert not is_unknown("0")
    assert not is_unknown("no")


# -------------------------------------------------------------------------------- the file


@pytest.mark.parametrize("title", ['a "quoted" \\ title', "<script>alert(1)</script>", "é\u2028ü"])
def test_whatever_the_title_holds_the_file_says_just_that(title):
    tables = {"ingredient": [{"card": "agar", "mass_g": 1e-3}], "pellets": {"moisture_pct": 11}}
    text = job_text(tables, title, ["force", "barrel"], LIBRARY)
    # [press] stands there for what is to be filled in
    assert parse_toml(text, "job") == {"title": title, **tables, "press": {}}


def test_merging_changes_neither():
    one, other = {"press": {"force_kn": 3}}, {"press": {"clamp_kn": 9}, "part": {}}
    assert merged(one, other) == {"press": {"force_kn": 3, "clamp_kn": 9}, "part": {}}
    assert (one, other) == ({"press": {"force_kn": 3}}, {"press": {"clamp_kn": 9}, "part": {}})
