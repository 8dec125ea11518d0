"""Intervals follow the spreads behind them, and the seed decides the rest."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from moldwin.advice.advise import advise
from tests.jobs import BAR, DRY, EXAMPLES, KELP, job, row, setup_of

COUNT = 256


def _triples(value, path=""):
    """Every triple of an answer with the place it stands."""
    if isinstance(value, dict):
        if set(value) == {"low", "likely", "high"}:
            yield path, value
        else:
            for key, item in value.items():
                yield from _triples(item, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for i, item in enumerate(value):
            yield from _triples(item, f"{path}.{i}")


def _widths(source, **options):
    """Width of every triple; the same question is asked once."""
    key = json.dumps([source, options], sort_keys=True, default=str)
    if key not in _KNOWN:
        told = advise(source, **{"count": COUNT, **options}).to_dict()
        _KNOWN[key] = {path: t["high"] - t["low"] for path, t in _triples(told)}
    return _KNOWN[key]


_KNOWN = {}


@pytest.fixture
def _without_remedies(monkeypatch):
    """What would open a window holds no triple, and takes most of the time."""
    monkeypatch.setattr("moldwin.advice.advise.find_remedies", lambda *a, **k: [])


# ------------------------------------------------------------------ spread


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_without_spread_every_triple_collapses(path):
    told = advise(path, count=64, spread=0.0).to_dict()
    found = dict(_triples(told))
    assert "tg_c" in found
    assert "shot.charge_g" in found
    for where, triple in found.items():
        assert triple["low"] == triple["likely"] == triple["high"], where


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_without_spread_the_chance_is_all_or_nothing(path):
    told = advise(path, count=64, spread=0.0).to_dict()
    assert told["barrel"]["chance"] in (0.0, 1.0)
    assert all(limit["broken_share"] in (0.0, 1.0) for limit in told["barrel"]["limits"])


@pytest.mark.usefixtures("_without_remedies")
@pytest.mark.parametrize("path", [BAR, DRY], ids=lambda path: path.stem)
def test_twice_the_spread_is_about_twice_the_interval(path):
    single, double = _widths(path), _widths(path, spread=2.0)
    for where in ("tg_c", "shot.charge_g"):
        # the laws are nearly straight over these spreads
        assert double[where] == pytest.approx(2.0 * single[where], rel=0.25), where
    for where in set(single) & set(double):
        assert double[where] > single[where], where


@pytest.mark.usefixtures("_without_remedies")
def test_twice_the_spread_widens_the_days_by_more_than_twice():
    """Times carry a factor of ten: its logarithm doubles, the days more than that."""
    wet = job(pellets={"moisture_pct": 5, "shape": "cylinder", "diameter_mm": 3, "length_mm": 4})
    single, double = _widths(wet), _widths(wet, spread=2.0)
    for key in ("days_50", "days_90", "days_99"):
        assert double[f"conditioning.{key}"] > 2.0 * single[f"conditioning.{key}"]


_WIDE = {
    "kelp": KELP,
    "alginate": job(ingredient=[row("sodium-alginate", 100)]),
    "carrageenan": job(ingredient=[row("carrageenan", 100)]),
    "protein": job(ingredient=[row("plant-protein", 100)]),
}


@pytest.mark.usefixtures("_without_remedies")
@pytest.mark.parametrize("name", _WIDE)
def test_twice_the_spread_still_gives_an_answer(name):
    assert 0.0 <= advise(_WIDE[name], count=128, spread=2.0).now.barrel.chance <= 1.0


def test_half_as_much_again_is_bearable():
    assert 0.0 <= advise(BAR, count=64, spread=1.5).now.barrel.chance <= 1.0


@pytest.mark.parametrize(
    ("name", "where"),
    [
        ("melt.tg_misfit", "tg_c"),
        ("glycerol.k_starch", "tg_c"),
        ("press.melt_density_factor", "shot.charge_g"),
        ("press.force_share", "shot.clamp_needed_kn"),
        ("press.packing_share", "shot.clamp_needed_kn"),
        ("room.humidity", "service.moisture_pct"),
    ],
)
def test_taking_one_spread_away_narrows_what_it_moves(name, where):
    assert _widths(BAR, spreads={name: 0.0})[where] < 0.995 * _widths(BAR)[where]


_DAMP, _DAYS = job(pellets={"moisture_pct": 5}), "conditioning.days_90"
_PELLET = "corn-starch.diffusivity_factor"


@pytest.mark.usefixtures("_without_remedies")
def test_taking_the_pellets_spread_away_narrows_the_days():
    """By more than that of any other: the still air in the bed is not known either."""
    without = _widths(_DAMP, spreads={_PELLET: 0.0})[_DAYS]
    assert without < 0.8 * _widths(_DAMP)[_DAYS]
    assert without < _widths(_DAMP, spreads={"jar.voids": 0.0})[_DAYS]


@pytest.mark.usefixtures("_without_remedies")
@pytest.mark.parametrize("name", ["jar.convection", "jar.voids"])
def test_so_does_the_jars_where_the_pellet_is_known(name):
    """The slow end of the days is the slow pellet's alone, and hides what the air does to them."""
    known = _widths(_DAMP, spreads={_PELLET: 0.0})[_DAYS]
    assert _widths(_DAMP, spreads={_PELLET: 0.0, name: 0.0})[_DAYS] < 0.97 * known


