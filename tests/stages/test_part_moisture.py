"""How long a part takes to settle: against the series, and trends."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from moldwin.physics.diffusion import dense_starch_diffusivity, fourier_at
from moldwin.stages.part_moisture import settling
from moldwin.stages.shot import part_geometry
from moldwin.stages.state import Material
from tests.jobs import bench_of, job

DAY = 86400.0
ASKED = 88 * 3600.0


def ways(humidity=0.5, t_c=23.0, w=0.12, wall=None, sets=(), **options):
    bench = bench_of(job(), sets, **options)
    geometry = part_geometry(bench)
    if wall is not None:
        geometry = replace(geometry, thickest=wall)
    way = (np.full(bench.count, w), np.full(bench.count, humidity), t_c + 273.15)
    return bench, geometry, settling(bench, Material(bench), geometry, way, ASKED)


def test_a_small_step_takes_as_long_as_the_series_says():
    bench = bench_of(job(), spread=0.0, count=16)
    material = Material(bench)
    w_end = material.isotherm.moisture(np.full(16, 0.5))
    _, geometry, found = ways(w=float(w_end[0]) + 0.004, t_c=21.0, wall=6e-3, spread=0.0, count=16)
    x = w_end[0] / (1 - w_end[0]) + 0.0025
    d = dense_starch_diffusivity(x, 294.15, check=False)
    expected = fourier_at("slab", 0.1) * (geometry.thickest / 2) ** 2 / d
    # the series has neither the still air nor the change of D across the step
    assert found.times["days_90"][0] == pytest.approx(float(expected), rel=0.12)


def test_twice_the_wall_takes_four_times_as_long():
    thin, thick = (ways(wall=wall)[2].times["days_90"] for wall in (4e-3, 8e-3))
    assert np.median(thick / thin) == pytest.approx(4.0, rel=0.1)


def test_warmer_is_faster_and_the_shares_come_in_order():
    cold, warm = (ways(t_c=t)[2] for t in (10.0, 30.0))
    assert np.median(warm.times["days_90"]) < np.median(cold.times["days_90"])
    for found in (cold, warm):
        assert np.all(found.times["days_50"] < found.times["days_90"])
        assert np.all(found.times["days_90"] < found.times["days_99"])


def test_the_share_at_the_asked_time_agrees_with_the_times():
    found = ways()[2]
    assert np.all((found.asked > 0.9) == (found.times["days_90"] < ASKED))


def test_the_standards_88_hours_are_not_enough_for_a_thick_bar():
    """ISO 291 says itself that its time may not reach equilibrium."""
    thin, thick = (np.median(ways(wall=wall)[2].asked) for wall in (1e-3, 1e-2))
    assert thin > 0.95
    assert thick < 0.7


def test_a_part_that_is_there_takes_no_time():
    bench = bench_of(job(), spread=0.0, count=16)
    w_end = Material(bench).isotherm.moisture(np.full(16, 0.5))
    found = ways(w=float(w_end[0]), t_c=21.0, spread=0.0, count=16)[2]
    assert np.all(found.times["days_99"] == 0)
    assert np.all(found.asked == 1)


def test_air_as_damp_as_can_be_is_followed_to_a_gel_and_no_further():
    found = ways(humidity=0.98, t_c=40.0)[2]
    assert np.all(np.isfinite(found.times["days_90"]))
