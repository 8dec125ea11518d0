"""A card with something wrong in it is refused, with file, key, line and the likely slip."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from moldwin.inputs.cards import load_card
from moldwin.inputs.errors import CardError
from moldwin.inputs.files import shipped

GOOD = """name = "mine"
title = "My starch"
role = "polymer"
family = "starch"
[sources]
doe = "Doe 1990"
[tg_dry]
value = 500.0
unit = "K"
u = 5.0
source = "doe"
status = "read"
[xm]
value = 0.08
unit = "kg/kg"
source = "doe"
status = "read"
[c]
value = 20.0
unit = "1"
source = "doe"
status = "read"
[k]
value = 0.8
unit = "1"
source = "doe"
status = "read"
[isotherm_t]
value = 298.15
unit = "K"
source = "doe"
status = "read"
[group.gab]
members = ["xm", "c", "k"]
correlation = [[1, -0.6, -0.7], [-0.6, 1, 0.3], [-0.7, 0.3, 1]]
why = "assumed"
"""


def written(folder: Path, text: str | bytes, name: str = "mine") -> Path:
    path = folder / f"{name}.toml"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def faults_of(path: Path) -> str:
    with pytest.raises(CardError) as caught:
        load_card(path)
    assert all(fault.file == str(path) for fault in caught.value.faults)
    return str(caught.value)


def test_the_good_card_is_good(tmp_path):
    card = load_card(written(tmp_path, GOOD))
    assert card["tg_dry"].u == 5.0
    assert card.groups[0].members == ("xm", "c", "k")
    assert card.groups[0].correlation[1][2] == 0.3


TG = 'value = 500.0\nunit = "K"\nu = 5.0\nsource = "doe"\nstatus = "read"\n'


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("[tg_dry]", "[tg_dri]", "line 7: tg_dri: unknown key; did you mean 'tg_dry'"),
        ("u = 5.0", "uu = 5.0", "tg_dry.uu: unknown field"),
        ("u = 5.0", "fator = 2.0", "did you mean 'factor'"),
        (TG, TG.replace("value = 500.0\n", ""), "tg_dry: value is missing"),
        (TG, TG.replace('unit = "K"\n', ""), "tg_dry: unit is missing"),
        (TG, TG.replace('source = "doe"\n', ""), "tg_dry: source is missing"),
        (TG, TG.replace('status = "read"\n', ""), "tg_dry: status is missing"),
        (TG, TG.replace('"K"', '"°C"'), "tg_dry.unit: must be 'K'"),
        (TG, TG.replace('"read"', '"seen"'), "tg_dry.status: got 'seen'"),
        (TG, TG.replace('"doe"', '"do"'), "is not listed under [sources]; did you mean 'doe'"),
        ("500.0", "nan", "tg_dry.value: must be a finite number, got nan"),
        ("500.0", "inf", "tg_dry.value: must be a finite number"),
        ("500.0", "1" + "0" * 400, "tg_dry.value: must be a finite number"),
        ("500.0", "true", "tg_dry.value: must be a finite number, got True"),
        ("500.0", '"500"', "tg_dry.value: must be a finite number, got '500'"),
        ("500.0", "1990-01-01", "tg_dry.value: must be a finite number"),
        ("500.0", "[500.0]", "tg_dry.value: must be a finite number"),
        ("500.0", "50.0", "tg_dry.value: got 50, allowed 100 to 700 K"),
        ("u = 5.0", "low = 510.0\nhigh = 490.0", "low 510 is above high 490"),
        ("u = 5.0", "low = 510.0\nhigh = 520.0", "value 500 lies outside its own low to high"),
        ("u = 5.0", "low = 490.0", "low and high go together"),
        ("u = 5.0", "low = 50.0\nhigh = 520.0", "tg_dry.low: got 50, allowed"),
        ("u = 5.0", "u = -5.0", "tg_dry.u: a standard uncertainty is not negative"),
        ("u = 5.0", "factor = 0.5", "tg_dry.factor: must be at least 1"),
        ("u = 5.0", "u = 5.0\nfactor = 2.0", "stands alone"),
        ("u = 5.0", "u = 5.0\nlog = true", "tg_dry.log: needs low and high"),
        ("u = 5.0", "u = 5.0\nlog = 1", "tg_dry.log: must be true or false"),
        ("u = 5.0", "where = 3", "tg_dry.where: must be text"),
        ("u = 5.0", 'alternatives = [{ value = 1.0, source = "x" }]', "'x' is not listed"),
        ("u = 5.0", "alternatives = [3]", "must state value, source and note"),
        ("u = 5.0", "alternatives = 3", "must be a list"),
        ("[isotherm_t]", "[density]", "an isotherm needs all of"),
        ('"mine"', '"yours"', "'yours' must equal the file's name 'mine'"),
        ('name = "mine"\n', "", "name: missing"),
        ('title = "My starch"', "title = 3", "title: must be text, got 3"),
        ('"polymer"', '"polimer"', "did you mean 'polymer'"),
        ('"starch"', '"stone"', "family: got 'stone'"),
        ('doe = "Doe 1990"', "doe = 1990", "sources.doe: must be text"),
        ('[sources]\ndoe = "Doe 1990"', "sources = 3", "sources: must be a table"),
        ('family = "starch"', 'family = "starch"\nmissing = "all"', "must be a list of texts"),
        ('family = "starch"', 'family = "starch"\ndensity = 1500', "density: must be a table"),
        ('family = "starch"', 'family = "starch"\nfitness = "kitchen"', "unknown key"),
        ("[tg_dry]", "[composition.stach]", "did you mean 'starch'"),
        ("[tg_dry]", "[composition.starch]", "composition.starch.unit: must be 'kg/kg'"),
        ('"c", "k"]', '"c", "q"]', "'q' is no value of this card"),
        ('"c", "k"]', '"c", "c"]', "'c' is in a group twice"),
        ('"c", "k"]', '"c"]', "must be 2 rows for 2 members"),
        ("[1, -0.6, -0.7]", "[2, -0.6, -0.7]", "must be symmetric, with 1 along"),
        ("[1, -0.6, -0.7]", "[1, 0.6, -0.7]", "must be symmetric"),
        ("[1, -0.6, -0.7]", "[1, -0.6]", "each row must be 3 numbers"),
        ("[-0.6, 1, 0.3], [-0.7, 0.3, 1]", "[-0.6, 1, -0.9], [-0.7, -0.9, 1]", "no set of values"),
        ('why = "assumed"', 'whi = "assumed"', "did you mean 'why'"),
    ],
)
def test_fault_is_refused_by_name(tmp_path, old, new, said):
    assert old in GOOD
    assert said in faults_of(written(tmp_path, GOOD.replace(old, new, 1)))


def test_all_faults_are_told_at_once(tmp_path):
    text = GOOD.replace("500.0", "nan").replace('"polymer"', '"wood"').replace("[sources]", "[src]")
    with pytest.raises(CardError) as caught:
        load_card(written(tmp_path, text))
    keys = {fault.key for fault in caught.value.faults}
    assert {"role", "src", "tg_dry.value", "tg_dry.source", "xm.source"} <= keys


def test_shares_must_make_up_the_dry_mass(tmp_path):
    share = '[composition.{}]\nvalue = {}\nunit = "kg/kg"\nsource = "doe"\nstatus = "read"\n'
    half = GOOD + share.format("starch", 0.5)
    assert "sum to 0.5" in faults_of(written(tmp_path, half))
    whole = half + share.format("ash", 0.5)
    assert load_card(written(tmp_path, whole))["composition.ash"].value == 0.5


@pytest.mark.parametrize(
    ("contents", "said"),
    [
        (b"", "name: missing"),
        (b"name = \n", "line 1: not TOML"),
        (b"\xff\xfe\x00", "not text in UTF-8"),
        (b"a = 1\na = 2\n", "line 2: not TOML"),
        (b"a = " + b"[" * 100_000, "not TOML"),
        (b"a = " + b"9" * 10_000, "not TOML"),
        (b"#" * 1_000_001, "over 1 MB"),
    ],
)
def test_what_is_no_card_is_refused(tmp_path, contents, said):
    assert said in faults_of(written(tmp_path, contents))


def test_missing_file_is_refused(tmp_path):
    assert "cannot be read" in faults_of(tmp_path / "nowhere.toml")


def test_a_bench_card_holds_only_its_own_keys(tmp_path):
    press = (shipped("material_cards") / "bench" / "press.toml").read_text(encoding="utf-8")
    text = press.replace("[nozzle_length]", "[nozzle_lenght]")
    said = faults_of(written(tmp_path, text, "press"))
    assert "did you mean 'nozzle_length'" in said
    other = press.replace('name = "press"', 'name = "mine"')
    assert "a bench card is one of press" in faults_of(written(tmp_path, other))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("oxidizer = false", 'oxidizer = "no"', "oxidizer: must be true or false"),
        ("oxidizer = false\n", "", "oxidizer: missing"),
        ('"kitchen"', '"kichen"', "fitness: got 'kichen'"),
        ("fitness", "fitnes", "did you mean 'fitness'"),
    ],
)
def test_humidity_source_states_its_facts(tmp_path, old, new, said):
    text = (shipped("material_cards") / "humidity" / "NaCl.toml").read_text(encoding="utf-8")
    assert said in faults_of(written(tmp_path, text.replace(old, new, 1), "NaCl"))


def test_fully_tied_values_are_allowed(tmp_path):
    tied = "[[1, 1, 0], [1, 1, 0], [0, 0, 1]]"
    text = re.sub(r"correlation = .*", f"correlation = {tied}", GOOD)
    assert load_card(written(tmp_path, text)).groups[0].correlation[0] == (1.0, 1.0, 0.0)
