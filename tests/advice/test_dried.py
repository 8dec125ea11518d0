"""Drying: limits and trends that must hold."""

from __future__ import annotations

import pytest

from moldwin.advice.dried import dry_job
from moldwin.inputs.errors import InputError
from moldwin.inputs.read_job import read_job
from tests.jobs import change, job


def _answer(to=0.06, t_c=60.0, sets=(), **options):
    t = None if t_c is None else t_c + 273.15
    return dry_job(read_job(job(**options), sets), to=to, t=t, count=128)


def test_warmer_air_dries_faster_and_takes_more_glycerol():
    found = [_answer(t_c=t) for t in (50, 70, 105)]
    hours = [f.hours_to_target.likely for f in found]
    assert hours == sorted(hours, reverse=True)
    rates = [f.glycerol.likely / f.hours_to_target.likely for f in found]
    assert rates == sorted(rates)
    codes = [[r.code for r in f.warnings] for f in found]
    assert "glycerol-read-as-water" in codes[-1]


def test_glycerol_leaves_at_the_published_pace_at_105():
    """0.2 %/h of a 5 g sample in 20 cm² at 105 °C (derived): 0.5 mg/h per cm²."""
    found = _answer(t_c=105, to=0.095, sets=["jar.bed_area_cm2=20"])
    pace = 1e6 * found.glycerol.likely / found.hours_to_target.likely / 20.0  # mg/h/cm²
    assert pace == pytest.approx(0.5, rel=0.3)


def test_a_wider_layer_dries_faster():
    thin = _answer(sets=["jar.bed_area_cm2=600"])
    assert thin.hours_to_target.likely < _answer().hours_to_target.likely


def test_air_as_damp_as_the_pellets_never_gets_there_and_says_so():
    found = _answer(t_c=21, to=0.05, room={"temperature_c": 21, "humidity_pct": 85})
    assert found.never > 0.9
    assert "extrapolated" in [remark.code for remark in found.warnings]


def test_the_mass_at_the_end_by_hand():
    found = _answer(pellets=change("pellets", mass_g=120), jar={"tray_g": 40})
    assert found.stop_mass == pytest.approx(0.120 * 0.90 / 0.94, abs=1e-3)
    assert found.stop_scale == pytest.approx(found.stop_mass + 0.040)


def test_pellets_fuse_warmer_the_drier_they_are():
    found = _answer()
    assert found.limit_target.likely > found.limit_now.likely
    assert "pellets-fuse" in [remark.code for remark in found.warnings]


def test_left_to_us_the_air_dries_and_stays_cool():
    found = _answer(t_c=None, to=0.08)
    assert found.never < 0.5
    assert 288.0 < found.t <= 333.16


def test_nothing_to_dry_is_refused():
    with pytest.raises(InputError, match="nothing to dry"):
        _answer(to=0.14)
