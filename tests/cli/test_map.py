"""``moldwin map`` as a user meets it: text, data, picture, and what is refused."""

from __future__ import annotations

import importlib.util
import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from moldwin.advice import mapped
from moldwin.cli import map as command
from moldwin.cli.app import run
from tests.jobs import BAR, EXAMPLES, KELP

#: Few points and samples: what is tested here does not depend on them.
QUICK = ("--grid", "10", "--samples", "64")


@pytest.fixture
def cli(capsys):
    """Runs ``moldwin map`` quickly: exit code, stdout, stderr."""

    def call(*arguments: str, quick: bool = True) -> tuple[int, str, str]:
        code = run(["map", *arguments, *(QUICK if quick else ())])
        out, err = capsys.readouterr()
        return code, out, err

    return call


# ---------------------------------------------------------------------------- text and data


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_text_and_data_for_every_example(cli, example):
    code, page, err = cli(str(example))
    assert (code, err) == (0, "")
    assert "% water in the pellets (wet basis)" in page
    assert max(len(line) for line in page.splitlines()) <= 80
    code, text, _ = cli(str(example), "--json")
    assert code == 0
    found = json.loads(text)
    assert found["schema"] == "moldwin.map/1"
    assert np.shape(found["chance"]) == (len(found["barrel_c"]), len(found["moisture_pct"]))
    assert np.shape(found["soak_s"]) == np.shape(found["chance"])
    every, barrel = np.array(found["chance"]), np.array(found["barrel_chance"])
    assert (every <= barrel).all()
    assert len(found["limits_soak_s"]) == len(found["moisture_pct"])
    for name in ("barrel_c", "moisture_pct"):
        assert found[name] == sorted(found[name])
    assert {limit["name"] for limit in found["limits"]} >= {"weld", "fill", "browning", "heater"}
    assert {limit["side"] for limit in found["limits"] + found["moisture_limits"]} == {
        "low",
        "high",
    }
    for place in (found["now"], found["target"]):
        assert set(place) == {"moisture_pct", "barrel_c", "soak_s", "chance", "barrel_chance"}
        assert place["chance"] <= place["barrel_chance"]


def test_the_default_grid_has_40_points_a_side(cli):
    found = json.loads(cli("--json", "--samples", "64", quick=False)[1])
    assert len(found["barrel_c"]) == len(found["moisture_pct"]) == 40


def test_the_data_agree_with_the_advice(capsys):
    assert run(["advise", str(KELP), "--json"]) == 0
    advice = json.loads(capsys.readouterr().out)
    assert run(["map", str(KELP), "--json", "--grid", "10"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["now"]["moisture_pct"] == pytest.approx(advice["moisture"]["now_pct"])
    assert found["now"]["barrel_chance"] == advice["barrel"]["chance"]
    assert found["now"]["barrel_c"] == advice["barrel"]["best_c"]
    after = advice["after_conditioning"]
    assert found["target"]["moisture_pct"] == pytest.approx(advice["moisture"]["target_best_pct"])
    assert found["target"]["barrel_chance"] == after["barrel"]["chance"]
    assert found["target"]["soak_s"] == after["soak_s"]
    limits = {row["name"]: row["moisture_pct"] for row in found["moisture_limits"]}
    assert limits == {row["name"]: row["moisture_pct"] for row in advice["moisture"]["limits"]}


def test_without_a_job_the_bundled_example_is_titled_so(cli):
    assert cli()[1].startswith("Bundled example, not your blend\n")
    assert not cli(str(BAR))[1].startswith("Bundled example")


def test_the_same_seed_gives_the_same_map_and_another_does_not(cli):
    first, again, other = (cli("--json", "--seed", seed)[1] for seed in ("5", "5", "6"))
    assert first == again != other


def test_confidence_and_settings_reach_the_map(cli):
    found = json.loads(cli("--json", "--confidence", "0.6", "--set", "pellets.moisture_pct=7.5")[1])
    assert found["confidence"] == 0.6
    assert found["now"]["moisture_pct"] == pytest.approx(7.5)


def test_where_advise_says_do_not_heat_no_temperature_is_named(cli, tmp_path):
    job = tmp_path / "job.toml"
    job.write_text(
        '[[ingredient]]\ncard = "plant-protein"\nmass_g = 100\nmoisture_pct = 8\n'
        '[[ingredient]]\ncard = "corn-starch"\nmass_g = 40\n[pellets]\nmoisture_pct = 12\n'
    )
    found = json.loads(cli(str(job), "--json")[1])
    assert [row["code"] for row in found["warnings"] if row["severity"] == "stop"]
    assert found["now"]["barrel_c"] is found["now"]["soak_s"] is None
    assert found["target"]["barrel_c"] is None
    page = cli(str(job))[1]
    assert "Do not heat this" in page
    assert "STOP" in page


def test_what_is_unsure_is_told(cli):
    codes = [row["code"] for row in json.loads(cli(str(KELP), "--json")[1])["warnings"]]
    assert "unmeasured-material" in codes


# --------------------------------------------------------------------------------- pictures


@pytest.mark.parametrize(("name", "start"), [("map.png", b"\x89PNG"), ("map.SVG", b"<?xml")])
def test_a_picture_is_drawn_and_said(cli, tmp_path, name, start):
    path = tmp_path / name
    code, out, err = cli(str(KELP), "-o", str(path))
    assert (code, err) == (0, "")
    assert path.read_bytes().startswith(start)
    assert os.listdir(tmp_path) == [name]
    assert str(path) in out
    assert "target: " in out


def test_data_and_picture_together(cli, tmp_path):
    path = tmp_path / "map.svg"
    code, out, _ = cli("-o", str(path), "--json")
    assert code == 0
    assert json.loads(out)["schema"] == "moldwin.map/1"
    assert path.exists()


def test_nothing_is_overwritten_without_force(cli, tmp_path):
    path = tmp_path / "map.svg"
    path.write_bytes(b"old")
    code, out, err = cli("-o", str(path))
    assert (code, out) == (2, "")
    assert "--force" in err
    assert path.read_bytes() == b"old"
    assert cli("-o", str(path), "--force")[0] == 0
    assert path.read_bytes() != b"old"


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("map.gif", "allowed: .png, .svg"),
        ("map", "allowed: .png, .svg"),
        ("", "is a folder"),
        ("nowhere/map.png", "no such folder"),
    ],
)
def test_a_picture_that_cannot_be_is_refused_before_anything_is_computed(
    cli, tmp_path, monkeypatch, name, said
):
    monkeypatch.setattr(mapped, "map_job", None)  # calling it would fail
    code, out, err = cli("-o", os.path.join(tmp_path, name))
    assert (code, out) == (2, "")
    assert said in err
    assert "Traceback" not in err
    assert os.listdir(tmp_path) == []


