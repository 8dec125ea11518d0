"""The pot: masses close, trends hold, cooking is judged by heat and by water."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.stages.pot import cook, fill_pot, pot_water
from moldwin.stages.state import Material
from tests.jobs import BAR, DRY, EXAMPLES, KELP, bench_of, job, row

RECIPE = [row("corn-starch", 400, 12.5), row("glycerol", 100, 0)]


def _pot(sets=(), **sections):
    bench = bench_of(job(**{"ingredient": RECIPE, **sections}), sets)
    return bench, fill_pot(bench)


def _cooked(sets=(), **sections):
    bench, pot = _pot(sets, **sections)
    return cook(bench, Material(bench).blend, pot)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_what_goes_in_comes_out(path):
    bench = bench_of(path)
    pot = fill_pot(bench)
    weighed = sum(row.mass for row in bench.job.ingredients) + pot.poured
    assert pot.gel + pot.evaporated == pytest.approx(weighed, rel=1e-12)
    assert pot.sheet + pot.in_pan == pytest.approx(pot.gel, rel=1e-12)
    for portion in pot.portions:
        assert portion.water + portion.dry == pytest.approx(portion.row.mass, rel=1e-12)
        lost = portion.in_pan + portion.trimmed
        assert lost + portion.in_pellets == pytest.approx(portion.dry, rel=1e-12)
    dry = sum(p.dry for p in pot.portions)
    pan = sum(p.in_pan for p in pot.portions)
    assert pot.dry + pot.trimmed + pan == pytest.approx(dry, rel=1e-12)
    assert pot.solids * pot.gel == pytest.approx(dry, rel=1e-12)
    assert pot.pellets(0.1) * 0.9 == pytest.approx(pot.dry, rel=1e-12)


def test_a_pot_by_hand():
    """350 g dry starch and 100 g glycerol in 1000 g water; a tenth stays in the pan."""
    bench, pot = _pot(pot={"water_g": 1000, "loss_pct": 10, "cook_min": 0})
    assert pot.evaporated == pytest.approx(0.0)
    assert pot.gel == pytest.approx(1.5)
    assert pot.sheet == pytest.approx(1.35)
    trim = bench.typical("pot", "trim_loss")
    assert pot.dry == pytest.approx(0.45 * 0.9 * (1.0 - trim))


def test_order_and_split_rows_change_nothing():
    split = [row("glycerol", 60, 0), row("corn-starch", 400, 12.5), row("glycerol", 40, 0)]
    whole, parts = _pot()[1], _pot(ingredient=split)[1]
    for name in ("gel", "sheet", "dry", "evaporated"):
        assert getattr(parts, name) == pytest.approx(getattr(whole, name), rel=1e-12)


def test_water_by_the_card_is_water():
    poured = _pot(pot={"water_g": 900})[1]
    weighed = _pot(ingredient=[*RECIPE, row("water", 900)])[1]
    assert weighed.gel == pytest.approx(poured.gel, rel=1e-12)
    assert weighed.dry == pytest.approx(poured.dry, rel=1e-12)


def test_water_that_nobody_states_is_assumed_and_said_so():
    bench = bench_of(job(ingredient=RECIPE))
    water, given = pot_water(bench)
    assert not given
    assert "pot.water_per_dry" in bench.used
    assert 1.0 < np.median(water) < 4.0
    uncooked = bench_of(job(ingredient=RECIPE, blend={"cooked": False}))
    assert np.all(pot_water(uncooked)[0] == 0.0)
    assert np.all(fill_pot(uncooked).evaporated == 0.0)


def test_no_more_boils_off_than_there_is():
    _, pot = _pot(pot={"water_g": 100, "cook_c": 100, "cook_min": 600})
    assert np.all(pot.evaporated <= pot.water)
    assert np.any(pot.evaporated == pot.water)
    assert np.all(pot.gel > 0)


def test_longer_and_hotter_boils_off_more():
    short, long, hot = (
        _pot(pot={"water_g": 1500, "cook_c": c, "cook_min": minutes})[1].evaporated
        for c, minutes in ((80, 10), (80, 30), (95, 30))
    )
    assert np.all(long > short)
    assert np.all(hot >= long)  # the same where the stove gives no more
    assert np.median(hot) > 1.5 * np.median(long)


def test_a_larger_batch_loses_a_smaller_share():
    small, large = (
        _pot(ingredient=[row("corn-starch", g, 12.5)], pot={"water_g": 4 * g, "cook_c": 85})[1]
        for g in (100, 800)
    )
    assert np.all(large.evaporated / large.water < small.evaporated / small.water)


def test_enough_heat_and_water_cooks_all():
    assert np.all(_cooked(pot={"water_g": 1500, "cook_c": 95, "cook_min": 20}).cooked > 0.999)


def test_lukewarm_water_cooks_nothing():
    cold = _cooked(pot={"water_g": 1500, "cook_c": 45})
    assert np.all(cold.by_heat == 0.0)
    assert np.all(cold.by_water == 1.0)


def test_too_little_water_leaves_granules():
    lean = _cooked(pot={"water_g": 250, "cook_c": 95, "cook_min": 5})
    assert np.median(lean.by_water) < 0.9
    assert np.all(lean.lean[lean.by_water < 1.0] > 0.0)


def test_no_pot_gets_hotter_than_the_boil():
    high = _cooked(
        pot={"water_g": 900, "cook_c": 110}, room={"temperature_c": 20, "altitude_m": 3000}
    )
    assert np.all(high.t < 273.15 + 91.0)
    assert high.t == pytest.approx(high.boils)


def test_glycerol_asks_for_more_heat():
    little = _cooked(ingredient=[row("corn-starch", 400, 12.5), row("glycerol", 10, 0)])
    much = _cooked(ingredient=[row("corn-starch", 400, 12.5), row("glycerol", 300, 0)])
    assert np.all(much.end > little.end)


def test_fiber_drinks_too():
    plain = _cooked(pot={"water_g": 700})
    with_fiber = _cooked(ingredient=[*RECIPE, row("flax-fiber", 200, 8)], pot={"water_g": 700})
    assert np.median(with_fiber.at_hand) < np.median(plain.at_hand)


def test_the_starch_that_needs_most_heat_counts():
    wheat = _cooked(ingredient=[row("wheat-starch", 400, 12)])
    mixed = _cooked(ingredient=[row("wheat-starch", 200, 12), row("corn-starch", 200, 12)])
    assert np.median(mixed.end) > np.median(wheat.end)


def test_without_starch_there_is_nothing_to_gelatinize():
    agar = _cooked(ingredient=[row("agar", 100, 10)])
    assert agar.onset is None
    assert agar.cooked is None


def test_the_examples_cook():
    for path in (BAR, DRY, KELP):
        bench = bench_of(path)
        assert np.median(cook(bench, Material(bench).blend, fill_pot(bench)).cooked) == 1.0


def test_loss_left_out_is_from_memory():
    bench, _ = _pot()
    assert bench.used["pot.pan_loss"].status == "memory"
    given, _ = _pot(pot={"water_g": 900, "loss_pct": 3})
    assert given.used["pot.loss"].status == "measured"
