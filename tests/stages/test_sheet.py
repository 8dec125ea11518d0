"""The spread gel as it dries: limits, trends, masses."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.shrinkage import linear_from_volume
from moldwin.stages.sheet import HOUR, SheetAir, WetSheet, wet_basis
from tests.jobs import bench_of, change, dry, job

COUNT = 64


def sheet_of(source=None, **options):
    """A sheet of the 70/20/10 compound's recipe, 4 mm wet with a liter of water to 500 g."""
    made = job(**{"pot": {"water_g": 1500}, "sheet": {"spread_mm": 4}, **(source or {})})
    return WetSheet(bench_of(made, count=COUNT, **options))


def median_hours(sheet, air=SheetAir()):  # noqa: B008
    return float(np.median(sheet.drying(air).dry)) / HOUR


def test_a_very_thin_sheet_is_dried_by_its_air_alone():
    sheet = sheet_of({"sheet": {"spread_mm": 0.1}})
    drying = sheet.drying()
    # half of the water is gone after half of the time that a wet surface would take, or a little
    # more: glycerol and salts pull at the last of it
    half = (sheet.x_wet + drying.x_end) / 2
    assert drying.mean_at(0.5 * drying.wet_for) == pytest.approx(half, rel=0.06)
    # how fast water moves inside makes no difference, only the air's falling pull at the end does
    sheet.factor = 10.0 * sheet.factor
    assert np.median(sheet.drying().dry / drying.dry) == pytest.approx(1.0, abs=0.02)
    assert 1.0 < np.median(drying.dry / drying.wet_for) < 1.3


def test_a_very_thick_one_by_its_own_depth():
    thick = sheet_of({"sheet": {"spread_mm": 40}})
    slow, windy = (median_hours(thick, SheetAir(fan=fan)) for fan in (False, True))
    assert windy > 0.6 * slow  # a fan hardly helps
    # twice as thick, four times as long
    twice = median_hours(thick.spread_to(2 * thick.spread))
    assert 3.0 < twice / slow < 4.3


def test_what_leaves_is_what_is_lost():
    sheet = sheet_of()
    curve = sheet.drying().curve
    lost = sheet.dry_per_area[:, None] * (sheet.x_wet[:, None] - curve.mean)
    assert curve.left == pytest.approx(lost, rel=1e-9, abs=1e-12)


def test_it_only_dries_and_the_skin_is_ahead():
    curve = sheet_of().drying().curve
    assert np.all(np.diff(curve.mean, axis=-1) < 1e-9)
    assert np.all(curve.skin <= curve.underside + 1e-6)


def test_stuck_it_keeps_its_area_free_its_shape():
    sheet = sheet_of()
    ratio = sheet.thickness(0.1) / sheet.spread
    assert sheet.free_shrinkage(0.1) == pytest.approx(linear_from_volume(ratio))
    assert np.all(sheet.thickness(0.1) < 0.3 * sheet.spread)


def test_a_block_of_wet_gel_is_much_smaller_when_dry():
    """Common practice, no source."""
    sheet = sheet_of()
    assert np.median((1.0 - sheet.free_shrinkage(0.1)) ** 3) < 0.3


def test_more_water_in_the_pot_makes_a_thinner_sheet():
    lean, rich = (sheet_of({"pot": {"water_g": water}}) for water in (1000, 3000))
    assert np.all(rich.thickness(0.1) < lean.thickness(0.1))


def test_dry_matter_on_the_plate_is_that_of_the_pot():
    sheet = sheet_of()
    wet = sheet.dry_per_area * (1.0 + sheet.x_wet)
    assert wet_basis(sheet.x_wet) == pytest.approx(1.0 - sheet.pot.solids)
    assert sheet.wet_per_area == pytest.approx(wet)


@pytest.mark.parametrize(
    ("quicker", "slower"),
    [
        (SheetAir(fan=True), SheetAir()),
        (SheetAir(), SheetAir(covered=True)),
        (SheetAir(t=318.15), SheetAir()),
        (SheetAir(both_faces=True), SheetAir()),
    ],
    ids=["fan", "cloth", "warm", "mesh"],
)
def test_what_dries_faster(quicker, slower):
    sheet = sheet_of()
    assert np.all(sheet.drying(quicker).dry < sheet.drying(slower).dry)


def test_damp_rooms_dry_slowly_and_may_never_store():
    dry_room, damp = (
        sheet_of({"room": change("room", humidity_pct=rh)}).drying() for rh in (40, 85)
    )
    assert np.median(damp.dry) > np.median(dry_room.dry)
    assert np.all(np.isfinite(dry_room.store))
    assert np.all(np.isinf(damp.store))


def test_the_wet_surface_is_colder_than_the_room_and_warmer_than_its_wet_bulb():
    drying = sheet_of().drying()
    assert np.all(drying.t_wet < drying.t - 1.0)
    assert np.median(drying.t_wet) > 286.15  # 21 °C and 48 %: wet bulb 14.3 °C, from memory


def test_it_peels_before_it_is_dry_and_curls_toward_its_dry_face():
    sheet = sheet_of()
    drying = sheet.drying()
    assert np.median(drying.peel) < np.median(drying.dry)
    early, late = (np.median(sheet.curl(drying, time)) for time in (drying.peel, drying.dry))
    assert early > late > 0.0


def test_more_glycerol_stays_soft_and_sticky_longer():
    stiff, soft = (sheet_of({"ingredient": dry(corn_starch=100 - g, glycerol=g)}) for g in (10, 40))
    assert np.median(soft.x_peel) < np.median(stiff.x_peel)
    assert np.median(soft.x_glass) < np.median(stiff.x_glass)


def test_what_is_dry_from_the_start_takes_no_time():
    sheet = sheet_of()
    drying = sheet.drying(x_start=sheet.drying().x_end)
    assert np.all(drying.dry == 0.0)


def test_without_pot_water_a_gel_that_can_be_stirred_stands_in():
    sheet = sheet_of({"pot": None})
    assert not sheet.pot.poured_given
    assert 0.6 < np.median(wet_basis(sheet.x_wet)) < 0.95


def test_several_spreads_at_once_are_each_alone():
    sheet = sheet_of()
    both = sheet.spread_to(np.array([[0.002], [0.006]])).drying()
    for row, spread in enumerate((0.002, 0.006)):
        alone = sheet.spread_to(spread).drying()
        assert both.dry[row] == pytest.approx(alone.dry, rel=1e-6)
