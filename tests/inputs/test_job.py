"""A good job is read as it stands: units, defaults, the ways to give a force, paths, examples."""

import math
import tomllib
from dataclasses import replace

import pytest

from moldwin.inputs.errors import InputError
from moldwin.inputs.files import shipped
from moldwin.inputs.job import Job, Press
from moldwin.inputs.job_keys import KEYS, SECTIONS, UNITS, keys_of
from moldwin.inputs.read_job import check_job, read_job

EXAMPLES = sorted(shipped("examples").glob("*.toml"))
SMALL = {
    "ingredient": [{"card": "potato-starch", "mass_g": 300}],
    "pellets": {"moisture_pct": 13.5},
}


def with_section(name, **values):
    return {**SMALL, name: values}


def test_the_smallest_job_is_accepted():
    job = read_job(SMALL)
    assert job.pellets.moisture == pytest.approx(0.135, rel=1e-15)
    assert job.ingredients[0].mass == pytest.approx(0.3, rel=1e-15)


def test_what_was_not_given_is_none_and_not_a_number():
    job = read_job(SMALL)
    left_out = [job.ingredients[0].moisture, job.press.force, job.room.humidity, job.mold.material]
    assert left_out == [None] * 4
    assert job.press.sealed_nozzle is None
    assert job.press.ram_force is None
    assert not job.part.given


def test_only_the_agreed_defaults_are_filled_in():
    job = read_job(SMALL)
    assert (job.blend.cooked, job.blend.washed, job.jar.fan) == (True, False, False)
    assert (job.mold.cavities, job.pellets.times_heated) == (1, 0)


@pytest.mark.parametrize(
    ("section", "key", "value", "field", "si"),
    [
        ("pot", "water_g", 700, "water", 0.7),
        ("pot", "cook_min", 20, "cook_time", 1200.0),
        ("pot", "cook_c", 90, "cook_temperature", 363.15),
        ("pot", "loss_pct", 4, "loss", 0.04),
        ("sheet", "spread_mm", 6, "spread", 0.006),
        ("sheet", "area_cm2", 1200, "area", 0.12),
        ("oven", "minutes", 90, "time", 5400.0),
        ("pellets", "bulk_density_g_cm3", 0.65, "bulk_density", 650.0),
        ("press", "force_kn", 3.5, "force", 3500.0),
        ("press", "melt_pressure_mpa", 9, "melt_pressure", 9e6),
        ("press", "barrel_capacity_cm3", 30, "barrel_capacity", 30e-6),
        ("press", "heater_u_c", 5, "heater_u", 5.0),
        ("press", "heater_max_c", 230, "heater_max", 503.15),
        ("mold", "runner_volume_cm3", 0.6, "runner_volume", 0.6e-6),
        ("room", "humidity_pct", 48, "humidity", 0.48),
        ("room", "temperature_c", 21, "temperature", 294.15),
        ("room", "altitude_m", 1500, "altitude", 1500.0),
        ("jar", "air_gap_cm", 4, "air_gap", 0.04),
        ("jar", "tray_g", 42, "tray", 0.042),
        ("use", "weeks", 2, "time", 14 * 86400.0),
        ("scale", "resolution_g", 0.1, "resolution", 1e-4),
    ],
)
def test_units_become_si(section, key, value, field, si):
    table = {**SMALL.get(section, {}), key: value}
    job = read_job(with_section(section, **table))
    assert getattr(getattr(job, section), field) == pytest.approx(si, rel=1e-12)


def test_the_force_comes_from_whichever_way_it_was_given():
    area = math.pi / 4 * 0.02**2
    plunger = {"plunger_diameter_mm": 20}
    given = {
        "force": {"force_kn": 4},
        "pressure": {"melt_pressure_mpa": 4e-3 / area, **plunger},
        "lever": {"lever_force_n": 200, "lever_ratio": 20},
        "gauge": {"gauge_mpa": 4e-3 / area, "jack_piston_diameter_mm": 20},
    }
    for way, keys in given.items():
        force = read_job(with_section("press", **keys)).press.ram_force
        assert force == pytest.approx(4000, rel=1e-12), way


def test_four_kilonewtons_on_twenty_millimeters_are_12_7_megapascal():
    press = read_job(with_section("press", plunger_diameter_mm=20, force_kn=4)).press
    assert press.packing_pressure == pytest.approx(12.7e6, abs=0.05e6)


def test_melt_pressure_alone_is_a_pressure_without_a_force():
    press = Press(melt_pressure=8e6)
    assert (press.packing_pressure, press.ram_force) == (8e6, None)


def test_the_barrel_is_as_wide_as_the_plunger_unless_told():
    assert read_job(with_section("press", plunger_diameter_mm=22)).press.barrel_diameter == 0.022
    wider = read_job(with_section("press", plunger_diameter_mm=22, barrel_diameter_mm=22.2))
    assert wider.press.barrel_diameter == pytest.approx(0.0222)


def test_a_measured_near_zero_moisture_is_taken_with_its_uncertainty():
    job = read_job(with_section("pellets", moisture_pct=0.4, moisture_u_pct=0.1))
    assert job.pellets.moisture == pytest.approx(0.004)


def test_solids_keep_their_own_sizes():
    solids = [
        {"shape": "box", "length_mm": 30, "width_mm": 20, "height_mm": 10, "count": 2},
        {"shape": "cone", "diameter_mm": 8, "length_mm": 12, "subtract": True},
    ]
    box, cone = read_job(with_section("part", solid=solids)).part.solids
    assert box.sizes() == {"length": 0.03, "width": 0.02, "height": 0.01}
    assert (box.count, box.subtract) == (2, False)
    assert (cone.tip_diameter, cone.subtract) == (None, True)


