"""``moldwin condition`` as a user meets it."""

from __future__ import annotations

import json

import pytest

from moldwin.cli.app import run
from tests.jobs import BAR, EXAMPLES, KELP


@pytest.fixture
def cli(capsys):
    """Runs ``moldwin condition``: exit code, stdout, stderr."""

    def call(*arguments: str) -> tuple[int, str, str]:
        code = run(["condition", *arguments])
        out, err = capsys.readouterr()
        return code, out, err

    return call


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_answers_to_a_given_target(cli, example):
    code, page, err = cli(str(example), "--to-moisture-pct", "13.5")
    assert (code, err) == (0, "")
    assert max(len(line) for line in page.splitlines()) <= 80
    assert "Stop when the pellets weigh" in page
    assert "FASTER ROUTES" in page


def test_the_data(cli):
    code, text, _ = cli(str(KELP), "--json")
    assert code == 0
    told = json.loads(text)
    assert told["schema"] == "moldwin.conditioning/1"
    assert told["stop_scale_g"] == pytest.approx(told["stop_mass_g"] + 42.0)
    assert len(told["course"]["days"]) == len(told["course"]["mass_g"])
    again = cli(str(KELP), "--json")[1]
    assert again == text
    assert cli(str(KELP), "--json", "--seed", "7")[1] != text


def test_pellets_at_their_target_are_left_alone(cli):
    code, page, _ = cli(str(BAR))
    assert code == 0
    assert "at their target already" in page


def test_the_picture(cli, tmp_path):
    pytest.importorskip("matplotlib")
    for name, start in (("course.png", b"\x89PNG"), ("course.svg", b"<?xml")):
        code, _, err = cli(str(KELP), "-o", str(tmp_path / name))
        assert code == 0
        assert "is drawn in" in err
        assert (tmp_path / name).read_bytes().startswith(start)
    code, out, err = cli(str(KELP), "-o", str(tmp_path / "course.png"))
    assert (code, out) == (2, "")
    assert "--force" in err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--to-moisture-pct", "0.12"), "did you mean 12?"),
        (("--to-moisture-pct", "120"), "allowed: 1 to 40"),
        (("--source", "MgCl2", "--to-moisture-pct", "12"), "never reach"),
        (("--source", "sugar"), "unknown source"),
        (("--bath-water-g", "1"), "no slurry would be left"),
        (("--bath-water-g", "-1"), "allowed: 0"),
        (("--measured", "nowhere.csv"), "nowhere.csv"),
        (("--set", "jar.slurry_area_cm2=0"), "slurry_area_cm2"),
        (("-o", "course.pdf"), "allowed: .png, .svg"),
    ],
)
def test_what_is_wrong_is_a_sentence_and_exit_2(cli, arguments, words):
    code, out, err = cli(str(KELP), *arguments)
    assert (code, out) == (2, "")
    assert words in err


def test_water_just_enough_for_the_pellets_is_an_answer(cli):
    """A bath of 24 g that the pellets nearly empty once ended in a traceback."""
    wetter = ("--source", "plain-water", "--to-moisture-pct", "20", "--set", "pellets.mass_g=150")
    code, page, err = cli(str(KELP), *wetter, "--bath-water-g", "24")
    assert (code, err) == (0, "")
    assert "Do not leave it" in page
    code, page, err = cli(str(KELP), *wetter, "--bath-water-g", "22")
    assert (code, page) == (2, "")
    assert "no slurry would be left" in err


def test_wet_pellets_are_sent_to_the_oven_first(cli):
    wet = ("--set", "pellets.moisture_pct=50")
    page = cli(str(KELP), *wet)[1]
    assert page.index("Dry first:") < page.index("THE JAR")
    assert "moldwin dry" in page
    assert json.loads(cli(str(KELP), *wet, "--json")[1])["dry_first"] is True
    assert "Dry first" not in cli(str(KELP))[1]


def test_the_page_counts_one_hour_as_one(cli):
    page = cli(str(KELP), "--source", "plain-water")[1]
    assert "under 1 hour" in page
    assert "1 hours" not in page
    assert "1 days" not in page.replace("to 1 days", "")


def test_a_forced_oxidizer_is_told(cli):
    code, page, _ = cli(str(KELP), "--source", "KNO3")
    assert code == 0
    assert "feeds fire" in page


def test_weighings_narrow_and_are_told(cli, tmp_path):
    table = tmp_path / "mass.csv"
    table.write_text("hours,gross_g\n0,132.0\n24,132.9\n48,133.6\n96,134.4\n")
    code, page, _ = cli(str(KELP), "--measured", str(table))
    assert code == 0
    assert "WHAT YOUR 3 WEIGHINGS SAY" in page
    told = json.loads(cli(str(KELP), "--measured", str(table), "--json")[1])["measured"]
    width = {name: told[name]["days_90"] for name in ("before", "after")}
    assert width["after"]["high"] - width["after"]["low"] < (
        width["before"]["high"] - width["before"]["low"]
    )
