"""Every way we know to get a job wrong: one clear sentence each, never a traceback."""

import os
import subprocess
import sys

import pytest

from moldwin.inputs.errors import InputError
from moldwin.inputs.read_job import check_job, read_job
from moldwin.inputs.text_files import MAX_BYTES

GOOD = """\
title = "test"
[[ingredient]]
card = "potato-starch"
mass_g = 300
[[ingredient]]
card = "glycerol"
mass_g = 60
[pellets]
moisture_pct = 13.5
"""


def faults_of(tmp_path, text):
    path = tmp_path / "job.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(InputError) as caught:
        read_job(path)
    assert caught.value.exit_code == 2
    return caught.value.faults


def only_fault(tmp_path, text):
    faults = faults_of(tmp_path, text)
    assert len(faults) == 1, [str(fault) for fault in faults]
    return faults[0]


def test_the_good_job_is_good(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(GOOD)
    assert check_job(path) == []


def test_a_link_to_a_file_that_is_gone_is_told_as_one(tmp_path):
    link = tmp_path / "job.toml"
    link.symlink_to(tmp_path / "gone.toml")
    with pytest.raises(InputError, match="a link to a file that is gone"):
        read_job(link)


# ------------------------------------------------------- values: what is put for 13.5 or 300


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("120", "0 to 60 %"),
        ("60.1", "0 to 60 %"),
        ("-1", "0 to 60 %"),
        ("nan", "got nan"),
        ("inf", "got inf"),
        ("-inf", "got -inf"),
        ("0.13", "did you mean 13?"),
        ("0.999", "drier than an oven leaves it. If"),
        ('"13.5"', "without quotes: 13.5"),
        ('"13,5"', "use a point and no quotes: 13.5"),
        ('"13 %"', "write the number alone: 13"),
        ('"dry"', 'the text "dry"'),
        ("true", "got true"),
        ("false", "got false"),
        ("[13.5]", "got a list"),
        ("{ value = 13.5 }", "got a table"),
        ("2024-05-01", "date or time 2024-05-01"),
        ("12:30:00", "date or time 12:30:00"),
        ("2024-05-01T12:00:00Z", "date or time 2024-05-01"),
        ("1" + "0" * 400, "more than 19 digits"),
        ("0x" + "f" * 6000, "more than 19 digits"),
        ("1" + "0" * 6000, "thousands of digits"),
        ("1e999", "got inf"),
        ("13,5", "13.5"),
        ("13.5 %", "not valid TOML"),
    ],
)
def test_a_moisture_that_cannot_be(tmp_path, value, said):
    text = GOOD.replace("moisture_pct = 13.5", f"moisture_pct = {value}")
    fault = only_fault(tmp_path, text)
    assert said in str(fault)
    assert "thousands" in said or fault.line == 9
    assert len(str(fault)) < 400 + len(str(tmp_path))


@pytest.mark.parametrize("value", ["-1", "0", "-0.0", "1000001", "1e300", "nan", "inf", '"300"'])
def test_a_mass_that_cannot_be(tmp_path, value):
    fault = only_fault(tmp_path, GOOD.replace("mass_g = 300", f"mass_g = {value}"))
    assert (fault.key, fault.line) == ("ingredient.potato-starch.mass_g", 4)
    assert "up to 1000000 g" in fault.message


def test_masses_that_sum_to_more_than_a_ton(tmp_path):
    text = GOOD.replace("300", "900000").replace("mass_g = 60", "mass_g = 900000")
    assert "1.8 tons" in only_fault(tmp_path, text).message


