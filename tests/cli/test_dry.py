"""``moldwin dry`` as a user meets it."""

from __future__ import annotations

import json

import pytest

from moldwin.cli.app import run
from tests.jobs import BAR, EXAMPLES

WEIGHED = "hours,gross_g\n0,120.0\n6,118.6\n12,117.8\n24,116.7\n"


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_answers(capsys, example):
    code = run(["dry", str(example), "--to-moisture-pct", "6", "--oven-c", "55"])
    page, err = capsys.readouterr()
    assert (code, err) == (0, "")
    assert max(len(line) for line in page.splitlines()) <= 80
    assert "…" not in page  # nothing is cut off
    for heading in ("HOW WARM AT MOST", "WHICH OVEN", "HOUR BY HOUR", "SPREAD THIN"):
        assert heading in page


def test_the_data(capsys):
    assert run(["dry", str(BAR), "--to-moisture-pct", "7", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["schema"] == "moldwin.drying/1"
    assert told["temperature_given"] is False
    assert set(told["hours_90"]) == {"low", "likely", "high"}
    assert told["confidence"] == 0.7
    assert told["measured"] is None
    assert {"oven_c", "hours_to_target", "chance", "browning_used_pct"} <= set(told["ovens"][0])
    assert {"how", "depth_mm", "area_cm2", "hours_to_target"} == set(told["layers"][0])


def test_weighings_on_the_way(capsys, tmp_path):
    table = tmp_path / "mass.csv"
    table.write_text(WEIGHED, encoding="utf-8")
    call = ["dry", str(BAR), "--to-moisture-pct", "6", "--oven-c", "50", "--measured", str(table)]
    assert run(call) == 0
    assert "WHAT YOUR 3 WEIGHINGS SAY" in capsys.readouterr().out
    assert run([*call, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["measured"]["weighings"] == 3


@pytest.mark.parametrize("kind", ["png", "svg"])
def test_a_picture_is_drawn_the_same_each_time_and_never_over_a_file(capsys, tmp_path, kind):
    pytest.importorskip("matplotlib")
    path = tmp_path / f"drying.{kind}"
    call = ["dry", str(BAR), "--to-moisture-pct", "6", "--output", str(path)]
    assert run(call) == 0
    assert f"drawn in {path}" in capsys.readouterr().err
    drawn = path.read_bytes()
    assert drawn.startswith(b"\x89PNG" if kind == "png" else b"<?xml")
    assert run(call) == 2
    assert "--force" in capsys.readouterr().err
    assert run([*call, "--force"]) == 0
    assert path.read_bytes() == drawn


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--to-moisture-pct", "0.06"), "did you mean 6?"),
        (("--to-moisture-pct", "16"), "nothing to dry"),
        (("--oven-c", "333"), "in kelvin? That is 60 °C"),
        (("--oven-c", "-5"), "allowed: 0 to 140"),
        (("--confidence", "70"), "did you mean 0.7?"),
        (("--output", "drying.pdf"), "allowed: .png, .svg"),
    ],
)
def test_what_is_wrong_is_a_sentence_and_exit_2(capsys, arguments, words):
    code = run(["dry", str(BAR), *arguments])
    out, err = capsys.readouterr()
    assert (code, out) == (2, "")
    assert words in err


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("0,120.0\n12,117.8\n6,118.6\n", "line 4: hours: weighings are out of order: 6 after 12"),
        ("0,120.0\n6,0.1186\n", "line 3: gross_g: 0.1186 after 120; is one of them in kg?"),
        ("0,90.0\n6,89.0\n", "less than the pellets alone"),
        ("0,120.0\n6,60.0\n", "was something added, spilled or tared?"),
        ("0,120.0\n", "holds one weighing"),
        ("0,120.0\n6,x\n", "line 3: gross_g: got 'x'; a number"),
    ],
)
def test_wrong_weighings_are_a_sentence_and_exit_2(capsys, tmp_path, rows, words):
    table = tmp_path / "mass.csv"
    table.write_text("hours,gross_g\n" + rows, encoding="utf-8")
    code = run(
        ["dry", str(BAR), "--to-moisture-pct", "6", "--oven-c", "50", "--measured", str(table)]
    )
    out, err = capsys.readouterr()
    assert (code, out) == (2, "")
    assert words in err
