"""``moldwin new``: a conversation or a pipe, a job file with a word on every line, an answer."""

from __future__ import annotations

import io
import json
import os
import stat
import sys
import tomllib

import pytest

from moldwin.cli._new_questions import converse, questions
from moldwin.cli.app import run
from moldwin.inputs.cards import Library, library_for
from moldwin.inputs.read_job import check_job, read_job
from tests.cli.terminals import at_terminal

ALL = [
    "300 g potato starch, 90 g glycerol, 1,5 l water",
    "11,5 ± 0.7 %",
    "cylinder 3 x 4 mm",
    "22 x 80 mm",
    "25 kg x 14",
    "3 x 12",
    "yes",
    "140 °F",
    "60 x 15 x 3 mm",
]
TABLES = {
    "ingredient": [
        {"card": "potato-starch", "mass_g": 300},
        {"card": "glycerol", "mass_g": 90},
    ],
    "pot": {"water_g": 1500},
    "pellets": {
        "moisture_pct": 11.5,
        "moisture_u_pct": 0.7,
        "shape": "cylinder",
        "diameter_mm": 3,
        "length_mm": 4,
    },
    "press": {
        "plunger_diameter_mm": 22,
        "barrel_capacity_cm3": 30.4,
        "lever_force_n": 245.2,
        "lever_ratio": 14,
        "nozzle_diameter_mm": 3,
        "nozzle_length_mm": 12,
        "sealed_nozzle": True,
    },
    "mold": {"temperature_max_c": 60},
    "part": {"solid": [{"shape": "plate", "length_mm": 60, "width_mm": 15, "thickness_mm": 3}]},
}
posix = pytest.mark.skipif(os.name != "posix", reason="needs a terminal of a POSIX system")


