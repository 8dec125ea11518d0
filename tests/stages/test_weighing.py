"""Moisture from weighings: both bases, the glycerol taken off, the curve, the standards."""

from __future__ import annotations

import math

import numpy as np
import pytest

from moldwin.base.draws import Draws
from moldwin.inputs.job import Job
from moldwin.inputs.weighings import DriedSample, Weighings
from moldwin.physics.loss_on_drying import glycerol_flux
from moldwin.stages.bench import Bench
from moldwin.stages.evaporation import Evaporation
from moldwin.stages.settling import Settling
from moldwin.stages.weighing import weigh, weighing_remarks
from moldwin.stages.weighing_methods import Conditions, match_method
from tests.jobs import bench_of, change, dry, job

STEP = 1e-6  # kg: a scale of 1 mg
HOUR = 3600.0


def sample(loss=0.10, hours=1.5, net=5e-3, name="a", curve=None):
    """One dish of 20 g that lost this share of its sample."""
    dish, wet = 0.020, 0.020 + net
    points = curve or [(hours, loss)]
    weighed = tuple((h * HOUR, wet - net * lost) for h, lost in points)
    return DriedSample(name, dish, wet, weighed[-1][1], weighed[-1][0], weighed)


def table(*samples, step=STEP):
    return Weighings.of(samples or [sample()], step)


def oven(c=130.0, cm2=20.0, ingredient=None, **options):
    """A bench whose job dries in this oven; 22 g of glycerol in 100 g dry unless told otherwise."""
    ingredients = ingredient or dry(corn_starch=78, glycerol=22)
    given = {"temperature_c": c, "dish_area_cm2": cm2}
    return bench_of(job(ingredient=ingredients, oven=given), **options)


def unknown(**options):
    """A bench that knows nothing of oven and recipe."""
    return Bench(Job(), count=512, **options)


# -------------------------------------------------------------------------- the two bases


def test_without_glycerol_the_loss_is_the_moisture_on_both_bases():
    reading = weigh(unknown(), table(sample(0.10)), glycerol=0.0)
    assert reading.wet == pytest.approx(0.10, rel=1e-12)
    assert reading.dry == pytest.approx(1 / 9, rel=1e-12)
    assert reading.glycerol == 0.0
    assert reading.remarks == ()


def test_the_uncertainty_is_the_tables_own_and_grows_on_the_dry_basis():
    found = table(sample(0.10), step=1e-4)
    reading = weigh(unknown(), found, glycerol=0.0)
    assert reading.wet_u == pytest.approx(found.moisture_u, rel=1e-12)
    moved = (0.1 + 1e-6) / (1 - 0.1 - 1e-6) - 0.1 / 0.9
    assert reading.dry_u == pytest.approx(reading.wet_u * moved / 1e-6, rel=1e-4)


def test_the_interval_is_that_of_a_normal_reading():
    reading = weigh(unknown(), table(sample(0.10), step=1e-4), glycerol=0.0)
    assert reading.wet_band.high - reading.wet == pytest.approx(1.645 * reading.wet_u, rel=0.02)
    assert reading.wet_band.low == pytest.approx(2 * 0.10 - reading.wet_band.high, abs=1e-4)


def test_repeats_that_disagree_are_less_sure():
    alike = weigh(unknown(), table(sample(0.10), sample(0.10), sample(0.10)), glycerol=0.0)
    apart = weigh(unknown(), table(sample(0.09), sample(0.10), sample(0.11)), glycerol=0.0)
    assert apart.wet == pytest.approx(alike.wet)
    assert apart.wet_u == pytest.approx(0.01 / math.sqrt(3))
    assert alike.wet_u < 0.1 * apart.wet_u


def test_fewer_than_three_repeats_are_asked_for_more():
    for n in (1, 2, 3):
        asks = " ".join(weigh(unknown(), table(*[sample()] * n), glycerol=0.0).asks)
        assert ("other places" in asks) == (n < 3)
        assert (f"{3 - n} more sample" in asks) == (n < 3)


# -------------------------------------------------------------------------- the glycerol


def test_nobody_said_what_is_in_it_so_nothing_is_taken_off():
    reading = weigh(unknown(), table(sample(0.10)))
    assert reading.glycerol is None
    assert reading.wet == pytest.approx(0.10)
    assert "--glycerol-g-per-100g-dry" in " ".join(reading.asks)
    assert reading.margins == {}


