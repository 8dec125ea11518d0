"""When a sheet tears on its plate: the directions that makers report, and learning from one."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.percentiles import triple
from moldwin.stages.sheet import SheetAir, WetSheet
from moldwin.stages.tearing import learned_order, tearing
from tests.jobs import bench_of, dry, job

COUNT = 128


def torn(air=SheetAir(), **recipe):  # noqa: B008
    made = job(ingredient=dry(**recipe), pot={"water_g": 300}, sheet={"spread_mm": 4})
    return tearing(WetSheet(bench_of(made, count=COUNT)), air).spread


def test_thin_sheets_hold_and_thick_ones_tear():
    """Common practice, no source."""
    spread = torn(potato_starch=80, glycerol=20)
    thin, thick = (np.mean(spread < wet) for wet in (0.001, 0.012))
    assert thin < 0.3
    assert thick > 0.6


def test_thick_ones_let_go_and_shrink_in_from_the_sides():
    """Common practice, no source."""
    made = job(ingredient=dry(potato_starch=80, glycerol=20), pot={"water_g": 300})
    goes = tearing(WetSheet(bench_of(made, count=COUNT)), SheetAir()).lets_go
    assert np.mean(goes < 0.001) < np.mean(goes < 0.012)
    assert np.mean(goes < 0.012) > 0.6


def test_glycerol_lessens_tearing():
    """Common practice, no source."""
    medians = [
        np.median(torn(potato_starch=100 - g, **({"glycerol": g} if g else {})))
        for g in (0, 10, 20, 30, 40)
    ]
    assert np.all(np.diff(medians) > 0.0)


@pytest.mark.parametrize(
    "harder", [SheetAir(fan=True), SheetAir(t=318.15)], ids=["fan", "warm dry air"]
)
def test_dried_slowly_it_bears_more(harder):
    """Common practice, no source."""
    recipe = {"potato_starch": 80, "glycerol": 20}
    under_cloth, still = torn(SheetAir(covered=True), **recipe), torn(**recipe)
    assert np.median(under_cloth) > np.median(still) > np.median(torn(harder, **recipe))


def test_peeled_early_it_bears_more():
    made = job(ingredient=dry(potato_starch=80, glycerol=20), pot={"water_g": 300})
    found = tearing(WetSheet(bench_of(made, count=COUNT)), SheetAir())
    assert np.all(found.peeled >= found.spread)
    assert np.median(found.peeled) > np.median(found.spread)


def test_the_interval_is_wide_where_nothing_was_measured():
    spread = triple(torn(potato_starch=80, glycerol=20))
    assert spread.high > 10.0 * spread.low


def _drawn(seed=1, count=2000):
    return np.exp(np.random.default_rng(seed).normal(np.log(0.005), 1.2, count))


def test_one_torn_and_one_whole_sheet_bring_it_between_them():
    tears = _drawn()
    order, inside = learned_order(tears, 0.008, 0.004, 0.2)
    before, after = triple(tears), triple(tears[order])
    assert inside
    assert after.high / after.low < 0.2 * before.high / before.low
    assert 0.004 < after.likely < 0.008


def test_a_torn_sheet_alone_speaks_for_thinner_a_whole_one_for_thicker():
    tears = _drawn()
    middle = np.median(tears)
    torn_only, _ = learned_order(tears, 0.003, None, 0.2)
    whole_only, _ = learned_order(tears, None, 0.008, 0.2)
    assert np.median(tears[torn_only]) < middle < np.median(tears[whole_only])


def test_a_hidden_truth_is_found_again():
    tears = _drawn()
    for truth in (0.002, 0.005, 0.015):
        order, _ = learned_order(tears, 1.3 * truth, 0.75 * truth, 0.2)
        told = triple(tears[order])
        assert told.low < truth < told.high


def test_sheets_that_cannot_be_are_only_half_believed():
    tears = _drawn()
    order, inside = learned_order(tears, 1e-5, None, 0.2)
    assert not inside
    assert len(np.unique(order)) > 50  # no few draws stand for all