@pytest.fixture
def new(capsys, tmp_path, monkeypatch):
    """Runs ``moldwin new`` on piped lines in an empty folder: exit code, stdout, stderr."""
    monkeypatch.chdir(tmp_path)

    def call(lines: list[str], *arguments: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
        code = run(["new", *arguments])
        out, err = capsys.readouterr()
        return code, out, err

    return call


def tables_of(path) -> dict[str, object]:
    tables = tomllib.loads(path.read_text(encoding="utf-8"))
    tables.pop("title")
    return tables


# ------------------------------------------------------------------------- what is written


def test_all_answers_become_a_job_and_its_page(new, tmp_path):
    code, out, err = new(ALL)
    assert (code, err) == (0, "The job is in my-job.toml.\n")
    assert tables_of(tmp_path / "my-job.toml") == TABLES
    assert check_job(tmp_path / "my-job.toml") == []
    assert "WHAT TO DO" in out
    assert "DID NOT KNOW" not in out
    assert "guess" not in out


def test_the_page_is_the_very_one_of_advise(new, capsys):
    _, out, _ = new(ALL)
    assert run(["advise", "my-job.toml"]) == 0
    assert capsys.readouterr().out == out


def test_the_same_answers_give_the_same_bytes(new, tmp_path):
    new(ALL, "one.toml")
    new(ALL, "two.toml")
    assert (tmp_path / "one.toml").read_bytes() == (tmp_path / "two.toml").read_bytes()


def test_the_file_explains_itself_within_100_columns(new, tmp_path):
    new(ALL[:1])
    text = (tmp_path / "my-job.toml").read_text(encoding="utf-8")
    assert max(len(line) for line in text.splitlines()) <= 100
    for words in ("moldwin check", "moldwin advise", "4 kN is assumed", "# force_kn ="):
        assert words in text


def test_every_commented_key_can_be_filled_in(new, tmp_path):
    new(ALL[:1])
    path = tmp_path / "my-job.toml"
    fitting = {
        "shape": '"sphere"\ndiameter_mm = 3',
        "plunger_diameter_mm": "22",
        "barrel_capacity_cm3": "30",
        "force_kn": "3",
        "nozzle_diameter_mm": "3",
        "sealed_nozzle": "true",
        "temperature_max_c": "90",
        "specimen": '"ISO 527-2 1BA"',
        "humidity_pct": "45",
    }
    text = path.read_text(encoding="utf-8")
    for key, value in fitting.items():
        assert f"# {key} =" in text
        text = text.replace(f"# {key} =", f"{key} = {value} #")
    path.write_text(text, encoding="utf-8")
    assert check_job(path) == []


# ----------------------------------------------------------------------- what is not known


def test_a_recipe_alone_is_enough_and_the_page_says_what_that_costs(new, tmp_path):
    code, out, _ = new(ALL[:1])
    assert code == 0
    below = out.partition("WHAT YOU DID NOT KNOW")[2]
    for words in ("moisture", "humidity", "force: 4 kN", "nozzle", "barrel", "mold", "The part"):
        assert words in below
    assert out.startswith("potato-starch 300 g, glycerol 90 g (moisture guessed)\n")


def test_a_guessed_moisture_is_wide_and_says_so_in_the_file(new, tmp_path):
    new(ALL[:1])
    path = tmp_path / "my-job.toml"
    pellets = read_job(path).pellets
    assert 0.05 < pellets.moisture < 0.20
    assert pellets.moisture_u >= 0.02
    assert "# a guess, nobody measured it" in path.read_text(encoding="utf-8")


def test_a_damper_room_gives_a_wetter_guess(new, tmp_path):
    for humidity in ("30", "70"):
        new([ALL[0], "don't know", humidity], f"{humidity}.toml")
    dry, damp = (read_job(tmp_path / f"{name}.toml").pellets.moisture for name in ("30", "70"))
    assert dry < damp - 0.03


@pytest.mark.parametrize("words", ["", "?", "I don't know", "dunno", "don’t know"])
def test_ways_to_say_that_nobody_knows(new, tmp_path, words):
    code, _, _ = new([ALL[0], "11", words])
    assert code == 0
    assert "shape" not in tables_of(tmp_path / "my-job.toml")["pellets"]


def test_the_costs_are_what_advise_says_of_either_end(new, capsys):
    """The best of either end is that of the same job with the force put in."""
    lines = [*ALL]
    lines[4] = "?"
    _, out, _ = new(lines)
    assert run(["advise", "my-job.toml", "--json"]) == 0
    advised = json.loads(capsys.readouterr().out)["settings"]["moisture_pct"]
    for force in (1, 10):
        sets = ["--set", f"press.force_kn={force}", "--set", f"pellets.moisture_pct={advised}"]
        assert run(["advise", "my-job.toml", "--json", *sets]) == 0
        barrel = json.loads(capsys.readouterr().out)["barrel"]
        (row,) = [line for line in out.splitlines() if line.startswith(f"{force} kN on it ")]
        assert row.split()[-2:] == [f"{100 * barrel['chance']:.0f}", "%"]


def test_where_nobody_should_heat_no_other_setting_is_named(new):
    _, out, _ = new(["100 g gelatin, 20 g glycerol"])
    assert "Do not heat this." in out
    assert "best" not in out.partition("WHAT YOU DID NOT KNOW")[2]


# -------------------------------------------------------------------------- what is wrong


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ([], "standard input: ingredients: nothing goes without them"),
        (["?"], "standard input, line 1: ingredients"),
        (["300 g patato starch"], "line 1: no material is known as 'patato starch'; did you mean"),
        (["300 g starch"], "line 1: starch: which one? cassava-starch, corn-starch"),
        (["100 g glycerol"], "line 1: ingredient: no polymer among glycerol"),
        ([*ALL[:1], "0.12"], "line 2: got 0.12; did you mean 12 %?"),
        ([*ALL[:1], "wet"], 'line 2: cannot read "wet"'),
        ([*ALL[:1], "75"], "line 2: moisture pct: got 75; allowed: 0 to 60 %"),
        ([*ALL[:3], "2200"], "line 4: plunger diameter mm: got 2200"),
        ([*ALL[:4], "3.5"], "line 5: 3.5 of what? Write the unit behind it"),
        ([*ALL[:4], "2 tons"], "line 5: a ton may be 907 or 1000 kg"),
        ([*ALL[:4], "8 MPa"], "line 5: is that the gauge of a jack?"),
        ([*ALL[:5], "25"], "line 6: nozzle diameter mm: is as wide as the barrel or wider"),
        ([*ALL[:6], "perhaps"], 'line 7: got "perhaps"; allowed: yes or no'),
        ([*ALL[:8], "frisbee 20 mm"], "line 9: no part is known as 'frisbee'"),
    ],
    ids=str,
)
def test_a_slip_on_a_pipe_names_its_line_and_nothing_is_written(new, tmp_path, lines, said):
    code, out, err = new(lines)
    assert (code, out) == (2, "")
    assert said in err
    assert err.startswith("standard input")
    assert list(tmp_path.iterdir()) == []


def test_what_goes_against_a_stand_in_alone_may_be_put_right(new, tmp_path):
    assert new([ALL[0], "11", "", "2.5 mm", "1 kN", "1 mm"])[0] == 0
    code, _, err = new([ALL[0], "11", "", "2.5 mm", "1 kN"], "other.toml")
    assert code == 2
    assert "3 mm is assumed" in err
    assert not (tmp_path / "other.toml").exists()


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("there.toml", "is there already; --force overwrites it"),
        ("job.txt", "ends in .txt"),
        ("no/job.toml", "no such folder"),
        ("link.toml", "is a link that leads out of its folder"),
    ],
)
def test_a_file_that_cannot_be_written_is_refused_before_anything_is_asked(
    new, tmp_path, tmp_path_factory, name, said
):
    (tmp_path / "there.toml").write_text("old")
    (tmp_path / "link.toml").symlink_to(tmp_path_factory.mktemp("other") / "job.toml")
    code, out, err = new(["nonsense"], name)
    assert (code, out) == (2, "")
    assert said in err
    assert (tmp_path / "there.toml").read_text() == "old"


