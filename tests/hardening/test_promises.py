"""What other programs and careful people rely on: exit codes, no network, the same bytes."""

from __future__ import annotations

import csv
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from moldwin.inputs.cards import load_card
from moldwin.inputs.files import shipped
from tests.hardening.answers import ANSWERS
from tests.hardening.kinds import at_the_command_line
from tests.jobs import BAR

ROOT = Path(__file__).resolve().parent.parent.parent
CARDS = sorted(
    path for path in shipped("material_cards").rglob("*.toml") if path.parent.name != "published"
)
TABLES = sorted((shipped("material_cards") / "published").glob("*.csv"))

# ------------------------------------------------------------------ exit codes


def _own_card(folder: Path) -> dict[str, str]:
    """A folder of cards in which one is wrong: its Tg is in °C."""
    text = (shipped("material_cards") / "corn-starch.toml").read_text(encoding="utf-8")
    head, _, tail = text.partition("[tg_dry]\n")
    spoiled = f"{head}[tg_dry]\n{re.sub(r'value = [0-9.]+', 'value = 62.0', tail, count=1)}"
    (folder / "corn-starch.toml").write_text(spoiled, encoding="utf-8")
    return {"MOLDWIN_CARDS": str(folder)}


@pytest.mark.parametrize(
    ("code", "arguments"),
    [
        (0, ["check", str(BAR)]),
        (0, ["shot", "--json"]),
        (2, ["check", "no-such.toml"]),
        (2, ["shot", "--no-such-option"]),
        (3, ["check", str(BAR)]),
        (3, ["advise", str(BAR)]),
        (4, ["advise", "--strict", "--json", "--set", "pellets.moisture_pct=45"]),
    ],
    ids=str,
)
def test_every_exit_code_is_produced(code, arguments, monkeypatch, tmp_path):
    if code == 3:
        for name, value in _own_card(tmp_path).items():
            monkeypatch.setenv(name, value)
    assert at_the_command_line(arguments) == code


def test_ctrl_c_is_an_exit_code_too(monkeypatch):
    from moldwin.cli.app import run
    from moldwin.inputs import read_job

    def stopped(*arguments, **options):
        raise KeyboardInterrupt

    monkeypatch.setattr(read_job, "read_job", stopped)
    assert run(["advise"]) == 130


def test_strict_still_prints_the_answer(capsys):
    from moldwin.cli.app import run

    assert run(["shot", "--json"]) == 0
    plain = capsys.readouterr().out
    assert plain
    assert run(["advise", "--strict", "--set", "pellets.moisture_pct=45"]) == 4
    assert "°C" in capsys.readouterr().out


# ------------------------------------------------------------------ no network, nothing started

#: Refuses every door out of the process, then runs every answer and prints a sum of them.
_SEALED = """
import hashlib, sys
def refuse(event, arguments):
    if event.split(".")[0] in ("socket", "subprocess", "urllib", "ftplib", "smtplib") or event in (
        "os.system", "os.exec", "os.posix_spawn", "os.fork", "webbrowser.open"
    ):
        raise RuntimeError(f"{event} {arguments}")
sys.addaudithook(refuse)
from moldwin.inputs.read_job import read_job
from moldwin.report.json_out import to_json
from tests.hardening.answers import ANSWERS
sums = hashlib.sha256()
for name, answer in sorted(ANSWERS.items()):
    moisture = 20 if name == "dry" else 6
    made = read_job(sets=[f"pellets.moisture_pct={moisture}", "sheet.spread_mm=4"])
    data, page = answer(made)
    sums.update(to_json(data).encode() + page.encode())
print(sums.hexdigest())
"""


def _sealed(**environment: str) -> str:
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", _SEALED],
        cwd=ROOT,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_every_answer_needs_no_network_and_no_other_program_and_is_the_same_bytes_again():
    """Over hash seeds and thread counts, in processes of their own."""
    one = _sealed(PYTHONHASHSEED="1", OMP_NUM_THREADS="1", OPENBLAS_NUM_THREADS="1")
    assert len(one.strip()) == 64
    assert _sealed(PYTHONHASHSEED="2", OMP_NUM_THREADS="3", OPENBLAS_NUM_THREADS="3") == one


#: A small table with a wrong row, answered and printed with the kind of every column.
_SCREENED = """
import sys
if sys.argv[1] == "without":
    sys.modules["pyarrow"] = None
import pandas as pd
import moldwin
recipes = pd.DataFrame(
    {"pellets.moisture_pct": [9.0, 14.0, -1.0], "room.humidity_pct": ["50", "x", "40"]}
)
found = moldwin.screen(recipes, base=sys.argv[2], samples=16, target=False)
print(found.to_csv(), list(found.columns), [str(kind) for kind in found.dtypes])
"""


def test_a_table_is_the_same_with_and_without_the_library_that_pandas_keeps_text_with():
    pytest.importorskip("pyarrow", reason="needs moldwin[parquet]")
    told = []
    for way in ("with", "without"):
        done = subprocess.run(
            [sys.executable, "-W", "error", "-c", _SCREENED, way, str(BAR)],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        told.append(done.stdout)
    assert "got the text" in told[0]
    assert told[0] == told[1]


def test_the_seal_holds():
    """The hook of the test above does stop a socket and a process."""
    for door in ("import socket; socket.socket()", "import os; os.system('true')"):
        code = f"{_SEALED.partition('from moldwin')[0]}\n{door}"
        done = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=False
        )
        assert done.returncode == 1
        assert "RuntimeError" in done.stderr


def test_the_answers_are_all_commands_that_answer_a_job():
    assert set(ANSWERS) <= {
        "advise",
        "condition",
        "dry",
        "film",
        "map",
        "recipe",
        "service",
        "shot",
    }
    assert len(ANSWERS) == 8


# ------------------------------------------------------------------ every word has its source


@pytest.mark.parametrize("path", CARDS, ids=lambda p: p.stem)
def test_every_value_of_a_card_has_a_status_and_a_source_that_is_described(path):
    card = load_card(path, is_shipped=True)
    for quantity in card.quantities.values():
        assert quantity.status in ("measured", "read", "memory", "derived", "assumed"), quantity
        words = card.sources[quantity.source]
        assert len(words.split()) >= 3, f"{quantity.name}: {words!r} is no source"


@pytest.mark.parametrize("path", TABLES, ids=lambda p: p.stem)
def test_every_published_row_has_a_status_and_a_source(path):
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows
    for row in rows:
        assert row["status"] in ("read", "memory", "derived"), row
        assert len(row["source"].split()) >= 2, row
