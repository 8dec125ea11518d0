"""``moldwin screen --between`` as a user meets it."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from moldwin.advice.screen import answer_kinds
from moldwin.advice.screening import lay as screen_lay
from moldwin.cli import _screen_run
from moldwin.cli.app import run
from tests.jobs import BAR

ROWS = 500
OPTIONS = ("--job", str(BAR), "--samples", "64", "--no-target", "--between")


@pytest.fixture
def place(tmp_path, monkeypatch) -> Path:
    """A folder with a table in it; few rows are worked out, and any surface is near enough."""
    monkeypatch.chdir(tmp_path)
    for name in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS"):
        monkeypatch.setenv(name, "1")  # the command sets them: not for the tests after this one
    monkeypatch.setattr(screen_lay, "_STEPS", (48,))
    monkeypatch.setattr(screen_lay, "_HELD_OUT", 12)
    monkeypatch.setattr("moldwin.advice.screening.check._ASKED", 0.0)
    monkeypatch.setattr(_screen_run, "_TOGETHER", 4)
    lines = [f"row {i},{8 + 6 * (37 * i % ROWS) / ROWS:.3f}" for i in range(ROWS)]
    lines += ["odd,120", "empty,", "two,1,2"]
    text = "\n".join(["title,pellets.moisture_pct", *lines])
    (tmp_path / "recipes.csv").write_text(text + "\n", encoding="utf-8")
    return tmp_path


@pytest.fixture
def cli(capsys):
    """Runs the command: exit code, stdout, stderr."""

    def call(*arguments: str, processes: int = 1) -> tuple[int, str, str]:
        code = run(["screen", *arguments, *OPTIONS, "--processes", str(processes)])
        out, err = capsys.readouterr()
        return code, out, err

    return call


def answers(path: Path) -> list[dict[str, str]]:
    with open(path, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_most_rows_are_read_and_the_others_worked_out(cli, place):
    code, out, err = cli("recipes.csv", "-o", "answers.csv")
    assert code == 0
    assert out.startswith(f"{ROWS + 3} recipes, ")
    assert "rows are interpolated" in err
    assert "others worked out to check: " in err
    rows = answers(place / "answers.csv")
    assert list(rows[0])[2:] == list(answer_kinds(between=True))
    assert [row["title"] for row in rows[-3:]] == ["odd", "empty", "two"]
    assert {row["made"] for row in rows[-3:]} == {"computed"}
    assert [bool(row["error"]) for row in rows[-3:]] == [True, False, True]
    assert sum(row["made"] == "interpolated" for row in rows) > 0.8 * ROWS
    for row in rows[:ROWS]:
        assert row["moisture.now_pct"] == str(100.0 * (float(row["pellets.moisture_pct"]) / 100.0))


def test_what_came_of_it_is_in_the_json(cli, place):
    code, out, _ = cli("recipes.csv", "-o", "answers.csv", "--json")
    assert code == 0
    told = json.loads(out)
    (group,) = told["between"]
    assert group["used"] is True
    assert group["rows"] == ROWS
    assert group["through"] == 48
    assert group["check"]["rows"] == 12
    assert "chance within 0.02" in group["check"]["within"]
    assert 0 < told["interpolated"] <= ROWS


def test_a_surface_that_is_too_far_off_is_said_and_not_used(cli, place, monkeypatch):
    monkeypatch.setattr("moldwin.advice.screening.check._ASKED", 1.1)
    (place / "few.csv").write_text(
        "\n".join((place / "recipes.csv").read_text(encoding="utf-8").splitlines()[:300]) + "\n",
        encoding="utf-8",
    )
    code, _, err = cli("few.csv", "-o", "answers.csv")
    assert code == 0
    assert "note: 0 of 299 rows are interpolated" in err
    assert "are worked out: of 12 rows held out: " in err
    assert {row["made"] for row in answers(place / "answers.csv")} == {"computed"}


def test_a_run_goes_on_where_it_stopped_and_two_processes_give_the_same(cli, place, monkeypatch):
    assert cli("recipes.csv", "-o", "whole.csv")[0] == 0
    answered, done = _screen_run._lines, []

    def stops(screener, chunk):
        if done:
            raise KeyboardInterrupt
        done.append(chunk)
        return answered(screener, chunk)

    monkeypatch.setattr(_screen_run, "_lines", stops)
    assert cli("recipes.csv", "-o", "answers.csv")[0] == 130
    monkeypatch.setattr(_screen_run, "_lines", answered)
    code, _, err = cli("recipes.csv", "-o", "answers.csv")
    assert code == 0
    assert "were there from a run that was stopped" in err
    assert (place / "answers.csv").read_bytes() == (place / "whole.csv").read_bytes()
    assert cli("recipes.csv", "-o", "two.csv", processes=2)[0] == 0
    assert (place / "two.csv").read_bytes() == (place / "whole.csv").read_bytes()


def test_every_row_and_between_do_not_go_on_with_one_another(cli, place, monkeypatch, capsys):
    monkeypatch.setattr(_screen_run, "_put_together", lambda *_: None)
    assert cli("recipes.csv", "-o", "answers.csv")[0] == 0
    every = [option for option in OPTIONS if option != "--between"]
    assert run(["screen", "recipes.csv", "-o", "answers.csv", *every]) == 2
    assert "what another run left unfinished" in capsys.readouterr().err


def test_it_needs_no_target(place, capsys):
    assert run(["screen", "recipes.csv", "-o", "answers.csv", "--between"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "--no-target" in err


def test_a_table_too_short_for_surfaces_is_worked_out(cli, place):
    (place / "short.csv").write_text("pellets.moisture_pct\n9\n12\n", encoding="utf-8")
    code, _, err = cli("short.csv", "-o", "answers.csv")
    assert code == 0
    assert "too few rows to be worth it" in err