def test_ninety_minutes_at_130_degrees_give_the_glycerol_worked_out_by_hand():
    reading = weigh(oven(130.0, count=2048), table(sample(0.10)))
    by_hand = glycerol_flux(403.15, 0.3, 5e-3) * 20e-4 * 5400.0 / 5e-3
    assert reading.glycerol == pytest.approx(by_hand, rel=0.10)  # depletion, median of the draws
    assert reading.glycerol_band.low < 0.011
    assert reading.glycerol_band.high > 0.032
    assert reading.wet == pytest.approx(0.10 - reading.glycerol, rel=1e-9)


def test_its_spread_is_carried_into_the_moisture():
    reading = weigh(oven(130.0), table(sample(0.10)))
    sure = weigh(oven(130.0), table(sample(0.10)), glycerol=0.0)
    spread = reading.glycerol_band.high - reading.glycerol_band.low
    width = reading.wet_band.high - reading.wet_band.low
    assert width == pytest.approx(spread, rel=0.05)
    assert reading.wet_u > 10 * sure.wet_u
    assert reading.wet_band.high <= 0.10 + 5 * sure.wet_u


def test_hot_and_long_take_more_than_cool_and_short_and_a_bigger_sample_less():
    def part(c=105.0, cm2=20.0, **how):
        return weigh(oven(c, cm2), table(sample(**how))).glycerol

    assert part(130.0) > 4 * part(105.0)
    assert part(hours=3.0) > 1.8 * part(hours=1.5)
    assert part(cm2=40.0) > 1.8 * part(cm2=20.0)
    assert part(net=10e-3) < 0.6 * part(net=5e-3)


def test_a_given_share_of_glycerol_wins_over_the_recipe():
    assert weigh(oven(), table(), glycerol=0.0).glycerol == 0.0
    half = weigh(oven(), table(), glycerol=0.10).glycerol
    assert half == pytest.approx(weigh(oven(), table(), glycerol=0.20).glycerol / 2, rel=0.02)


def test_a_recipe_without_glycerol_loses_none():
    reading = weigh(oven(ingredient=dry(corn_starch=100)), table())
    assert reading.glycerol == 0.0
    assert reading.gentler == ()


def test_no_more_glycerol_than_loss_and_no_moisture_below_nothing():
    reading = weigh(oven(180.0, 200.0), table(sample(0.02, hours=10.0)))
    assert reading.glycerol_band.high <= 0.02
    assert reading.wet_band.low == 0.0
    assert reading.wet >= 0.0


def test_an_oven_nobody_described_is_taken_from_a_wide_range():
    told = weigh(oven(105.0), table())
    bench = bench_of(job(ingredient=dry(corn_starch=78, glycerol=22)))
    guessed = weigh(bench, table())
    assert guessed.used["oven.temperature"].status == "assumed"
    assert told.used["oven.temperature"].status == "measured"
    assert guessed.wet_u > 1.5 * told.wet_u
    assert "--oven-c" in " ".join(guessed.asks)
    assert guessed.gentler == ()  # cooler than what?


def test_the_same_seed_gives_the_same_reading_and_another_does_not():
    first, again = (weigh(oven(seed=4), table()) for _ in range(2))
    assert first.glycerol == again.glycerol != weigh(oven(seed=5), table()).glycerol


# --------------------------------------------------------------------------- the warning


def test_the_warning_comes_from_the_samples_and_names_its_share():
    reading = weigh(oven(130.0), table(sample(0.10)))
    (remark,) = reading.remarks
    assert remark.code == "glycerol-read-as-water"
    broken = float(np.mean(reading.margins["glycerol-read-as-water"] < 0.0))
    assert broken > 0.5
    assert f"{10 * broken:.0f} in 10" in remark.message


def test_cool_and_short_on_a_wet_sample_needs_no_warning():
    assert weigh(oven(90.0), table(sample(0.15))).remarks == ()


def test_the_drier_the_sample_the_more_it_is_misread():
    margin = [
        float(np.median(weigh(oven(105.0), table(sample(w))).margins["glycerol-read-as-water"]))
        for w in (0.15, 0.08, 0.04)
    ]
    assert margin[0] > margin[1] > margin[2]


def test_cooler_ovens_take_longer_and_less_glycerol():
    hot = weigh(oven(130.0), table(sample(0.10)))
    mild, cool = hot.gentler
    assert cool.temperature < mild.temperature < 403.15
    assert cool.time > mild.time > 5400.0
    assert cool.glycerol < mild.glycerol < hot.glycerol
    assert 0.0 < mild.a_water < cool.a_water < 0.05  # the room's air, warmed


def test_propylene_glycol_is_named_and_not_taken_off():
    bench = oven(ingredient=dry(corn_starch=85, propylene_glycol=15))
    reading = weigh(bench, table(sample(0.10)))
    assert reading.glycerol == 0.0
    assert "Propylene glycol" in reading.remarks[0].message