@pytest.mark.parametrize(
    ("section", "line", "said"),
    [
        ("room", "humidity_pct = 0.48", "did you mean 48?"),
        ("room", "humidity_pct = 101", "0 to 100 %"),
        ("room", "temperature_c = 294", "did you mean 20.85?"),
        ("room", "temperature_c = 70", "did you mean 21.11?"),
        ("press", "plunger_diameter_mm = 0.022", "did you mean 22?"),
        ("press", "force_kn = 3500", "did you mean 3.5?"),
        ("press", "force_kn = 0", "above 0, up to 500 kN"),
        ("press", "heater_max_c = 500", "looks like kelvin"),
        ("mold", "cavities = 1.5", "a whole number"),
        ("mold", "cavities = 0", "1 to 1000"),
        ("mold", "cavities = true", "got true"),
        ("blend", "cooked = 1", "true or false"),
        ("blend", 'cooked = "yes"', "true or false"),
        ("mold", "material = 3", "text in quotes"),
        ("mold", 'material = " "', "is empty"),
        ("mold", 'material = "aluminium"', "did you mean 'aluminum'?"),
        ("mold", 'material = "cheese"', "aluminum, brass, plaster"),
        ("mold", 'material = "corn-starch"', "no mold material is named"),
        ("sheet", f'plate = "{"x" * 400}"', "400 characters"),
        ("jar", 'sources = "NaCl"', "a list of names"),
        ("jar", "sources = []", "empty list"),
        ("jar", 'sources = ["NaCk"]', "did you mean 'NaCl'?"),
        ("jar", 'sources = ["corn-starch"]', "no humidity source"),
        ("jar", 'sources = ["Mg(NO3)2"]', "did you mean 'Mg-nitrate'?"),
        ("jar", 'sources = ["Ca(NO3)2"]', "known: CH3COOK"),
        ("jar", 'sources = ["potassium acetate"]', "did you mean 'CH3COOK'?"),
        ("press", "gauge_mpa = 9", "of the jack's oil, not of the melt"),
        ("part", 'specimen = "iso 527-2 1ba"', "did you mean 'ISO 527-2 1BA'?"),
        ("part", 'specimen = "1BA"', "did you mean 'ISO 527-2 1BA'?"),
        ("part", 'specimen = "ISO 1BA"', "did you mean 'ISO 527-2 1BA'?"),
        ("part", 'specimen = "spoon"', "ISO 178 bar"),
        ("price", 'glycerol = "4"', "a number belongs here"),
        ("price", "glycerine = 4", "did you mean 'glycerol'?"),
    ],
)
def test_a_value_out_of_bounds_says_what_was_meant(tmp_path, section, line, said):
    fault = only_fault(tmp_path, f"{GOOD}[{section}]\n{line}\n")
    assert said in fault.message
    assert fault.line == 11


# ------------------------------------------------------------------- keys, sections, cards


@pytest.mark.parametrize(
    ("old", "new", "said", "line"),
    [
        ("mass_g = 300", "mass = 300", "did you mean 'mass_g'?", 4),
        ("mass_g = 300", "mass_g = 300\nmoisture = 11", "did you mean 'moisture_pct'?", 5),
        ("moisture_pct", "moisture_pct = 9\nMass_g", "did you mean 'mass_g'?", 10),
        ("[pellets]", "[pellet]", "did you mean 'pellets'?", 8),
        ("[pellets]", "[Pellets]", "did you mean 'pellets'?", 8),
        ("[pellets]", "[mold]\nforce_kn = 3\n[pellets]", "did you mean 'press.force_kn'?", 9),
        ('title = "test"', "force_kn = 3", "did you mean 'press.force_kn'?", 1),
        ("potato-starch", "potatoe-starch", "did you mean 'potato-starch'?", 3),
        ("potato-starch", "Potato starch", "did you mean 'potato-starch'?", 3),
        ("potato-starch", "starch", "did you mean", 3),
        ("potato-starch", "NaCl", "humidity-source", 3),
    ],
)
def test_an_unknown_name_offers_the_nearest(tmp_path, old, new, said, line):
    faults = faults_of(tmp_path, GOOD.replace(old, new, 1))
    assert any(said in f.message and f.line == line for f in faults), [str(f) for f in faults]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (GOOD + "[pellets]\nmass_g = 3\n", "stands twice"),
        (GOOD + "mass_g = 3\nmass_g = 4\n", "stands twice"),
        (GOOD.replace("[[ingredient]]\ncard = \"glycerol\"", "[ingredient]\ncard = \"glycerol\""),
         "write [[ingredient]] in double brackets"),
        ("[ingredient]\n" + GOOD, "write [[ingredient]] in double brackets"),
        (GOOD.replace("[pellets]", "[[pellets]]"), "single brackets"),
        (GOOD + "[part]\n[part.solid]\nshape = \"sphere\"\n", "[[part.solid]]"),
        (GOOD + "[pellets.deeper]\nx = 1\n", "is not a key"),
        (GOOD.replace("[pellets]\nmoisture_pct", "pellets"), "is not a key of [[ingredient]]"),
        ("pellets = 13.5\n" + GOOD.replace("[pellets]\nmoisture_pct = 13.5\n", ""), "is a section"),
        ("ingredient = 3\n[pellets]\nmoisture_pct = 9\n", "[[ingredient]]"),
        ("ingredient = [3]\n[pellets]\nmoisture_pct = 9\n", "[[ingredient]]"),
        ("[ingredient]\ncard = \"agar\"\nmass_g = 3\n[pellets]\nmoisture_pct = 9\n",
         "double brackets"),
        ("price = 3\n" + GOOD, "is a section"),
    ],
)  # fmt: skip
def test_brackets_and_tables_in_the_wrong_place(tmp_path, text, said):
    faults = faults_of(tmp_path, text)
    assert any(said in str(f) for f in faults), [str(f) for f in faults]


