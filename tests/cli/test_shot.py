"""``moldwin shot`` as a user meets it."""

from __future__ import annotations

import io
import json
import os
import sys

import numpy as np
import pytest

from moldwin.cli.app import run
from moldwin.physics.mesh import measure
from moldwin.physics.specimens import SPECIMENS
from tests.jobs import BAR, DRY, EXAMPLES
from tests.meshes import BOX, box, turned, write_stl

BARS = ["shot", "--specimen", "ISO 527-2 1BA", "--cavities", "2"]


def _told(capsys, *arguments):
    assert run([*arguments, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def _plate(tmp_path, corners=BOX):
    return ["shot", "--mesh", str(write_stl(tmp_path / "plate.stl", corners)), "--mesh-unit", "mm"]


# ------------------------------------------------------------------ the page


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_answers(capsys, example):
    code = run(["shot", str(example)])
    page, err = capsys.readouterr()
    assert (code, err) == (0, "")
    assert max(len(line) for line in page.splitlines()) <= 80
    for heading in ("THE PART", "WHAT TO LOAD", "WHETHER IT FITS AND HOLDS", "HOW LARGE TO CUT"):
        assert heading in page


def test_two_bars_on_the_example_press(capsys):
    """What to load, how full that makes the barrel, whether the clamp holds; and whose press."""
    assert run(BARS) == 0
    page, err = capsys.readouterr()
    assert "The shot for 2 x ISO 527-2 1BA." in page
    for words in ("load ", "of pellets as they are", "full of melt", "clamp ", "has 10 kN: holds"):
        assert words in page, words
    assert "note: no job was named: blend, press and mold are those of the bundled example" in err


def test_the_list_shows_every_specimen(capsys):
    assert run(["shot", "--list"]) == 0
    page = capsys.readouterr().out
    assert max(len(line) for line in page.splitlines()) <= 80
    for name in SPECIMENS:
        assert f"{name}: " in page
    assert "long 170, narrow part 80 ± 2, wide 10 ± 0.2, ends 20 ± 0.2, thick 4 ± 0.2" in page
    assert "ISO 527-2:2012" in page


def test_the_list_as_data(capsys):
    rows = _told(capsys, "shot", "--list")["specimens"]
    assert [row["name"] for row in rows] == list(SPECIMENS)
    bar = next(row for row in rows if row["name"] == "ISO 178 bar")
    assert bar["tolerance_mm"]["overall_length"] == pytest.approx([-2, 2])
    assert bar["volume_low_cm3"] < bar["volume_cm3"] < bar["volume_high_cm3"]


def test_a_job_without_a_part_makes_nothing_up(capsys, tmp_path):
    text, _, after = BAR.read_text(encoding="utf-8").partition("[part]")
    path = tmp_path / "job.toml"
    path.write_text(text + after[after.index("[room]") :], encoding="utf-8")
    told = _told(capsys, "shot", str(path))
    assert (told["part_cm3"], told["charge_g"]) == (None, None)
    assert run(["shot", str(path)]) == 0
    assert "Nothing is made up" in capsys.readouterr().out
    assert run(["shot", str(path), "-o", str(tmp_path / "p.png")]) == 2
    assert "no part to draw" in capsys.readouterr().err


def test_a_part_too_large_says_how_many_shots_and_that_a_ram_cannot(capsys):
    assert run(["shot", "--specimen", "ASTM D638 III"]) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert "it would take 7 shots, and a small ram cannot do it in one" in page
    assert "The charge does not fit" in page


# ------------------------------------------------------------------ the data


def test_the_shot_is_that_of_advise(capsys):
    told = _told(capsys, "shot", str(BAR))
    advised = _told(capsys, "advise", str(BAR))["shot"]
    assert {key: told[key] for key in advised} == advised
    assert told["schema"] == "moldwin.shot/1"
    assert told["closed"] is True


def test_a_mesh_in_a_job_is_advised_on(capsys, tmp_path):
    text = BAR.read_text(encoding="utf-8")
    path = tmp_path / "job.toml"
    path.write_text(
        text.replace('specimen = "ISO 527-2 1BA"', 'mesh = "plate.stl"\nmesh_unit = "mm"')
    )
    write_stl(tmp_path / "plate.stl", BOX)
    advised = _told(capsys, "advise", str(path))["shot"]
    assert advised["part_cm3"] == pytest.approx(3.2)
    told = _told(capsys, "shot", str(path))
    assert {key: told[key] for key in advised} == advised


def test_charge_is_volume_times_density_within_their_intervals(capsys):
    told = _told(capsys, *BARS)
    nozzle = np.pi / 4 * 0.3**2 * 1.0
    volume = 1.1 * told["shot_cm3"] + nozzle
    likely = volume * told["melt_density_g_cm3"]["likely"]
    assert told["charge_g"]["likely"] == pytest.approx(likely, rel=5e-3)
    assert told["charge_dry_g"]["likely"] == pytest.approx(
        0.9 * told["charge_g"]["likely"], rel=5e-3
    )
    shots = told["batch_g"] / told["charge_g"]["likely"]
    assert told["shots_in_batch"]["likely"] == pytest.approx(shots, abs=1.0)
    assert told["packed_density_g_cm3"]["likely"] > told["melt_density_g_cm3"]["likely"]


def test_the_scale_undoes_both_shrinkages(capsys):
    told = _told(capsys, *BARS)["shrinkage"]
    cooling, drying = (told[f"{name}_pct"]["likely"] / 100 for name in ("cooling", "drying"))
    assert told["scale"]["likely"] == pytest.approx(1 / (1 - cooling) / (1 - drying), abs=2e-3)
    assert 1.5 <= told["cooling_pct"]["likely"] <= 2.0


def test_wetter_pellets_shrink_more(capsys):
    dry, wet = (
        _told(capsys, *BARS, "--set", f"pellets.moisture_pct={w}")["shrinkage"]["drying_pct"]
        for w in (9, 11)
    )
    assert wet["likely"] > dry["likely"]


def test_runners_by_hand(capsys):
    """A tapered rod and a trapezoid, for the charge and for the clamp."""
    plain = _told(capsys, *BARS, "--runner", "rod:4x20")
    told = _told(capsys, *BARS, "--runner", "cone:6x4x30 + trapezoid:5x4x4x20")
    cone = np.pi / 12 * 30 * (36 + 24 + 16)
    assert told["runner_cm3"] == pytest.approx(1e-3 * (cone + 4.5 * 4 * 20))
    shadow = told["projected_area_cm2"] - plain["projected_area_cm2"]
    assert shadow == pytest.approx(1e-2 * (150 + 100 - 80))


def test_a_solid_with_a_hole_by_hand(capsys):
    told = _told(capsys, "shot", "--solid", "plate:60x15x3 - disc:4x3")
    assert told["part_cm3"] == pytest.approx(1e-3 * (2700 - np.pi * 12))
    assert told["mesh"] is None


def test_a_mesh_and_the_same_plate_agree(capsys, tmp_path):
    mesh = _told(capsys, *_plate(tmp_path), "--gate", "0,5,2")
    solid = _told(capsys, "shot", "--solid", "plate:80x10x4")
    for key in ("part_cm3", "shot_cm3", "projected_area_cm2", "wall_mm"):
        assert mesh[key] == pytest.approx(solid[key], rel=1e-6), key
    assert mesh["flow_length_mm"] == pytest.approx(solid["flow_length_mm"], rel=0.03)
    assert mesh["charge_g"]["likely"] == pytest.approx(solid["charge_g"]["likely"], rel=0.03)
    assert mesh["mesh"]["box_mm"] == pytest.approx([80, 10, 4])


def test_the_clamp_axis_turns_the_shadow(capsys, tmp_path):
    told = _told(capsys, *_plate(tmp_path), "--clamp-axis", "x")
    assert told["projected_area_cm2"] == pytest.approx(0.4)


@pytest.mark.parametrize(
    ("corners", "words"),
    [
        (turned(BOX), "inside out"),
        (np.concatenate([BOX, box((60, 2, 1), (100, 8, 3))]), "of the volume lies in two at once"),
        (np.concatenate([BOX, BOX + np.tile([0, 20, 0], 3)]), "holds 2 bodies"),
        (np.concatenate([BOX, BOX + np.tile([0, 20, 0], 3)]), "from one body to the other"),
        (np.concatenate([BOX, turned(box((10, 2, 1), (20, 8, 3)))]), "1 hollow inside"),
        (np.concatenate([BOX, BOX[3:4]]), "more than once (1 too many)"),
    ],
    ids=["inside-out", "overlap", "bodies", "apart", "void", "twins"],
)
def test_what_is_odd_about_a_mesh_is_told(capsys, tmp_path, corners, words):
    assert run(_plate(tmp_path, corners)) == 0
    assert words in " ".join(capsys.readouterr().out.split())


# ------------------------------------------------------------------ files written


@pytest.mark.parametrize("kind", ["png", "svg"])
@pytest.mark.parametrize("part", ["mesh", "specimen", "solid"])
def test_a_picture_is_drawn_the_same_each_time_and_never_over_a_file(capsys, tmp_path, kind, part):
    pytest.importorskip("matplotlib")
    call = {
        "mesh": _plate(tmp_path),
        "specimen": BARS,
        "solid": ["shot", "--solid", "plate:60x15x3+2*cone:6x3x10-disc:4x3"],
    }[part]
    path = tmp_path / f"part.{kind}"
    call = [*call, "-o", str(path)]
    assert run(call) == 0
    assert f"drawn in {path}" in capsys.readouterr().err
    drawn = path.read_bytes()
    assert drawn.startswith(b"\x89PNG" if kind == "png" else b"<?xml")
    assert run(call) == 2
    assert "--force" in capsys.readouterr().err
    assert run([*call, "--force"]) == 0
    assert path.read_bytes() == drawn


def test_the_cavity_is_the_part_enlarged(capsys, tmp_path):
    path = tmp_path / "cavity.stl"
    call = [*_plate(tmp_path), "--cavity-out", str(path)]
    scale = _told(capsys, *call)["shrinkage"]["scale"]["likely"]
    size = measure(path, "mm")
    assert size.closed
    assert size.volume == pytest.approx(3.2e-6 * scale**3, rel=1e-5)
    assert run(call) == 2
    assert "--force" in capsys.readouterr().err
    assert sorted(os.listdir(tmp_path)) == ["cavity.stl", "plate.stl"]


def test_the_cavity_never_goes_over_the_part_itself(capsys, tmp_path):
    """Enlarged twice over, nobody would know the part's size any more."""
    call = _plate(tmp_path)
    path = tmp_path / "plate.stl"
    before = path.read_bytes()
    assert run([*call, "--cavity-out", str(path), "--force"]) == 2
    out, err = capsys.readouterr()
    assert (out, path.read_bytes()) == ("", before)
    assert "is the mesh of the part" in err


# ------------------------------------------------------------------ a mesh in a job


def _mesh_job(tmp_path, *lines):
    write_stl(tmp_path / "plate.stl", BOX)
    text = BAR.read_text(encoding="utf-8")
    own = "\n".join(['mesh = "plate.stl"', 'mesh_unit = "mm"', *lines])
    path = tmp_path / "job.toml"
    path.write_text(text.replace('specimen = "ISO 527-2 1BA"', own), encoding="utf-8")
    return ["shot", str(path)]


_GATE = ("gate_x_mm = 40", "gate_y_mm = 5", "gate_z_mm = 4")


def test_a_job_says_where_clamp_and_gate_are(capsys, tmp_path):
    told = _told(capsys, *_mesh_job(tmp_path, 'clamp_axis = "x"', *_GATE))
    assert told["projected_area_cm2"] == pytest.approx(0.4)
    straight = np.hypot(40, np.hypot(5, 4))
    assert straight <= told["flow_length_mm"] <= 1.05 * straight + 0.5  # and a cell of half a mm
    typed = _told(
        capsys, *_mesh_job(tmp_path, 'clamp_axis = "x"'), "--clamp-axis", "y", "--gate", "0,5,2"
    )
    assert typed["projected_area_cm2"] == pytest.approx(3.2)
    assert typed["flow_length_mm"] > 75


def test_another_part_by_set_takes_clamp_and_gate_along(capsys, tmp_path):
    call = _mesh_job(tmp_path, 'clamp_axis = "x"', *_GATE)
    assert _told(capsys, *call, "--set", "part.specimen=ISO 178 bar")["part"] == "ISO 178 bar"


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        (["gate_x_mm = 1"], "part.gate_x_mm: needs part.gate_y_mm"),
        (['clamp_axis = "up"'], "allowed: x, y, z"),
        (["gate_x_mm = 400", "gate_y_mm = 5", "gate_z_mm = 4"], "320 mm outside"),
    ],
)
def test_a_gate_or_axis_that_cannot_be_is_told(capsys, tmp_path, lines, words):
    assert run(_mesh_job(tmp_path, *lines)) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err


