"""The part where it lives: limiting cases, trends, and that each reason acts alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from moldwin.stages.in_use import (
    BRITTLENESS,
    STATES,
    Home,
    Place,
    glassy_state,
    places,
    size_change,
    time_in_use,
)
from moldwin.stages.state import Material
from tests.jobs import bench_of, dry, job

USE = {
    "humidity_low_pct": 30,
    "humidity_high_pct": 75,
    "temperature_low_c": 12,
    "temperature_high_c": 34,
    "weeks": 6,
}


def home(sets=(), **sections):
    bench = bench_of(job(**sections), sets)
    material = Material(bench)
    return Home(bench, material, material.at(0.10))


def there(made, humidity, t_c=21.0):
    count = made.bench.count
    place = Place("elsewhere", np.full(count, humidity), np.full(count, t_c + 273.15))
    return made.at(place)


# -- places -------------------------------------------------------------------------------------


def test_places_are_the_two_ends_of_use_with_the_room_between():
    bench = bench_of(job(use=USE))
    dry_cold, now, damp_warm = places(bench)
    assert [p.name for p in (dry_cold, now, damp_warm)] == ["dry-cold", "now", "damp-warm"]
    assert np.all(dry_cold.humidity == 0.30)
    assert np.all(damp_warm.humidity == 0.75)
    assert np.median(dry_cold.t) == pytest.approx(285.15)
    assert np.median(damp_warm.t) == pytest.approx(307.15)
    assert time_in_use(bench) == pytest.approx(6 * 604800)
    assert np.median(now.humidity) == pytest.approx(0.48, abs=0.005)


@pytest.mark.parametrize("humidity", [15, 92])
def test_what_use_leaves_out_is_no_tamer_than_the_room(humidity):
    room = {"temperature_c": 36, "humidity_pct": humidity}
    dry_cold, now, damp_warm = places(bench_of(job(room=room)))
    assert np.all(dry_cold.humidity <= np.clip(now.humidity, 0.02, 0.98))
    assert np.all(damp_warm.humidity >= now.humidity)
    assert np.all(dry_cold.t <= now.t)
    assert np.all(now.t <= damp_warm.t)


@pytest.mark.parametrize(
    "use", [{"humidity_low_pct": 90}, {"humidity_high_pct": 10}, {"temperature_low_c": 40}]
)
def test_one_end_alone_never_turns_the_two_about(use):
    dry_cold, _, damp_warm = places(bench_of(job(use=use)))
    assert np.all(dry_cold.humidity <= damp_warm.humidity)
    assert np.all(dry_cold.t <= damp_warm.t)


# -- the part -----------------------------------------------------------------------------------


def test_the_room_of_the_job_is_the_same_by_either_isotherm():
    made = home()
    now = places(made.bench)[1]
    by_name = made.at(now).w_water
    assert by_name == pytest.approx(made.at(replace(now, name="other")).w_water, rel=1e-9)


def test_damper_air_is_wetter_softer_larger_heavier_in_every_sample():
    made = home()
    parts = [there(made, h) for h in (0.2, 0.4, 0.6, 0.8)]
    for name, sign in (("w_water", 1), ("tg", -1), ("size", 1), ("mass", 1)):
        assert np.all(sign * np.diff([getattr(p, name) for p in parts], axis=0) > 0)
    assert np.all(np.diff([p.margins["sticky"] for p in parts], axis=0) < 0)
    medians = [np.median(p.modulus) for p in parts]
    assert medians == sorted(medians, reverse=True)


def test_the_states_are_cut_where_the_modulus_falls():
    bench = bench_of(job())
    half = bench.typical("mold", "modulus_drop") / 2.0
    for above, name in ((-half - 1, "glassy"), (0.0 * half, "leathery"), (half + 1, "rubbery")):
        assert np.all(glassy_state(bench, above) == name)
        assert name in STATES


def test_a_part_that_keeps_its_moisture_keeps_its_size_and_mass():
    made = home()
    w = made.molded.w_water
    assert size_change(made.bench, made.material.blend, w, w) == pytest.approx(np.zeros(512))
    change = size_change(made.bench, made.material.blend, w, w - 0.02)
    # a third of the volume of the water, density about 1.4
    assert np.median(change) == pytest.approx(-1.4 * 0.02 / 0.92 / 3, rel=0.08)


def test_mass_by_hand():
    found = there(home(), 0.7)
    made = home()
    w0, w1 = made.molded.w_water, found.w_water
    assert found.mass == pytest.approx((1 - w0) / (1 - w1) - 1)


def test_every_sample_is_in_one_class():
    found = there(home(), 0.5).brittleness
    assert set(found) <= set(BRITTLENESS)


def test_a_brittle_part_is_never_called_soft_and_a_dry_one_without_glycerol_breaks():
    bare = home(ingredient=dry(corn_starch=100))
    assert np.mean(there(bare, 0.2, 15.0).brittleness == "brittle") > 0.8
    wet = home(ingredient=dry(corn_starch=100, glycerol=45))
    assert np.mean(there(wet, 0.85, 35.0).brittleness == "brittle") < 0.01


# -- reasons ------------------------------------------------------------------------------------


def test_a_little_plasticizer_acts_in_dry_air_only_and_on_a_glass_only():
    made = home(ingredient=dry(corn_starch=100, glycerol=5))
    assert np.median(there(made, 0.2).pushed["antiplasticization"]) > 5
    assert np.all(there(made, 0.75).pushed["antiplasticization"] == 0)
    plain = home(ingredient=dry(corn_starch=100))
    assert np.all(there(plain, 0.2).pushed["antiplasticization"] == 0)


def test_a_glass_ages_and_a_rubber_does_not():
    made = home(use=USE)
    glass = there(made, 0.35, 5.0)
    assert np.median(glass.pushed["ageing"]) > 5
    assert np.all(glass.margins["brittle-later"] <= glass.margins["brittle"])
    rubber = there(made, 0.85, 60.0)
    assert np.mean(rubber.pushed["ageing"] == 0) > 0.95


def test_crystals_come_in_weeks_to_soft_starch_and_not_to_seaweed_or_glass():
    starch = dry(potato_starch=70, glycerol=30)
    later, sooner = (home(ingredient=starch, use={**USE, "weeks": w}) for w in (20, 0.1))
    assert np.median(there(later, 0.75).crystals) > 5 * np.median(there(sooner, 0.75).crystals)
    damp = there(later, 0.75)
    assert np.all(damp.modulus_later >= damp.modulus)
    kelp = home(ingredient=dry(brown_seaweed_powder=70, glycerol=30), use=USE)
    assert np.all(there(kelp, 0.75).crystals == 0)
    glass = home(ingredient=dry(potato_starch=100), use=USE)
    assert np.all(there(glass, 0.3).crystals == 0)