def test_a_job_that_gives_its_moisture_as_a_number_has_no_remark_on_weighings():
    assert weighing_remarks(oven()) == []


def test_a_job_with_a_table_gets_the_remark(tmp_path):
    rows = ["a,0,20.000,25.000", "a,90,20.000,24.500"]
    (tmp_path / "w.csv").write_text("sample,minutes,dish_g,gross_g\n" + "\n".join(rows) + "\n")
    pellets = change("pellets", moisture_pct=None, moisture_u_pct=None)
    pellets["weighings"] = str(tmp_path / "w.csv")

    def codes(c):
        bench = bench_of(job(pellets=pellets, oven={"temperature_c": c, "dish_area_cm2": 20}))
        return [remark.code for remark in weighing_remarks(bench)]

    assert codes(130) == ["glycerol-read-as-water"]
    assert codes(70) == []


# ----------------------------------------------------------------------------- the curve


def drying(tail_an_hour=0.0, tau=0.4, loss=0.10, hours=(1, 2, 3, 4, 5)):
    return [(h, loss * (1 - math.exp(-h / tau)) + tail_an_hour * h) for h in hours]


@pytest.mark.parametrize(
    ("curve", "state"),
    [
        (drying(), "leveled"),
        (drying(tail_an_hour=0.004), "tail"),
        (drying(tau=4.0), "falling"),
        ([(1, 0.10), (2, 0.1004)], "leveled"),
        ([(1, 0.10), (2, 0.105)], "falling"),
        ([(1, 0.10)], None),
    ],
)
def test_whether_the_mass_has_settled(curve, state):
    assert weigh(unknown(), table(sample(curve=curve)), glycerol=0.0).state == state


def test_a_coarse_scale_cannot_tell():
    coarse = table(sample(curve=[(1, 0.10), (2, 0.10)]), step=1e-4)
    assert weigh(unknown(), coarse, glycerol=0.0).state == "unclear"


def test_the_worst_sample_decides():
    both = table(sample(curve=drying()), sample(curve=drying(tau=4.0)))
    assert weigh(unknown(), both, glycerol=0.0).state == "falling"


def test_what_is_still_to_come_widens_the_interval_upward_only():
    reading = weigh(unknown(), table(sample(curve=drying(tau=4.0))), glycerol=0.0)
    assert "still falling" in reading.asks[0]
    up, down = reading.wet_band.high - reading.wet, reading.wet - reading.wet_band.low
    assert up > 0.8 * reading.rest > 0.01
    assert down < 0.1 * up


def test_a_dish_that_gains_mass_is_named():
    gains = table(sample(curve=[(1, 0.100), (2, 0.101), (3, 0.099)]))
    asks = " ".join(weigh(unknown(), gains, glycerol=0.0).asks)
    assert "closed jar" in asks


def test_a_measured_tail_moves_the_estimate_toward_itself_and_makes_it_surer():
    bench = oven(105.0, count=2048)
    single = table(sample(0.10, hours=5))
    blind = weigh(bench, single)
    for tail_an_hour in (0.0012, 0.0040):
        told = weigh(bench, table(sample(curve=drying(tail_an_hour))))
        by_tail = 5 * tail_an_hour
        assert abs(told.glycerol - by_tail) < abs(blind.glycerol - by_tail)
        width, before = (r.glycerol_band.high - r.glycerol_band.low for r in (told, blind))
        assert width < before
        assert told.tail_fits


@pytest.mark.parametrize("tail_an_hour", [0.05, 0.0])
def test_a_tail_outside_the_estimate_is_said_and_followed_only_part_of_the_way(tail_an_hour):
    # ten times above what the film of air allows, or nothing at all
    told = weigh(oven(105.0, count=2048), table(sample(curve=drying(tail_an_hour))))
    assert not told.tail_fits
    blind = weigh(oven(105.0, count=2048), table(sample(0.10, hours=5)))
    assert (told.glycerol > blind.glycerol) == (tail_an_hour > 0.0)


