"""``moldwin plan`` as a user meets it: page, data, sheet, and what is refused."""

from __future__ import annotations

import csv
import json
import re
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from moldwin.advice import planned
from moldwin.advice.advise import advise
from moldwin.advice.bench_tests import BenchTest
from moldwin.cli.app import run
from moldwin.learn.gains import Tells
from moldwin.learn.planning import Beside, plan_trials
from moldwin.report import plan_page
from tests.jobs import BAR, DRY, EXAMPLES, setup_of

#: Few samples: what is tested here does not depend on them.
COUNT = 96
AT, SOAK = np.array([403.15]), np.array([600.0])


@pytest.fixture
def cli(capsys, monkeypatch):
    """Runs ``moldwin plan`` quickly: exit code, stdout, stderr."""
    monkeypatch.setattr(planned, "plan_job", partial(planned.plan_job, count=COUNT))

    def call(*arguments: str) -> tuple[int, str, str]:
        code = run([str(a) for a in arguments])
        out, err = capsys.readouterr()
        return code, out, err

    return call


@pytest.fixture
def own(tmp_path) -> Path:
    """The bar's job in a folder of its own, so that no book is found by chance."""
    path = tmp_path / "bar.toml"
    path.write_bytes(Path(BAR).read_bytes())
    return path


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_page_and_data_for_every_example(cli, example):
    code, page, err = cli("plan", example, "--trials", "2")
    assert (code, err) == (0, "")
    # but for a command that is to be copied whole
    assert max(len(line) for line in page.splitlines() if not line.startswith("  moldwin ")) <= 80
    code, text, _ = cli("plan", example, "--trials", "2", "--json")
    found = json.loads(text)
    assert (code, found["schema"]) == (0, "moldwin.plan/1")
    assert bool(found["trials"]) == (found["why_none"] is None)
    for trial in found["trials"]:
        assert trial["spread_after_k"] < found["now"]["spread_k"]
        if trial["kind"] == "bench":
            assert trial["what"][1:40] in page
            continue
        assert found["heat"]
        assert 0.0 <= trial["chance"] <= trial["barrel_chance"] <= 1.0
        assert f"{trial['barrel_c']:.0f} °C" in page


