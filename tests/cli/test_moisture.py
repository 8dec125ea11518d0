"""``moldwin moisture`` as a user meets it: answers, and what it says of bad weighings."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from moldwin.inputs.files import shipped
from tests.cli.moisture_calls import (
    HEAD,
    NO_GLYCEROL,
    TYPED,
    caller,
    read,
    table,
    with_weighings,
)
from tests.jobs import BAR

INVENTED = str(shipped("examples") / "weighings-invented.csv")
HOT = ["--oven-c", "130", "--minutes", "90", "--dish-area-cm2", "20"]


@pytest.fixture
def cli(capsys):
    return caller(capsys)


@pytest.fixture
def answer(cli):
    return lambda *arguments: read(cli, *arguments)


@pytest.fixture
def job(tmp_path):
    """A copy of a bundled job."""
    path = tmp_path / "job.toml"
    path.write_bytes(BAR.read_bytes())
    return path


# ------------------------------------------------------------------------- answers


def test_typed_masses_give_both_bases(answer):
    found = answer(*TYPED, *NO_GLYCEROL)
    assert found["schema"] == "moldwin.moisture/1"
    assert found["wet_pct"] == pytest.approx(10.0, rel=1e-9)
    assert found["dry_pct"] == pytest.approx(100 / 9, rel=1e-9)
    assert found["glycerol_part_pct"] == 0.0
    assert 0.0 < found["u_pct"] < 0.02  # milligrams on five grams
    assert found["resolution_g"] == pytest.approx(0.001)


def test_the_step_of_the_scale_is_the_last_digit_typed_unless_given(answer):
    coarse = answer("--dish-g", "20.0", "--wet-g", "25.0", "--dry-g", "24.5", *NO_GLYCEROL)
    same = answer(*TYPED, "--resolution-g", "0.1", *NO_GLYCEROL)
    assert coarse["u_pct"] == pytest.approx(same["u_pct"], rel=1e-9)
    assert coarse["u_pct"] > 50 * answer(*TYPED, *NO_GLYCEROL)["u_pct"]


def test_a_table_and_typed_masses_agree(answer, tmp_path):
    path = table(tmp_path, HEAD + "a,0,20.000,25.000\na,90,20.000,24.500\n")
    with_table = answer(path, "--oven-c", "130", "--dish-area-cm2", "20", "--job", BAR)
    typed = answer(*TYPED, *HOT, "--job", BAR)
    for key in ("wet_pct", "dry_pct", "u_pct", "glycerol_part_pct"):
        assert with_table[key] == pytest.approx(typed[key], rel=1e-9)


def test_glycerol_is_taken_off_with_its_own_uncertainty_and_a_warning(answer):
    found = answer(*TYPED, *HOT, "--glycerol-g-per-100g-dry", "22")
    assert found["loss_pct"] == pytest.approx(10.0)
    assert found["wet_pct"] == pytest.approx(10.0 - found["glycerol_part_pct"], rel=1e-9)
    assert 1.1 < found["glycerol_part_pct"] < 3.2
    assert found["u_pct"] > 0.5
    assert [w["code"] for w in found["warnings"]] == ["glycerol-read-as-water"]
    assert {"code", "severity", "message", "stage", "source"} == set(found["warnings"][0])
    assert found["method"]["name"] == "ISO 1666"
    ways = " ".join(row["way"] for row in found["instead"])
    for words in ("cooler oven", "vacuum at 60 to 70", "desiccant", "Karl Fischer", "twin sample"):
        assert words in ways


def test_without_a_word_on_glycerol_its_part_is_null_with_the_reason(answer):
    found = answer(*TYPED, *HOT)
    assert found["glycerol_part_pct"] is None
    (row,) = [a for a in found["assumptions"] if a["name"] == "glycerol_part_pct"]
    assert row["value"] is None
    assert "none is taken off" in row["source"]
    assert found["wet_pct"] == pytest.approx(10.0)


def test_oven_and_recipe_come_from_the_job_and_options_win(answer, tmp_path):
    text = BAR.read_text(encoding="utf-8")
    oven = "[oven]\ntemperature_c = 130\nminutes = 90\ndish_area_cm2 = 20\n\n[scale]"
    path = tmp_path / "job.toml"
    path.write_text(text.replace("[scale]", oven), encoding="utf-8")
    by_job, by_hand = answer(*TYPED, "--job", path), answer(*TYPED, *HOT, "--job", BAR)
    assert by_job["glycerol_part_pct"] == pytest.approx(by_hand["glycerol_part_pct"], rel=1e-9)
    cooler = answer(*TYPED, "--job", path, "--oven-c", "100")
    assert cooler["glycerol_part_pct"] < 0.3 * by_job["glycerol_part_pct"]
    assert answer(*TYPED, "--job", path, *NO_GLYCEROL)["glycerol_part_pct"] == 0.0


def test_the_table_of_the_job_is_used_where_no_other_is_named(answer, tmp_path, job):
    table(tmp_path, HEAD + "a,0,20.000,25.000\na,90,20.000,24.500\n")
    with_weighings(job)
    assert answer("--job", job)["loss_pct"] == pytest.approx(10.0)


def test_masses_finer_than_the_jobs_scale_keep_their_own_step(cli):
    code, out, err = cli(*TYPED[:-1], "24.503", "--job", BAR, "--json")  # its scale shows 0.1 g
    assert code == 0
    assert json.loads(out)["resolution_g"] == pytest.approx(0.001)
    assert "scale.resolution_g" in err


def test_the_invented_table_has_three_places_of_the_bag_and_a_curve(answer):
    found = answer(INVENTED, "--oven-c", "105", "--glycerol-g-per-100g-dry", "22")
    assert len(found["samples"]) == 3
    assert found["settling"]["state"] in ("tail", "leveled")
    assert not [words for words in found["next"] if "other places" in words]
    assert found["intervals"]["wet_pct"]["low"] < found["wet_pct"]
    assert found["wet_pct"] < found["intervals"]["wet_pct"]["high"]


def test_the_page_tells_the_same(cli, answer):
    arguments = (INVENTED, "--oven-c", "105", "--glycerol-g-per-100g-dry", "22")
    found = answer(*arguments)
    code, page, err = cli(*arguments)
    assert (code, err) == (0, "")
    assert f"Moisture, wet basis: {found['wet_pct']:.1f} %" in page
    for words in ("middle", "glycerol", "ISO 287", "Karl Fischer", "Caution:", "ASSUMED"):
        assert words in page
    assert all(len(line) <= 80 for line in page.splitlines())


def test_the_page_of_a_single_sample_asks_for_more(cli):
    _, page, _ = cli(*TYPED)
    assert "Weigh 2 more samples from other places of the bag" in page
    assert "--glycerol-g-per-100g-dry" in page


def test_same_input_same_bytes(cli):
    assert cli(INVENTED, "--job", BAR, "--json") == cli(INVENTED, "--job", BAR, "--json")


# ------------------------------------------------------------------------ bad input


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "name a table"),
        (["--wet-g", "25", "--dry-g", "24"], "--dish-g: is missing"),
        (["--dish-g", "20", "--dry-g", "24"], "--wet-g: is missing"),
        (["--dish-g", "20", "--wet-g", "25"], "--dry-g: is missing"),
        (["--dish-g", "20", "--wet-g", "25", "--dry-g", "26"], "heavier dried"),
        (["--dish-g", "25", "--wet-g", "20", "--dry-g", "19"], "swapped"),
        (["--dish-g", "20", "--wet-g", "5", "--dry-g", "4.5"], "tared away"),
        (["--dish-g", "20", "--wet-g", "25", "--dry-g", "0.0245"], "kg"),
        (["--dish-g", "0.020", "--wet-g", "25", "--dry-g", "24"], "kg"),
        (["--dish-g", "0", "--wet-g", "25", "--dry-g", "0.0245"], "kg"),
        (["--dish-g", "20", "--wet-g", "25,5", "--dry-g", "24"], "use a point"),
        (["--dish-g", "20", "--wet-g", "25 g", "--dry-g", "24"], "a number belongs here"),
        (["--dish-g", "20", "--wet-g", "nan", "--dry-g", "24"], "allowed: 0 to"),
        ([*TYPED, "--oven-c", "403"], "did you mean 129.9? 403 looks like kelvin"),
        ([*TYPED, "--oven-c", "nan"], "--oven-c"),
        ([*TYPED, "--minutes", "0"], "--minutes"),
        ([*TYPED, "--dish-area-cm2", "-3"], "--dish-area-cm2"),
        ([*TYPED, "--resolution-g", "0"], "--resolution-g"),
        ([*TYPED, "--glycerol-g-per-100g-dry", "120"], "allowed: 0 to 90"),
        ([*TYPED, "--glycerol-g-per-100g-dry", "-1"], "allowed: 0 to 90"),
        ([INVENTED, *TYPED], "in the table already"),
        ([INVENTED, "--minutes", "90"], "column of minutes"),
        (["no-such.csv"], "no such file"),
        (["."], "folder"),
        ([*TYPED, "--job", "no-such.toml"], "no such file"),
        ([*TYPED, "--into", "no-such.toml"], "no such file"),
        ([*TYPED, "--into", INVENTED], "not valid TOML"),
    ],
    ids=lambda value: " ".join(value)[-60:] if isinstance(value, list) else "",
)
def test_a_wrong_command_line_gets_a_sentence_and_exit_2(cli, arguments, said):
    code, out, err = cli(*arguments)
    assert (code, out) == (2, "")
    assert said in err
    assert "Traceback" not in err


@pytest.mark.parametrize(
    ("rows", "said", "line"),
    [
        ("a,0,20,25\na,120,20,24\na,60,20,24.1\n", "out of order: 60 after 120; minutes rise", 4),
        ("a,90,20,24\na,0,20,25\n", "minutes 0", 2),
        ("a,0,20,25\na,90,20,26\n", "heavier dried (26) than wet (25); are the two swapped", 3),
        ("a,0,20,25\na,90,20,0.0245\n", "kg", 3),
        ("a,0,0.020,25\na,90,0.020,24\n", "kg", 2),
        ("a,0,20,25\na,90,20,24\nb,0,0.020,0.025\nb,90,0.020,0.0245\n", "kg", 4),
        ("a,0,,25\na,90,,24\n", "weigh the empty dish", 2),
        ("a,0,20,25,5\na,90,20,24,1\n", "decimal comma", 2),
        ('a,0,20,"25,5"\na,90,20,24\n', "use a point", 2),
        ("a,0,20,25 g\na,90,20,24 g\n", "the column names its unit", 2),
        ("a,0,20,25\na,1:30,20,24\n", "a number belongs here", 3),
        ("a,0,20,25\na,inf,20,24\n", "allowed", 3),
    ],
)
def test_a_wrong_table_is_named_with_its_line(cli, tmp_path, rows, said, line):
    code, out, err = cli(table(tmp_path, HEAD + rows))
    assert (code, out) == (2, "")
    assert [row for row in err.splitlines() if f"line {line}:" in row and said in row], err


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty"),
        ("\n\n", "is empty"),
        (HEAD, "holds no weighing"),
        ("a,0,20,25\na,90,20,24\n", "column is missing"),
        ("sample,minutes,dish_g,gross_g,gross_g\n", "twice"),
        ("sample,minutes,gross_g\na,0,25\na,90,24\n", "dish_g is 0 where the scale was tared"),
        ("\0" * 50, "save the table as CSV"),
        (HEAD + "a,0,20,25\n" * 200_000, "1 MB"),
        (HEAD + "".join(f"s{i},0,20,25\ns{i},90,20,24\n" for i in range(201)), "allowed are 200"),
        (HEAD + "a,x,20,25\n" * 20_000, "and more"),
    ],
    ids=[
        "empty",
        "blank",
        "header",
        "no header",
        "twice",
        "no dish",
        "binary",
        "huge",
        "many",
        "50",
    ],
)
def test_a_table_that_is_none_gets_a_sentence_and_exit_2(cli, tmp_path, text, said):
    code, out, err = cli(table(tmp_path, text))
    assert (code, out) == (2, "")
    assert said in err
    assert len(err.splitlines()) <= 60


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        (HEAD + "a,0,20.0,25.0\na,90,20.0,24.5\n", "utf-8-sig"),
        (HEAD.replace(",", ";") + "a;0;20,0;25,0\na;90;20,0;24,5\n", "utf-8"),
        (HEAD.replace(",", "\t") + "a\t0\t20,0\t25,0\na\t90\t20.0\t24.5\n", "utf-8"),
        (HEAD + "a,0,20.0,25.0\na,90,20.0,24.5\n,,,\n\n", "utf-8"),
        ((HEAD + "a,0,20.0,25.0\na,90,20.0,24.5\n").replace("\n", "\r\n"), "utf-8"),
        ("note,gross_g, dish_g,minutes,sample\nx,25.0,20.0,0,a\n,24.5,20.0,90,a\n", "utf-8"),
    ],
    ids=["bom", "semicolons", "tabs", "blank rows", "crlf", "other columns"],
)
def test_what_spreadsheets_write_is_read(answer, tmp_path, text, encoding):
    assert answer(table(tmp_path, text, encoding))["loss_pct"] == pytest.approx(10.0)


def test_a_job_in_the_way_of_its_own_faults_is_told(cli, tmp_path):
    path = tmp_path / "job.toml"
    path.write_text('[[ingredient]]\ncard = "corn-stach"\nmass_g = 3\n')
    code, out, err = cli(*TYPED, "--job", path)
    assert (code, out) == (2, "")
    assert "did you mean 'corn-starch'?" in err


# --------------------------------------------------------------------- how it starts


@pytest.mark.parametrize(
    ("arguments", "never"),
    [(["--help"], ("numpy", "scipy", "rich.console")), ([*TYPED, "--json"], ("pandas", "rich"))],
    ids=["help", "json"],
)
def test_it_loads_no_more_than_it_needs(arguments, never):
    code = (
        f"import sys\nfrom moldwin.cli.app import run\nrun({['moisture', *arguments]!r})\n"
        f"sys.stderr.write(' '.join(m for m in {never!r} if m in sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