# ------------------------------------------------------------------ odds and ends


def test_no_temperature_is_named_where_nobody_should_heat(capsys):
    assert run(["shot", str(DRY)]) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert "do not heat it yet" in page
    assert "°C;" not in page
    assert _told(capsys, "shot", str(DRY))["melt_c"] is None
    assert _told(capsys, "shot", str(BAR))["melt_c"] > 100


def test_who_knows_better_is_believed(capsys):
    told = _told(capsys, *BARS, "--flow-length-mm", "40", "--wall-mm", "2.5")
    assert (told["flow_length_mm"], told["wall_mm"]) == (pytest.approx(40), pytest.approx(2.5))


@pytest.mark.parametrize(("after", "shown"), [(0.0, True), (60.0, False)])
def test_a_bar_shows_only_where_it_takes_longer(monkeypatch, after, shown):
    from moldwin.cli._progress import progress

    screen = io.StringIO()
    screen.isatty = lambda: True
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setenv("TERM", "xterm")
    with progress("mesh", after=after) as tick:
        tick(1, 2)
    assert ("mesh" in screen.getvalue()) == shown


# ------------------------------------------------------------------ slips


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--specimen", "ISO 527-2 1C"], "no specimen is known"),
        (["--specimen", "ISO 178 bar", "--solid", "disc:4x3"], "given already by --specimen"),
        (["--solid", "plate:80x10"], "got 2"),
        (["--solid", "plate:1x1x1-disc:4x3"], "--solid: more volume is subtracted"),
        (["--set", "part.clamp_axis=x"], "needs part.mesh"),
        (["--mesh", "part.stl"], "--mesh-unit: is needed with it"),
        (["--mesh-unit", "mm"], "--mesh: is needed with it"),
        (["--mesh", "part.stl", "--mesh-unit", "km"], "allowed: mm, cm, m, in"),
        (["--mesh", "gone.stl", "--mesh-unit", "mm"], "No such file"),
        (["--cavities", "0"], "allowed: 1 to 1000"),
        (["--wall-mm", "900"], "--wall-mm: got 900"),
        (["--flow-length-mm", "0"], "--flow-length-mm: got 0"),
        (["--runner", "rod:6"], "got 1"),
        (["--gate", "0,0,0"], "for a mesh only"),
        (["--clamp-axis", "x"], "for a mesh only"),
        (["--clamp-axis", "w"], "allowed: x, y, z"),
        (["--cavity-out", "c.stl"], "enlarges a mesh"),
        (["--cavity-out", "c.obj"], "allowed: .stl"),
        (["-o", "p.pdf"], "allowed: .png, .svg"),
    ],
)
def test_what_is_wrong_is_a_sentence_and_exit_2(capsys, tmp_path, monkeypatch, arguments, words):
    monkeypatch.chdir(tmp_path)
    code = run(["shot", *arguments])
    out, err = capsys.readouterr()
    assert (code, out) == (2, "")
    assert words in err
    assert os.listdir(tmp_path) == []