def test_paths_start_at_the_job_file_not_where_the_user_stands(tmp_path, monkeypatch):
    (tmp_path / "label.stl").write_text("solid a\nendsolid a\n")
    text = '[[ingredient]]\ncard = "agar"\nmass_g = 3\n[pellets]\nmoisture_pct = 9\n'
    text += '[part]\nmesh = "label.stl"\nmesh_unit = "mm"\n'
    (tmp_path / "job.toml").write_text(text)
    monkeypatch.chdir("/")
    assert read_job(str(tmp_path / "job.toml")).part.mesh == tmp_path / "label.stl"


def test_a_byte_order_mark_and_windows_line_ends_are_passed_over(tmp_path):
    text = '[[ingredient]]\r\ncard = "agar"\r\nmass_g = 3\r\n[pellets]\r\nmoisture_pct = 9\r\n'
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xef\xbb\xbf" + text.encode())
    assert read_job(path).pellets.moisture == pytest.approx(0.09)


def test_the_users_own_cards_are_known(tmp_path):
    own = tmp_path / "cards"
    own.mkdir()
    starch = (shipped("material_cards") / "potato-starch.toml").read_text()
    (own / "garden-starch.toml").write_text(starch.replace("potato-starch", "garden-starch"))
    text = '[[ingredient]]\ncard = "garden-starch"\nmass_g = 3\n[pellets]\nmoisture_pct = 9\n'
    (tmp_path / "job.toml").write_text(text)
    assert check_job(tmp_path / "job.toml") == []


def test_a_job_read_before_is_given_back_and_can_be_varied():
    job = read_job(SMALL)
    assert read_job(job) is job
    assert read_job(job, ["pellets.moisture_pct=20"]).pellets.moisture == pytest.approx(0.2)


def test_without_a_source_the_bundled_example_is_read_and_says_so():
    assert read_job().bundled
    assert not read_job(EXAMPLES[0]).bundled


def test_keys_that_change_nothing_are_remarked():
    job = read_job(with_section("pellets", moisture_pct=9, diameter_mm=3))
    assert any("diameter_mm is not used" in note for note in job.notes)


# ---------------------------------------------------------------------------- the key table


def test_every_key_of_the_table_lands_in_a_field_of_its_section():
    job = Job()
    for key in KEYS:
        if key.section in SECTIONS and key.section != "ingredient":
            assert hasattr(getattr(job, key.section), key.field), f"{key.section}.{key.key}"


def test_the_unit_ends_the_name_of_every_key_that_has_one():
    for key in KEYS:
        if key.unit and key.key not in ("minutes", "weeks"):
            ending = key.unit.removeprefix("delta_")
            assert key.key.endswith(f"_{ending}"), key.key


def test_bounds_are_in_order_and_the_units_are_known():
    for key in KEYS:
        assert key.unit in UNITS
        assert key.kind not in ("number", "integer") or key.low < key.high


def test_no_key_stands_twice():
    assert len({(key.section, key.key) for key in KEYS}) == len(KEYS)
    assert set(keys_of("price")) == set()


# -------------------------------------------------------------------------------- examples


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples_are_complete_jobs_without_faults_or_idle_keys(path):
    job = read_job(path)
    assert job.notes == ()
    assert job.part.given
    known = [job.press.ram_force, job.press.packing_pressure, job.press.barrel_capacity]
    known += [job.room.temperature, job.room.humidity, job.pellets.mass, job.press.sealed_nozzle]
    assert None not in known
    assert set(tomllib.loads(path.read_text())) == set(job.raw)


def test_the_bundled_pellets_are_70_20_10():
    job = read_job()
    dry = {row.card: row.mass * (1 - row.moisture) for row in job.ingredients}
    solids = 1 - job.pellets.moisture
    share = {card: solids * mass / sum(dry.values()) for card, mass in dry.items()}
    assert share["corn-starch"] == pytest.approx(0.70, abs=1e-12)
    assert share["glycerol"] == pytest.approx(0.20, abs=1e-12)


def test_the_dry_example_has_no_glycerol_and_the_kelp_one_only_a_little():
    dry = read_job(shipped("examples") / "dry-starch-no-glycerol.toml")
    kelp = read_job(shipped("examples") / "kelp-plant-labels.toml")
    assert [row.card for row in dry.ingredients] == ["potato-starch"]
    masses = {row.card: row.mass for row in kelp.ingredients}
    assert masses["glycerol"] < 0.15 * sum(masses.values())
    assert kelp.press.ram_force == pytest.approx(3500)


def test_a_job_cannot_be_changed_by_accident():
    job = read_job(SMALL)
    with pytest.raises(AttributeError):
        job.title = "other"
    assert replace(job, title="other").title == "other"


def test_reading_does_not_change_the_tables_it_was_given():
    before = {"ingredient": [{"card": "agar", "mass_g": 3}], "pellets": {"moisture_pct": 9}}
    after = {"ingredient": [{"card": "agar", "mass_g": 3}], "pellets": {"moisture_pct": 9}}
    read_job(before, ["ingredient.agar.mass_g=7", "pellets.moisture_pct=16"])
    assert before == after


def test_the_error_lists_every_fault():
    bad = {"ingredient": [{"card": "agar", "mass_g": -3}], "pellets": {"moisture_pct": 120}}
    with pytest.raises(InputError) as caught:
        read_job(bad)
    assert len(caught.value.faults) == 2
    assert caught.value.exit_code == 2
