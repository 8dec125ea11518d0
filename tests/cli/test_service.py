"""``moldwin service`` as a user meets it."""

from __future__ import annotations

import json

import pytest

from moldwin.cli.app import run
from tests.jobs import EXAMPLES, KELP

HEADINGS = ("WHERE IT LIVES", "BRITTLE OR SOFT", "HOW LONG IT TAKES", "TO TEST A BAR", "WATER")


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_answers(capsys, example):
    code = run(["service", str(example)])
    page, err = capsys.readouterr()
    assert (code, err) == (0, "")
    assert max(len(line) for line in page.splitlines()) <= 80
    assert "…" not in page  # nothing is cut off
    for heading in HEADINGS:
        assert heading in page
    assert "does not resist water" in page


@pytest.mark.parametrize(
    "air",
    [
        "use.humidity_low_pct=0 use.humidity_high_pct=100",
        "use.temperature_low_c=-40 use.temperature_high_c=120",
        "use.humidity_low_pct=50 use.humidity_high_pct=50",
        "room.humidity_pct=97 room.temperature_c=38",
    ],
)
def test_any_air_is_answered_and_fits_the_page(capsys, air):
    sets = [word for each in air.split() for word in ("--set", each)]
    assert run(["service", str(KELP), *sets]) == 0
    page = capsys.readouterr().out
    assert max(len(line) for line in page.splitlines()) <= 80
    assert "…" not in page
    assert "nan" not in page.lower().split()


def test_without_a_job_it_is_not_your_blend(capsys):
    assert run(["service"]) == 0
    assert capsys.readouterr().out.startswith("Bundled example, not your blend")


def test_the_data(capsys):
    assert run(["service", str(KELP), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["schema"] == "moldwin.service/1"
    for key in ("moisture_pct", "tg_c", "days_50", "days_90", "days_99", "season_days_90"):
        assert set(told[key]) == {"low", "likely", "high"}
    assert told["state"] in {"glassy", "leathery", "rubbery"}
    assert isinstance(told["size_change_pct"], float)
    assert [place["place"] for place in told["places"]] == ["dry-cold", "now", "damp-warm"]
    assert told["weeks"] == pytest.approx(12)
    assert told["water_resistant"] is False
    assert told["fiber"] is None
    assert told["test_bar"]["hours_least"] == 88


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("use.humidity_low_pct=80", "is above humidity_high_pct; are the two swapped?"),
        ("use.temperature_low_c=60", "is above temperature_high_c; are the two swapped?"),
        ("use.humidity_high_pct=130", "allowed: 0 to 100"),
        ("use.weeks=0", "use.weeks"),
        ("use.humidty_low_pct=30", "humidity_low_pct"),
    ],
)
def test_what_is_wrong_is_a_sentence_and_exit_2(capsys, change, words):
    code = run(["service", str(KELP), "--set", change])
    out, err = capsys.readouterr()
    assert (code, out) == (2, "")
    assert words in err


def test_a_confidence_that_is_none_is_refused(capsys):
    assert run(["service", str(KELP), "--confidence", "70"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "0.7" in err


@pytest.mark.parametrize("command", ["recipe", "film", "service"])
@pytest.mark.parametrize("columns", [40, 60])
def test_a_narrow_terminal_loses_no_number(capsys, monkeypatch, command, columns):
    monkeypatch.setenv("COLUMNS", str(columns))
    assert run([command, str(KELP)]) == 0
    page = capsys.readouterr().out
    assert max(len(line) for line in page.splitlines()) <= columns
    assert "…" not in page