@pytest.mark.parametrize("options", [(), ("--design", "cross"), ("-o", "sheet.csv")])
def test_a_narrow_page_holds_even_the_command_to_copy(cli, monkeypatch, tmp_path, options):
    """It goes on behind a backslash, as a shell takes it, and an option stays with its value."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "40")
    (tmp_path / "bar.toml").write_bytes(Path(BAR).read_bytes())
    _, page, _ = cli("plan", "bar.toml", "--trials", "1", *options)
    assert max(len(line) for line in page.splitlines()) <= 40
    command = page[page.rindex("  moldwin ") :].replace("\\\n   ", "").split()
    assert command[1:3] in (["plan", "bar.toml"], ["trial", "add"])
    assert command[-2:] in (["-o", "trials-to-do.csv"], ["--from", "sheet.csv"])
    assert not [line for line in page.splitlines() if line.endswith(("-o \\", "--design \\"))]


def test_without_a_job_the_bundled_example_is_titled_so(cli):
    assert cli("plan", "--trials", "1")[1].startswith("Bundled example, not your blend\n")


def test_the_same_seed_gives_the_same_bytes_and_another_seed_does_not(cli, own):
    first, again, other = (
        cli("plan", own, "--trials", "1", "--json", "--seed", s)[1] for s in ("5", "5", "6")
    )
    assert first == again != other


def test_the_sheet_filled_in_goes_back_into_the_book(cli, own):
    sheet = own.parent / "to-do.csv"
    data = json.loads(cli("plan", own, "--trials", "4", "--json")[1])
    pressed = sum(trial["kind"] == "press" for trial in data["trials"])
    code, page, _ = cli("plan", own, "--trials", "4", "-o", sheet)
    assert code == 0
    assert f"--from {sheet}" in page
    with sheet.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == pressed >= 2
    for row in rows:
        assert row["filled"] == row["color"] == ""
        row.update(filled="no", fill_pct="60", color="1", bubbles="none")
    with sheet.open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, list(rows[0]))
        table.writeheader()
        table.writerows(rows)
    code, _, err = cli("trial", "add", own, "--from", sheet)
    assert code == 0, err
    before = json.loads(
        cli("plan", own, "--trials", "1", "--book", own.parent / "x.csv")[1] or "{}"
    )
    assert before == {}  # a book that was named must be there
    known = json.loads(cli("plan", own, "--trials", "1", "--json")[1])
    assert known["learned_from"] == [*range(1, pressed + 1)]


def test_trials_of_the_book_narrow_what_is_known(cli, own, monkeypatch):
    # two trials leave too few of a hundred samples to tell a spread by
    monkeypatch.setattr(planned, "plan_job", partial(planned.plan_job, count=512))
    new = json.loads(cli("plan", own, "--trials", "1", "--json")[1])
    assert new["learned_from"] == []
    for barrel, share in (("110", "55"), ("130", "90")):
        options = ("--barrel-c", barrel, "--soak-s", "400", "--fill-pct", share, "--filled", "no")
        assert cli("trial", "add", own, *options)[0] == 0
    known = json.loads(cli("plan", own, "--trials", "1", "--json")[1])
    assert known["learned_from"] == [1, 2]
    assert known["now"]["spread_k"] < new["now"]["spread_k"]


@pytest.mark.parametrize(("shape", "points"), [("grid", 9), ("cross", 7)])
def test_a_design_with_its_sheet(cli, own, shape, points):
    sheet = own.parent / "design.csv"
    code, page, _ = cli("plan", own, "--design", shape, "-o", sheet)
    assert code == 0
    assert "glycerol" in page
    with sheet.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert 0 < len(rows) <= points
    # rows of another batch bring its recipe, so that they are kept with the right job
    code, _, err = cli("trial", "add", own, "--from", sheet)
    assert code == 0, err
    assert any(row["job_tables"] for row in rows)


#: A barrel too small for the charge; a chance next to nothing; an open barrel under a weak ram.
_COLD = (
    ("press.barrel_capacity_cm3=0.3",),
    ("press.force_kn=0.05",),
    ("press.sealed_nozzle=false", "press.force_kn=0.05"),
)


@pytest.mark.parametrize("sets", _COLD, ids=lambda sets: sets[0])
def test_where_the_advice_says_do_not_heat_nothing_is_pressed(cli, own, sets):
    said = [part for one in sets for part in ("--set", one)]
    assert advise(str(own), sets=sets, count=COUNT).heat is False
    found = json.loads(cli("plan", own, *said, "--json")[1])
    assert found["heat"] is False
    assert found["why_not_heat"]
    assert {trial["kind"] for trial in found["trials"]} <= {"bench"}
    assert not any(trial["key"].startswith("press.") for trial in found["trials"])
    sheet = own.parent / "none.csv"
    page = " ".join(cli("plan", own, *said, "-o", sheet)[1].split())
    assert "DO NOT HEAT" in page
    assert "The advice is no" in page
    assert "AT THE PRESS" not in page
    assert not sheet.exists()
    designed = json.loads(cli("plan", own, *said, "--design", "cross", "--json")[1])
    assert designed["trials"] == designed["left_out"] == []


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_plan_and_advise_agree_on_whether_to_heat(cli, example):
    heat = advise(str(example), count=COUNT).heat
    assert json.loads(cli("plan", example, "--trials", "1", "--json")[1])["heat"] is heat


def test_what_has_to_change_first_is_told(cli):
    weak = ("--set", "press.force_kn=3")
    found = json.loads(cli("plan", DRY, *weak, "--json")[1])
    assert found["heat"] is False
    assert found["change_first"]
    page = " ".join(cli("plan", DRY, *weak)[1].split())
    assert "What has to change first" in page
    assert all(key in page for change in found["change_first"] for key in change["set"])


def test_more_pellets_than_there_are_is_said_in_plain_numbers(cli, own):
    code, page, _ = cli("plan", own, "--set", "pellets.mass_g=1.5", "--trials", "2")
    assert code == 0
    assert not re.search(r"\de[+-]?\d", page)
    assert "more than the 1.5 g there are" in " ".join(page.split())


def test_a_blend_that_no_law_here_holds_for_gets_no_trial(cli, own):
    text = own.read_text(encoding="utf-8")
    own.write_text(text.replace('"corn-starch"', '"gelatin"'), encoding="utf-8")
    more = '\n[[ingredient]]\ncard = "corn-starch"\nmass_g = 20\n'
    own.write_text(own.read_text(encoding="utf-8") + more, encoding="utf-8")
    code, page, _ = cli("plan", own)
    assert code == 0
    assert "NO TRIAL" in page
    assert json.loads(cli("plan", own, "--json")[1])["trials"] == []


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--trials", "0"), "--trials"),
        (("--trials", "99"), "1 to 12"),
        (("--aim", "both"), "window, part"),
        (("--design", "star"), "grid, cross"),
        (("--confidence", "70"), "did you mean 0.7"),
        (("-o", "sheet.xlsx"), ".csv"),
        (("--book", "nowhere.sqlite"), "nowhere.sqlite"),
    ],
)
def test_what_is_refused(cli, own, arguments, said):
    code, out, err = cli("plan", own, *arguments)
    assert (code, out) == (2, "")
    assert said in err


def test_a_sheet_that_is_there_is_kept(cli, own):
    sheet = own.parent / "mine.csv"
    sheet.write_text("mine", encoding="utf-8")
    assert cli("plan", own, "--trials", "1", "-o", sheet)[0] == 2
    assert sheet.read_text(encoding="utf-8") == "mine"
    assert cli("plan", own, "--trials", "1", "-o", sheet, "--force")[0] == 0
    assert sheet.read_text(encoding="utf-8") != "mine"


def test_stopped_by_the_user(cli, own, monkeypatch):
    def stopped(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(planned, "plan_job", stopped)
    assert cli("plan", own) == (130, "", "")


def test_what_if_reaches_the_plan(cli, own):
    weak = json.loads(cli("plan", own, "--trials", "1", "--json", "--set", "press.force_kn=1")[1])
    strong = json.loads(cli("plan", own, "--trials", "1", "--json")[1])
    assert weak["now"]["best_chance"] < strong["now"]["best_chance"]


def _test(key, days=0.0):
    return BenchTest("a reading", "read it", key, 40.0, (), (), days=days)


def test_a_measurement_says_how_long_it_takes_and_where_its_reading_goes():
    assert plan_page._takes(_test("trial.color")) == "40 min"
    assert plan_page._takes(_test("x", days=1.0)) == "40 min and 1 day of waiting"
    assert plan_page._takes(_test("x", days=7.0)) == "40 min and 7 days of waiting"
    assert plan_page._goes(_test("trial.color")) == ""
    assert plan_page._goes(_test("press.heater_u_c")) == " It goes into `press.heater_u_c`."
    told = plan_page._goes(_test("fit.humidity_weighings"))
    assert "`moldwin fit --humidity-weighings`" in told


def test_a_week_in_the_jar_counts_as_days():
    """Of two measurements that tell as much, the one without a week's wait is taken."""
    setup = setup_of(BAR, count=COUNT)
    tells = Tells(setup.window(0.10).barrel_stage.margins(AT, SOAK)["fill"][0], np.array([0.01]))
    both = [Beside("slow", 40.0, tells, days=7.0), Beside("quick", 40.0, tells)]
    (step,) = plan_trials(setup, 1, among=(), beside=both).steps
    assert (step.name, step.effort.wait) == ("quick", 0.0)
    (step,) = plan_trials(setup, 1, among=(), beside=both[:1]).steps
    assert (step.name, step.effort.wait) == ("slow", 7.0)
