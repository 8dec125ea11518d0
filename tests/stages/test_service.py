"""What becomes of pellets and part in their room: the sides of the moisture target."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from moldwin.stages.service import DRY_SIDE, WET_SIDE, moisture_margins, room_moisture
from tests.jobs import job, setup_of


def _margins(w, core=60.0, sets=(), **sections):
    setup = setup_of(job(**sections), sets)
    state = setup.material.at(w)
    return moisture_margins(
        setup.bench,
        setup.material.blend,
        state,
        setup.geometry,
        setup.room_w,
        np.full(512, core),
    )


def test_the_sides_are_those_of_the_contract():
    assert set(_margins(0.10)) == {*WET_SIDE, *DRY_SIDE}
    assert DRY_SIDE == ("brittle",)
    assert not set(WET_SIDE) & set(DRY_SIDE)


@pytest.mark.parametrize("name", [n for n in WET_SIDE if n != "hot-core"])
def test_wet_sides_lose_with_water_in_every_sample(name):
    margins = [_margins(w)[name] for w in (0.06, 0.10, 0.14, 0.18)]
    assert np.all(np.diff(margins, axis=0) <= 0)
    # a part that is rubber at either moisture is as soft at both
    assert np.mean(margins[-1] < margins[0]) > (0.9 if name == "soft-part" else 0.9999)


def test_the_dry_side_gains_with_water_in_every_sample():
    margins = [_margins(w)["brittle"] for w in (0.04, 0.08, 0.12, 0.16)]
    assert np.all(np.diff(margins, axis=0) > 0)


def _spoiled(aw):
    """Share of the samples that mold at one water activity."""
    setup = setup_of(job())
    state = replace(setup.material.at(0.10), a_water=np.full(512, aw))
    found = moisture_margins(
        setup.bench, setup.material.blend, state, setup.geometry, setup.room_w, np.full(512, 60.0)
    )
    return np.mean(found["mold-growth"] < 0)


def test_nothing_grows_where_nothing_is_read_to_grow():
    # none below a water activity of 0.60, storage at 0.65 and below is safe: Abdullah 2000, read
    assert _spoiled(0.60) == 0.0
    assert _spoiled(0.65) <= 0.06


def test_where_mold_grows_within_days_is_a_range_and_ends():
    # 0.65 to 0.80, assumed: nine samples in ten lie between
    assert _spoiled(0.725) == pytest.approx(0.5, abs=0.05)
    assert _spoiled(0.80) >= 0.94
    assert _spoiled(0.85) == 1.0


def test_wetter_pellets_mold():
    setup = setup_of(job())
    dry, wet = (setup.material.isotherm.moisture(np.full(512, aw)) for aw in (0.60, 0.90))
    assert np.all(_margins(float(dry.min()) - 0.02)["mold-growth"] > 0)
    assert np.all(_margins(float(wet.max()) + 0.02)["mold-growth"] < 0)


def test_cooling_longer_than_anyone_waits_breaks_the_core():
    assert np.all(_margins(0.10, core=60.0)["hot-core"] > 0)
    assert np.all(_margins(0.10, core=np.inf)["hot-core"] < 0)


def test_a_thicker_part_bears_less_drying():
    thin, thick = (_margins(0.12, sets=[f"part.wall_mm={mm}"])["drying-cracks"] for mm in (2, 6))
    assert np.all(thick < thin)


def test_a_part_as_wet_as_its_room_cannot_dry_and_crack():
    setup = setup_of(job(), spread=0.0)
    room_w = float(room_moisture(setup.bench, setup.material)[0])
    drop = _margins(room_w)["drying-cracks"]
    assert np.median(drop) > 0.05


def test_a_drier_room_pulls_harder():
    damp, arid = (
        _margins(0.12, room={"temperature_c": 21, "humidity_pct": h})["drying-cracks"]
        for h in (60, 20)
    )
    assert np.all(arid < damp)


def test_the_moisture_of_the_room_rises_with_its_humidity():
    def of(humidity):
        setup = setup_of(job(room={"temperature_c": 21, "humidity_pct": humidity}))
        return room_moisture(setup.bench, setup.material)

    assert np.all(of(70) > of(40))
