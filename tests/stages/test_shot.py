"""The shot by hand: volumes, charge, force, and what the plug leaves of it."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.inputs.errors import InputError
from moldwin.stages.shot import charge, part_geometry, ram
from tests.jobs import bench_of, change, job, setup_of

_PLATE = {"shape": "plate", "length_mm": 60, "width_mm": 15, "thickness_mm": 3}
_HOLE = {"shape": "disc", "diameter_mm": 4, "thickness_mm": 3, "subtract": True}


def _geometry(**sections):
    return part_geometry(bench_of(job(**sections)))


def _shot(sets=(), t_melt=413.15, **sections):
    setup = setup_of(job(**sections), sets)
    state = setup.material.at(setup.bench.job.pellets.moisture)
    found = charge(setup.bench, setup.material.blend, state, setup.geometry, setup.ram, t_melt)
    return setup, state, found


# ------------------------------------------------------------------ geometry


def test_a_plate_with_a_hole_by_hand():
    part = _geometry(part={"solid": [_PLATE, _HOLE]})
    assert part.volume == pytest.approx(6e-2 * 1.5e-2 * 3e-3 - np.pi * 2e-3**2 * 3e-3)
    assert part.projected_area == pytest.approx(9e-4)
    assert part.thickness == part.thickest == pytest.approx(3e-3)
    assert part.flow_length == pytest.approx(0.06)
    assert part.given


def test_a_specimen_by_its_name():
    part = _geometry(part={"specimen": "ISO 178 bar"})
    assert part.volume == pytest.approx(80e-3 * 10e-3 * 4e-3)
    assert part.thickness == pytest.approx(4e-3)


def test_flow_length_and_wall_of_the_job_win_over_geometry():
    part = _geometry(part={"specimen": "ISO 178 bar", "flow_length_mm": 33, "wall_mm": 2.5})
    assert part.flow_length == pytest.approx(0.033)
    assert part.thickness == pytest.approx(0.0025)


def test_cavities_and_runner_make_the_shot():
    part = _geometry(
        part={"solid": [_PLATE]}, mold=change("mold", cavities=3, runner_volume_cm3=0.5)
    )
    assert part.shot_volume == pytest.approx(3 * part.volume + 0.5e-6)
    assert part.width * part.thickness * part.flow_length == pytest.approx(part.volume)


def test_several_of_a_solid_count():
    one, four = (_geometry(part={"solid": [_PLATE, {**_HOLE, "count": count}]}) for count in (1, 4))
    hole = np.pi * 2e-3**2 * 3e-3
    assert one.volume - four.volume == pytest.approx(3 * hole)


_SOLIDS = [
    ({"shape": "sphere", "diameter_mm": 20}, np.pi / 6 * 0.02**3),
    ({"shape": "rod", "diameter_mm": 6, "length_mm": 50}, np.pi * 0.003**2 * 0.05),
    ({"shape": "disc", "diameter_mm": 30, "thickness_mm": 2}, np.pi * 0.015**2 * 0.002),
    ({"shape": "box", "length_mm": 20, "width_mm": 10, "height_mm": 5}, 1e-6),
    (
        {"shape": "tube", "outer_diameter_mm": 20, "inner_diameter_mm": 16, "length_mm": 30},
        np.pi * (0.01**2 - 0.008**2) * 0.03,
    ),
    (
        {"shape": "cone", "diameter_mm": 20, "tip_diameter_mm": 10, "length_mm": 30},
        np.pi * 0.03 / 3 * (0.01**2 + 0.01 * 0.005 + 0.005**2),
    ),
    ({"shape": "cone", "diameter_mm": 20, "length_mm": 30}, np.pi * 0.03 / 3 * 0.01**2),
]


@pytest.mark.parametrize(
    ("solid", "volume"), _SOLIDS, ids=lambda v: v["shape"] if isinstance(v, dict) else ""
)
def test_every_simple_solid_of_a_job_has_its_volume(solid, volume):
    assert _geometry(part={"solid": [solid]}).volume == pytest.approx(volume)


def test_no_part_is_said_and_stood_in_for():
    bench = bench_of(job(part=None))
    part = part_geometry(bench)
    assert not part.given
    assert part.volume == pytest.approx(1e-6)
    assert bench.used["part"].status == "assumed"


def test_a_mesh_is_refused_in_words(tmp_path):
    mesh = tmp_path / "label.stl"
    mesh.write_text("solid label\nendsolid label\n")
    made = job(part={"mesh": str(mesh), "mesh_unit": "mm"})
    with pytest.raises(InputError, match="mesh"):
        part_geometry(bench_of(made))


# ------------------------------------------------------------------ the ram


def test_pressure_is_force_over_the_plungers_area():
    setup = setup_of(job(press=change("press", force_kn=4, plunger_diameter_mm=20)))
    assert setup.ram.pressure == pytest.approx(12.7e6, rel=0.005)  # 4 kN on 20 mm


@pytest.mark.parametrize(
    ("force", "pressure"),
    [
        ({"melt_pressure_mpa": 20}, 20e6),
        ({"lever_force_n": 200, "lever_ratio": 10}, 2000 / (np.pi * 0.008**2)),
        (
            {"gauge_mpa": 10, "jack_piston_diameter_mm": 30},
            10e6 * 0.015**2 / 0.008**2,
        ),
    ],
    ids=["melt", "lever", "gauge"],
)
def test_every_way_to_give_the_force(force, pressure):
    setup = setup_of(job(press=change("press", force_kn=None, **force)))
    assert setup.ram.pressure == pytest.approx(pressure)


def test_the_plug_leaves_the_stated_share_and_a_longer_one_less():
    setup = setup_of(job(), count=2048)
    low, high = np.quantile(setup.ram.share, [0.01, 0.99])
    assert 0.4 < low < high < 0.9
    # four bores long: the share squared, and further in every sample
    bore = setup.ram.bore
    volume = np.pi / 4 * bore**3 * 4 * 1e6
    long_plug = setup_of(job(mold=change("mold", runner_volume_cm3=volume)), count=2048)
    plug = long_plug.geometry.shot_volume / (np.pi / 4 * bore**3)
    assert plug > 4
    assert long_plug.ram.share == pytest.approx(setup.ram.share ** (plug / 2.0))


def test_a_short_plug_is_not_better_than_the_two_bores_it_is_quoted_for():
    short = setup_of(job(mold=change("mold", runner_volume_cm3=0)))
    assert short.geometry.shot_volume / (np.pi / 4 * short.ram.bore**3) < 2
    assert short.ram.share == pytest.approx(short.bench.typical("press", "force_share"))


# ------------------------------------------------------------------ charge and clamp


def test_the_charge_is_volume_times_density():
    setup, _, found = _shot()
    volume = setup.geometry.shot_volume * 1.1  # a tenth of cushion
    assert found.charge_volume == pytest.approx(volume)
    density = found.charge / volume
    low, high = np.quantile(density, [0.05, 0.95])
    assert 1200.0 < low < high < 1500.0


def test_the_charge_grows_with_the_shot_and_shrinks_with_heat():
    _, _, plain = _shot()
    _, _, two = _shot(mold=change("mold", cavities=2))
    assert np.all(two.charge > 1.5 * plain.charge)
    _, _, hotter = _shot(t_melt=443.15)
    assert np.all(hotter.charge < plain.charge)


def test_the_fill_of_the_barrel_is_melt_over_capacity():
    _, _, found = _shot()
    assert found.barrel_fill == pytest.approx(found.charge_volume / 6e-6)
    _, _, unknown = _shot(press=change("press", barrel_capacity_cm3=None))
    assert unknown.barrel_fill is None


def test_the_clamp_holds_projected_area_times_pressure():
    setup, _, found = _shot()
    area = setup.geometry.projected_area
    packing = setup.bench.typical("press", "packing_share")
    assert found.clamp_needed == pytest.approx(area * setup.ram.at_melt * packing)
    _, _, two = _shot(mold=change("mold", cavities=2, runner_volume_cm3=0))
    assert np.median(two.clamp_needed) > 1.5 * np.median(found.clamp_needed)


def test_a_press_nobody_described_gets_typical_numbers_and_says_so():
    bench = bench_of(job(press=None))
    reach = ram(bench, part_geometry(bench))
    assert reach.bore == pytest.approx(0.02)
    assert np.median(reach.pressure) == pytest.approx(4000 / (np.pi * 0.01**2))
    assert bench.used["press.plunger_diameter"].status == "assumed"
    assert bench.used["press.force"].status == "assumed"
