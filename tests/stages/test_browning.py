"""Clocks of browning, counted alike in the barrel and in the oven."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.degradation import quality_limit_time
from moldwin.stages.browning import acid_speedup, browned
from moldwin.stages.drying import Oven
from moldwin.stages.state import Material
from tests.jobs import bench_of, dry, job


def _made(**grams):
    bench = bench_of(job(ingredient=dry(**grams)))
    return bench, Material(bench)


def _ten_minutes(limit, energy):
    return 600.0 / limit


def test_ten_minutes_at_150_use_up_the_starchs_clock_in_half_of_the_cases():
    bench, material = _made(corn_starch=100)
    used = browned(bench, material.blend, _ten_minutes)
    assert np.median(used) == pytest.approx(1.0, rel=0.02)


def test_the_first_clock_to_run_out_counts_and_a_trace_colors_little():
    def used(**grams):
        bench, material = _made(**grams)
        return browned(bench, material.blend, _ten_minutes)

    starch, seaweed = used(corn_starch=100), used(sodium_alginate=100)
    assert used(corn_starch=50, sodium_alginate=50) == pytest.approx(np.maximum(starch, seaweed))
    trace = used(corn_starch=100, sodium_alginate=0.1)
    assert np.all(trace >= starch)
    assert np.all(trace <= np.maximum(starch, 0.01 * seaweed))


def test_acid_runs_every_clock_faster():
    bench, sour = _made(corn_starch=100, citric_acid=2)
    plain = browned(*_blend_of(corn_starch=100), _ten_minutes)
    speedup = acid_speedup(bench, sour.blend)
    assert np.all(speedup > 1.0)
    assert browned(bench, sour.blend, _ten_minutes) == pytest.approx(speedup * plain)
    assert acid_speedup(*_blend_of(corn_starch=100)) == 1.0


def _blend_of(**grams):
    bench, material = _made(**grams)
    return bench, material.blend


def test_an_oven_runs_the_same_clocks():
    """Two polymers, one hour at 120 °C: what the faster of the two clocks counts."""
    bench, material = _made(corn_starch=60, sodium_alginate=40)
    oven = Oven(bench, material, 0.10)
    oven._error = np.zeros(bench.count)
    counted = []
    for card in ("corn-starch", "sodium-alginate"):
        clock = [bench.of(bench.card(card), f"browning_{k}") for k in ("limit", "activation")]
        hot, kept = (1.0 / quality_limit_time(t, *clock, check=False) for t in (393.15, 333.15))
        counted.append(3600.0 * (hot - kept))
    assert oven._browning(3600.0, 393.15) == pytest.approx(np.maximum(*counted))