@pytest.mark.usefixtures("_without_remedies")
def test_the_quick_end_of_the_days_is_the_airs():
    def low(**spreads):  # a percentile so far out takes more samples
        told = advise(_DAMP, count=4 * COUNT, spreads=spreads).to_dict()
        return told["conditioning"]["days_90"]["low"]

    assert low(**{"jar.convection": 0.0}) > 1.02 * low()


def test_taking_one_spread_away_leaves_alone_what_it_does_not_move():
    plain, narrowed = _widths(BAR), _widths(BAR, spreads={"melt.tg_misfit": 0.0})
    assert narrowed["shot.charge_g"] == pytest.approx(plain["shot.charge_g"], rel=0.05)
    assert narrowed["service.moisture_pct"] == plain["service.moisture_pct"]


def test_a_better_measurement_narrows_the_answer():
    wide = _widths(BAR, sets=["pellets.moisture_u_pct=2"])["tg_c"]
    assert _widths(BAR, sets=["pellets.moisture_u_pct=0.2"])["tg_c"] < 0.9 * wide


# ------------------------------------------------------------------ the seed

_PRINT = """
import hashlib, json, sys
from moldwin.advice.advise import advise
for path in sys.argv[1:]:
    told = advise(path, count=64).to_dict()
    print(hashlib.sha256(json.dumps(told).encode()).hexdigest())
"""


def _digests(threads):
    return subprocess.run(
        [sys.executable, "-c", _PRINT, str(BAR), str(KELP)],
        env={
            **os.environ,
            "OMP_NUM_THREADS": threads,
            "OPENBLAS_NUM_THREADS": threads,
            "PYTHONHASHSEED": threads,
        },
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split()


def test_the_same_seed_gives_the_same_bytes_whatever_the_thread_count():
    one = _digests("1")
    assert len(one) == 2
    assert _digests("2") == one


def test_asking_twice_in_one_process_gives_the_same_bytes():
    first = json.dumps(advise(KELP, count=64).to_dict())
    advise(BAR, count=64)
    assert json.dumps(advise(KELP, count=64).to_dict()) == first


def test_another_seed_changes_the_answer_only_a_little():
    first, second = (advise(BAR, seed=seed).to_dict() for seed in (20260, 7))
    assert first != second
    assert first["barrel"]["chance"] == pytest.approx(second["barrel"]["chance"], abs=0.05)
    for end in ("low", "likely", "high"):
        assert first["tg_c"][end] == pytest.approx(second["tg_c"][end], abs=2.5)
    for end in ("low_c", "high_c"):
        assert first["barrel"][end] == pytest.approx(second["barrel"][end], abs=2.5)


@pytest.mark.parametrize("seed", [7, 11])
def test_another_seed_changes_the_chance_of_an_uncertain_material_only_a_little(seed):
    usual, other = (setup_of(KELP, count=2048, seed=s).window(0.08).barrel for s in (20260, seed))
    assert usual.chance == pytest.approx(other.chance, abs=0.05)
    assert usual.best == pytest.approx(other.best, abs=5.1)


# ------------------------------------------------------------------ the same job, written otherwise


def _told(made):
    return json.dumps(advise(made, count=64).to_dict())


@pytest.fixture(scope="module")
def plain():
    """The compound in two rows, as its bytes."""
    return _told(job(ingredient=[*_starch(400), _GLYCEROL]))


def _starch(*grams):
    return [row("corn-starch", g, 12.5) for g in grams]


_GLYCEROL = row("glycerol", 100, 0)


def test_the_order_of_ingredients_changes_not_one_bit():
    rows = [row("brown-seaweed-powder", 180), row("potato-starch", 260), row("glycerol", 60)]
    expected = _told(job(ingredient=rows))
    for order in ((2, 1, 0), (1, 0, 2)):
        assert _told(job(ingredient=[rows[i] for i in order])) == expected


@pytest.mark.parametrize("grams", [(200, 200), (100, 300), (133.3, 266.7), (0.1, 399.9)], ids=str)
def test_one_ingredient_in_two_rows_changes_not_one_bit(plain, grams):
    assert _told(job(ingredient=[*_starch(*grams), _GLYCEROL])) == plain
    first, second = _starch(*grams)
    assert _told(job(ingredient=[first, _GLYCEROL, second])) == plain


@pytest.mark.parametrize("times", [0.001, 1 / 3, 10, 1000 / 7])
def test_a_larger_batch_of_the_same_changes_nothing(plain, times):
    rows = [*_starch(400), _GLYCEROL]
    larger = [{**each, "mass_g": each["mass_g"] * times} for each in rows]
    assert _told(job(ingredient=larger)) == plain


def test_water_in_the_pot_changes_nothing(plain):
    rows = [*_starch(400), _GLYCEROL]
    assert _told(job(ingredient=[*rows, row("water", 900)])) == plain
    assert _told(job(ingredient=rows, pot={"water_g": 2500, "cook_min": 20})) == plain