def test_a_row_without_card_or_mass(tmp_path):
    faults = faults_of(tmp_path, GOOD + "[[ingredient]]\nlot = 'x'\n")
    assert [f.line for f in faults] == [10, 10]
    assert "row 3" in faults[0].key


@pytest.mark.parametrize("card", ["glycerol", "water", "vinegar"])
def test_ingredients_without_a_polymer(tmp_path, card):
    text = f'[[ingredient]]\ncard = "{card}"\nmass_g = 3\n[pellets]\nmoisture_pct = 9\n'
    assert f"no polymer among {card}" in only_fault(tmp_path, text).message


def test_a_polymer_that_is_all_water_is_none(tmp_path):
    text = GOOD.replace("mass_g = 300", "mass_g = 300\nmoisture_pct = 100")
    assert "no polymer" in only_fault(tmp_path, text).message


def test_an_ingredient_that_is_all_water_is_none(tmp_path):
    text = GOOD.replace("mass_g = 60", "mass_g = 60\nmoisture_pct = 100")
    fault = only_fault(tmp_path, text)
    assert fault.key == "ingredient.glycerol.moisture_pct"
    assert "water alone" in fault.message


@pytest.mark.parametrize(("grams", "fine"), [(0.01, False), (0.2, False), (3, True)])
def test_a_trace_of_polymer_is_nothing_to_mold(tmp_path, grams, fine):
    """From half a percent of the dry mass on there is an answer, if not a good one."""
    text = GOOD.replace("mass_g = 300", f"mass_g = {grams}")
    if not fine:
        assert "there is nothing to mold" in only_fault(tmp_path, text).message
    else:
        path = tmp_path / "job.toml"
        path.write_text(text)
        assert check_job(path) == []


def test_required_things_that_are_missing(tmp_path):
    faults = faults_of(tmp_path, 'title = "x"\n')
    assert {fault.key for fault in faults} == {"ingredient", "pellets.moisture_pct"}


# -------------------------------------------------------------------- rules between the keys


@pytest.mark.parametrize(
    ("section", "lines", "key"),
    [
        ("pellets", ["weighings = 'a.csv'"], "pellets.weighings"),
        ("pellets", ["shape = 'cylinder'", "diameter_mm = 3"], "pellets.length_mm"),
        ("pellets", ["shape = 'flake'"], "pellets.thickness_mm"),
        ("pellets", ["shape = 'slab'"], "pellets.thickness_mm"),
        ("pellets", ["shape = 'sphere'"], "pellets.diameter_mm"),
        ("blend", ["softening_c = 74"], "blend.softening_c"),
        ("blend", ["softening_moisture_pct = 9"], "blend.softening_moisture_pct"),
        ("press", ["lever_force_n = 200"], "press.lever_force_n"),
        ("press", ["gauge_mpa = 9"], "press.gauge_mpa"),
        ("press", ["force_kn = 3", "melt_pressure_mpa = 9"], "press.melt_pressure_mpa"),
        ("press", ["plunger_diameter_mm = 10", "nozzle_diameter_mm = 10"],
         "press.nozzle_diameter_mm"),
        ("press", ["nozzle_diameter_mm = 30"], "press.nozzle_diameter_mm"),
        ("press", ["plunger_diameter_mm = 2"], "press.plunger_diameter_mm"),
        ("mold", ["temperature_max_c = 12"], "mold.temperature_max_c"),
        ("press", ["plunger_diameter_mm = 20", "barrel_diameter_mm = 18"],
         "press.plunger_diameter_mm"),
        ("press", ["barrel_diameter_mm = 18", "spreader_diameter_mm = 18"],
         "press.spreader_diameter_mm"),
        ("press", ["plunger_diameter_mm = 4", "force_kn = 100"], "press.force_kn"),
        ("mold", ["temperature_c = 90", "temperature_max_c = 60"], "mold.temperature_c"),
        ("use", ["humidity_low_pct = 70", "humidity_high_pct = 40"], "use.humidity_low_pct"),
        ("part", ["mesh = 'none.stl'", "mesh_unit = 'mm'"], "part.mesh"),
        ("part", ["mesh_unit = 'mm'"], "part.mesh_unit"),
        ("part", ["specimen = 'ISO 178 bar'", "[[part.solid]]", "shape = 'sphere'",
                  "diameter_mm = 3"], "part.solid"),
    ],
)  # fmt: skip
def test_keys_that_do_not_go_together(tmp_path, section, lines, key):
    heading = "" if section == "pellets" else f"[{section}]\n"
    fault = only_fault(tmp_path, GOOD + heading + "\n".join(lines) + "\n")
    assert fault.key == key
    assert fault.line


