"""``moldwin trial`` as a user meets it: options, a table, a conversation; safe or refused."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from moldwin.cli._talk import ask_at_terminal
from moldwin.cli._trial_talk import converse
from moldwin.cli.app import run
from moldwin.cli.trial import trial as group
from moldwin.inputs.files import shipped
from moldwin.learn.book import add_trials, read_trials
from moldwin.learn.trials import COLOR_SCALE, COLUMNS, read_value, written_value
from tests.jobs import BAR, KELP
from tests.learn.sample import FULL, trial

COMMANDS = [command.name for command in group.registered_commands]
INVENTED = shipped("examples") / "trials-invented.csv"


@pytest.fixture
def cli(capsys, tmp_path, monkeypatch):
    """Runs a command line in a folder with two jobs: exit code, stdout, stderr."""
    monkeypatch.chdir(tmp_path)
    for name, job in (("my-job.toml", BAR), ("kelp.toml", KELP)):
        (tmp_path / name).write_bytes(job.read_bytes())
    monkeypatch.setattr(sys, "stdin", io.StringIO())

    def call(*arguments: str) -> tuple[int, str, str]:
        code = run(["trial", *arguments])
        out, err = capsys.readouterr()
        return code, out, err

    return call


def options(facts: dict[str, object]) -> list[str]:
    return [
        part
        for name, value in facts.items()
        for part in (f"--{name.replace('_', '-')}", written_value(value))
    ]


# ------------------------------------------------------------------------------ help


def test_the_group_alone_shows_its_help(cli):
    code, out, err = cli()
    assert (code, err) == (0, "")
    assert [command for command in COMMANDS if f"  {command} " not in out] == []
    assert set(COMMANDS) == {"add", "list", "show", "export", "undo"}


def test_every_column_is_an_option_and_every_step_of_color_is_told(cli):
    _, out, _ = cli("add", "--help")
    for name in COLUMNS:
        assert f"--{name.replace('_', '-')} " in out
    for words in COLOR_SCALE:
        assert words in out


# ------------------------------------------------------------------------------- add


def test_options_are_kept_exactly_beside_the_job(cli, tmp_path):
    facts = {**FULL, "lot": "spring"}
    code, out, err = cli("add", "my-job.toml", *options(facts))
    assert (code, out, err) == (0, "Trial 1 is kept in trials.sqlite.\n", "")
    (one,) = read_trials(tmp_path / "trials.sqlite")
    assert one.noted() == facts
    assert one.job == "my-job.toml"
    assert one.materials == (("corn-starch", "spring"), ("glycerol", ""))


def test_without_a_terminal_nothing_is_asked_and_fields_stay_empty(cli, tmp_path):
    code, out, err = cli("add", "my-job.toml", "--note", "smelled of caramel")
    assert (code, out, err) == (0, "Trial 1 is kept in trials.sqlite.\n", "")
    assert read_trials(tmp_path / "trials.sqlite")[0].noted() == {"note": "smelled of caramel"}


@pytest.mark.parametrize(
    "given", [[], ["--note", ""], ["--date", "2026-03-01", "--lot", "may"], ["--json"]]
)
def test_a_trial_of_nothing_is_not_kept(cli, tmp_path, given):
    code, out, err = cli("add", "my-job.toml", *given)
    assert (code, out) == (2, "")
    assert "nothing was noted, nothing is kept; give one thing that was set or seen" in err
    assert not (tmp_path / "trials.sqlite").exists()


def test_a_row_of_nothing_is_refused_and_an_exported_one_comes_back(cli, tmp_path):
    (tmp_path / "t.csv").write_text("date,barrel_c\n2026-03-01,\n2026-03-02,130\n")
    code, _, err = cli("add", "my-job.toml", "--from", "t.csv")
    assert (code, err.splitlines()) == (
        2,
        [
            "t.csv, row 2: says of no setting and of nothing seen; fill in one, or leave it out",
        ],
    )
    add_trials(tmp_path / "old.sqlite", [trial()])  # kept before such trials were refused
    assert cli("export", "--book", "old.sqlite", "-o", "old.csv")[0] == 0
    assert cli("add", "--from", "old.csv", "--book", "new.sqlite")[0] == 0
    kept, moved = (read_trials(tmp_path / name) for name in ("old.sqlite", "new.sqlite"))
    assert moved == kept


def test_a_sheet_that_was_not_filled_in_is_kept_and_told(cli, tmp_path):
    (tmp_path / "t.csv").write_text("barrel_c,soak_s,filled\n130,300,\n140,300,yes\n150,300,\n")
    code, out, err = cli("add", "my-job.toml", "--from", "t.csv")
    assert (code, out) == (0, "Trials 1 to 3 are kept in trials.sqlite.\n")
    assert err == "note: 2 of them say nothing of what came out: no fit learns from that\n"
    _, _, err = cli("add", "my-job.toml", "--barrel-c", "130")
    assert err == "note: the trial says nothing of what came out: no fit learns from that\n"
    assert cli("add", "my-job.toml", "--color", "0")[2] == ""


def test_the_job_is_kept_as_it_was_what_ifs_included(cli, tmp_path):
    cli("add", "my-job.toml", "--barrel-c", "130", "--set", "press.force_kn=4")
    (tmp_path / "my-job.toml").write_text("changed")
    _, out, _ = cli("show", "1", "--json")
    tables = json.loads(out)["job"]["tables"]
    assert tables["press"]["force_kn"] == 4
    assert tables["ingredient"][0]["card"] == "corn-starch"


def test_another_folder_and_another_book(cli, tmp_path):
    (tmp_path / "jobs").mkdir()
    (tmp_path / "jobs" / "j.toml").write_bytes(BAR.read_bytes())
    assert cli("add", "jobs/j.toml", "--barrel-c", "130")[0] == 0
    assert (tmp_path / "jobs" / "trials.sqlite").exists()
    assert "1 trial in jobs/trials.sqlite" in cli("list", "jobs/j.toml")[1]
    assert cli("add", "jobs/j.toml", "--barrel-c", "130", "--book", "all.sqlite")[0] == 0
    assert read_trials(tmp_path / "all.sqlite")[0].job == "jobs/j.toml"


def test_add_tells_json_what_it_kept(cli):
    _, out, _ = cli("add", "my-job.toml", "--filled", "no", "--fill-pct", "60", "--json")
    told = json.loads(out)
    assert (told["schema"], told["already_there"]) == ("moldwin.trials/1", 0)
    (one,) = told["trials"]
    assert (one["number"], one["filled"], one["fill_pct"], one["barrel_c"]) == (1, False, 60, None)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "name the job that was molded"),
        (["no-job.toml"], "no such file"),
        (["my-job.toml", "--barrel-c", "hot"], "--barrel-c: got the text"),
        (["my-job.toml", "--barrel-c", "403"], "did you mean 129.9?"),
        (["my-job.toml", "--filled", "half"], "allowed: yes or no"),
        (["my-job.toml", "--filled", "yes", "--fill-pct", "60"], "--fill-pct: got 60 beside"),
        (["my-job.toml", "--lot", "agar=x"], "--lot: got 'agar=x'"),
        (["my-job.toml", "--set", "pellets.moisture_pct=120"], "120"),
        (["my-job.toml", "--from", "x.csv", "--note", "x"], "--from"),
        (["my-job.toml", "--from", "x.csv"], "no such file"),
        (["my-job.toml", "--barel-c", "130"], "--barel-c"),
        (["my-job.toml", "--color", "1", "--book", "my-job.toml"], "is no book of trials"),
        (["my-job.toml", "--color", "1", "--book", "."], "is a folder"),
        (["my-job.toml", "--color", "1", "--book", ""], "is no name"),
        (["my-job.toml", "--color", "1", "--book", "no/t.sqlite"], "no such folder"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_what_is_wrong_is_a_sentence_exit_2_and_nothing_kept(cli, tmp_path, arguments, said):
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    code, out, err = cli("add", *arguments)
    assert (code, out) == (2, "")
    assert said in err
    assert "Traceback" not in err
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_all_slips_are_told_at_once(cli):
    _, _, err = cli("add", "my-job.toml", "--barrel-c", "hot", "--color", "7")
    assert [line.split(":")[0] for line in err.splitlines()] == ["--barrel-c", "--color"]


# ------------------------------------------------------------------------ a conversation


class Terminal(io.StringIO):
    """Typed lines, from someone who sits at a terminal."""

    def isatty(self) -> bool:
        return True


def test_at_a_terminal_each_thing_is_asked_for(cli, tmp_path, monkeypatch):
    typed = {"barrel_c": "130", "filled": "y", "color": "2", "note": "slow"}
    asked = [n for n in COLUMNS if n not in ("lot", "cooling_s", "fill_pct")]
    lines = "".join(f"{typed.get(name, '')}\n" for name in asked)
    monkeypatch.setattr(sys, "stdin", Terminal(lines))
    code, out, err = cli("add", "my-job.toml")
    assert (code, out) == (0, "Trial 1 is kept in trials.sqlite.\n")
    assert "Barrel temperature (20 to 400 °C): " in err
    assert COLOR_SCALE[3] in err
    (one,) = read_trials(tmp_path / "trials.sqlite")
    assert one.noted() == {"barrel_c": 130.0, "filled": True, "color": 2.0, "note": "slow"}


@pytest.mark.parametrize(
    ("typed", "code", "said"),
    [("\n" * 40, 2, "nothing was noted"), ("\n130\n", 130, "")],
    ids=["only empty lines", "left in the middle"],
)
def test_a_conversation_without_an_end_keeps_nothing(cli, tmp_path, monkeypatch, typed, code, said):
    monkeypatch.setattr(sys, "stdin", Terminal(typed))
    found, out, err = cli("add", "my-job.toml")
    assert (found, out) == (code, "")
    assert said in err
    assert not (tmp_path / "trials.sqlite").exists()


@pytest.mark.parametrize(
    ("given", "code"),
    [(["--note", "x"], 0), (["--set", "pellets.moisture_pct=9"], 2), (["--json"], 2)],
)
def test_any_option_stops_the_questions(cli, monkeypatch, given, code):
    monkeypatch.setattr(sys, "stdin", Terminal("should not be read\n"))
    assert cli("add", "my-job.toml", *given)[0] == code


def test_an_answer_that_cannot_be_is_asked_for_again():
    lines = iter(["", "1,500", "9,5", "", "", "", "", "", "no", "100", "70"])
    said: list[str] = []
    answers = converse(lambda question: next(lines, ""), said.append)
    assert answers == {"moisture_pct": "9.5", "filled": "no", "fill_pct": "70"}
    assert any("write it without the comma" in line for line in said)
    assert any("one of the two is a slip" in line for line in said)
    assert all(read_value(name, text) is not None for name, text in answers.items())


def test_the_end_of_input_is_leaving(monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    with pytest.raises(KeyboardInterrupt):
        ask_at_terminal("? ")


# ------------------------------------------------------------------------------ tables


def test_a_table_in_and_out_and_in_again(cli, tmp_path):
    assert cli("add", "my-job.toml", "--from", str(INVENTED))[:2] == (
        0,
        "Trials 1 to 12 are kept in trials.sqlite.\n",
    )
    assert "all 12 trials were there already" in cli("add", "--from", str(INVENTED))[1]
    cli("add", "kelp.toml", *options({**FULL, "lot": "june"}))
    cli("undo")
    assert cli("export", "-o", "t.csv", "--all")[1] == "13 trials written to t.csv.\n"
    assert cli("export", "--all")[1].encode() == (tmp_path / "t.csv").read_bytes()
    assert cli("add", "--from", "t.csv", "--book", "b.sqlite")[0] == 0
    assert cli("export", "--all", "-o", "u.csv", "--book", "b.sqlite")[0] == 0
    assert (tmp_path / "u.csv").read_bytes() == (tmp_path / "t.csv").read_bytes()
    assert cli("export", "-o", "v.csv")[1] == "12 trials written to v.csv.\n"


def test_a_faulty_row_keeps_all_rows_out(cli, tmp_path):
    (tmp_path / "t.csv").write_text("barrel_c\n130\n403\n")
    code, out, err = cli("add", "my-job.toml", "--from", "t.csv")
    assert (code, out) == (2, "")
    assert err.startswith("t.csv, row 3: barrel_c: got 403; allowed: 20 to 400 °C")
    assert not (tmp_path / "trials.sqlite").exists()


def test_an_export_never_overwrites_unasked(cli, tmp_path):
    cli("add", "my-job.toml")
    (tmp_path / "t.csv").write_text("mine")
    assert cli("export", "-o", "t.csv")[0] == 2
    assert (tmp_path / "t.csv").read_text() == "mine"
    assert cli("export", "-o", "t.csv", "--force")[0] == 0
    for wrong in ("trials.sqlite", "t.xlsx", "no/t.csv"):
        assert cli("export", "-o", wrong, "--force")[0] == 2
    assert cli("export", "-o", "n.csv", "--json")[0] == 2


# --------------------------------------------------------------------- list, show, undo


def test_a_list_without_trials(cli, tmp_path):
    assert cli("list") == (0, "No trials are kept in trials.sqlite yet.\n", "")
    assert json.loads(cli("list", "--json")[1])["trials"] == []
    assert not (tmp_path / "trials.sqlite").exists()
    assert cli("list", "no-job.toml")[0] == 2
    assert cli("list", "--book", "no.sqlite")[0] == 2


def test_undo_and_the_whole_list(cli):
    cli("add", "my-job.toml", "--barrel-c", "130")
    cli("add", "my-job.toml", "--barrel-c", "140")
    assert cli("undo")[1].startswith("Trial 2 is taken back")
    numbers = [row["number"] for row in json.loads(cli("list", "--json")[1])["trials"]]
    every = json.loads(cli("list", "--all", "--json")[1])["trials"]
    assert numbers == [1]
    assert [bool(row["undone"]) for row in every] == [False, True]
    assert json.loads(cli("undo", "--json")[1])["number"] == 1
    assert cli("undo")[0] == 2


def test_undo_without_a_book_makes_none(cli, tmp_path):
    code, out, err = cli("undo")
    assert (code, out) == (2, "")
    assert "no such file" in err
    assert not (tmp_path / "trials.sqlite").exists()


@pytest.mark.parametrize("number", ["2", "0", "one", "1.0", ""])
def test_a_number_that_is_not_there(cli, number):
    cli("add", "my-job.toml", "--barrel-c", "130")
    code, out, err = cli("show", number)
    assert (code, out) == (2, "")
    assert "it holds 1 to 1" in err


def test_show_tells_everything_in_both_forms(cli):
    cli("add", "my-job.toml", *options({**FULL, "lot": "spring"}))
    _, page, _ = cli("show", "1")
    for words in ("9.450000000000001 %", "-5 °C", "62.5 %", "heart", "18 mm", "2026-02-28"):
        assert words in page
    told = json.loads(cli("show", "1", "--json")[1])
    assert told["schema"] == "moldwin.trial/1"
    assert {name: told[name] for name in COLUMNS} == {**FULL, "lot": "spring"}
    assert told["materials"][0] == {"card": "corn-starch", "lot": "spring"}


# ------------------------------------------------------------------------ as a process


def test_two_terminals_add_at_once(cli, tmp_path):
    command = [sys.executable, "-m", "moldwin", "trial", "add", "my-job.toml", "--barrel-c"]
    root = str(Path(__file__).resolve().parent.parent.parent)
    env = {**os.environ, "PYTHONPATH": root}
    started = [
        subprocess.Popen(
            [*command, str(100 + n)],
            cwd=tmp_path,
            env=env,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
        )
        for n in range(4)
    ]
    said = sorted(process.communicate()[0].decode() for process in started)
    assert [process.returncode for process in started] == [0] * 4
    assert said == [f"Trial {n} is kept in trials.sqlite.\n" for n in range(1, 5)]
    assert {t.barrel_c for t in read_trials(tmp_path / "trials.sqlite")} == {100, 101, 102, 103}


def test_keeping_and_listing_load_nothing_heavy(cli, tmp_path):
    cli("add", "my-job.toml", "--barrel-c", "130")
    code = (
        "import sys\nfrom moldwin.cli.app import run\n"
        "run(['trial', 'list'])\nrun(['trial', 'export', '-o', 't.csv'])\n"
        "print([m for m in ('numpy', 'scipy', 'pandas') if m in sys.modules])\n"
    )
    root = str(Path(__file__).resolve().parent.parent.parent)
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": root},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.splitlines()[-1] == "[]", done.stderr
