"""The glass transition of the blend, and what one bend test does to it."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.glass import gordon_taylor
from moldwin.stages.softening import ICE_FROM, glass_transition, prepare_blend
from moldwin.stages.state import Material
from tests.jobs import KELP, bench_of, dry, job, row


def _tg(ingredients, w, **options):
    bench = bench_of(job(ingredient=ingredients), **options)
    return glass_transition(bench, prepare_blend(bench), np.full(bench.count, w))


def test_without_spread_it_is_gordon_taylor_of_the_cards_values():
    ours = _tg(dry(corn_starch=70, glycerol=20), 0.10, spread=0.0)
    by_hand = gordon_taylor([0.1, 0.7, 0.2], [138.15, 523.15, 190.0], [5.2, 1.0, 3.0])
    assert ours == pytest.approx(by_hand, abs=0.3)  # cards differ in the last digit of water's Tg


def test_it_falls_with_water_in_every_sample():
    bench = bench_of(job())
    moistures = np.linspace(0.01, 0.6, 40)
    tg = Material(bench).glass_transition(moistures[:, None])
    assert tg.shape == (40, bench.count)
    assert np.all(np.diff(tg, axis=0) < 0)


@pytest.mark.parametrize("card", ["glycerol", "sorbitol", "xylitol", "mannitol"])
def test_it_falls_with_every_plasticizer_in_every_sample(card):
    grams = (0, 5, 20, 40)
    tg = [_tg([row("corn-starch", 100, 0)] + ([row(card, g, 0)] if g else []), 0.08) for g in grams]
    assert np.all(np.diff(tg, axis=0) < 0)


def test_glycerol_softens_more_than_sorbitol_gram_for_gram():
    base = row("corn-starch", 100, 0)
    glycerol = np.median(_tg([base, row("glycerol", 25, 0)], 0.05))
    sorbitol = np.median(_tg([base, row("sorbitol", 25, 0)], 0.05))
    assert glycerol < sorbitol - 20.0


def test_it_falls_with_the_seaweeds_own_mannitol():
    """Every other number held at its likely value, so that mannitol alone moves it."""
    first = bench_of(KELP)
    Material(first).at(0.08)
    card = next(name for name in first.used if name.endswith(".composition.mannitol"))
    still = {name: 0.0 for name in first.used if name != card}
    bench = bench_of(KELP, spreads=still)
    material = Material(bench)
    mannitol = bench.of(bench.card("brown-seaweed-powder", "may"), "composition.mannitol")
    assert mannitol.std() > 0.03
    order = np.argsort(mannitol)
    assert np.all(np.diff(material.at(0.08).tg[order]) < 0)


def test_filler_does_not_move_it():
    plain = _tg(dry(corn_starch=70, glycerol=20), 0.10)
    filled = _tg(dry(corn_starch=70, glycerol=20, cellulose=30), 0.10)
    assert filled == pytest.approx(plain)


def test_a_material_without_a_published_transition_gets_a_wide_band():
    starch = _tg(dry(corn_starch=100), 0.10)
    alginate = _tg([row("sodium-alginate", 100, 0)], 0.10)

    def width(tg):
        return np.quantile(tg, 0.95) - np.quantile(tg, 0.05)

    assert width(alginate) > 2.0 * width(starch)
    assert width(alginate) > 80.0


def test_the_laws_own_misfit_is_in_it():
    """12 K from 11 published points: even with every card exact the band stays 40 K wide."""
    first = bench_of(job(ingredient=dry(corn_starch=100)))
    Material(first).at(0.12)
    still = {name: 0.0 for name in first.used if name != "melt.tg_misfit"}
    tg = _tg(dry(corn_starch=100), 0.12, spreads=still)
    assert tg.std() == pytest.approx(12.0, rel=0.02)


def test_ice_is_where_it_was_read():
    assert ICE_FROM == 0.27


# ------------------------------------------------------------------ a bend test


def _bent(reading, u=9.0, strip=8.0, path=KELP, **options):
    sets = [
        f"blend.softening_c={reading}",
        f"blend.softening_u_c={u}",
        f"blend.softening_moisture_pct={strip}",
    ]
    return Material(bench_of(path, sets, count=2048, **options)).at(0.08).tg


def test_a_bend_test_moves_the_transition_its_way_and_narrows_it():
    before = Material(bench_of(KELP, count=2048)).at(0.08).tg
    assert np.median(before) == pytest.approx(312.7, abs=3.0)
    for reading in (20.0, 60.0, 80.0):
        after = _bent(reading)
        assert after.std() < 0.75 * before.std()
        between = sorted([np.median(before), reading + 273.15])
        assert between[0] < np.median(after) < between[1]


def test_the_surer_the_reading_the_more_it_moves_and_narrows():
    spreads = [_bent(60.0, u).std() for u in (3.0, 9.0, 20.0)]
    assert spreads[0] < spreads[1] < spreads[2]
    misses = [abs(np.median(_bent(60.0, u)) - 333.15) for u in (3.0, 9.0, 20.0)]
    assert misses[0] < misses[1] < misses[2]


def test_a_reading_on_a_wetter_strip_says_that_the_drier_pellet_is_stiffer():
    assert np.median(_bent(60.0, strip=11.0)) > np.median(_bent(60.0, strip=8.0)) + 10.0


def test_a_bend_test_teaches_about_the_seaweeds_own_plasticizer():
    def native(*sets):
        kelp = job(ingredient=[row("brown-seaweed-powder", 100)])
        return Material(bench_of(kelp, sets, count=2048)).blend.plasticizer.mean()

    strip = "blend.softening_moisture_pct=8"
    soft, stiff = (native(f"blend.softening_c={c}", strip) for c in (0, 90))
    assert soft > native() + 0.003
    assert stiff < native() - 0.003


def test_without_spread_a_bend_test_has_nothing_to_move():
    assert np.ptp(_bent(60.0, spread=0.0)) == pytest.approx(0.0, abs=1e-9)


def test_the_uncertainty_left_out_is_that_of_a_warm_bend_test():
    sets = ["blend.softening_c=60", "blend.softening_moisture_pct=8"]
    assumed = Material(bench_of(KELP, sets, count=2048)).at(0.08).tg
    assert np.array_equal(assumed, _bent(60.0, 9))