@pytest.mark.parametrize(
    ("solid", "said"),
    [
        ("shape = 'plate'\nlength_mm = 3\nwidth_mm = 2", "is missing; a plate needs"),
        ("shape = 'disc'\ndiameter_mm = 9\nthickness_mm = 2\nlength_mm = 2", "means nothing"),
        ("shape = 'tube'\nouter_diameter_mm = 9\ninner_diameter_mm = 9\nlength_mm = 2", "smaller"),
        ("shape = 'cone'\ndiameter_mm = 9\ntip_diameter_mm = 10\nlength_mm = 2", "wider"),
        ("shape = 'pyramid'", "plate, box, disc"),
        ("length_mm = 3", "needs its shape"),
        ("shape = 'sphere'\ndiameter_mm = 0", "above 0"),
        ("shape = 'sphere'\ndiameter_mm = 3\nradius_mm = 2", "is not a key"),
        ("shape = 'sphere'\ndiameter_mm = 3\nsubtract = true", "taken away"),
    ],
)
def test_solids_that_cannot_be(tmp_path, solid, said):
    faults = faults_of(tmp_path, f"{GOOD}[[part.solid]]\n{solid}\n")
    assert any(said in f.message and f.line >= 10 for f in faults), [str(f) for f in faults]


# -------------------------------------------------------------------------------- files


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "is empty"),
        (b"# only a remark\n", "is empty"),
        (b"\x00\x01\x02\x03", "not a text file"),
        (GOOD.encode("utf-16"), "UTF-16"),
        (b"title = 'caf\xe9'\n", "not UTF-8"),
        (b"just some words\n", "not valid TOML"),
        (b"<html></html>", "not valid TOML"),
        (b"title = unquoted\n", "text needs quotes"),
        (b"a = " + b"[" * 100_000, "nested too deeply"),
        (b"[" + b"a." * 3000 + b"a]\n", "nested too deeply"),
        (b"a" * (MAX_BYTES + 1), "1 MB"),
    ],
)
def test_files_that_are_no_job(tmp_path, data, said):
    fault = only_fault(tmp_path, data)
    assert said in fault.message
    assert fault.file.endswith("job.toml")


def test_a_missing_file_offers_the_nearest(tmp_path):
    (tmp_path / "labels.toml").write_text(GOOD)
    with pytest.raises(InputError, match=r"no such file; did you mean 'labels\.toml'"):
        read_job(tmp_path / "label.toml")


@pytest.mark.parametrize("path", ["/dev/zero", "/dev/null", "/", "", "a\0b", "x" * 5000])
def test_folders_devices_and_impossible_names(path):
    with pytest.raises(InputError):
        read_job(path)


def test_a_pipe_is_not_waited_on(tmp_path):
    os.mkfifo(tmp_path / "pipe.toml")
    with pytest.raises(InputError, match="device or a pipe"):
        read_job(tmp_path / "pipe.toml")


def test_nothing_dangerous_reaches_the_terminal(tmp_path):
    text = GOOD + '"\\u001b[31mred" = 3\n"' + "k" * 3000 + '" = "\\u0007"\n'
    for fault in faults_of(tmp_path, text):
        assert str(fault).isprintable()
        assert len(str(fault)) < 600 + len(str(tmp_path))


def test_a_file_full_of_faults_is_cut_off(tmp_path):
    text = GOOD + "".join(f"key_{i} = {i}\n" for i in range(20000))
    faults = faults_of(tmp_path, text)
    assert len(faults) < 60
    assert "and more" in faults[-1].message


def test_the_tables_of_a_caller_are_held_to_the_same_rules():
    deep = {}
    inner = deep
    for _ in range(5000):
        inner["a"] = inner = {}
    for bad in (deep, {}, {1: 2}, {"pellets": None}, {"ingredient": [None]}):
        with pytest.raises(InputError):
            read_job(bad)


def test_reading_a_job_loads_no_numpy():
    code = (
        "import sys, moldwin.inputs.read_job as r; r.read_job(); sys.exit('numpy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
