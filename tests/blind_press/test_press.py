"""The blind press is sound in itself: balances, limits, trends and published points."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.blind_press import laws
from tests.blind_press.cases import plain, plain_known
from tests.blind_press.charge import HEAT_CAPACITY, soak
from tests.blind_press.fill import fill, needed_volume
from tests.blind_press.hidden import truths
from tests.blind_press.part import temperatures
from tests.blind_press.press import REASONS, ample_charge_g, shoot
from tests.blind_press.trial import rivals
from tests.second_press.known import makers
from tests.second_press.press import Settings, good


def _soaked(known, truth, w=0.1, barrel=140.0, soak_s=600.0):
    n = len(truth)
    return soak(known, truth, np.full(n, w), np.full(n, barrel), np.full(n, soak_s))


def _filled(known, truth, mold_c=60.0, **how):
    charge = ample_charge_g(known, truth) / 1e3
    mold = np.full(len(truth), mold_c + 273.15)
    return fill(known, truth, _soaked(known, truth, **how), mold, charge)


def _shot(known, truth, **other):
    n = len(truth)
    same = {
        "moisture_pct": 10.0,
        "conditioned": True,
        "barrel_c": 140.0,
        "soak_s": 600.0,
        "mold_c": 60.0,
        "cooling_s": 60.0,
        "charge_g": ample_charge_g(known, truth),
    }
    values = {name: np.broadcast_to(v, (n,)) for name, v in (same | other).items()}
    return shoot(known, truth, Settings(**values))


@pytest.mark.parametrize(
    ("w_glycerol", "w_water", "published_c"),
    [
        (0, 0.05, 170),
        (0, 0.11, 105),
        (0, 0.16, 43),
        (0, 0.20, 30),
        (0.112, 0.09, 43),
        (0.188, 0.09, 8),
    ],
)
def test_glass_transition_of_published_blends(w_glycerol, w_water, published_c):
    share = w_glycerol / (1 - w_water)
    truth = plain(starch=1 - share, glycerol=share)
    found = laws.glass_transition(truth, np.array([w_water]))[0] - 273.15
    assert found == pytest.approx(published_c, abs=20)  # the worst of the fit is 19 K


def test_viscosity_lies_inside_the_range_read_in_xie():
    thick = laws.Melt(plain(), np.array([0.23])).viscosity(np.array([398.15]), np.array([100.0]))[0]
    assert 277 < thick < 1254


def test_viscosity_grows_without_bound_toward_the_glass_transition():
    truth, w = plain(4), np.full(4, 0.1)
    tg = laws.glass_transition(truth, w)
    thick = laws.Melt(truth, w).viscosity(tg + np.array([5.0, 20.0, 40.0, 80.0]), np.full(4, 0.01))
    assert np.all(thick[:-1] > 2 * thick[1:])
    assert thick[0] > 1e6


def test_water_and_glycerol_and_heat_thin_and_solids_thicken():
    w, t = np.array([0.12]), np.array([410.0])
    base = laws.Melt(plain(), w).viscosity(t, 100.0)
    assert laws.Melt(plain(), w + 0.03).viscosity(t, 100.0) < base
    assert laws.Melt(plain(), w).viscosity(t + 15, 100.0) < base
    assert laws.Melt(plain(starch=0.8, glycerol=0.2), w).viscosity(t, 100.0) < base
    assert laws.Melt(plain(starch=0.7, solids=0.3), w).viscosity(t, 100.0) > 2 * base
    assert laws.Melt(plain(), w).viscosity(t, 1000.0) < base


@pytest.mark.parametrize(("w", "low", "high"), [(0.05, 0.36, 0.56), (0.10, 0.58, 0.80)])
def test_activity_of_water_in_the_melt_spans_the_published_kind_of_form(w, low, high):
    found = laws.melt_activity(plain(2, chi=[0.80, 1.13]), np.full(2, w))
    assert np.all((found > low) & (found < high))
    assert found[1] - found[0] > 0.6 * (high - low)


@pytest.mark.parametrize(("t_c", "kpa"), [(100, 101.42), (130, 270.3), (150, 476.1), (180, 1002.7)])
def test_saturation_pressure_of_water(t_c, kpa):
    assert laws.saturation_pressure(t_c + 273.15) / 1e3 == pytest.approx(kpa, rel=0.01)


def test_moisture_in_room_lies_between_cast_film_and_extruded_starch():
    found = laws.moisture_in_room(plain(sorbs=0.12, sorbs_power=0.45), np.array([0.57]))[0]
    assert 0.12 < found / (1 - found) < 0.15


def test_room_activity_undoes_moisture_in_room():
    truth = plain(3)
    w = laws.moisture_in_room(truth, np.array([0.3, 0.5, 0.7]))
    assert laws.room_activity(truth, w) == pytest.approx([0.3, 0.5, 0.7], abs=1e-6)


@pytest.mark.parametrize(("t_c", "minutes"), [(120, 98), (150, 10), (180, 1.4)])
def test_browning_clock_at_its_middle(t_c, minutes):
    rate = laws.browning_rate(plain(), np.array([t_c + 273.15]))[0]
    assert 1 / rate / 60 == pytest.approx(minutes, rel=0.05)


def test_heat_through_the_wall_is_heat_in_the_charge():
    known, truth = plain_known(3), plain(3)
    soaked = soak(known, truth, np.full(3, 0.1), np.full(3, 140.0), np.array([30.0, 200.0, 900.0]))
    kept = HEAT_CAPACITY * (soaked.t_mean - known.room_c - 273.15)
    assert soaked.heat_in == pytest.approx(kept, rel=1e-9)


def test_center_warms_as_the_series_for_a_cylinder_says():
    known = plain_known()
    truth = plain(loose_slower=1.0, contact=1e7, handling_s=0.0, diffusivity=1e-7)
    soaked = _soaked(known, truth, barrel=140.0, soak_s=400.0)
    radius, span = 10e-3, 140.0 - known.room_c[0]
    behind = 1.602 * span * np.exp(-5.783 * 1e-7 * 400.0 / radius**2)
    assert 413.15 - soaked.t_rings[0, 0] == pytest.approx(behind, rel=0.1)


def test_longer_soak_leaves_less_unmelted_and_more_browned():
    known, truth = plain_known(5), plain(5)
    soaks = np.array([60.0, 150.0, 300.0, 800.0, 3000.0])
    soaked = soak(known, truth, np.full(5, 0.1), np.full(5, 150.0), soaks)
    assert np.all(np.diff(soaked.unmelted) <= 0)
    assert np.all(np.diff(soaked.browned) >= 0)
    assert soaked.unmelted[0] > 0.3
    assert soaked.browned[-1] == pytest.approx(1.0)


def test_an_open_nozzle_never_wets_and_a_sealed_one_never_dries():
    open_ = _soaked(plain_known(2, sealed=False), plain(2, dries=[0.0, 0.5]), barrel=150.0)
    sealed = _soaked(plain_known(2, sealed=True), plain(2, dries=0.5), barrel=150.0)
    assert open_.w_water[0] == pytest.approx(0.1)
    assert 0.03 < open_.w_water[1] < 0.1
    assert sealed.w_water == pytest.approx(0.1)


def test_more_force_thicker_walls_and_hotter_molds_fill_further():
    truth = plain(3, share_reaching=0.6, patience_s=20.0)
    force = _filled(plain_known(3, force_kn=[1.5, 3.0, 9.0]), truth, w=0.16).share
    wide = plain_known(3, runner_mm=5.0, thickness_mm=[1.0, 1.6, 3.0])
    thick = _filled(wide, truth, w=0.16).share
    assert np.all(np.diff(force) >= 0)
    assert force[-1] > force[0]
    assert np.all(np.diff(thick) >= 0)
    assert thick[-1] > thick[0]
    cold, hot = (_filled(plain_known(3), truth, mold_c=c, w=0.16).share[0] for c in (25.0, 90.0))
    assert hot >= cold


def test_flow_of_a_newtonian_melt_that_cannot_cool():
    """Against Hagen-Poiseuille and the slot formula, with a nozzle that takes nearly all."""
    known = plain_known(
        nozzle_mm=1.0, nozzle_length_mm=100.0, runner_cm3=0.01, thickness_mm=4.0, gate_mm=4.0
    )
    truth = plain(
        n=0.9999, bend_rate=1e6, log_flow=np.log(100.0), e_over_r=0.0, per_water=0.0,
        mold_contact=1e-6, no_flow=-200.0, nozzle_drop=0.0, ram_speed=1.0, contact=1e7,
        glass_stress=1.0, share_reaching=1.0,
        tg_off=-150.0,
    )  # fmt: skip
    area = np.pi / 4 * 0.02**2
    pressure = 4e3 / area
    expected = np.pi * 1e-3**4 * pressure / (128 * 100.0 * 0.103)
    seconds = known.length_mm[0] * known.width_mm[0] * 4.0 / 1e9 / expected
    for patience in (0.5, 0.8):
        share = _filled(known, replace(truth, patience_s=np.array([patience * seconds]))).share[0]
        assert share == pytest.approx(patience, rel=0.08)


def test_a_charge_too_small_is_called_little_and_not_short():
    known, truth = plain_known(force_kn=40.0), plain()
    half = needed_volume(known) * laws.density(truth, 0.1, 400.0) * 500.0
    verdict = _shot(known, truth, charge_g=half)
    assert verdict["little-charge"].all()
    assert not verdict["short"].any()


@pytest.mark.parametrize(("thickness", "seconds"), [(2.0, 6.60), (4.0, 26.39)])
def test_center_of_a_plate_cools_in_the_published_time(thickness, seconds):
    known = plain_known(thickness_mm=thickness)
    truth = plain(mold_contact=1e8, diffusivity=1e-7)
    center = temperatures(
        known, truth, np.array([423.15]), np.array([303.15]), np.array([seconds]), np.zeros(1)
    )[0, 0]
    assert center - 273.15 == pytest.approx(60.0, abs=0.3)


def test_steam_and_browning_and_bending_follow_the_settings():
    known, truth = makers(np.random.default_rng(3), 400), None
    truth = truths(np.random.default_rng(8), known)
    mild, hot = (_shot(known, truth, barrel_c=c) for c in (110.0, 170.0))
    for reason in ("browned", "spat"):
        assert hot[reason].sum() > mild[reason].sum()
    assert hot["short"].sum() < mild["short"].sum()
    quick, slow = (_shot(known, truth, cooling_s=s, barrel_c=150.0) for s in (0.5, 90.0))
    assert quick["bent"].sum() > slow["bent"].sum()
    assert quick["puffed"].sum() > slow["puffed"].sum()
    wet, dry = (_shot(known, truth, moisture_pct=w) for w in (20.0, 3.0))
    assert (wet["cracked"] | wet["warped"]).sum() > (dry["cracked"] | dry["warped"]).sum()
    assert wet["moldy"].sum() > dry["moldy"].sum()
    assert dry["brittle"].sum() > wet["brittle"].sum()


def test_no_setting_serves_all_and_most_makers_are_served():
    known = makers(np.random.default_rng(3), 60)
    truth = truths(np.random.default_rng(8), known)
    table = rivals(known, truth).table
    assert table.any(axis=0).mean() > 0.5
    assert table.mean(axis=1).max() < 0.8


def test_same_seed_same_verdict_and_truths_differ():
    known = makers(np.random.default_rng(3), 20)
    one, same, other = (truths(np.random.default_rng(s), known) for s in (8, 8, 9))
    verdicts = [good(_shot(known, t), REASONS) for t in (one, same)]
    assert np.array_equal(*verdicts)
    assert not np.array_equal(one.log_flow, other.log_flow)


def test_drawn_ranges_are_the_printed_ones():
    known = makers(np.random.default_rng(3), 4000)
    truth = truths(np.random.default_rng(8), known)
    assert np.percentile(np.exp(truth.log_flow), [5, 95]) == pytest.approx([450, 1800], rel=0.1)
    assert np.percentile(np.exp(truth.log_clock), [5, 95]) == pytest.approx([200, 1800], rel=0.15)
    whole = sum(getattr(truth, n) for n in ("starch", "weed", "glycerol", "mannitol", "solids"))
    assert whole == pytest.approx(1.0)
