"""``moldwin screen`` as a user meets it: tables in and out, stopped and started again."""

from __future__ import annotations

import csv
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from moldwin.advice.screen import ANSWERS
from moldwin.cli import _screen_run
from moldwin.cli.app import run
from tests.jobs import BAR

QUICK = ("--job", str(BAR), "--samples", "64", "--no-target", "--processes", "1")
RECIPES = """title,ingredient.glycerol.mass_g,pellets.moisture_pct
dry,20,9
good,60,12
"odd, wet",60,120
wet,,16
"""


@pytest.fixture
def place(tmp_path, monkeypatch) -> Path:
    """A folder with a table of recipes in it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "recipes.csv").write_text(RECIPES, encoding="utf-8")
    return tmp_path


@pytest.fixture
def cli(capsys):
    """Runs ``moldwin screen`` quickly: exit code, stdout, stderr."""

    def call(*arguments: str, quick: bool = True) -> tuple[int, str, str]:
        code = run(["screen", *arguments, *(QUICK if quick else ())])
        out, err = capsys.readouterr()
        return code, out, err

    return call


def answers(path: Path) -> list[dict[str, str]]:
    with open(path, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def many(path: Path, count: int) -> None:
    """A table of so many recipes."""
    lines = [f"{9 + 0.01 * (i % 700):.2f}" for i in range(count)]
    path.write_text("\n".join(["pellets.moisture_pct", *lines]) + "\n", encoding="utf-8")


# ----------------------------------------------------------------------------- tables in and out


def test_recipes_come_back_with_their_answers(cli, place):
    code, out, err = cli("recipes.csv", "-o", "answers.csv")
    assert (code, err) == (0, "")
    assert out.startswith("4 recipes, ")
    assert "1 with an error: answers.csv" in out
    rows = answers(place / "answers.csv")
    assert list(rows[0])[3:] == list(ANSWERS)
    assert [row["title"] for row in rows] == ["dry", "good", "odd, wet", "wet"]
    assert rows[2]["error"].startswith("pellets.moisture_pct: got 120")
    assert rows[2]["barrel.chance"] == rows[2]["barrel.open"] == ""
    assert rows[1]["barrel.open"] == "true"
    assert float(rows[1]["barrel.low_c"]) < float(rows[1]["barrel.best_c"])
    assert not (place / "answers.csv.unfinished").exists()


def test_the_table_holds_what_python_gives(cli, place):
    import pandas as pd

    import moldwin

    cli("recipes.csv", "-o", "answers.csv")
    recipes = pd.read_csv("recipes.csv", dtype=str)
    found = moldwin.screen(recipes, base=BAR, samples=64, target=False)
    for row, (_, expected) in zip(answers(place / "answers.csv"), found.iterrows(), strict=True):
        for name, kind in ANSWERS.items():
            if kind == "float64" and row[name]:
                assert float(row[name]) == expected[name]  # every digit is there


def test_one_json_object_tells_what_came_of_it(cli, place):
    code, out, _ = cli("recipes.csv", "-o", "answers.csv", "--json")
    assert code == 0
    told = json.loads(out)
    assert told["schema"] == "moldwin.screen/1"
    assert (told["rows"], told["errors"], told["output"]) == (4, 1, "answers.csv")


def test_without_a_table_the_bundled_recipes_are_answered(cli, place):
    options = ("--samples", "64", "--no-target")
    code, out, _ = cli("-o", "answers.csv", *options, quick=False)
    assert code == 0
    assert "with an error" not in out
    rows = answers(place / "answers.csv")
    chance = {row["title"]: float(row["barrel.chance"]) for row in rows}
    assert chance["much glycerol"] > chance["more glycerol"] > chance["little glycerol"]
    assert chance["more glycerol and a stronger ram"] >= chance["more glycerol"]


def test_without_a_job_the_table_is_all_there_is(cli, place):
    text = "ingredient.corn-starch.mass_g;pellets.moisture_pct\n300;13,5\n"
    (place / "alone.csv").write_text(text, encoding="utf-8")
    options = ("--samples", "64", "--no-target", "--processes", "1")
    code, _, _ = cli("alone.csv", "-o", "answers.csv", *options, quick=False)
    assert code == 0
    assert answers(place / "answers.csv")[0]["moisture.now_pct"] == "13.5"


def test_parquet_in_and_out_keeps_the_types_of_its_columns(cli, place):
    pytest.importorskip("pyarrow", reason="needs moldwin[parquet]")
    import pandas as pd

    recipes = pd.DataFrame({"pellets.moisture_pct": [9.5, 12.0, None], "title": ["a", "b", "c"]})
    recipes.to_parquet("recipes.parquet")
    assert cli("recipes.parquet", "-o", "answers.parquet")[0] == 0
    assert cli("recipes.parquet", "-o", "answers.csv")[0] == 0
    found = pd.read_parquet("answers.parquet")
    assert found["pellets.moisture_pct"].dtype == "float64"
    assert found["barrel.open"].tolist()[0] in (True, False)
    for name in (n for n, kind in ANSWERS.items() if kind == "float64"):
        cells = [row[name] for row in answers(place / "answers.csv")]
        assert [float(c) if c else None for c in cells] == [
            None if pd.isna(v) else v for v in found[name]
        ]
    (place / "no.parquet").write_text("title\na\n", encoding="utf-8")
    assert cli("no.parquet", "-o", "b.csv")[0] == 2


def test_parquet_without_its_package_says_what_to_install(cli, place, monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    (place / "recipes.parquet").write_bytes(b"PAR1")
    code, out, err = cli("recipes.parquet", "-o", "answers.csv")
    assert (code, out) == (2, "")
    assert "pip install 'moldwin[parquet]'" in err


# --------------------------------------------------------------------- stopped and started again


def test_two_processes_give_the_same_bytes_as_one(cli, place):
    many(place / "many.csv", 3 * _screen_run._CHUNK)
    assert cli("many.csv", "-o", "one.csv")[0] == 0
    assert cli("many.csv", "-o", "two.csv", *QUICK[:-1], "2", quick=False)[0] == 0
    assert (place / "one.csv").read_bytes() == (place / "two.csv").read_bytes()


@pytest.mark.parametrize("torn", [b"", b"[1.0, 2.0"], ids=["whole", "torn"])
def test_a_run_goes_on_where_it_stopped_and_gives_the_same_bytes(cli, place, monkeypatch, torn):
    monkeypatch.setattr(_screen_run, "_CHUNK", 2)
    assert cli("recipes.csv", "-o", "whole.csv")[0] == 0
    answered = _screen_run._lines
    done = []

    def stops(screener, chunk):
        if done:
            raise KeyboardInterrupt
        done.append(chunk)
        return answered(screener, chunk)

    monkeypatch.setattr(_screen_run, "_lines", stops)
    assert cli("recipes.csv", "-o", "answers.csv")[0] == 130
    side = place / "answers.csv.unfinished"
    assert len(side.read_bytes().splitlines()) == 3  # the mark and two rows
    assert not (place / "answers.csv").exists()
    with open(side, "ab") as file:
        file.write(torn)

    def counts(screener, chunk):
        done.append(chunk)
        return answered(screener, chunk)

    monkeypatch.setattr(_screen_run, "_lines", counts)
    code, _, err = cli("recipes.csv", "-o", "answers.csv")
    assert code == 0
    assert "the first 2 were there" in err
    assert len(done) == 2  # one chunk each time: nothing was done twice
    assert (place / "answers.csv").read_bytes() == (place / "whole.csv").read_bytes()
    assert not side.exists()


def test_a_killed_process_loses_a_chunk_at_the_most(cli, place):
    many(place / "many.csv", 5 * _screen_run._CHUNK)
    command = [sys.executable, "-m", "moldwin", "screen", "many.csv", "-o", "answers.csv"]
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parents[2])}
    process = subprocess.Popen(
        [*command, *QUICK[:-1], "2"], env=environment, stdout=subprocess.DEVNULL
    )
    side = place / "answers.csv.unfinished"
    until = time.monotonic() + 120
    while time.monotonic() < until and process.poll() is None:
        if side.exists() and len(side.read_bytes().splitlines()) > 1:
            break
        time.sleep(0.05)
    process.send_signal(signal.SIGKILL)
    assert process.wait() == -signal.SIGKILL
    kept = len(side.read_bytes().splitlines()) - 1
    assert kept >= _screen_run._CHUNK
    code, _, err = cli("many.csv", "-o", "answers.csv")
    assert code == 0
    assert "were there from a run that was stopped" in err
    assert cli("many.csv", "-o", "whole.csv")[0] == 0
    assert (place / "answers.csv").read_bytes() == (place / "whole.csv").read_bytes()


def test_a_process_that_dies_is_told_and_the_same_command_goes_on(cli, place, monkeypatch):
    many(place / "many.csv", 3 * _screen_run._CHUNK)
    monkeypatch.setattr(_screen_run, "_start_worker", _die)
    code, out, err = cli("many.csv", "-o", "answers.csv", *QUICK[:-1], "2", quick=False)
    assert (code, out) == (2, "")
    assert "the same command goes on" in err
    assert (place / "answers.csv.unfinished").exists()


def _die(*_: object) -> None:
    os._exit(1)


@pytest.mark.parametrize("changed", ["recipes", "options", "cards"])
def test_what_another_run_left_is_not_gone_on_with(cli, place, monkeypatch, changed):
    monkeypatch.setattr(_screen_run, "_put_together", lambda *_: None)
    assert cli("recipes.csv", "-o", "answers.csv")[0] == 0  # leaves its side file
    monkeypatch.undo()
    monkeypatch.chdir(place)
    more: tuple[str, ...] = ()
    if changed == "recipes":
        (place / "recipes.csv").write_text(RECIPES.replace("20,9", "20,9.1"), encoding="utf-8")
    elif changed == "options":
        more = ("--seed", "1")
    else:
        (place / "own").mkdir()
        (place / "own" / "mine.toml").write_text("# of no use yet\n", encoding="utf-8")
        monkeypatch.setenv("MOLDWIN_CARDS", str(place / "own"))
    code, out, err = cli("recipes.csv", "-o", "answers.csv", *more)
    assert (code, out) == (2, "")
    assert "what another run left unfinished" in err
    assert cli("recipes.csv", "-o", "answers.csv", *more, "--force")[0] == 0


def test_a_damaged_side_file_is_told(cli, place, monkeypatch):
    monkeypatch.setattr(_screen_run, "_put_together", lambda *_: None)
    assert cli("recipes.csv", "-o", "answers.csv")[0] == 0
    monkeypatch.undo()
    monkeypatch.chdir(place)
    side = place / "answers.csv.unfinished"
    lines = side.read_bytes().splitlines(keepends=True)
    side.write_bytes(b"".join([*lines[:2], b"nonsense\n", *lines[3:]]))
    code, _, err = cli("recipes.csv", "-o", "answers.csv")
    assert code == 2
    assert "is damaged; --force starts anew" in err
    assert not (place / "answers.csv").exists()


# ------------------------------------------------------------------------------ what is refused


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("missing.csv", "-o", "a.csv"), "no such file"),
        (("recipes.txt", "-o", "a.csv"), "name a table"),
        (("recipes.csv", "-o", "a.xlsx"), ".csv, .parquet"),
        (("recipes.csv", "-o", "nowhere/a.csv"), "no such folder"),
        (("recipes.csv", "-o", "recipes.csv"), "--force"),
        (("recipes.csv", "-o", "recipes.csv", "--force"), "the table of recipes itself"),
        (("recipes.csv", "-o", "a.csv", "--samples", "3"), "64 to 16384"),
        (("recipes.csv", "-o", "a.csv", "--processes", "0"), "1 to 256"),
        (("recipes.csv", "-o", "a.csv", "--confidence", "70"), "did you mean 0.7"),
        (("recipes.csv", "-o", "a.csv", "--set", "pellets.moisture_pct=12"), "--job"),
        (("recipes.csv", "-o", "a.csv", "--job", "missing.toml"), "missing.toml"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_what_cannot_be_is_refused_with_nothing_written(cli, place, arguments, said):
    before = sorted(place.iterdir())
    code, out, err = cli(*arguments, quick=False)
    assert (code, out) == (2, "")
    assert said in err
    assert sorted(place.iterdir()) == before
    assert (place / "recipes.csv").read_text(encoding="utf-8") == RECIPES


def test_a_wrong_column_is_refused_with_the_nearest_key(cli, place):
    (place / "wrong.csv").write_text("pellets.moisture\n9\n", encoding="utf-8")
    code, out, err = cli("wrong.csv", "-o", "answers.csv")
    assert (code, out) == (2, "")
    assert "wrong.csv: pellets.moisture: " in err
    assert "moisture_pct" in err


def test_a_file_is_not_overwritten_unasked(cli, place):
    (place / "answers.csv").write_text("mine", encoding="utf-8")
    assert cli("recipes.csv", "-o", "answers.csv")[0] == 2
    assert (place / "answers.csv").read_text(encoding="utf-8") == "mine"
    assert cli("recipes.csv", "-o", "answers.csv", "--force")[0] == 0


def test_a_table_of_nothing_but_errors_ends_with_2_and_says_where_to_look(cli, place):
    (place / "bad.csv").write_text("pellets.moisture_pct\n120\n1,2\n", encoding="utf-8")
    code, _, err = cli("bad.csv", "-o", "answers.csv")
    assert code == 2
    assert "every row is wrong" in err
    assert [bool(row["error"]) for row in answers(place / "answers.csv")] == [True, True]


def test_a_table_without_rows_gives_one_without_rows(cli, place):
    (place / "none.csv").write_text("pellets.moisture_pct\n", encoding="utf-8")
    code, out, _ = cli("none.csv", "-o", "answers.csv")
    assert code == 0
    assert out.startswith("0 recipes")
    assert answers(place / "answers.csv") == []


def test_a_wrong_card_of_the_job_ends_with_3(cli, place):
    (place / "cards").mkdir()
    (place / "cards" / "glycerol.toml").write_text("title = 3\n", encoding="utf-8")
    (place / "job.toml").write_text(BAR.read_text(encoding="utf-8"), encoding="utf-8")
    options = ("--job", "job.toml", "--samples", "64", "--processes", "1")
    code, out, err = cli("recipes.csv", "-o", "answers.csv", *options, quick=False)
    assert (code, out) == (3, "")
    assert "glycerol.toml" in err
