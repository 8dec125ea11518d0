"""``--set KEY=VALUE``: what-ifs without editing the file."""

import pytest

from moldwin.inputs.errors import InputError
from moldwin.inputs.read_job import check_job, read_job
from moldwin.inputs.settings import apply_settings


def job(**sections):
    return {
        "ingredient": [
            {"card": "potato-starch", "mass_g": 300, "lot": "a"},
            {"card": "glycerol", "mass_g": 60},
            {"card": "potato-starch", "mass_g": 100, "lot": "b"},
        ],
        "pellets": {"moisture_pct": 13.5},
        **sections,
    }


def masses(read):
    return [(row.card, round(row.mass * 1000, 9)) for row in read.ingredients]


def test_a_later_setting_wins():
    read = read_job(job(), ["pellets.moisture_pct=16", "pellets.moisture_pct=18"])
    assert read.pellets.moisture == pytest.approx(0.18)


@pytest.mark.parametrize(
    ("text", "section", "field", "si"),
    [
        ("mold.temperature_c=80", "mold", "temperature", 353.15),
        ("blend.cooked=false", "blend", "cooked", False),
        ("blend.cooked=False", "blend", "cooked", False),
        ("part.specimen=ISO 527-2 1BA", "part", "specimen", "ISO 527-2 1BA"),
        ('part.specimen="ISO 527-2 1BA"', "part", "specimen", "ISO 527-2 1BA"),
        ("mold.cavities=2", "mold", "cavities", 2),
        ("room.humidity_pct = 48", "room", "humidity", 0.48),
        ("press.force_kn=5.", "press", "force", 5000.0),
        ("sheet.plate=7", "sheet", "plate", "7"),
        ("jar.sources=NaCl, KCl", "jar", "sources", ("NaCl", "KCl")),
        ('jar.sources=["NaCl"]', "jar", "sources", ("NaCl",)),
    ],
)
def test_values_are_toml_or_bare_text(text, section, field, si):
    value = getattr(getattr(read_job(job(), [text]), section), field)
    assert value == (pytest.approx(si) if isinstance(si, float) else si)


def test_the_title_can_be_set():
    assert read_job(job(), ["title=What if"]).title == "What if"


def test_an_ingredient_that_is_not_there_gets_a_row():
    read = read_job(job(), ["ingredient.sorbitol.mass_g=40", "ingredient.sorbitol.moisture_pct=1"])
    assert masses(read)[-1] == ("sorbitol", 40)
    assert read.ingredients[-1].moisture == pytest.approx(0.01)


def test_rows_of_one_card_share_the_new_total_as_before():
    read = read_job(job(), ["ingredient.potato-starch.mass_g=200"])
    assert masses(read) == [("potato-starch", 150), ("glycerol", 60), ("potato-starch", 50)]


def test_other_keys_go_to_every_row_of_the_card():
    read = read_job(job(), ["ingredient.potato-starch.moisture_pct=15"])
    assert [row.moisture for row in read.ingredients] == [0.15, None, 0.15]


def test_mass_zero_leaves_a_card_out_and_says_so():
    read = read_job(job(), ["ingredient.glycerol.mass_g=0"])
    assert [row.card for row in read.ingredients] == ["potato-starch", "potato-starch"]
    assert any("glycerol is left out" in note for note in read.notes)


def test_faults_still_name_the_setting_after_a_row_was_left_out():
    sets = ["ingredient.sorbitol.mass_g=-4", "ingredient.glycerol.mass_g=0"]
    assert [fault.file for fault in check_job(job(), sets)] == ["--set"]


def test_a_solid_is_addressed_by_its_number_from_0():
    solid = {"shape": "plate", "length_mm": 50, "width_mm": 10, "thickness_mm": 2}
    read = read_job(job(part={"solid": [solid]}), ["part.solid.0.length_mm=60"])
    assert read.part.solids[0].length == pytest.approx(0.06)


