"""Each command as a user meets it: exit code, stdout, stderr."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

import moldwin
from moldwin.advice import advise as advise_module
from moldwin.base.remarks import Remark
from moldwin.cli.app import app, run
from moldwin.inputs import cards, read_job
from moldwin.inputs.files import shipped
from tests.report.sample import sample

COMMANDS = [command.name for command in app.registered_commands]
EXAMPLES = sorted(shipped("examples").glob("*.toml"))
BUNDLED = str(shipped("examples") / read_job.BUNDLED)
DRY = str(shipped("examples") / "dry-starch-no-glycerol.toml")
KELP = str(shipped("examples") / "kelp-plant-labels.toml")


@pytest.fixture
def cli(capsys):
    """Runs a command line: exit code, stdout, stderr."""

    def call(*arguments: str) -> tuple[int, str, str]:
        code = run(arguments)
        out, err = capsys.readouterr()
        return code, out, err

    return call


def written(folder: Path, text: str) -> str:
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


# ------------------------------------------------------------------------- help


@pytest.mark.parametrize("arguments", [[], ["--help"], ["-h"]])
def test_without_a_command_the_help_is_shown(cli, arguments):
    code, out, err = cli(*arguments)
    assert (code, err) == (0, "")
    assert not [command for command in COMMANDS if f"  {command} " not in out]
    for exit_code in ("0", "2", "3", "4", "130"):
        assert re.search(rf"^ +{exit_code} +\S", out, re.MULTILINE)


def test_the_version(cli):
    assert cli("--version") == (0, f"moldwin {moldwin.__version__}\n", "")


# ----------------------------------------------------------------------- advise


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_advise_answers_every_example_in_both_forms(cli, example):
    code, page, _ = cli("advise", str(example))
    assert code == 0
    assert "WHAT TO DO" in page
    code, text, _ = cli("advise", str(example), "--json")
    assert code == 0
    assert json.loads(text)["schema"] == "moldwin.advice/1"


def test_without_a_job_the_bundled_example_is_titled_so(cli):
    code, page, _ = cli("advise")
    assert code == 0
    assert page.startswith("Bundled example, not your blend\n")
    assert not cli("advise", BUNDLED)[1].startswith("Bundled example")


def test_the_same_seed_gives_the_same_bytes_and_another_seed_does_not(cli):
    first, again, other = (cli("advise", "--json", "--seed", s)[1] for s in ("5", "5", "6"))
    assert first == again != other


def test_confidence_reaches_the_answer(cli):
    _, text, _ = cli("advise", "--json", "--confidence", "0.6")
    assert json.loads(text)["barrel"]["confidence"] == 0.6


def test_set_changes_the_job_and_not_the_file(cli):
    before = Path(BUNDLED).read_bytes()
    _, text, _ = cli("advise", BUNDLED, "--json", "--set", "pellets.moisture_pct=12.5")
    assert json.loads(text)["moisture"]["now_pct"] == pytest.approx(12.5)
    assert Path(BUNDLED).read_bytes() == before


def test_a_closed_window_is_an_answer(cli):
    code, page, err = cli("advise", DRY)
    assert (code, err) == (0, "")
    assert "Do not heat this." in page or "No barrel temperature reaches" in page
    assert "--set " in page


def test_strict_exits_4_and_still_prints_the_answer(cli):
    loose_code, loose, _ = cli("advise", KELP)
    code, strict, _ = cli("advise", KELP, "--strict")
    assert "No glass transition is published" in loose
    assert (loose_code, code) == (0, 4)
    assert strict == loose


@pytest.mark.parametrize(
    ("warning", "expected"),
    [("extrapolated", 4), ("unmeasured-material", 4), ("steam", 0), ("degradation", 0)],
)
def test_strict_minds_only_what_is_not_known(cli, monkeypatch, warning, expected):
    remark = Remark(warning, "caution", "A sentence.", "melting", "a source")
    monkeypatch.setattr(advise_module, "advise", lambda *_, **__: sample(warnings=[remark]))
    assert cli("advise", "--strict")[0] == expected
    assert cli("advise", "--strict", "--json")[0] == expected
    assert cli("advise")[0] == 0


def test_remarks_on_the_reading_go_to_stderr(cli, tmp_path):
    text = Path(BUNDLED).read_text(encoding="utf-8")
    job = written(tmp_path, text.replace("[jar]", "[jar]\nbed_depth_cm = 2\n"))
    code, out, err = cli("advise", job, "--json")
    assert code == 0
    assert "note: jar.bed_depth_cm is not used" in err
    json.loads(out)


def test_a_users_own_card_wins_and_is_named(cli, tmp_path):
    job = written(tmp_path, Path(BUNDLED).read_text(encoding="utf-8"))
    (tmp_path / "cards").mkdir()
    own = cards.library_for(None).card("glycerol").path.read_bytes()
    (tmp_path / "cards" / "glycerol.toml").write_bytes(own)
    code, _, err = cli("advise", job)
    assert (code, err) == (0, "note: your own card glycerol is used, not ours\n")


# ------------------------------------------------------------------ what is wrong


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["advise", "--confidence", "1.2"], "allowed: 0.5 to 0.99"),
        (["advise", "--confidence", "0.49"], "allowed: 0.5 to 0.99"),
        (["advise", "--confidence", "70"], "did you mean 0.7?"),
        (["advise", "--confidence", "nan"], "got nan"),
        (["advise", "--confidence", "high"], "--confidence"),
        (["advise", "--seed", "many"], "--seed"),
        (["advise", "--confidenc", "0.7"], "--confidence"),
        (["advise", "one.toml", "two.toml"], "two.toml"),
        (["advise", "no-such-job.toml"], "no such file"),
        (["advise", "."], "folder"),
        (["advise", ""], "folder"),
        (["advise", "--set", "pellets.moisture=12"], "did you mean 'moisture_pct'?"),
        (["advise", "--set", "moisture"], "KEY=VALUE"),
        (["advise", "--set", "pellets.moisture_pct=120"], "120"),
        (["advise", "--set", "pellets.moisture_pct=0.13"], "13"),
        (["advise", "--set", "ingredient.corn-starh.mass_g=5"], "corn-starch"),
        (["cards", "corn-stach"], "did you mean 'corn-starch'?"),
        (["cards", "--job", "no-such-job.toml"], "no such file"),
        (["check"], "JOB.toml"),
        (["check", "no-such-job.toml"], "no such file"),
        (["advice"], "advise"),
        (["--nonsense"], "--nonsense"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_a_wrong_command_line_gets_a_sentence_and_exit_2(cli, arguments, said):
    code, out, err = cli(*arguments)
    assert (code, out) == (2, "")
    assert said in err
    assert "Traceback" not in err


def test_check_says_all_faults_at_once_with_lines_and_nearest_keys(cli, tmp_path):
    job = written(
        tmp_path,
        '[[ingredient]]\ncard = "corn-stach"\nmass_g = -5\n[pellets]\nmoistre_pct = 12\n'
        "moisture_pct = 120\n[pres]\n",
    )
    code, out, err = cli("check", job)
    assert (code, out) == (2, "")
    lines = err.splitlines()
    for number, hint in ((2, "corn-starch"), (3, "mass_g"), (5, "moisture_pct"), (6, "120")):
        assert [line for line in lines if f"line {number}:" in line and hint in line], err
    assert [line for line in lines if "'press'" in line], err


def test_check_of_a_sound_job_says_fine_and_what_is_left_out(cli, tmp_path):
    job = written(
        tmp_path,
        '[[ingredient]]\ncard = "corn-starch"\nmass_g = 100\n[pellets]\nmoisture_pct = 12\n',
    )
    code, out, err = cli("check", job)
    assert (code, err) == (0, "")
    assert out.startswith(f"{job}: fine.")
    assert "no [room]" in out


def test_check_takes_settings_into_account(cli):
    assert cli("check", BUNDLED)[0] == 0
    assert cli("check", BUNDLED, "--set", "pellets.moisture_pct=120")[0] == 2


def test_faults_cannot_steer_the_terminal(cli, tmp_path):
    job = written(tmp_path, 'title = "x"\n"\\u001b[2J" = 1\n')
    _, _, err = cli("check", job)
    assert "\x1b" not in err
    code, out, err = cli("advise", "\x1b[2J.toml")
    assert (code, out) == (2, "")
    assert "\x1b" not in err


# ------------------------------------------------------------------------- cards


def test_cards_lists_materials_sources_and_bench(cli):
    code, out, err = cli("cards")
    assert (code, err) == (0, "")
    assert "brown-seaweed-powder" in out
    assert "NaCl" in out
    assert "press.weld_offset" in out


def test_cards_json(cli):
    listed = json.loads(cli("cards", "--json")[1])
    assert listed["schema"] == "moldwin.cards/1"
    one = json.loads(cli("cards", "corn-starch", "--json")[1])
    assert one["schema"] == "moldwin.card/1"
    assert {"key", "value", "unit", "u", "status", "source"} <= set(one["values"][0])


def test_a_broken_card_of_the_users_own_exits_3(cli, tmp_path):
    job = written(tmp_path, Path(BUNDLED).read_text(encoding="utf-8"))
    (tmp_path / "cards").mkdir()
    (tmp_path / "cards" / "glycerol.toml").write_text('name = "glycerol"\ntitel = "x"\n')
    for arguments in (
        ["advise", job],
        ["check", job],
        ["cards", "--job", job],
        ["cards", "glycerol", "--job", job],
    ):
        code, out, err = cli(*arguments)
        assert (code, out) == (3, ""), arguments
        assert "glycerol.toml" in err
        assert "title" in err


# --------------------------------------------------------------- how it may end


def test_ctrl_c_exits_130_without_a_traceback(cli, monkeypatch):
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(advise_module, "advise", stopped)
    code, out, err = cli("advise")
    assert (code, out) == (130, "")
    assert "Traceback" not in err
