"""Pellets in their jar: what is misted on soaks in and evens out, and no water is lost or made."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.inputs.errors import InputError
from moldwin.stages.jar_plan import plan_jar
from moldwin.stages.jar_stage import EVEN, JarStage, even_time
from moldwin.stages.state import Material
from tests.jobs import bench_of, change, job

PELLETS = change("pellets", moisture_pct=6, moisture_u_pct=0.1)


def stage(pellets=PELLETS, count=16, **sections):
    bench = bench_of(job(pellets=pellets, **sections), count=count)
    return JarStage(bench, Material(bench), bench.job.pellets.moisture)


def misted(wetter, grams=4.0):
    """So much water on their skins, which ends about three points of moisture higher."""
    return wetter.misted(1e-3 * grams, 0.09)


def test_all_that_was_misted_is_in_the_pellets_in_the_end():
    found = stage()
    run = misted(found)
    gained = found.dry_mass * (run.course.mean[:, -1] - found.x_start)
    assert gained == pytest.approx(np.full(16, 4e-3), rel=0.02)


def test_moisture_only_rises_and_the_skin_is_ahead_of_the_heart():
    course = misted(stage()).course
    assert np.all(np.diff(course.mean, axis=-1) > -1e-6)
    assert np.all(course.skin[:, 1:40] >= course.heart[:, 1:40] - 1e-6)


def test_at_the_time_it_is_even_skin_and_heart_are_as_near_as_promised_and_just():
    run = misted(stage())
    even = even_time(run)
    assert np.all(even > 0.0)
    assert np.all(np.isfinite(even))

    def apart(time):
        wet = {name: run.at(name, time) for name in ("mean", "skin", "heart")}
        mean, *ends = (wet[name] / (1.0 + wet[name]) for name in ("mean", "skin", "heart"))
        return np.max([np.abs(end - mean) for end in ends], axis=0)

    assert np.all(apart(1.3 * even) < EVEN)
    assert np.all(apart(0.7 * even) > EVEN)


def test_a_pellet_twice_as_large_takes_about_four_times_as_long_to_even_out():
    small, large = (
        np.median(even_time(misted(stage({**PELLETS, "diameter_mm": d, "length_mm": 4 / 3 * d}))))
        for d in (2.0, 4.0)
    )
    assert large / small == pytest.approx(4.0, rel=0.35)


def test_the_time_to_a_share_rises_with_it():
    run = misted(stage())
    half, most = run.time_to(0.5), run.time_to(0.9)
    assert np.all(half <= most)


def test_a_bath_with_less_water_than_the_pellets_take_is_refused_with_what_to_weigh_out():
    with pytest.raises(InputError, match="no slurry would be left"):
        plan_jar(stage(), 0.12, source="NaCl", bath_water=1e-3)
    given = plan_jar(stage(), 0.12, source="NaCl", bath_water=0.05)
    assert given.charge.water == 0.05
    assert given.charge.water - given.moved > 0.0


def test_flakes_of_a_sheet_are_as_thick_as_it_dries():
    """Said to be derived, and thinner than the gel was spread."""
    flakes = {"moisture_pct": 6, "shape": "flake", "mass_g": 100}
    found = stage(flakes, pot={"water_g": 1500}, sheet={"spread_mm": 5})
    used = found.bench.used["pellets.thickness"]
    assert used.status == "derived"
    assert 2.0 * found.pellet.half == pytest.approx(used.value)
    assert 0.0 < used.value < 2.5e-3
