"""Drying: limits and trends that must hold."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from moldwin.advice.dried import dry_job
from moldwin.inputs.errors import InputError
from moldwin.inputs.jar_weighings import JarWeighings
from moldwin.inputs.read_job import read_job
from moldwin.stages.bench import Bench
from moldwin.stages.drying import Oven
from moldwin.stages.state import Material
from tests.jobs import change, dry, job


def _answer(to=0.06, t_c=60.0, sets=(), measured=None, confidence=0.7, **options):
    t = None if t_c is None else t_c + 273.15
    asked = {"measured": measured, "confidence": confidence, "count": 128}
    return dry_job(read_job(job(**options), sets), to=to, t=t, **asked)


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


@pytest.fixture(scope="module")
def plain():
    """To 6 % in air of 60 °C."""
    return _answer()


def test_a_wider_layer_dries_faster(plain):
    thin = _answer(sets=["jar.bed_area_cm2=600"])
    assert thin.hours_to_target.likely < plain.hours_to_target.likely


def test_air_as_damp_as_the_pellets_never_gets_there_and_says_so():
    found = _answer(t_c=21, to=0.05, room={"temperature_c": 21, "humidity_pct": 85})
    assert found.never > 0.9
    assert "extrapolated" in [remark.code for remark in found.warnings]


def test_the_mass_at_the_end_by_hand():
    found = _answer(pellets=change("pellets", mass_g=120), jar={"tray_g": 40})
    assert found.stop_mass == pytest.approx(0.120 * 0.90 / 0.94, abs=1e-3)
    assert found.stop_scale == pytest.approx(found.stop_mass + 0.040)


def test_pellets_fuse_warmer_the_drier_they_are(plain):
    found = plain
    assert found.limit_target.likely > found.limit_now.likely
    assert "pellets-fuse" in [remark.code for remark in found.warnings]


def test_left_to_us_the_air_dries_and_stays_cool():
    found = _answer(t_c=None, to=0.08)
    assert found.never < 0.5
    assert 288.0 < found.t <= 333.16


def test_nothing_to_dry_is_refused():
    with pytest.raises(InputError, match="nothing to dry"):
        _answer(to=0.14)


def test_a_warmer_oven_is_quicker_and_does_more_harm():
    rows = _answer(t_c=None).ovens
    assert [row.t for row in rows] == sorted(row.t for row in rows)
    for cool, warm in itertools.pairwise(rows):
        assert warm.hours.likely <= cool.hours.likely
        assert warm.fuses_now >= cool.fuses_now
        assert warm.never <= cool.never
        assert warm.fuses_dry <= warm.fuses_now  # drier pellets fuse later
    assert rows[-1].browning.likely > rows[0].browning.likely == 0.0


def test_the_temperature_asked_for_stands_among_the_ovens_once(plain):
    assert [round(row.t - 273.15) for row in plain.ovens].count(60) == 1


def test_the_warmest_that_is_safe_falls_with_the_confidence_asked():
    bold, careful = (_answer(confidence=p) for p in (0.55, 0.75))
    assert bold.warmest > careful.warmest
    safe = _answer(t_c=careful.warmest - 273.15 - 0.5)
    risky = _answer(t_c=careful.warmest - 273.15 + 3.0)
    assert safe.chance >= 0.75 > risky.chance


def test_sticky_pellets_have_no_safe_oven():
    found = _answer(
        to=0.20,
        ingredient=dry(corn_starch=70, glycerol=30),
        pellets=change("pellets", moisture_pct=25),
        room={"temperature_c": 30, "humidity_pct": 40},
    )
    assert found.warmest is None


def test_thin_is_quicker_than_a_heap_and_a_fan_does_not_slow(plain):
    layers = {layer.words: layer for layer in plain.layers}
    layers["as now"] = plain.layers[0]
    assert layers["one pellet deep"].hours.likely < layers["as now"].hours.likely
    assert layers["as now"].hours.likely < layers["in a heap of 50 mm"].hours.likely
    fanned = plain.layers[-1]
    assert "fan" in fanned.words
    assert fanned.hours.likely <= layers["one pellet deep"].hours.likely


def test_the_course_ends_at_the_stop_mass(plain):
    found = plain
    assert found.course.mass[0].likely == pytest.approx(0.120)
    assert found.course.mass[-1].likely == pytest.approx(found.stop_mass, abs=4e-4)
    likely = [mass.likely for mass in found.course.mass]
    assert likely == sorted(likely, reverse=True)
    assert all(found.course.skin[1:] < found.course.heart[1:])


# -- weighings on the way -------------------------------------------------------------------------


def _weighed(grams, hours=(0.0, 6.0, 12.0, 24.0)):
    times, gross = (tuple(s * v for v in values) for s, values in ((3600.0, hours), (1e-3, grams)))
    return JarWeighings("mass.csv", times, gross, 1e-4)


def test_weighings_narrow_the_forecast_whatever_the_tray():
    plain = _answer(t_c=50.0, measured=_weighed((120.0, 118.6, 117.8, 116.7)))
    on_tray = _answer(t_c=50.0, measured=_weighed((170.0, 168.6, 167.8, 166.7)))
    before, after = (plain.learned.before, plain.learned.after)
    width = [t["hours_to_target"].high / t["hours_to_target"].low for t in (before, after)]
    assert width[1] < 0.4 * width[0]
    assert plain.hours_to_target.likely == pytest.approx(after["hours_to_target"].likely)
    # each reading gets its own draw of error by its last digit, so not to the last digit
    assert on_tray.hours_to_target.likely == pytest.approx(plain.hours_to_target.likely, rel=0.02)


def test_quick_weighings_say_quicker_and_slow_ones_slower():
    quick = _answer(t_c=50.0, measured=_weighed((120.0, 117.4, 116.3, 115.2)))
    slow = _answer(t_c=50.0, measured=_weighed((120.0, 119.5, 119.2, 118.8)))
    assert quick.hours_to_target.likely < slow.hours_to_target.likely
    assert not quick.learned.far


def test_a_hidden_truth_is_found_again():
    """Weighings made by one sample of the draws: its own time lies in the narrowed band."""
    bench = Bench(read_job(job()), count=128)
    oven = Oven(bench, Material(bench), 0.10)
    hours = np.array([0.0, 4.0, 8.0, 16.0, 30.0])
    lost = oven.lost(323.15, 3600.0 * hours)
    truth = oven.dry(0.06, 323.15).to_target / 3600.0
    inside = 0
    for hidden in range(3, 128, 25):
        grams = 120.0 * (1.0 - lost[hidden])
        found = _answer(t_c=50.0, measured=_weighed(grams, hours)).hours_to_target
        inside += found.low <= truth[hidden] <= found.high
    assert inside >= 4  # of 5


def test_weighings_of_something_else_are_told_or_refused():
    gone = _weighed((120.0, 119.99, 119.98, 119.97), hours=(0.0, 24.0, 48.0, 96.0))
    assert _answer(t_c=80.0, measured=gone).learned.far
    with pytest.raises(InputError, match="cannot; was something added"):
        _answer(t_c=50.0, measured=_weighed((120.0, 100.0, 90.0, 80.0)))
    with pytest.raises(InputError, match="less than the pellets alone"):
        _answer(t_c=50.0, measured=_weighed((100.0, 99.0, 98.0, 97.0)))
    with pytest.raises(InputError, match="how warm the oven was"):
        _answer(t_c=None, measured=_weighed((120.0, 118.6, 117.8, 116.7)))


def test_a_bend_test_counts_once_beside_weighings():
    """What both change is the diffusivity alone: where pellets fuse stays as the strip told it."""
    bent = [f"blend.softening_{key}" for key in ("c=30", "u_c=8", "moisture_pct=10")]
    coarse = JarWeighings("mass.csv", (0.0, 3600.0 * 24.0), (0.12, 0.1165), 0.1)  # says nothing
    plain = _answer(t_c=50.0, sets=bent).limit_now
    beside = _answer(t_c=50.0, sets=bent, measured=coarse).limit_now
    for end in ("low", "likely", "high"):
        assert getattr(beside, end) == pytest.approx(getattr(plain, end), abs=0.01)
