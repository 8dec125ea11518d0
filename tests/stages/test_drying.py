"""The oven: what leaves, what it does to the pellets, and limits that must hold."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.degradation import quality_limit_time
from moldwin.stages.drying import HOUR, Oven, coolest_that_dries
from moldwin.stages.state import Material
from tests.jobs import bench_of, change, dry, job


def oven(sets=(), **sections):
    bench = bench_of(job(**sections), sets, count=128)
    return Oven(bench, Material(bench), bench.job.pellets.moisture)


@pytest.fixture(scope="module")
def plain():
    return oven()


def test_what_the_scale_sees_is_water_and_glycerol(plain):
    times = HOUR * np.array([0.0, 5.0, 20.0])
    lost = plain.lost(353.15, times)
    _, curve = plain.curve(353.15, times)
    x0 = plain.stage.x_start[:, None]
    water = (x0 - curve.mean) / (1.0 + x0) * plain.stage.mass
    glycerol = np.stack([plain.glycerol_lost(t, 353.15) for t in times], axis=1)
    assert lost * plain.stage.mass == pytest.approx(water + glycerol, rel=1e-9)
    assert lost[:, 0] == pytest.approx(0.0, abs=1e-12)
    assert np.all(np.diff(lost, axis=1) > 0.0)


def test_below_where_dry_starch_keeps_nothing_browns(plain):
    """The oven may read 3 K low, so a little below it."""
    assert np.all(plain.dry(0.08, 313.15).browning == 0.0)
    warm, hot = (np.median(plain.dry(0.08, t).browning) for t in (353.15, 378.15))
    assert 0.0 < warm < hot


def test_the_browning_clock_is_the_press_s_own_when_hot():
    """At 140 °C what starch keeps through at 60 °C is a thousandth: the dose is time over limit."""
    made = oven(ingredient=dry(corn_starch=100), sets=["pellets.moisture_u_pct=0"])
    found = made.dry(0.08, 413.15)
    card = made.bench.library.card("corn-starch")
    clock = [made.bench.of(card, f"browning_{key}") for key in ("limit", "activation")]
    exact = found.to_target / quality_limit_time(413.15, *clock, check=False)
    # the oven's own error moves single samples, not the middle
    assert np.median(found.browning) == pytest.approx(np.median(exact), rel=0.1)


def test_acid_browns_sooner():
    sour = dry(corn_starch=98, citric_acid=2)
    plain, acid = (oven(ingredient=rows) for rows in (dry(corn_starch=100), sour))
    doses = [np.median(made.dry(0.08, 373.15).browning) for made in (plain, acid)]
    assert doses[1] > 1.5 * doses[0]


def test_no_glycerol_none_lost():
    found = oven(ingredient=dry(corn_starch=100)).dry(0.08, 378.15)
    assert np.all(found.glycerol == 0.0)
    assert np.all(found.margins["glycerol"] > 0.0)


def test_a_fan_passes_more_where_air_is_the_limit():
    """Thin flakes in one layer wait for the film of air alone."""
    flakes = change("pellets", shape="flake", thickness_mm=0.1, diameter_mm=None, length_mm=None)
    jar = {"slurry_area_cm2": 60, "air_gap_cm": 4, "bed_area_cm2": 1500}
    still, fanned = (
        np.median(oven(pellets=flakes, jar={**jar, "fan": fan}).dry(0.06, 323.15).times["50"])
        for fan in (False, True)
    )
    assert 1.5 < still / fanned < 3.0


def test_harmless_is_every_margin_above_zero(plain):
    found = plain.dry(0.06, 323.15)
    by_hand = np.minimum.reduce(list(found.margins.values())) > 0.0
    assert found.harmless.tolist() == by_hand.tolist()


def test_damper_rooms_need_warmer_air():
    found = []
    for humidity in (20, 50, 80):
        bench = bench_of(job(room={"temperature_c": 21, "humidity_pct": humidity}), count=128)
        found.append(coolest_that_dries(bench, Material(bench), 0.06))
    assert found == sorted(found)
    assert found[-1] > found[0]
