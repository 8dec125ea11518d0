"""Jobs that nobody thought of: an answer in words, never a crash, never a made-up number."""

from __future__ import annotations

import json

import pytest

from moldwin.advice.advise import advise
from tests.jobs import change, dry, job, row

COUNT = 64
_COMPOUND = dry(corn_starch=350, glycerol=100)

_ODD = {
    "no-press": job(press=None),
    "no-part": job(part=None),
    "no-jar": job(jar=None),
    "no-room": job(room=None),
    "no-mold": job(mold=None),
    "only-what-must-be": {
        "ingredient": [row("corn-starch", 100)],
        "pellets": {"moisture_pct": 12},
    },
    "only-starch": job(ingredient=dry(corn_starch=100)),
    "only-alginate": job(ingredient=[row("sodium-alginate", 100)]),
    "only-kelp": job(ingredient=[row("brown-seaweed-powder", 100)]),
    "only-agar": job(ingredient=[row("agar", 100)]),
    "only-carrageenan": job(ingredient=[row("carrageenan", 100)]),
    "only-gelatin": job(ingredient=[row("gelatin", 100)]),
    "protein-and-glycerol": job(ingredient=[row("plant-protein", 100), row("glycerol", 30)]),
    "very-wet": job(pellets=change("pellets", moisture_pct=58)),
    "as-wet-as-allowed": job(pellets=change("pellets", moisture_pct=60)),
    "bone-dry": job(pellets=change("pellets", moisture_pct=0.5, moisture_u_pct=0.2)),
    "no-water-at-all": job(pellets=change("pellets", moisture_pct=0)),
    "five-times-heated": job(pellets=change("pellets", times_heated=5)),
    "wheat-and-fiber": job(
        ingredient=[
            row("wheat-starch", 300),
            row("flax-fiber", 30),
            row("wood-fiber", 20),
            row("hemp-fiber", 10),
            row("glycerol", 60),
        ]
    ),
    "vinegar": job(ingredient=[*_COMPOUND, row("vinegar", 60)]),
    "everything-from-the-kitchen": job(
        ingredient=[
            *_COMPOUND,
            row("citric-acid", 4),
            row("baking-soda", 5),
            row("magnesium-stearate", 3),
            row("beeswax", 8),
            row("water", 1500),
        ]
    ),
    "every-plasticizer": job(
        ingredient=[
            row("corn-starch", 400),
            *(
                row(card, 12)
                for card in ("glycerol", "sorbitol", "xylitol", "mannitol", "propylene-glycol")
            ),
        ]
    ),
    "alginate-and-calcium": job(
        ingredient=[
            row("sodium-alginate", 100),
            row("calcium-chloride", 50),
            row("glycerol", 40),
        ]
    ),
    "a-pointed-cone": job(part={"solid": [{"shape": "cone", "diameter_mm": 20, "length_mm": 30}]}),
    "kelp-and-calcium": job(
        ingredient=[row("brown-seaweed-powder", 100), row("calcium-chloride", 5)]
    ),
    "uncooked": job(blend={"cooked": False}),
    "uncooked-alginate": job(ingredient=[row("sodium-alginate", 100)], blend={"cooked": False}),
    "part-of-solids": job(
        part={
            "solid": [
                {"shape": "plate", "length_mm": 60, "width_mm": 15, "thickness_mm": 3},
                {"shape": "disc", "diameter_mm": 4, "thickness_mm": 3, "subtract": True},
            ]
        }
    ),
    "a-rod": job(part={"solid": [{"shape": "rod", "length_mm": 60, "diameter_mm": 5}]}),
    "a-ball": job(part={"solid": [{"shape": "sphere", "diameter_mm": 20}]}),
    "sphere-pellets": job(pellets={"moisture_pct": 6, "shape": "sphere", "diameter_mm": 3}),
    "a-thick-slab": job(pellets={"moisture_pct": 6, "shape": "slab", "thickness_mm": 8}),
    "mostly-glycerol": job(ingredient=dry(corn_starch=10, glycerol=1000)),
    "mostly-fiber": job(ingredient=dry(corn_starch=10, cellulose=1000)),
    "soft-strip": job(blend={"softening_c": -15, "softening_moisture_pct": 9, "softening_u_c": 1}),
    "stiff-strip": job(blend={"softening_c": 190, "softening_moisture_pct": 9, "softening_u_c": 1}),
    "high-and-damp": job(room={"temperature_c": 35, "humidity_pct": 98, "altitude_m": 4000}),
    "cold-and-arid": job(room={"temperature_c": 5, "humidity_pct": 2, "altitude_m": 0}),
    "hot-jar": job(jar=change("jar", temperature_c=60)),
    "cold-jar": job(jar=change("jar", temperature_c=2)),
    "cold-mold": job(mold={"temperature_c": 2}),
    "mold-as-hot-as-the-barrel": job(mold={"temperature_c": 150, "temperature_max_c": 160}),
    "lever": job(press=change("press", force_kn=None, lever_force_n=250, lever_ratio=14)),
    "jack": job(press=change("press", force_kn=None, gauge_mpa=12, jack_piston_diameter_mm=30)),
    "melt-pressure": job(press=change("press", force_kn=None, melt_pressure_mpa=20)),
    "feeble-heater": job(press=change("press", heater_max_c=80)),
}


