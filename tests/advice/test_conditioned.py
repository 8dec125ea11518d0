"""The jar in full: the three cases everybody should get right, the sources, weighings fed back."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.advice.conditioned import condition_job
from moldwin.advice.faster import mold_days
from moldwin.inputs.errors import InputError
from moldwin.inputs.jar_weighings import JarWeighings
from moldwin.inputs.read_job import read_job
from moldwin.physics.humidity import glycerol_water_activity
from moldwin.stages.conditioning import condition
from moldwin.stages.jar_stage import DAY
from moldwin.stages.state import Material
from tests.jobs import bench_of, dry, job

_JAR = {"slurry_area_cm2": 60, "air_gap_cm": 5, "bed_area_cm2": 60, "temperature_c": 25}
_PELLETS = {
    "moisture_pct": 5,
    "moisture_u_pct": 0,
    "shape": "cylinder",
    "diameter_mm": 3,
    "length_mm": 3,
    "mass_g": 100,
    "bulk_density_g_cm3": 0.65,
}
_BAR = {"shape": "slab", "thickness_mm": 4, "diameter_mm": None, "length_mm": None}


def _made(jar=None, pellets=None):
    return job(
        ingredient=dry(corn_starch=70, glycerol=20),
        pellets={k: v for k, v in {**_PELLETS, **(pellets or {})}.items() if v is not None},
        jar={**_JAR, **(jar or {})},
        room={"temperature_c": 25, "humidity_pct": 50},
    )


def _answer(to=0.12, jar=None, pellets=None, **options):
    read = read_job(_made(jar, pellets))
    return condition_job(read, to=to, **{"count": 128, **options})


# ------------------------------------------------------------------ what everybody gets wrong


def test_still_air_takes_more_than_a_week_and_is_the_bottleneck():
    found = _answer()
    assert found.days["days_90"].likely > 7.0
    assert found.bottleneck == "air"
    # without the air it would be a matter of a day or three: that is what bottleneck means
    assert found.without["air"].likely < found.days["days_90"].likely / 3.0


def test_a_thin_layer_and_a_fan_take_much_less():
    area = 100.0 / 0.65 / 0.2  # cm² under a layer of 2 mm
    thin = _answer(jar={"bed_area_cm2": area, "slurry_area_cm2": area, "fan": True})
    assert thin.days["days_90"].likely < _answer().days["days_90"].likely / 5.0
    assert thin.bottleneck == "pellet"


def test_a_bar_of_4_mm_takes_over_a_month_and_the_clock_alone_will_not_do():
    """From 5 to 8 % the law for dense starch gives 0.8 to 1.6e-12 m²/s."""
    bar = _answer(to=0.08, pellets=_BAR, jar={"fan": True, "bed_area_cm2": 600})
    assert bar.days["days_90"].likely > 30.0
    assert bar.bottleneck == "pellet"
    assert not bar.clock_alone
    assert _answer().clock_alone


# ------------------------------------------------------------------ the answer holds together


def test_the_keys_that_other_programs_rely_on():
    told = _answer().to_dict()
    for name in ("days_50", "days_90", "days_99"):
        assert set(told[name]) == {"low", "likely", "high"}
    assert told["stop_mass_g"] == pytest.approx(95.0 / 0.88)
    assert told["stop_scale_g"] is None
    assert told["bottleneck"] in ("air", "pellet", "bath")
    assert _answer(jar={"tray_g": 42}).stop_scale == pytest.approx(0.095 / 0.88 + 0.042)


def test_the_way_takes_longer_toward_its_end_and_the_jar_gains_what_it_should():
    found = _answer()
    for end in ("low", "likely", "high"):
        half, most, nearly = (getattr(found.days[f"days_{n}"], end) for n in (50, 90, 99))
        assert half < most < nearly
    likely = [m.likely for m in found.course.mass]
    assert likely == sorted(likely)
    assert likely[0] == pytest.approx(0.1)
    # the band of the end holds the mass to stop at
    assert found.course.mass[-1].low < found.stop_mass <= found.course.mass[-1].high


def test_wetting_runs_from_the_skin_and_drying_too():
    wetting, drying = _answer(), _answer(to=0.08, pellets={"moisture_pct": 14})
    assert np.all(wetting.course.skin[1:] >= wetting.course.heart[1:] - 1e-9)
    assert np.all(drying.course.skin[1:] <= drying.course.heart[1:] + 1e-9)
    assert drying.moved < 0 < wetting.moved


def test_closed_form_and_full_problem_lie_within_a_factor_of_two_where_the_air_rules():
    """The closed form ends at its own humidity for ever; the full way ends at the stop mass."""
    bench = bench_of(_made(), count=128)
    material = Material(bench)
    closed = condition(bench, material, material.at(0.05), material.at(0.12))
    full = _answer()
    assert closed.humidity == pytest.approx(full.source.activity, abs=0.005)
    for name in ("days_50", "days_90", "days_99"):
        ratio = full.days[name].likely / closed.days[name].likely
        assert 0.5 < ratio < 2.0
    assert closed.bottleneck == full.bottleneck


# ------------------------------------------------------------------ sources


def test_the_bath_is_mixed_wetter_by_what_it_gives_and_ends_at_its_humidity():
    found = _answer()
    charge = found.charge
    assert charge.water - charge.end == pytest.approx(found.moved)
    share = charge.glycerol / (charge.glycerol + charge.end)
    assert glycerol_water_activity(share, 298.15) == pytest.approx(found.source.activity, abs=1e-6)
    drier = _answer(to=0.10, pellets={"moisture_pct": 14})
    if drier.charge.glycerol is not None:
        assert drier.charge.water < drier.charge.end


def test_a_slurry_has_water_to_give_and_solid_left():
    found = _answer(source="NaCl")
    assert found.charge.water > 2.0 * found.moved
    assert found.charge.salt > 0.36 * found.charge.water
    assert found.stopped_by_mass
    drying = _answer(to=0.08, pellets={"moisture_pct": 14}, source="MgCl2")
    assert drying.charge.salt > 0.55 * drying.charge.end


def test_an_oxidizer_is_never_chosen_but_told_where_it_is_forced():
    assert not _answer().source.oxidizer
    for found in (_answer(source="KNO3"), _answer(jar={"sources": ["KNO3"]})):
        assert found.source.oxidizer
        assert "oxidizer" in [remark.code for remark in found.warnings]
    assert all(route.name not in ("KNO3", "NaNO3", "Mg-nitrate") for route in _answer().routes)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"source": "MgCl2"}, "never reach 12.0 %"),
        ({"source": "K2CO3", "jar": {"temperature_c": 38}}, "not at 38"),
        ({"source": "NaClx"}, "unknown source"),
        ({"bath_water": 0.005}, "no slurry would be left"),
        ({"jar": {"sources": ["LiCl"]}}, "never reach"),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence(options, words):
    with pytest.raises(InputError, match=words) as caught:
        _answer(**options)
    assert caught.value.exit_code == 2


# ------------------------------------------------------------------ faster


def test_the_misted_water_is_what_the_pellets_lack():
    mist = next(route for route in _answer().routes if route.name == "mist")
    assert mist.water == pytest.approx(0.095 / 0.88 - 0.1)
    assert mist.tempering.likely < 5.0


def test_a_wetter_source_stops_sooner():
    """Published-model figures for this jar: NaCl 5 days, KCl 3.6, water 2.5 (no bed, no pellet)."""
    found = {route.name: route for route in _answer().routes}
    order = [found[name].to_stop.likely for name in ("NaCl", "KCl", "plain-water")]
    assert order == sorted(order, reverse=True)
    for value, lumped in zip(order, (5.0, 3.6, 2.5), strict=True):
        assert lumped < value < 2.0 * lumped  # the bed adds to it
    assert all(value < _answer().days["days_99"].likely for value in order)


def test_every_change_that_is_offered_helps():
    found = _answer()
    assert {"a fan in the jar", "a thin layer and a fan"} <= {f.change for f in found.faster}
    assert all(f.days_90.likely < found.days["days_90"].likely for f in found.faster)


def test_a_change_offered_is_what_the_changed_job_answers():
    found = _answer()
    fan = next(f for f in found.faster if f.change == "a fan in the jar")
    assert _answer(jar={"fan": True}).days["days_90"] == fan.days_90


def test_mold_has_no_time_below_065_and_less_the_wetter_it_is():
    assert mold_days(0.6) == float("inf")
    days = [mold_days(a) for a in (0.66, 0.7, 0.75, 0.8, 0.9, 1.0)]
    assert days == sorted(days, reverse=True)


def test_salty_kelp_in_a_warm_jar_has_an_isotherm_that_rises():
    """Moved to 40 °C the step of its dissolving salt bends back, and stopped the solver once."""
    made = _made(jar={"temperature_c": 40}, pellets={"moisture_pct": 18})
    made["ingredient"] = [
        {"card": "brown-seaweed-powder", "mass_g": 180},
        {"card": "potato-starch", "mass_g": 260},
        {"card": "glycerol", "mass_g": 60},
    ]
    assert condition_job(read_job(made), to=0.09, count=64).days["days_90"].likely > 0.0


# ------------------------------------------------------------------ weighings fed back


def _weighed(days_at, mass_g):
    times = tuple(DAY * d for d in days_at)
    return JarWeighings("mass.csv", times, tuple(1e-3 * m for m in mass_g), 1e-4)


def test_weighings_narrow_the_forecast_toward_the_jar_they_come_from():
    """A jar made of one sample of the very draws: its own time must come back."""
    from moldwin.stages.humidity_sources import SaltBath
    from moldwin.stages.jar_stage import JarStage

    bench = bench_of(_made(), count=128)
    stage = JarStage(bench, Material(bench), 0.05)
    run = stage.run(SaltBath(0.753, 1.0), 0.12)
    true = run.time_to(0.9) / DAY
    slow = int(np.argsort(true)[-6])  # a slow jar, as the prior goes
    at = [0.0, 0.5, 1.0, 2.0, 3.0]
    mass = [
        1e3 * float((stage.mass * (1 + run.at("mean", DAY * d)) / (1 + run.x_start))[slow])
        for d in at
    ]
    found = _answer(source="NaCl", measured=_weighed(at, mass)).learned
    before, after = found.before["days_90"], found.after["days_90"]
    # times are ratios: a jar twice as slow has twice as wide an interval in days
    assert np.log(after.high / after.low) < 0.6 * np.log(before.high / before.low)
    assert after.low < true[slow] < after.high
    assert after.likely > before.likely  # it moved to the slow side
    assert found.effective < 128 / 2


def test_weighings_of_something_else_are_refused_or_told():
    with pytest.raises(InputError, match="less than the pellets alone"):
        _answer(measured=_weighed([0, 1], [50, 51]))
    with pytest.raises(InputError, match="cannot"):
        _answer(measured=_weighed([0, 1], [100, 80]))
    assert _answer(source="NaCl", measured=_weighed([0, 1], [100, 112])).learned.far