def test_force_overwrites_but_only_with_a_whole_file(new, tmp_path):
    path = tmp_path / "my-job.toml"
    path.write_text("old")
    assert new(["nonsense"], "--force")[0] == 2
    assert path.read_text() == "old"
    assert new(ALL, "--force")[0] == 0
    assert tables_of(path) == TABLES
    assert [p.name for p in tmp_path.iterdir()] == ["my-job.toml"]


@posix
def test_a_folder_that_cannot_be_written_to_is_said(new, tmp_path):
    if os.geteuid() == 0:
        pytest.skip("root writes everywhere")
    tmp_path.chmod(stat.S_IRUSR | stat.S_IXUSR)
    try:
        assert new(ALL)[0] == 2
    finally:
        tmp_path.chmod(stat.S_IRWXU)


def test_cards_beside_the_file_are_known(new, tmp_path):
    (tmp_path / "jobs" / "cards").mkdir(parents=True)
    own = Library().card("corn-starch").path.read_text(encoding="utf-8")
    text = own.replace('name = "corn-starch"', 'name = "amaranth-starch"')
    (tmp_path / "jobs" / "cards" / "amaranth-starch.toml").write_text(text, encoding="utf-8")
    code, _, err = new(["100 g amaranth starch, 20 g glycerol", "11"], "jobs/mine.toml")
    assert (code, "amaranth" in err) == (0, False)
    assert read_job(tmp_path / "jobs" / "mine.toml").ingredients[0].card == "amaranth-starch"


# ------------------------------------------------------------------------ the conversation


def test_at_most_ten_questions_each_with_a_line_that_fits():
    said: list[str] = []
    asked = questions(Library(), 21.0)
    answers = iter([ALL[0]])
    converse(asked, library_for(None).card("agar").path.parent, lambda q: next(answers, ""),
             said.append, said.append)  # fmt: skip
    assert len(asked) == 10
    assert sum(line.startswith(("1/9", "2/9", "9/9")) for line in said) == 3
    assert max(map(len, said)) <= 80


def test_a_slip_is_told_and_the_question_comes_again(tmp_path):
    slips: list[str] = []
    typed = iter(["300 g patato", *ALL])
    found = converse(
        questions(Library(), 21.0), tmp_path, lambda q: next(typed), slips.append, lambda line: None
    )
    assert found.tables == TABLES
    assert found.unknown == []
    assert len(slips) == 1


def test_the_humidity_is_asked_only_where_the_moisture_is_not_known(tmp_path):
    def asks(moisture: str) -> bool:
        said: list[str] = []
        typed = iter([ALL[0], moisture])
        ask = lambda question: next(typed, "")  # noqa: E731
        converse(questions(Library(), 21.0), tmp_path, ask, said.append, said.append)
        return any("Humidity" in line for line in said)

    assert (asks("11"), asks("?")) == (False, True)


@posix
def test_at_a_terminal_questions_go_to_stderr_and_the_page_to_stdout(tmp_path):
    lines = [ALL[0], "damp", *ALL[1:]]
    ended = at_terminal(["new"], tmp_path, lines)
    assert ended.code == 0, ended.shown
    assert "9/9  The part" in ended.shown
    assert 'cannot read "damp"' in ended.shown
    assert max(map(len, ended.shown.splitlines())) <= 80
    assert ended.out.startswith("potato-starch 300 g, glycerol 90 g\n")
    assert tables_of(tmp_path / "my-job.toml") == TABLES


@posix
@pytest.mark.parametrize("key", ["\x03", "\x04"], ids=["ctrl-c", "ctrl-d"])
def test_leaving_the_conversation_exits_130_and_leaves_nothing(tmp_path, key):
    ended = at_terminal(["new"], tmp_path, [ALL[0], key])
    assert (ended.code, ended.out) == (130, "")
    assert "Traceback" not in ended.shown
    assert list(tmp_path.iterdir()) == []


def test_no_standard_input_at_all_is_a_sentence(new, monkeypatch, capsys, tmp_path):
    monkeypatch.setattr(sys, "stdin", None)
    assert run(["new", str(tmp_path / "x.toml")]) == 2
    assert "standard input" in capsys.readouterr().err
