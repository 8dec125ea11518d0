"""Every warning has a job just inside its limit and one just outside."""

from __future__ import annotations

import re

import pytest

from moldwin.advice.advise import advise
from moldwin.base.remarks import CODES
from moldwin.inputs.files import shipped
from tests.jobs import dry, job, row

COUNT = 256
_BLEND = [row("corn-starch", 400, 12.5), row("glycerol", 100, 0)]
_STARCH = [row("corn-starch", 400, 12.5)]
_ALGINATE = [*_BLEND, row("sodium-alginate", 40, 13)]
_FLAXEN = [*_BLEND, row("flax-fiber", 20, 5)]
_GLYCEROL = "ingredient.glycerol.mass_g={}"
_CALCIUM = "ingredient.calcium-chloride.mass_g={}"
_SODA = "ingredient.baking-soda.mass_g={}"
_GELATIN = "ingredient.gelatin.mass_g={}"
_MAX = "mold.temperature_max_c=150"
#: Too weak to fill a cool melt: it has to be pressed hot.
_WEAK = "press.force_kn=1.5"
#: Strong enough to fill the mold dry: what is asked is not hidden by pellets sent to be damp.
_STRONG = "press.force_kn=20"

#: Code, recipe, settings that raise it, settings that do not.
_TABLE = [
    ("steam", _BLEND, ["press.heater_max_c=105"], ["press.heater_max_c=88"]),
    ("degradation", _BLEND, ["blend.cooked=false"], []),
    ("held-too-long", _BLEND, [_WEAK], [_WEAK, "press.heater_max_c=125"]),
    ("too-stiff-to-fill", _BLEND, ["press.force_kn=0.3"], ["press.force_kn=2"]),
    ("short-shot", _BLEND, ["part.flow_length_mm=150"], ["part.flow_length_mm=80"]),
    ("freeze-off", _STARCH, [], [_GLYCEROL.format(100)]),
    ("heater-limit", _BLEND, ["press.heater_max_c=100"], ["press.heater_max_c=140"]),
    ("hot-core", _BLEND, [_MAX, "mold.temperature_c=135"], [_MAX, "mold.temperature_c=85"]),
    ("condensation", _BLEND, ["mold.temperature_c=9"], ["mold.temperature_c=17"]),
    ("shot-size", _BLEND, ["press.barrel_capacity_cm3=9"], ["press.barrel_capacity_cm3=7"]),
    ("shot-size", _BLEND, ["press.barrel_capacity_cm3=1.8"], ["press.barrel_capacity_cm3=2.4"]),
    ("flash", _BLEND, ["press.clamp_kn=6"], ["press.clamp_kn=12"]),
    ("granules-unmelted", _BLEND, ["blend.cooked=false"], ["blend.cooked=true"]),
    ("phase-separation", _BLEND, [_GLYCEROL.format(66)], [_GLYCEROL.format(48)]),
    (
        "antiplasticization",
        _BLEND,
        [_GLYCEROL.format(40), _STRONG],
        [_GLYCEROL.format(75), _STRONG],
    ),
    ("brittle", _BLEND, [_GLYCEROL.format(3), _STRONG], [_GLYCEROL.format(30), _STRONG]),
    ("mold-growth", _BLEND, ["pellets.moisture_pct=16"], ["pellets.moisture_pct=14"]),
    ("pellets-fuse", _BLEND, [_GLYCEROL.format(340)], [_GLYCEROL.format(180)]),
    ("sticky", _BLEND, [_GLYCEROL.format(420)], [_GLYCEROL.format(200)]),
    ("extrapolated", _BLEND, [_GLYCEROL.format(93)], [_GLYCEROL.format(80)]),
    ("extrapolated", _STARCH, ["pellets.moisture_pct=26"], ["pellets.moisture_pct=17"]),
    (
        "unmeasured-material",
        _ALGINATE,
        ["ingredient.sodium-alginate.mass_g=30"],
        ["ingredient.sodium-alginate.mass_g=15"],
    ),
    ("crosslinked", _ALGINATE, [_CALCIUM.format(2)], [_CALCIUM.format(0.1)]),
    ("acid-browning", _BLEND, ["ingredient.vinegar.mass_g=40"], []),
    ("acid-browning", _BLEND, ["ingredient.citric-acid.mass_g=5"], []),
    ("salt-corrosion", _BLEND, [_SODA.format(12)], [_SODA.format(5)]),
    ("fiber-scorch", _FLAXEN, [], ["press.heater_max_c=145"]),
    ("not-polysaccharide", _BLEND, [_GELATIN.format(100)], [_GELATIN.format(70)]),
    (
        "oxidizer",
        _BLEND,
        ["pellets.moisture_pct=5", 'jar.sources=["Mg-nitrate"]'],
        ["pellets.moisture_pct=5", 'jar.sources=["NaCl"]'],
    ),
]

#: Raised for every hot press there is, or for another command.
_ALWAYS = {"dust", "hot-metal"}
_ELSEWHERE = {"glycerol-read-as-water"}
#: Every advised window keeps clear of it: it takes a material that a user's own card describes.
_BY_OWN_CARD = {"fume"}


@pytest.fixture(autouse=True)
def _without_remedies(monkeypatch):
    """What would open a window is tried elsewhere, and takes most of the time."""
    monkeypatch.setattr("moldwin.advice.advise.find_remedies", lambda *a, **k: [])


def _raised(recipe, sets):
    return advise(job(ingredient=recipe), sets=sets, count=COUNT).warnings


def _codes(recipe, sets):
    return {warning.code for warning in _raised(recipe, sets)}


@pytest.mark.parametrize(
    ("code", "recipe", "on", "off"), _TABLE, ids=[f"{i}-{r[0]}" for i, r in enumerate(_TABLE)]
)
def test_inside_and_outside(code, recipe, on, off):
    assert code in _codes(recipe, on)
    assert code not in _codes(recipe, off)


