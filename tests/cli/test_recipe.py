"""``moldwin recipe`` as a user meets it."""

from __future__ import annotations

import json

import pytest

from moldwin.cli.app import run
from tests.jobs import BAR, DRY, EXAMPLES, KELP

TRIPLE = {"low", "likely", "high"}


def _run(capsys, *call):
    code = run(["recipe", *map(str, call)])
    out, err = capsys.readouterr()
    return code, out, err


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize(
    "asked", [(), ("--parts", 40), ("--aim", "flexible"), ("--ladder", "glycerol")]
)
def test_every_example_answers_within_80_columns(capsys, example, asked):
    code, page, err = _run(capsys, example, *asked)
    assert (code, err) == (0, "")
    assert max(len(line) for line in page.splitlines()) <= 80
    assert "…" not in page  # nothing is cut off
    for heading in ("WHAT GOES IN", "WHAT COMES OUT", "COOKING", "SETTLED IN ITS ROOM"):
        assert heading in page


def test_the_bundled_example_is_called_so(capsys):
    code, page, _ = _run(capsys)
    assert code == 0
    assert page.startswith("Bundled example, not your blend")


def test_a_wide_page_of_everything_at_once_is_not_cut(capsys):
    prices = [f"--set=price.{name}=12.5" for name in ("brown-seaweed-powder", "sorbitol")]
    code, page, _ = _run(capsys, KELP, "--parts", 40, "--swap", "glycerol=sorbitol", *prices)
    assert code == 0
    assert max(len(line) for line in page.splitlines()) <= 80
    assert "…" not in page
    assert "CHANGED: --swap glycerol=sorbitol" in page
    assert "for 40 parts" in page


def test_the_data(capsys):
    code, out, err = _run(capsys, KELP, "--parts", 40, "--tg-in-room", 5, "--json")
    told = json.loads(out)
    assert (code, err) == (0, "")
    assert told["schema"] == "moldwin.recipe/1"
    for key in ("wet_gel_g", "dry_g", "pellets_g", "parts"):
        assert isinstance(told[key], float), key
    assert told["parts"] >= 40
    assert told["chance_of_parts"] >= 0.7
    assert told["change"]["reached"] is True
    assert told["change"]["target_tg_c"] == pytest.approx(5.0)
    assert set(told["charge_g"]) == TRIPLE
    for mass in told["steps_g"].values():
        assert mass["low"] <= mass["likely"] <= mass["high"]
    assert [line["card"] for line in told["ingredients"]] == [
        "brown-seaweed-powder",
        "potato-starch",
        "glycerol",
    ]
    assert told["cost"]["per_part"] > 0
    assert {"code", "severity", "message", "stage", "source"} == set(told["warnings"][0])
    assert {"name", "value", "unit", "status", "source"} == set(told["assumptions"][0])


def test_a_changed_job_is_written_and_advise_takes_it(capsys, tmp_path):
    new = tmp_path / "new.toml"
    code, _, err = _run(capsys, KELP, "--aim", "firm", "--parts", 40, "-o", new)
    assert code == 0
    assert str(new) in err
    assert "# Plant labels" in new.read_text(encoding="utf-8")
    assert run(["advise", str(new), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    code, out, _ = _run(capsys, new, "--json")
    again = json.loads(out)
    assert code == 0
    assert again["parts_between"]["low"] <= 40 <= again["parts_between"]["high"]
    assert again["moisture_pct"] == told["moisture"]["target_best_pct"]


def test_no_file_is_written_over_without_force(capsys, tmp_path):
    new = tmp_path / "new.toml"
    new.write_text("mine", encoding="utf-8")
    code, out, err = _run(capsys, BAR, "--parts", 10, "-o", new)
    assert (code, out) == (2, "")
    assert "--force" in err
    assert new.read_text(encoding="utf-8") == "mine"
    assert _run(capsys, BAR, "--parts", 10, "-o", new, "--force")[0] == 0
    assert "corn-starch" in new.read_text(encoding="utf-8")


def test_a_pot_needs_no_pellets(capsys, tmp_path):
    job = tmp_path / "pot.toml"
    job.write_text(
        '[[ingredient]]\ncard = "corn-starch"\nmass_g = 300\n\n'
        '[[ingredient]]\ncard = "glycerol"\nmass_g = 90\n\n[pot]\nwater_g = 1500\n',
        encoding="utf-8",
    )
    code, page, err = _run(capsys, job)
    assert code == 0
    assert "needs none" in err
    assert "WHAT COMES OUT" in page
    assert "Parts are not counted" in page


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (("--aim", "soft"), "flexible or firm"),
        (("--tg-in-room", 280), "in kelvin? That is 7 °C"),
        (("--tg-in-room", 149), "the nearest is"),
        (("--swap", "glycerol"), "such as glycerol=sorbitol"),
        (("--swap", "glycerine=sorbitol"), "did you mean 'glycerol'"),
        (("--swap", "glycerol=sorbitol", "--aim", "firm"), "one at a time"),
        (("--parts", 0), "allowed: 1"),
        (("--parts", "many"), "--parts"),
        (("--confidence", 70), "did you mean 0.7"),
        (("--ladder", "glycerin"), "did you mean 'glycerol'"),
        (("-o", "new.txt"), ".toml"),
        (("--set", "ingredient.glycerol.mass_g=900"), "swapped"),
        (("--set", "ingredient.oat-starch.mass_g=90"), "--template"),
        (("--set", "ingredient.potatoe-starch.mass_g=90"), "did you mean 'potato-starch'"),
        (("--set", "pot.water_g=-5"), "pot.water_g"),
    ],
)
def test_what_is_wrong_is_said_in_one_sentence(capsys, call, says):
    code, out, err = _run(capsys, KELP, *call)
    assert (code, out) == (2, "")
    assert says in err
    assert "Traceback" not in err


def test_a_pot_with_no_polymer(capsys):
    sets = [f"--set=ingredient.{card}.mass_g=0" for card in ("potato-starch",)]
    code, out, err = _run(capsys, DRY, *sets, "--set=ingredient.glycerol.mass_g=50")
    assert (code, out) == (2, "")
    assert "no polymer" in err


def test_a_card_of_ones_own_starts_from_a_template(capsys, tmp_path):
    assert run(["cards", "potato-starch", "--template", "oat-starch"]) == 0
    text = capsys.readouterr().out
    (tmp_path / "cards").mkdir()
    (tmp_path / "cards" / "oat-starch.toml").write_text(text, encoding="utf-8")
    job = tmp_path / "job.toml"
    kelp = KELP.read_text(encoding="utf-8").replace("potato-starch", "oat-starch")
    job.write_text(kelp, encoding="utf-8")
    code, page, _ = _run(capsys, job)
    assert code == 0
    assert "oat-starch" in page
    assert run(["cards", "--template", "oat-starch"]) == 2
