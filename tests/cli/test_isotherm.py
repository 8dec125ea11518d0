"""``moldwin moisture --isotherm`` as a user meets it, up to a card that the advice uses."""

from __future__ import annotations

import json

import pytest

from moldwin.cli.app import run
from moldwin.inputs.cards import Library, load_card
from moldwin.inputs.read_job import read_job
from moldwin.stages.bench import Bench
from moldwin.stages.state import Material
from tests.jobs import KELP

KELP_CARD = "brown-seaweed-powder"
POINTS = """sample;humidity_pct;dish_g;gross_g
a;0;20,00;30,00
a;33;20,00;30,71
a;57;20,00;31,25
b;0;21,00;31,00
b;43;21,00;31,90
"""


@pytest.fixture
def table(tmp_path):
    path = tmp_path / "points.csv"
    path.write_text(POINTS, encoding="utf-8")
    return str(path)


@pytest.fixture
def cli(capsys):
    def call(*arguments):
        code = run(["moisture", *map(str, arguments)])
        out, err = capsys.readouterr()
        return code, out, err

    return call


def test_the_page(cli, table):
    code, out, err = cli(table, "--isotherm", KELP_CARD)
    assert code == 0
    assert "taken as weighed at 21 °C" in err
    assert "MOISTURE AT A HUMIDITY" in out
    assert "--card-out" in out
    assert max(len(line) for line in out.splitlines()) <= 80


def test_the_data(cli, table):
    code, out, err = cli(table, "--isotherm", KELP_CARD, "--temperature-c", "25", "--json")
    told = json.loads(out)
    assert (code, err, told["schema"]) == (0, "", "moldwin.isotherm/1")
    assert [point["humidity_pct"] for point in told["points"]] == pytest.approx([33, 43, 57])
    assert told["points"][0]["dry_pct"] == pytest.approx(7.1)
    assert {"low", "likely", "high"} == set(told["xm_pct"])
    assert told["written"] is None


@pytest.mark.parametrize("name", [KELP_CARD, "my-kelp"])
def test_a_written_card_loads_and_holds_what_the_page_says(cli, table, tmp_path, name):
    out_file = tmp_path / f"{name}.toml"
    code, out, err = cli(
        table, "--isotherm", KELP_CARD, "--temperature-c", "25", "--card-out", out_file, "--json"
    )
    assert (code, err) == (0, "")
    told, card = json.loads(out), load_card(out_file)
    assert card.name == name
    assert card["xm"].value == pytest.approx(told["xm_pct"]["likely"] / 100, rel=1e-4)
    assert card["k"].value * card["k"].factor == pytest.approx(told["k"]["high"], rel=1e-3)
    assert {card[key].status for key in ("xm", "c", "k")} == {"measured"}
    assert card.groups[-1].members == ("xm", "c", "k")
    ours = Library([]).card(KELP_CARD)
    kept = set(ours.quantities) - {"xm", "c", "k", "isotherm_t"}
    assert all(card[key].value == ours[key].value for key in kept)
    assert not any("isotherm" in words for words in card.missing)


def test_a_job_beside_it_uses_it(cli, table, tmp_path, capsys):
    (tmp_path / "cards").mkdir()
    job = tmp_path / "job.toml"
    job.write_bytes(KELP.read_bytes())
    before = _activity(read_job(job))
    own = tmp_path / "cards" / f"{KELP_CARD}.toml"
    assert cli(table, "--isotherm", KELP_CARD, "--card-out", own)[0] == 0
    after = _activity(read_job(job))
    assert after.mean() > before.mean() + 0.02  # less water in balance: damper at the same water
    assert after.std() < before.std()
    assert run(["advise", str(job), "--json"]) == 0
    assert KELP_CARD in capsys.readouterr().err


def _activity(job):
    bench = Bench(job, count=256)
    return Material(bench).at(0.08).a_water


def test_a_second_fit_starts_from_the_first(cli, table, tmp_path, monkeypatch):
    monkeypatch.setenv("MOLDWIN_CARDS", str(tmp_path))
    target = tmp_path / f"{KELP_CARD}.toml"
    call = (table, "--isotherm", KELP_CARD, "--card-out", target, "--json")
    first = json.loads(cli(*call)[1])
    second = json.loads(cli(*call, "--force")[1])
    assert second["card_before"]["xm_pct"]["likely"] == pytest.approx(
        first["xm_pct"]["likely"], rel=1e-4
    )
    assert load_card(target)["xm"].status == "measured"
    twice = "counted twice"
    assert any(twice in note for note in second["notes"])
    assert not any(twice in note for note in first["notes"])


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--isotherm", "kelp-powder"), "no card is named 'kelp-powder'"),
        (("--isotherm", "glycerol"), "name a polymer or a fiber"),
        (("--isotherm", KELP_CARD, "--oven-c", "105"), "says nothing about an isotherm"),
        (("--card-out", "x.toml"), "goes with --isotherm"),
        (("--isotherm", KELP_CARD, "--temperature-c", "298"), "allowed: 0 to 60"),
        (("--isotherm", KELP_CARD, "--card-out", "x.csv"), "allowed: .toml"),
    ],
)
def test_what_is_wrong_is_a_sentence_and_exit_2(cli, table, arguments, words):
    code, out, err = cli(table, *arguments)
    assert (code, out) == (2, "")
    assert words in err


def test_no_table_and_a_file_in_the_way(cli, table, tmp_path):
    code, _, err = cli("--isotherm", KELP_CARD)
    assert code == 2
    assert "name a table" in err
    taken = tmp_path / "mine.toml"
    taken.write_text("mine", encoding="utf-8")
    code, _, err = cli(table, "--isotherm", KELP_CARD, "--card-out", taken)
    assert (code, taken.read_text(encoding="utf-8")) == (2, "mine")
    assert "--force" in err


def test_shipped_cards_with_an_isotherm_can_all_be_written(table, tmp_path, cli):
    library = Library([])
    with_isotherm = [name for name in library.names() if library.card(name).get("xm") is not None]
    assert len(with_isotherm) > 8
    for name in with_isotherm:
        target = tmp_path / f"{name}.toml"
        code, _, err = cli(table, "--isotherm", name, "--card-out", target)
        assert code == 0, err
        assert load_card(target).groups