def test_weighing_the_draws_agrees_with_shifting_them():
    """A measured tail, once by weights and once by the linear shift of the columns."""
    found = table(sample(curve=drying(0.0030)))
    settling = Settling(found)
    tail, tail_u = settling.tail
    bench = oven(105.0, count=2048)
    by_weights = Evaporation(bench, np.full(bench.count, 0.22), {})
    assert settling.tell(by_weights)
    prior = Evaporation(bench, np.full(bench.count, 0.22), {})
    expected = np.log(prior.rate(found.samples[0]))
    u = math.hypot(tail_u, 0.3 * tail) / tail
    names = ("oven.film", "oven.glycerol_activity", "oven.temperature", "oven.dish_area")
    shifted = oven(105.0, count=2048)
    shifted.draws = Draws(bench.draws.seed, 2048)
    shifted.draws.shift(names, expected, math.log(tail), u)
    by_shift = Evaporation(shifted, np.full(shifted.count, 0.22), {})
    ours, theirs = (np.median(e.part(found.samples[0])) for e in (by_weights, by_shift))
    before = np.median(prior.part(found.samples[0]))
    assert ours == pytest.approx(theirs, rel=0.12)
    assert abs(ours - theirs) < 0.5 * abs(ours - before)


# -------------------------------------------------------------------------- the standards


def how(c=105.0, minutes=180.0, constant=True, grams=5.0, **more):
    given = {"repeats": 2, "starch_only": True, "fiber_only": True, "glycerol": False, **more}
    return Conditions(c + 273.15, 60 * minutes, constant, grams / 1e3, grams / 1e3, **given)


def test_starch_at_130_degrees_for_ninety_minutes_is_iso_1666():
    for c in (130.0, 133.0):
        match = match_method(how(c, 90.0, None))
        assert (match.name, match.departs) == ("ISO 1666", ())


def test_fiber_at_105_degrees_to_constant_mass_is_iso_287():
    match = match_method(how())
    assert (match.name, match.departs) == ("ISO 287", ())


@pytest.mark.parametrize(
    ("given", "name", "nearest", "said"),
    [
        (how(130.0, 180.0), None, "ISO 1666", "180 min taken"),
        (how(125.0, 90.0), None, "ISO 1666", "125 °C used"),
        (how(130.0, 90.0, glycerol=True), "ISO 1666", "ISO 1666", "glycerol evaporates"),
        (how(130.0, 90.0, starch_only=False), "ISO 1666", "ISO 1666", "not for a blend"),
        (how(130.0, 90.0, grams=12.0), "ISO 1666", "ISO 1666", "12 g taken"),
        (how(130.0, 90.0, repeats=1), "ISO 1666", "ISO 1666", "two samples"),
        (how(constant=None), None, "ISO 287", "no second dry weighing"),
        (how(constant=False), None, "ISO 287", "still differ"),
        (how(90.0), None, "ISO 287", "90 °C used"),
        (how(glycerol=True), "ISO 287", "ISO 287", "nothing but water"),
        (how(fiber_only=False), "ISO 287", "ISO 287", "paper and board"),
    ],
)
def test_what_departs_is_named(given, name, nearest, said):
    match = match_method(given)
    assert (match.name, match.nearest) == (name, nearest)
    assert [words for words in match.departs if said in words]


def test_an_unknown_oven_amounts_to_nothing():
    match = match_method(Conditions(None, None, None, 5e-3, 5e-3, 1))
    assert (match.name, match.nearest) == (None, None)


def test_a_reading_knows_its_method():
    reading = weigh(oven(130.0), table(sample(0.10, hours=1.5)))
    assert reading.method.name == "ISO 1666"
    settled = table(*[sample(curve=[(3, 0.100), (4, 0.1005)])] * 2)
    assert weigh(oven(105.0), settled).method.name == "ISO 287"


def test_an_unknown_time_is_one_range_for_every_dish_and_is_told():
    """Weighings of before and after alone, the oven's time not said: 45 min to 10 h, assumed."""
    loading = np.full(512, 0.22)
    bench, used = oven(), {}
    evaporation = Evaporation(bench, loading, used)
    nobody = sample(hours=float("nan"))
    parts = evaporation.part(nobody)
    short, long = (evaporation.part(sample(hours=h)) for h in (0.75, 10.0))
    assert np.all(parts >= short - 1e-12)
    assert np.all(parts <= long + 1e-12)
    assert used["oven.time"].status == "assumed"
    assert np.array_equal(evaporation.part(nobody), parts)
    timed = bench_of(job(oven={"temperature_c": 130, "minutes": 90}))
    stove = Evaporation(timed, loading, {})
    assert stove.part(nobody) == pytest.approx(stove.part(sample(hours=1.5)), rel=1e-12)


def test_a_method_asks_for_a_time_that_nobody_told():
    found = match_method(Conditions(403.15, None, None, 5e-3, 5e-3, 2, starch_only=True))
    assert (found.name, found.nearest) == (None, "ISO 1666")
    assert "the time is not known" in " ".join(found.departs)
