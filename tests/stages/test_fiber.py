"""Chopped fiber: shares that add up, limiting cases, trends."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.inputs.errors import InputError
from moldwin.stages.fiber import cut_length, longest_fiber, matrix_of, reinforcement, thickens
from moldwin.stages.in_use import Home, places
from moldwin.stages.shot import part_geometry
from moldwin.stages.state import Material
from tests.jobs import bench_of, dry, job

STARCH = {"corn_starch": 75, "glycerol": 25}


def made(**masses):
    bench = bench_of(job(ingredient=dry(**masses)))
    return bench, Material(bench)


def at_home(**masses):
    bench, material = made(**masses)
    return Home(bench, material, material.at(0.10)).at(places(bench)[1])


def test_without_fiber_there_is_none_and_nothing_changes():
    bench, material = made(**STARCH)
    assert reinforcement(bench, material.blend, 0.1, 0.5, 294.15) is None
    found = at_home(**STARCH)
    assert found.fiber is None
    assert np.all(found.modulus == found.matrix_modulus)
    assert np.all(thickens(bench, material.blend, material.at(0.1)) == 1.0)


def test_what_is_left_without_fiber_is_the_blend_that_never_had_any():
    _, with_fiber = made(**STARCH, flax_fiber=20)
    _, never = made(**STARCH)
    matrix = matrix_of(with_fiber.blend)
    for name in ("polymer", "plasticizer", "filler", "wetted"):
        assert getattr(matrix, name) == pytest.approx(getattr(never.blend, name), abs=1e-12)


def test_the_fiber_of_seaweed_itself_stays_in_the_matrix():
    _, kelp = made(brown_seaweed_powder=75, glycerol=25)
    matrix = matrix_of(kelp.blend)
    assert matrix.filler == pytest.approx(kelp.blend.filler)


def test_mass_and_volume_share_by_hand():
    bench, material = made(corn_starch=80, flax_fiber=20)
    found = reinforcement(bench, material.blend, np.full(512, 1e-9), np.full(512, 1e-9), 294.15)
    assert found.mass_share == pytest.approx(0.2)
    assert np.median(found.phi) == pytest.approx(0.2, abs=0.02)  # densities are nearly alike


def test_more_fiber_is_stiffer_and_thicker_in_every_sample():
    ladder = [at_home(**STARCH, flax_fiber=g) for g in (5, 20, 40)]
    assert np.all(np.diff([p.fiber.stiffened(np.full(512, 1e9)) for p in ladder], axis=0) > 0)
    assert all(np.all(p.modulus > p.matrix_modulus) for p in ladder)
    thick = []
    for g in (5, 20, 40):
        bench, material = made(**STARCH, flax_fiber=g)
        thick.append(thickens(bench, material.blend, material.at(0.1)))
    assert np.all(np.diff(thick, axis=0) > 0)
    assert np.all(thick[0] > 1)


def test_a_part_is_never_stiffer_than_its_fiber():
    found = at_home(corn_starch=50, glycerol=20, wood_fiber=45)
    assert np.all(found.modulus <= np.maximum(found.fiber.modulus, found.matrix_modulus))
    assert np.all(found.modulus >= found.matrix_modulus)


def test_long_strong_fiber_strengthens_more_than_flour():
    flax, flour = (at_home(**STARCH, **{f: 20}) for f in ("flax_fiber", "wood_fiber"))
    assert np.median(flax.strength) > np.median(flour.strength)


def test_the_bond_bears_no_more_than_the_matrix_itself():
    found = at_home(**STARCH, flax_fiber=20).fiber
    weak, strong = np.full(512, 1e5), np.full(512, 1e9)
    assert np.all(found.critical_length(weak) > found.critical_length(strong))
    alone = found.strength * found.diameter / (2 * found.shear)
    assert found.critical_length(strong) == pytest.approx(alone)


def test_water_of_the_fiber_is_that_of_its_own_isotherm():
    """Flax at 65 % humidity holds 7 to 12 % of its dry mass (two handbooks)."""
    bench, material = made(**STARCH, flax_fiber=20)
    found = reinforcement(bench, material.blend, np.full(512, 0.1), np.full(512, 0.65), 294.15)
    assert np.quantile(found.water, 0.05) <= 0.07
    assert np.quantile(found.water, 0.95) >= 0.12


def test_the_narrowest_passage_decides_how_long_fiber_may_be():
    bench = bench_of(job(mold={"gate_thickness_mm": 0.5}))
    longest, name = longest_fiber(bench, part_geometry(bench))
    assert name == "gate"
    assert np.all(longest <= 0.5e-3)
    bench = bench_of(job(), ["press.nozzle_diameter_mm=0.8"])
    assert longest_fiber(bench, part_geometry(bench))[1] == "nozzle"


def test_two_fibers_are_their_mean_and_order_does_not_matter():
    one = at_home(**STARCH, flax_fiber=10, wood_fiber=10).fiber
    other = at_home(**STARCH, wood_fiber=10, flax_fiber=10).fiber
    assert one.names == other.names
    assert np.all(one.modulus == other.modulus)
    flax, wood = (at_home(**STARCH, **{f: 20}).fiber for f in ("flax_fiber", "wood_fiber"))
    assert one.modulus == pytest.approx(0.5 * (flax.modulus + wood.modulus))


def test_the_length_as_cut_is_taken_less_what_breaks():
    rows = dry(corn_starch=75, glycerol=25, flax_fiber=10)
    rows[-1]["length_mm"] = 6
    bench = bench_of(job(ingredient=rows))
    found = Home(bench, Material(bench), Material(bench).at(0.10)).at(places(bench)[1])
    left = bench.typical("part", "fiber_left")
    assert np.median(found.fiber.length) == pytest.approx(0.006 * np.median(left), rel=0.05)
    assert np.quantile(found.fiber.length, 0.95) < 0.006 * 1.3


def test_fiber_in_two_lengths_counts_by_mass():
    rows = dry(corn_starch=75, glycerol=25, flax_fiber=10)
    rows += [{**rows[-1], "mass_g": 30, "length_mm": 4}]
    rows[-2]["length_mm"] = 12
    rows[-2]["mass_g"] = 10
    assert cut_length(bench_of(job(ingredient=rows)), "flax-fiber") == pytest.approx(0.006)
    assert cut_length(bench_of(job(ingredient=rows)), "corn-starch") is None


def test_longer_fiber_strengthens_more_in_every_sample():
    def strength(length_mm):
        rows = dry(corn_starch=75, glycerol=25, flax_fiber=10)
        rows[-1]["length_mm"] = length_mm
        bench = bench_of(job(ingredient=rows))
        return Home(bench, Material(bench), Material(bench).at(0.10)).at(places(bench)[1]).strength

    ladder = np.array([strength(length) for length in (0.5, 2, 8)])
    assert np.all(np.diff(ladder, axis=0) >= 0)
    assert np.mean(ladder[2] > ladder[0]) > 0.9


def test_a_length_of_what_is_no_fiber_is_refused():
    rows = dry(corn_starch=75, glycerol=25)
    rows[0]["length_mm"] = 3
    with pytest.raises(InputError, match="means nothing for 'corn-starch', a polymer"):
        bench_of(job(ingredient=rows))