@pytest.mark.parametrize(
    ("section", "table", "text", "gone"),
    [
        ("press", {"force_kn": 3}, "press.melt_pressure_mpa=9", "force_kn"),
        ("press", {"lever_force_n": 200, "lever_ratio": 9}, "press.force_kn=2", "lever_ratio"),
        ("part", {"solid": [{"shape": "sphere", "diameter_mm": 9}]},
         "part.specimen=ISO 178 bar", "solid"),
        ("jar", {"bed_depth_cm": 1}, "jar.bed_area_cm2=60", "bed_depth_cm"),
        ("pellets", {"weighings": "none.csv"}, "pellets.moisture_pct=9", "weighings"),
    ],
)  # fmt: skip
def test_another_way_to_say_it_takes_the_place_of_the_first(section, table, text, gone):
    read = read_job(job(**{section: table}), [text])
    assert gone not in read.raw[section]
    assert any(gone in note for note in read.notes)


def test_an_uncertainty_does_not_push_the_value_out():
    read = read_job(job(), ["pellets.moisture_u_pct=0.5"])
    assert (read.pellets.moisture, read.pellets.moisture_u) == (0.135, 0.005)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("pellets.moisture=16", "moisture_pct"),
        ("pelets.moisture_pct=16", "pellets"),
        ("force_kn=3", "press.force_kn"),
        ("pellets=3", "pellets.KEY=VALUE"),
        ("pellets.=3", "pellets.KEY=VALUE"),
        ("pellets.moisture_pct", "KEY=VALUE"),
        ("=3", "KEY=VALUE"),
        ("ingredient.glycerol=3", "ingredient.CARD.KEY=VALUE"),
        ("ingredient.glycerol.mass=3", "mass_g"),
        ("ingredient.glycerin.mass_g=3", "glycerol"),
        ("ingredient.sorbitol.lot=x", "no sorbitol"),
        ("ingredient.glycerol.mass_g=-3", "got -3"),
        ("ingredient.glycerol.mass_g=lots", "a number belongs here"),
        ("part.solid.0.length_mm=3", "0 solids"),
        ("part.solid.length_mm=3", "counting from 0"),
        ("part.solid.²x.length_mm=3", "counting from 0"),
        ("pellets.moisture_pct=0.16", "did you mean 16?"),
        ("pellets.moisture_pct=13,5", "13.5"),
        ("pellets.moisture_pct=nan", "nan"),
        ("pellets.moisture_pct=true", "got true"),
        ("pellets.moisture_pct=", "a number belongs here"),
        ("pellets.moisture_pct=" + "[" * 100_000, "a number belongs here"),
        ("pellets.moisture_pct=1\nmass_g=3", "a number belongs here"),
        ("price.potato-starsh=3", "potato-starch"),
        ("x" * 5000 + "=1", "is not a section"),
    ],
)
def test_a_wrong_setting_is_told_with_what_to_write(text, said):
    with pytest.raises(InputError) as caught:
        read_job(job(), [text])
    message = str(caught.value)
    assert said in message
    assert message.startswith("--set")
    assert len(message) < 600


def test_all_wrong_settings_are_told_at_once():
    faults = check_job(job(), ["pellets.moist=1", "press.forc_kn=2", "pellets.moisture_pct=120"])
    assert len(faults) == 3


def test_a_line_break_in_a_value_smuggles_no_second_key():
    assert apply_settings({}, ["room.altitude_m=1\nvalue2 = 2"]).raw["room"] == {
        "altitude_m": "1\nvalue2 = 2"
    }


def test_the_files_uncertainty_does_not_excuse_a_fraction_that_was_set():
    wet = job(pellets={"moisture_pct": 13.5, "moisture_u_pct": 0.5})
    assert "did you mean 13?" in str(check_job(wet, ["pellets.moisture_pct=0.13"])[0])
    both = ["pellets.moisture_pct=0.5", "pellets.moisture_u_pct=0.1"]
    assert read_job(wet, both).pellets.moisture == pytest.approx(0.005)
