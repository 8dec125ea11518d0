"""Laws that hold whatever the numbers: what rises, what falls, what does not change at all."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldwin.inputs.job_keys import KEYS, UNITS
from moldwin.inputs.job_values import to_si
from moldwin.inputs.read_job import read_job
from moldwin.physics import (
    brine,
    degradation,
    diffusion,
    flow,
    glass,
    heat,
    humidity,
    mixing,
    shrinkage,
    soaking,
    solids,
    sorption,
    steam,
    vapor,
    viscosity,
)
from moldwin.stages.state import Material
from tests.jobs import bench_of, job, row

FEW = settings(max_examples=60, deadline=None, derandomize=True)
VERY_FEW = settings(max_examples=12, deadline=None, derandomize=True)


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


SHARE = between(0.0, 1.0)
SHAPES = st.sampled_from(["slab", "cylinder", "sphere"])

# ------------------------------------------------------------------ glass transition

MIXTURES = st.integers(2, 5).flatmap(
    lambda n: st.tuples(
        st.lists(between(1e-3, 1.0), min_size=n, max_size=n),
        st.lists(between(120.0, 550.0), min_size=n, max_size=n),
        st.lists(between(0.3, 20.0), min_size=n, max_size=n),
    )
)


@FEW
@given(MIXTURES, between(0.01, 0.5))
def test_a_plasticizer_of_lower_tg_lowers_it_and_one_of_higher_tg_raises_it(mixture, added):
    w, tg, k = (np.array(part) for part in mixture)
    w = w / w.sum()
    before = glass.gordon_taylor(w, tg, k)
    for own in (before - 40.0, before + 40.0):
        more = np.append((1.0 - added) * w, added)
        after = glass.gordon_taylor(more, np.append(tg, own), np.append(k, 3.0))
        assert (after - before) * (own - before) > 0.0


@FEW
@given(MIXTURES)
def test_a_mixture_lies_between_its_components(mixture):
    w, tg, k = (np.array(part) for part in mixture)
    for rule in (lambda w: glass.gordon_taylor(w, tg, k), lambda w: glass.fox(w, tg)):
        found = rule(w / w.sum())
        assert tg.min() - 1e-9 <= found <= tg.max() + 1e-9


@FEW
@given(MIXTURES, st.randoms(use_true_random=False))
def test_neither_order_nor_a_component_in_two_parts_matters(mixture, rng):
    w, tg, k = (np.array(part) for part in mixture)
    w = w / w.sum()
    plain = glass.gordon_taylor(w, tg, k)
    order = list(range(len(w)))
    rng.shuffle(order)
    assert glass.gordon_taylor(w[order], tg[order], k[order]) == pytest.approx(plain, rel=1e-12)
    halves = np.concatenate([w[:1] * 0.3, w[:1] * 0.7, w[1:]])
    doubled = (np.concatenate([a[:1], a]) for a in (tg, k))
    assert glass.gordon_taylor(halves, *doubled) == pytest.approx(plain, rel=1e-12)


# ------------------------------------------------------------------ water and vapor


@FEW
@given(between(274.0, 640.0), between(1e-3, 6.0))
def test_vapor_pressures_rise_with_temperature_and_turn_back(t, more):
    for pressure in (vapor.water_saturation_pressure, vapor.glycerol_vapor_pressure):
        assert pressure(t + more, check=False) > pressure(t, check=False)
    p = vapor.water_saturation_pressure(t)
    assert vapor.water_saturation_temperature(p) == pytest.approx(t, abs=1e-6)


@FEW
@given(between(275.0, 330.0), between(0.05, 0.99))
def test_the_dew_point_is_below_the_air_and_holds_its_water(t, damp):
    dew = vapor.dew_point(t, damp, check=False)
    assert dew <= t + 1e-9
    held = damp * vapor.water_saturation_pressure(t)
    assert vapor.water_saturation_pressure(dew, check=False) == pytest.approx(held, rel=1e-6)


@FEW
@given(between(0.03, 0.15), between(1.5, 40.0), between(0.6, 1.0), between(0.0, 0.97), SHARE)
def test_moisture_rises_with_humidity_and_turns_back(xm, c, k, aw, more):
    x = sorption.gab(aw, xm, c, k)
    damper = aw + (0.98 - aw) * more
    assert sorption.gab(damper, xm, c, k) >= x
    assert sorption.gab_water_activity(x, xm, c, k) == pytest.approx(aw, abs=1e-9)


@FEW
@given(between(0.30, 0.95), between(290.0, 303.0))
def test_a_glycerol_bath_turns_back(aw, t):
    w = humidity.glycerol_mass_fraction(aw, t, check=False)
    assert humidity.glycerol_water_activity(w, t, check=False) == pytest.approx(aw, abs=1e-9)
    assert humidity.glycerol_mass_fraction(aw + 0.02, t, check=False) < w


@FEW
@given(between(0.5, 0.94), between(0.001, 0.05))
def test_salt_draws_more_from_damper_air(aw, more):
    assert brine.salt_water(aw + more, check=False) >= brine.salt_water(aw, check=False)


@FEW
@given(between(0.02, 0.98), between(6e4, 1.1e5), between(0.001, 0.02))
def test_steam_starts_sooner_in_wetter_charges_and_thinner_air(aw, pressure, more):
    onset = steam.onset_temperature(aw, pressure, check=False)
    assert steam.onset_temperature(aw + more, pressure, check=False) < onset
    assert steam.onset_temperature(aw, 0.98 * pressure, check=False) < onset
    boils = aw * vapor.water_saturation_pressure(onset)
    assert boils == pytest.approx(pressure, rel=1e-6)


# ------------------------------------------------------------------ heat, time and flow


@FEW
@given(between(380.0, 470.0), between(0.5, 20.0), between(8e4, 1.3e5), between(100.0, 5000.0))
def test_damage_rises_with_temperature_and_adds_up(t, hotter, energy, limit):
    cool, hot = (
        degradation.quality_limit_time(at, limit, energy, check=False) for at in (t, t + hotter)
    )
    assert hot < cool
    # the clock goes by exp(-E/RT) whatever the limit: hold its own ratio against the law
    law = math.exp(energy / 8.31446 * (1.0 / t - 1.0 / (t + hotter)))
    assert cool / hot == pytest.approx(law, rel=1e-4)


@FEW
@given(SHAPES, between(1e-4, 5.0), between(1e-4, 1.0), between(0.05, 500.0))
def test_what_is_left_falls_with_time_and_with_a_better_film(shape, fourier, more, biot):
    left = diffusion.unaccomplished(shape, fourier, biot)
    assert 0.0 <= left <= 1.0
    assert diffusion.unaccomplished(shape, fourier + more, biot) <= left
    assert diffusion.unaccomplished(shape, fourier, 1.5 * biot) <= left + 1e-12
    assert diffusion.unaccomplished(shape, fourier) <= left + 1e-12


@FEW
@given(between(1e-3, 4.0), between(0.05, 500.0))
def test_a_sphere_is_faster_than_a_cylinder_and_that_than_a_slab(fourier, biot):
    slab, cylinder, sphere = (
        diffusion.unaccomplished(shape, fourier, biot) for shape in ("slab", "cylinder", "sphere")
    )
    assert slab >= cylinder >= sphere


@FEW
@given(SHAPES, between(0.002, 0.998), between(0.05, 500.0))
def test_the_time_to_a_share_turns_back(shape, left, biot):
    fourier = diffusion.fourier_at(shape, left, biot)
    assert diffusion.unaccomplished(shape, fourier, biot) == pytest.approx(left, abs=2e-6)


@FEW
@given(between(2e-3, 0.05), between(1.01, 3.0), between(0.1, 100.0))
def test_a_soak_takes_longer_in_a_wider_barrel(radius, wider, biot):
    """By the square where the wall itself is no hindrance, more slowly where a film is."""
    mode, wide = soaking.first_mode(np.inf), soaking.first_mode(biot)
    small, large = (_soak(r, mode) for r in (radius, wider * radius))
    assert large == pytest.approx(wider**2 * small, rel=1e-9)
    assert _soak(radius, wide) > small


def _soak(radius, mode, alpha=1e-7):
    """Seconds until the heart is within 5 K of a wall 110 K hotter: from the slow mode alone."""
    lo, hi = 1e-4, 1e3  # Fourier numbers
    for _ in range(80):
        middle = math.sqrt(lo * hi)
        short = float(soaking.warming_shortfall("center", middle, mode, check=False))
        lo, hi = (middle, hi) if short > 5.0 / 110.0 else (lo, middle)
    return lo * radius**2 / alpha


@FEW
@given(
    st.sampled_from(["plate", "cylinder"]),
    between(1e-3, 0.02),
    between(1.01, 4.0),
    between(2.0, 60.0),
)
def test_cooling_goes_with_the_square_of_the_size_and_faster_in_a_colder_mold(
    shape, size, wider, colder
):
    def time(size, t_mold=330.0):
        return heat.cooling_time(shape, size, 1e-7, 430.0, t_mold, 360.0, "center")

    assert time(wider * size) == pytest.approx(wider**2 * time(size), rel=1e-9)
    assert time(size, 330.0 - colder) < time(size)


@FEW
@given(
    between(0.15, 1.0),
    between(1e3, 1e5),
    between(1e-8, 1e-6),
    between(5e-4, 5e-3),
    between(1.01, 3.0),
)
def test_a_wider_bore_needs_less_pressure_and_a_longer_one_more(n, k, rate, radius, more):
    p = flow.power_law_tube(k, n, rate, radius, 0.01)
    assert flow.power_law_tube(k, n, rate, more * radius, 0.01) < p
    assert flow.power_law_tube(k, n, rate, radius, more * 0.01) == pytest.approx(more * p)
    # a scaling law of its own: pressure goes as the flow to n over the radius to 3n + 1
    wide = flow.power_law_tube(k, n, rate, more * radius, 0.01)
    assert p / wide == pytest.approx(more ** (3.0 * n + 1.0), rel=1e-9)


@FEW
@given(between(0.0, 0.45), between(0.5, 0.65), between(0.001, 0.05))
def test_solids_only_thicken(phi, most, more):
    thick = viscosity.solids_thickening(phi, most)
    assert thick >= 1.0
    assert viscosity.solids_thickening(phi + more, most) >= thick


# ------------------------------------------------------------------ mixtures and bodies

COMPONENTS = mixing.COMPONENTS


@pytest.mark.parametrize("name", COMPONENTS)
@pytest.mark.parametrize("t", [290.0, 340.0, 400.0])
def test_a_pure_component_keeps_its_own_value(name, t):
    for own, blend in (
        (mixing.density, mixing.blend_density),
        (mixing.heat_capacity, mixing.blend_heat_capacity),
        (mixing.conductivity, mixing.blend_conductivity),
    ):
        alone = own(name, t, check=False)
        pure = [float(other == name) for other in COMPONENTS]
        assert blend(pure, t, check=False) == pytest.approx(alone, rel=1e-12)


@FEW
@given(st.lists(between(0.01, 1.0), min_size=2, max_size=5), between(280.0, 420.0))
def test_volumes_and_heats_add_up(parts, t):
    names, shares = COMPONENTS[-len(parts) :], np.array(parts) / sum(parts)
    w = dict(zip(names, shares, strict=True))
    volume = sum(share / mixing.density(name, t, check=False) for name, share in w.items())
    assert mixing.blend_density(shares, t, names, check=False) == pytest.approx(
        1.0 / volume, rel=1e-9
    )
    held = sum(share * mixing.heat_capacity(name, t, check=False) for name, share in w.items())
    assert mixing.blend_heat_capacity(shares, t, names, check=False) == pytest.approx(
        held, rel=1e-9
    )


SIZE = between(1e-4, 0.5)


@FEW
@given(SIZE, SIZE, SIZE, between(1.1, 5.0))
def test_bodies_grow_with_the_cube_and_their_shadow_with_the_square(a, b, c, times):
    makers = (
        lambda f: solids.plate(f * a, f * b, f * c),
        lambda f: solids.rod(f * a, f * b),
        lambda f: solids.tube(f * (a + b), f * a, f * c),
        lambda f: solids.sphere(f * a),
        lambda f: solids.cone(f * (a + b), f * b, f * c),
        lambda f: solids.dome(f * 2.0 * a, f * 0.7 * a),
    )
    for maker in makers:
        small, large = maker(1.0), maker(times)
        assert large.volume == pytest.approx(times**3 * small.volume, rel=1e-9)
        assert large.projected_area == pytest.approx(times**2 * small.projected_area, rel=1e-9)


# ------------------------------------------------------------------ units and bases

NUMBER_KEYS = [key for key in KEYS if key.kind == "number"]


@FEW
@given(st.sampled_from(NUMBER_KEYS), SHARE)
def test_a_value_goes_to_si_and_back(key, place):
    low = key.low if not key.above else key.low + 1e-6 * (key.high - key.low)
    value = low + place * (key.high - low)
    if key.percent and 0.0 < value < 1.0:
        value = 1.0
    unit = UNITS[key.unit]
    zero = unit.to_si(0.0)
    back = (to_si(key, value) - zero) / (unit.to_si(1.0) - zero)
    assert back == pytest.approx(value, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("name", sorted(UNITS))
def test_what_a_unit_is_mistaken_for_is_offered_by_a_true_conversion(name):
    """A value in the wrong unit, mended as the message offers, means what was meant."""
    meant = {
        "kilograms": 0.001, "a fraction": 0.01, "kelvin": None, "°F": None, "meters": 0.001,
        "centimeters": 0.1, "micrometers": 1000.0, "millimeters": 10.0, "kilometers": 0.001,
        "m²": 1e-4, "mm²": 100.0, "m³": 1e-6, "mm³": 1000.0, "newtons": 1000.0,
        "kilonewtons": 0.001, "bar": 10.0, "Pa": 1e6, "kg/m³": 1000.0, "seconds": 60.0, "days": 7.0,
    }  # fmt: skip
    for wrong, mend in UNITS[name].mistaken:
        if wrong == "kelvin":
            assert mend(373.15) == pytest.approx(100.0)
        elif wrong == "°F":
            assert mend(212.0) == pytest.approx(100.0)
        else:
            assert mend(12.0 * meant[wrong]) == pytest.approx(12.0)


# ------------------------------------------------------------------ stages

RECIPE = [row("corn-starch", 400, 12.5), row("glycerol", 100, 0), row("flax-fiber", 20, 5)]


@VERY_FEW
@given(st.permutations(RECIPE), between(0.05, 0.95), between(0.01, 50.0))
def test_order_splitting_and_batch_size_leave_every_sample_alone(rows, share, times):
    def tg(recipe):
        made = job(ingredient=recipe)
        return Material(bench_of(made, count=64)).at(0.10).tg

    plain = tg(RECIPE)
    assert tg(rows) == pytest.approx(plain, rel=1e-12)
    split = [{**r, "mass_g": part * r["mass_g"]} for r in rows for part in (share, 1.0 - share)]
    assert tg(split) == pytest.approx(plain, rel=1e-12)
    assert tg([{**r, "mass_g": times * r["mass_g"]} for r in rows]) == pytest.approx(
        plain, rel=1e-12
    )


@VERY_FEW
@given(between(0.02, 0.3), between(0.002, 0.05))
def test_in_every_sample_water_softens_and_is_more_active(w, more):
    material = Material(bench_of(job(), count=64))
    now, wetter = material.at(w), material.at(w + more)
    assert np.all(wetter.tg <= now.tg + 1e-9)
    assert np.all(wetter.a_water >= now.a_water - 1e-12)


@VERY_FEW
@given(between(0.1, 0.9), between(0.005, 0.09))
def test_in_every_sample_pellets_take_more_from_damper_air_and_the_activity_turns_back(aw, more):
    isotherm = Material(bench_of(job(), count=64)).isotherm
    w, wetter = isotherm.moisture(aw), isotherm.moisture(aw + more)
    assert np.all(wetter > w)
    assert isotherm.activity(w) == pytest.approx(np.full(64, aw), abs=2e-4)


def test_dry_mass_is_kept_when_water_comes_and_goes():
    """Basis: the dry blend is the same whatever water the rows were weighed with."""
    dry, wet = ([row("corn-starch", m, p), row("glycerol", 50, 0)] for m, p in ((90, 0), (100, 10)))
    one, other = (Material(bench_of(job(ingredient=r), count=32)).at(0.1) for r in (dry, wet))
    assert one.tg == pytest.approx(other.tg, rel=1e-12)
    assert read_job(job(ingredient=wet)).ingredients[0].mass == pytest.approx(0.1)


@FEW
@given(between(0.0, 0.30), between(0.0, 0.30), between(1250.0, 1550.0))
def test_drying_shrinks_and_what_comes_back_swells_as_much(one, other, density):
    there = shrinkage.drying_shrinkage(one, other, density)
    assert np.sign(there) == np.sign(one - other) or abs(one - other) < 1e-12
    # third of the volume: water leaves at its own density, the dry mass stays
    dry = (1.0 - one) / (1.0 - other)
    lost = (1.0 - dry) * density / 997.0
    assert 1.0 - there == pytest.approx(np.cbrt(1.0 - lost), abs=2e-3)
