"""``moldwin fit`` and ``moldwin plasticizer``: shown first, kept when asked, clear when wrong."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from moldwin.cli.app import run
from moldwin.inputs.files import shipped
from tests.jobs import BAR, KELP

HUMIDITY = """sample,humidity_pct,dish_g,gross_g
a,0,10.00,15.00
a,33,10.00,15.42
b,0,10.00,15.00
b,54,10.00,15.63
c,0,10.00,15.00
c,75,10.00,15.90
"""
JAR = """hours,gross_g
0,120.00
24,121.10
48,121.90
96,122.90
"""
TABLES = ["--humidity-weighings", "corn-starch=hum.csv", "--jar-weighings", "jar.csv"]


@pytest.fixture
def folder(tmp_path, monkeypatch, capsys) -> Path:
    """A job, and a book with half a dozen of the example's invented trials."""
    shutil.copy(BAR, tmp_path)
    table = (shipped("examples") / "trials-invented.csv").read_text(encoding="utf-8")
    (tmp_path / "six.csv").write_text("".join(table.splitlines(True)[:7]), encoding="utf-8")
    (tmp_path / "hum.csv").write_text(HUMIDITY, encoding="utf-8")
    (tmp_path / "jar.csv").write_text(JAR, encoding="utf-8")
    wild = "hours,gross_g\n0,120\n1,126\n2,132\n3,140\n"
    (tmp_path / "wild.csv").write_text(wild, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert run(["trial", "add", BAR.name, "--from", "six.csv"]) == 0
    capsys.readouterr()
    return tmp_path


def test_shown_first_kept_when_asked_and_said_by_advise(folder, capsys):
    assert run(["fit", BAR.name]) == 0
    page = capsys.readouterr().out
    assert page.startswith("What 6 trials in trials.sqlite say")
    assert "Nothing was written" in page
    assert not (folder / "cards").exists()
    assert run(["advise", BAR.name, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["learned"] is None
    assert run(["fit", BAR.name, "--write", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["schema"] == "moldwin.fit/1"
    assert told["trials"] == [1, 2, 3, 4, 5, 6]
    assert all((folder / path).is_file() for path in told["written"])
    assert run(["check", BAR.name]) == 0
    capsys.readouterr()
    assert run(["advise", BAR.name, "--json"]) == 0
    learned = json.loads(capsys.readouterr().out)["learned"]
    assert learned["trials"] == 6
    before = learned["before_high_c"] - learned["before_low_c"]
    assert learned["high_c"] - learned["low_c"] != before
    assert run(["advise", BAR.name]) == 0
    assert "Narrowed by your 6 trials: barrel" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["fit", "nowhere.toml"], "no such file"),
        (["fit", BAR.name, "--book", "none.sqlite"], "there is no such file"),
        (["fit", "--write"], "needs a job of your own"),
        (["fit", BAR.name, "--set", "ingredient.glycerol.lot=new"], "holds no trial of exactly"),
        (["fit", BAR.name, "--humidity-weighings", "none.csv"], "no such file"),
        (
            ["fit", BAR.name, "--humidity-weighings", "corn=hum.csv"],
            "no card of the job; the job has",
        ),
        (["fit", BAR.name, "--humidity-weighings", "glycerol=hum.csv"], "has no isotherm"),
        (["fit", BAR.name, "--jar-weighings", "hum.csv"], "hours"),
        (["fit", BAR.name, "--source", "NaCl"], "belongs to --jar-weighings"),
        (["fit", BAR.name, *TABLES[2:], "--to-moisture-pct", "0.13"], "did you mean 13?"),
        (["fit", BAR.name, "--to-moisture-pct", "13"], "belongs to --jar-weighings"),
        (["fit", BAR.name, "--jar-weighings", "wild.csv", "--write"], "so nothing was written"),
        (["plasticizer", BAR.name], "no seaweed"),
        (["plasticizer", str(KELP)], "nothing measured"),
        (["plasticizer", str(KELP), "--moisture-pct", "9"], "go together"),
        (["plasticizer", str(KELP), "--moisture-pct", "0", "--humidity-pct", "50"], "allowed"),
        (["plasticizer", str(KELP), "--moisture-pct", "9", "--humidity-pct", "0.5"], "mean 50?"),
        (["plasticizer", str(KELP), "--moisture-pct", ".12", "--humidity-pct", "50"], "mean 12?"),
        (
            ["plasticizer", str(KELP), "--moisture-pct", "50", "--humidity-pct", "11"],
            "such a blend",
        ),
    ],
)
def test_what_is_wrong_is_said(folder, capsys, arguments, words):
    assert run(arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err


def test_all_measurements_join_in_one_fit_and_the_next_session_starts_from_it(folder, capsys):
    jar = ["--source", "NaCl", "--to-moisture-pct", "13"]
    assert run(["fit", BAR.name, *TABLES, *jar, "--write"]) == 0
    page = capsys.readouterr().out
    assert page.startswith("What 6 trials in trials.sqlite and weighings in hum.csv and")
    assert "monolayer water of the isotherm, of dry mass (xm): 7." in page
    assert "[humidity weighings]" in page
    assert "[jar weighings]" in page
    assert run(["check", BAR.name]) == 0
    capsys.readouterr()
    # a second session without the tables: what they said is still known
    assert run(["fit", BAR.name, "--write", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["isotherm"] is None
    text = (folder / "cards" / "corn-starch.toml").read_text(encoding="utf-8")
    assert "start/corn-starch.toml" in text
    assert run(["advise", BAR.name, "--json"]) == 0
    used = {row["name"]: row for row in json.loads(capsys.readouterr().out)["assumptions"]}
    assert used["corn-starch.xm"]["value"] == pytest.approx(0.074, abs=0.003)
    assert used["corn-starch.xm"]["status"] == "measured"


def test_weighings_alone_need_no_book(folder, capsys):
    (folder / "trials.sqlite").unlink()
    assert run(["fit", BAR.name, *TABLES[:2], "--write"]) == 0
    assert "What weighings in hum.csv say" in capsys.readouterr().out
    assert run(["advise", BAR.name]) == 0
    assert "your weighings: barrel" in capsys.readouterr().out


def test_every_number_is_named_in_plain_words(folder, capsys):
    assert run(["fit", BAR.name, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    keys = [n["key"] for card in told["cards"] for n in card["learned"]]
    assert run(["fit", BAR.name]) == 0
    page = capsys.readouterr().out
    for line in page.splitlines():
        if line.startswith(" - "):
            first = line.removeprefix(" - ").partition(" ")[0].rstrip(":")
            assert first not in keys, line
            assert "_" not in first, line
    assert max(map(len, page.splitlines())) <= 80
    assert " = " not in page  # a column of the draws is named by card and key, not by its value


def test_plasticizer_answers_and_a_softer_strip_means_more(capsys):
    likely = []
    for softening in (20, 60, 100):
        sets = [f"blend.softening_c={softening}", "blend.softening_moisture_pct=9"]
        asked = [part for item in sets for part in ("--set", item)]
        assert run(["plasticizer", str(KELP), *asked, "--json"]) == 0
        told = json.loads(capsys.readouterr().out)["glycerol_equivalent_g_per_100g_dry"]
        assert 0.0 <= told["low"] < told["likely"] < told["high"]
        likely.append(told["likely"])
    assert likely[0] > likely[1] > likely[2]


def test_plasticizer_in_words(capsys):
    weighing = ["--moisture-pct", "12", "--humidity-pct", "55"]
    assert run(["plasticizer", str(KELP), *weighing]) == 0
    page = capsys.readouterr().out
    assert "g per 100 g of dry seaweed" in page
    assert "In your recipe it counts like" in page