def test_every_code_is_tried():
    tried = {code for code, *_ in _TABLE} | _ALWAYS | _ELSEWHERE | _BY_OWN_CARD
    assert tried == set(CODES)


def test_what_holds_for_every_hot_press_is_always_said():
    assert _codes(_BLEND, []) >= _ALWAYS


# ------------------------------------------------------------------ by a card of one's own


def _own_card(folder, name, key, value, u):
    """A shipped card with one number of one's own, in a folder that wins over the shipped."""
    text = (shipped("material_cards") / f"{name}.toml").read_text(encoding="utf-8")
    head, _, tail = text.partition(f"[{key}]\n")
    tail = re.sub(r"value = [-\d.e]+", f"value = {value}", tail, count=1)
    tail = re.sub(r"\nu = [-\d.e]+", f"\nu = {u}", tail, count=1)
    cards = folder / "own_cards"
    cards.mkdir(exist_ok=True)
    (cards / f"{name}.toml").write_text(f"{head}[{key}]\n{tail}", encoding="utf-8")
    return cards


@pytest.mark.parametrize(
    ("code", "card", "key", "sets", "severity"),
    [
        # fumes are judged at the setting to use: a press that must go hot to fill gets there
        ("fume", "glycerol", "fume_t", [_WEAK], "stop"),
        # scorch at the hot end of a window: a press that has one
        ("fiber-scorch", "flax-fiber", "scorch_t", [], "caution"),
    ],
)
def test_limits_of_a_users_own_material(tmp_path, monkeypatch, code, card, key, sets, severity):
    early, late, u = 398.15, 498.15, 24.0
    monkeypatch.setenv("MOLDWIN_CARDS", str(_own_card(tmp_path, card, key, early, u)))
    raised = {warning.code: warning for warning in _raised(_FLAXEN, sets)}
    assert code in raised
    assert raised[code].severity == severity
    monkeypatch.setenv("MOLDWIN_CARDS", str(_own_card(tmp_path, card, key, late, u)))
    assert code not in _codes(_FLAXEN, sets)


# ------------------------------------------------------------------ weights

_STOPPED = ["ingredient.gelatin.mass_g=300"]


def test_much_protein_is_a_stop_and_some_a_caution():
    def severity(grams):
        (found,) = [
            warning
            for warning in _raised(_BLEND, [f"ingredient.gelatin.mass_g={grams}"])
            if warning.code == "not-polysaccharide"
        ]
        return found.severity

    assert severity(100) == "caution"
    assert severity(300) == "stop"


def test_a_stop_takes_every_setting_away_at_either_moisture():
    for moisture in (4, 10):
        told = advise(
            job(ingredient=_BLEND),
            sets=[*_STOPPED, f"pellets.moisture_pct={moisture}"],
            count=COUNT,
        )
        assert told.heat is False
        data = told.to_dict()
        assert data["settings"] is None
        assert data["barrel"]["best_c"] is None
        assert data["soak_s"] is None
        if data["after_conditioning"] is not None:
            assert data["after_conditioning"]["barrel"]["best_c"] is None
            assert data["after_conditioning"]["soak_s"] is None
        (reason,) = [a for a in data["assumptions"] if a["name"] == "settings"]
        assert "stop" in reason["source"]


def test_a_stop_of_a_users_own_material_takes_every_setting_away(tmp_path, monkeypatch):
    folder = _own_card(tmp_path, "glycerol", "fume_t", 378.15, 16.0)
    monkeypatch.setenv("MOLDWIN_CARDS", str(folder))
    told = advise(job(ingredient=_BLEND), count=COUNT)
    assert any(warning.severity == "stop" for warning in told.warnings)
    assert told.settings is None
    assert told.to_dict()["barrel"]["best_c"] is None


def test_the_steam_warning_names_the_onset_and_what_to_do():
    (sealed,) = [w for w in _raised(_BLEND, []) if w.code == "steam"]
    assert 109 <= float(re.search(r"(\d+) °C", sealed.message)[1]) <= 117
    assert "ram" in sealed.message
    assert "nozzle" in sealed.message
    (unsealed,) = [
        w
        for w in _raised(_BLEND, ["press.sealed_nozzle=false", "pellets.moisture_pct=7"])
        if w.code == "steam"
    ]
    assert "not sealed" in unsealed.message
    assert unsealed.message != sealed.message


def test_a_little_acid_browns_little():
    """A trace is not a spoonful: the warning comes from how much faster the clock runs."""
    assert "acid-browning" not in _codes(_BLEND, ["ingredient.citric-acid.mass_g=0.001"])


@pytest.mark.parametrize("moisture", [22, 30, 45, 58])
def test_pellets_wet_enough_to_rot_are_told_so_whatever_is_advised(moisture):
    """Both are about the pellets as they are now, even when drying them comes first."""
    codes = _codes(_STARCH, [f"pellets.moisture_pct={moisture}"])
    assert "mold-growth" in codes
    if moisture >= 30:
        assert "extrapolated" in codes


def test_a_warning_is_not_about_what_is_not_there():
    codes = _codes(dry(corn_starch=100), [])
    assert not codes & {
        "phase-separation",
        "antiplasticization",
        "salt-corrosion",
        "crosslinked",
        "acid-browning",
        "unmeasured-material",
        "fiber-scorch",
        "fume",
        "not-polysaccharide",
    }


def test_no_warning_is_said_twice():
    for sets in ([], ["mold.temperature_c=9"], ["ingredient.glycerol.mass_g=400"]):
        warnings = _raised(_BLEND, sets)
        assert len({(w.code, w.message) for w in warnings}) == len(warnings)