def test_without_the_drawing_library_the_extra_is_named(cli, tmp_path, monkeypatch):
    whole = importlib.util.find_spec
    monkeypatch.setattr(
        importlib.util, "find_spec", lambda name: None if name == "matplotlib" else whole(name)
    )
    code, out, err = cli("-o", str(tmp_path / "map.png"))
    assert (code, out) == (2, "")
    assert "pip install 'moldwin[pictures]'" in err
    assert cli()[0] == 0  # the text needs none


def test_text_and_data_load_no_drawing_library():
    code = (
        "import sys\n"
        "from moldwin.cli.app import run\n"
        f"assert run({['map', *QUICK]}) == 0 and run({['map', '--json', *QUICK]}) == 0\n"
        "sys.exit('matplotlib' in sys.modules or 'pandas' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False)
    assert done.returncode == 0, done.stderr


# ------------------------------------------------------------------------------ what is wrong


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--grid", "9"], "allowed: 10 to 200"),
        (["--grid", "201"], "allowed: 10 to 200"),
        (["--grid", "many"], "--grid"),
        (["--samples", "1"], "allowed: 64 to 16384"),
        (["--confidence", "0.4"], "allowed: 0.5 to 0.99"),
        (["--confidence", "70"], "did you mean 0.7?"),
        (["no-such-job.toml"], "no such file"),
        (["--set", "pellets.moisture=12"], "did you mean 'moisture_pct'?"),
        (["one.toml", "two.toml"], "two.toml"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_a_wrong_command_line_gets_a_sentence_and_exit_2(cli, arguments, said):
    code, out, err = cli(*arguments, quick=False)
    assert (code, out) == (2, "")
    assert said in err
    assert "Traceback" not in err


# ------------------------------------------------------------------------- progress and Ctrl-C


def test_a_bar_is_shown_to_a_person_and_to_nobody_else(monkeypatch):
    with command.progress("map") as tick:
        assert tick is None
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    with command.progress("map") as tick:
        assert tick is not None
        tick(1, 40)


def test_nothing_of_the_bar_reaches_a_file(cli):
    assert cli()[2] == ""


@pytest.mark.parametrize("where", ["map_job", "picture"])
def test_ctrl_c_exits_130_and_leaves_no_file(cli, tmp_path, monkeypatch, where):
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    if where == "map_job":
        monkeypatch.setattr(mapped, "map_job", stopped)
    else:
        monkeypatch.setattr(os, "replace", stopped)
    code, out, err = cli("-o", str(tmp_path / "map.svg"))
    assert (code, out) == (130, "")
    assert "Traceback" not in err
    assert os.listdir(tmp_path) == []


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_disk_under_stdout_is_told():
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "moldwin", "map", *QUICK],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 2
    assert done.stderr.startswith("stdout: the answer cannot be written:")