@pytest.fixture(scope="module")
def told():
    """Every odd answer, made when first asked for."""
    known = {}

    def of(name):
        if name not in known:
            known[name] = advise(_ODD[name], count=COUNT)
        return known[name]

    return of


@pytest.mark.parametrize("name", _ODD)
def test_there_is_an_answer(told, name):
    answer = told(name)
    json.dumps(answer.to_dict(), allow_nan=False)
    assert 0.0 <= answer.now.barrel.chance <= 1.0
    assert answer.now.tg_c.low <= answer.now.tg_c.likely <= answer.now.tg_c.high


def _codes(answer):
    return {warning.code for warning in answer.warnings}


def _assumed(answer):
    return {a.name: a for a in answer.assumptions if a.status in ("assumed", "missing", "memory")}


def test_a_press_nobody_described_is_assumed_and_said_so(told):
    answer = told("no-press")
    assert {"press.plunger_diameter", "press.force", "press.heater_max"} <= set(_assumed(answer))


def test_a_part_nobody_described_has_no_shot(told):
    answer = told("no-part")
    assert answer.now.shot.charge_g is None
    assert answer.now.shot.clamp_needed_kn is None
    assert "part" in _assumed(answer)
    assert answer.settings is None or answer.settings.charge_g is None


def test_gelatin_is_stopped_and_nothing_of_starch_is_passed_off_for_it(told):
    for name in ("only-gelatin", "protein-and-glycerol"):
        answer = told(name)
        assert answer.warnings[0].code == "not-polysaccharide"
        assert answer.warnings[0].severity == "stop"
        assert answer.settings is None
        assert answer.now.barrel.best_c is None


def test_alginate_and_kelp_are_not_passed_off_as_measured(told):
    for name in ("only-alginate", "only-kelp", "only-agar", "only-carrageenan"):
        assert "unmeasured-material" in _codes(told(name))


def test_very_wet_is_an_extrapolation(told):
    for name in ("very-wet", "as-wet-as-allowed"):
        assert "extrapolated" in _codes(told(name))


def test_bone_dry_asks_for_water(told):
    answer = told("bone-dry")
    assert answer.moisture.target_best_pct > 3.0
    assert answer.conditioning is not None


def test_reground_pellets_have_less_time(told):
    fresh = advise(job(), count=COUNT)
    assert told("five-times-heated").now.barrel.chance < fresh.now.barrel.chance


def test_vinegar_browns_sooner(told):
    answer = told("vinegar")
    assert "acid-browning" in _codes(answer)
    assert (
        answer.now.barrel.chance < advise(job(ingredient=_COMPOUND), count=COUNT).now.barrel.chance
    )


def test_granules_are_told_to_be_cooked(told):
    answer = told("uncooked")
    assert "granules-unmelted" in _codes(answer)
    assert "granules" in {limit.name for limit in answer.now.barrel.limits}


def test_calcium_stiffens_what_is_left_of_the_alginate():
    def kelp(*more):
        rows = [row("sodium-alginate", 60, 13), row("corn-starch", 60, 12), row("glycerol", 20, 0)]
        return advise(job(ingredient=[*rows, *more]), count=COUNT)

    bound = kelp(row("calcium-chloride", 1.5))
    assert "crosslinked" in _codes(bound)
    assert bound.now.barrel.chance < kelp().now.barrel.chance


def test_a_heater_that_never_gets_there(told):
    answer = told("feeble-heater")
    assert not answer.now.barrel.open
    assert {"heater-limit", "too-stiff-to-fill", "short-shot"} & _codes(answer)


def test_a_mold_as_hot_as_the_barrel_never_lets_go(told):
    answer = told("mold-as-hot-as-the-barrel")
    assert "hot-core" in _codes(answer)
    assert answer.now.cooling_s is None


def test_a_slab_takes_longer_than_a_ball_of_the_same_size(monkeypatch):
    monkeypatch.setattr("moldwin.advice.advise.find_remedies", lambda *a, **k: [])

    def days(pellets):
        made = job(pellets={"moisture_pct": 5, **pellets}, jar=change("jar", fan=True))
        return advise(made, count=COUNT).conditioning["days_90"]["likely"]

    slab = days({"shape": "slab", "thickness_mm": 4})
    ball = days({"shape": "sphere", "diameter_mm": 4})
    assert slab > ball


@pytest.mark.parametrize("filler", ["cellulose", "beeswax", "baking-soda"])
def test_almost_nothing_that_melts_has_no_open_window(filler):
    """A spoon of starch in a kilogram of filler does not flow, however wet that spoon gets."""
    made = job(ingredient=[row("corn-starch", 25, 0), row(filler, 1000, 0)])
    assert not advise(made, count=COUNT).now.barrel.open
