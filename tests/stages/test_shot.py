"""The shot by hand: volumes, charge, clamp and fills."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from moldwin.inputs.errors import InputError
from moldwin.stages.shot import charge, fillings, part_geometry, ram
from tests.jobs import bench_of, change, job, setup_of
from tests.meshes import BOX, torus, write_stl

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
    ({"shape": "dome", "diameter_mm": 20, "height_mm": 10}, 2 / 3 * np.pi * 0.01**3),
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


def test_a_mesh_without_triangles_is_refused_in_words(tmp_path):
    mesh = tmp_path / "label.stl"
    mesh.write_text("solid label\nendsolid label\n")
    made = job(part={"mesh": str(mesh), "mesh_unit": "mm"})
    with pytest.raises(InputError, match="no triangles"):
        part_geometry(bench_of(made))


def _mesh(path, corners, unit="mm"):
    return {"mesh": str(write_stl(path, corners)), "mesh_unit": unit}


def test_a_plate_as_a_mesh_is_the_plate(tmp_path):
    """But for its flow length: of a mesh nobody said where the gate is, so it is the diagonal."""
    mesh, plate = (
        _geometry(part=part)
        for part in (
            _mesh(tmp_path / "p.stl", BOX),
            {"solid": [{"shape": "plate", "length_mm": 80, "width_mm": 10, "thickness_mm": 4}]},
        )
    )
    for name in ("volume", "projected_area", "thickness"):
        assert getattr(mesh, name) == pytest.approx(getattr(plate, name), rel=1e-6), name
    assert mesh.thickest == pytest.approx(plate.thickest, rel=0.03)
    assert plate.flow_length < mesh.flow_length < 1.05 * plate.flow_length
    assert mesh.given


def test_a_mesh_is_read_once_and_again_when_it_changes(tmp_path, monkeypatch):
    from moldwin.stages import part as part_stage

    reads = []
    read = part_stage.mesh_part
    monkeypatch.setattr(part_stage, "mesh_part", lambda *a, **k: reads.append(a) or read(*a, **k))
    path = tmp_path / "p.stl"
    part = _mesh(path, BOX)
    first = _geometry(part=part)
    assert _geometry(part=part) == first
    assert len(reads) == 1
    write_stl(path, np.concatenate([BOX, BOX + np.tile([0, 20, 0], 3)]))
    assert _geometry(part=part).volume == pytest.approx(2 * first.volume)
    assert len(reads) == 2


@pytest.mark.parametrize(
    ("scale", "unit", "words"),
    [
        (1e3, "m", "80 km long"),
        (1.0, "m", "80 m long"),
        (1e-4, "mm", "8 µm long"),
        (30.0, "in", "in inches .*61 m long"),
    ],
)
def test_a_mesh_in_the_wrong_unit_is_asked_about(tmp_path, scale, unit, words):
    part = _mesh(tmp_path / "p.stl", scale * BOX, unit)
    with pytest.raises(InputError, match=f"{words}.*another unit"):
        _geometry(part=part)


def test_a_mesh_with_a_small_hole_is_taken_and_one_without_a_side_refused(tmp_path):
    ring = torus(40, 20)
    whole, small = (_geometry(part=_mesh(tmp_path / f"{n}.stl", ring[n:])).volume for n in (0, 1))
    assert small == pytest.approx(whole, rel=1e-6)
    with pytest.raises(InputError, match=r"too open.*4 open"):
        _geometry(part=_mesh(tmp_path / "open.stl", BOX[2:]))


# ------------------------------------------------------------------ charge and clamp


def test_the_charge_is_volume_times_density():
    setup, _, found = _shot()
    nozzle = np.pi / 4 * 0.003**2 * 0.010  # stays full of melt
    volume = setup.geometry.shot_volume * 1.1 + nozzle  # a tenth of cushion
    assert found.charge_volume == pytest.approx(volume)
    density = found.charge / volume
    low, high = np.quantile(density, [0.05, 0.95])
    assert 1200.0 < low < high < 1500.0


def test_the_nozzle_is_charged_too():
    """Its bore by hand: 3 mm wide, 10 or 30 mm long; typical where the job gives none."""
    nozzle = {"nozzle_diameter_mm": 3, "nozzle_length_mm": 10}
    _, _, short = _shot(press=change("press", **nozzle))
    _, _, long_one = _shot(press=change("press", **{**nozzle, "nozzle_length_mm": 30}))
    _, _, wide = _shot(press=change("press", **{**nozzle, "nozzle_diameter_mm": 6}))
    bore = 70.69e-9
    assert long_one.charge_volume - short.charge_volume == pytest.approx(2 * bore, rel=1e-3)
    assert wide.charge_volume - short.charge_volume == pytest.approx(3 * bore, rel=1e-3)
    assert np.all(long_one.charge > short.charge)
    unknown = change("press", nozzle_diameter_mm=None, nozzle_length_mm=None)
    setup, _, found = _shot(press=unknown)
    by_typical = [setup.bench.typical("press", f"nozzle_{key}") for key in ("diameter", "length")]
    expected = setup.geometry.shot_volume * 1.1 + np.pi / 4 * by_typical[0] ** 2 * by_typical[1]
    assert found.charge_volume == pytest.approx(expected)


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


# ------------------------------------------------------------------ fills


def _fills(bulk, capacity, **sections):
    """Fills of a charge of known mass by a cup of known weight, on a press of known volume."""
    setup, _, found = _shot(
        press=change("press", barrel_capacity_cm3=capacity),
        pellets=change("pellets", bulk_density_g_cm3=bulk),
        **sections,
    )
    return fillings(setup.bench, found), found


def test_one_fill_where_the_loose_pellets_fit():
    count, found = _fills(0.7, 20)
    assert count == 1
    assert np.median(found.charge) / 700.0 < 20e-6


def _filled(bulk, times):
    """Fills of a barrel that the loose charge would fill so many times, heaped a twentieth over."""
    _, found = _fills(bulk, 20)
    loose = 1e6 * float(np.median(found.charge)) / (1e3 * bulk)  # cm3
    return _fills(bulk, loose / (times + 0.05))[0]


def _bulk_of(solid_share):
    """Weight of a cup of pellets of which this share is solid. [g/cm³]"""
    _, found = _fills(0.7, 20)
    return solid_share * 1e-3 * float(np.median(found.charge / found.charge_volume))


@pytest.mark.parametrize(("times", "fills"), [(0.9, 1), (1.15, 2), (1.3, np.inf)])
def test_fills_with_a_stroke_after_each_by_hand(times, fills):
    """A loose fill of .6 solid goes down to .75: a fifth of the room is free after each stroke."""
    assert _filled(_bulk_of(0.6), times) == fills


@pytest.mark.parametrize(("times", "fills"), [(1.3, 2), (1.8, 3), (2.8, 7), (2.95, np.inf)])
def test_fills_of_flakes_weighed_as_lying_loosely_by_hand(times, fills):
    """.25 solid goes down to .75: two thirds of the room are free again, 1 + 2/3 + 4/9 + ... < 3;
    what is left of it after eight is less than a spoonful."""
    assert _filled(_bulk_of(0.25), times) == fills


def test_no_fills_without_a_barrel():
    press = change("press", barrel_capacity_cm3=None)
    setup, _, unknown = _shot(press=press)
    assert fillings(setup.bench, unknown) is None


def test_runners_count_for_the_clamp_where_their_shadow_is_known():
    setup, state, plain = _shot()
    wider = replace(setup.geometry, runner_area=setup.geometry.projected_area)
    found = charge(setup.bench, setup.material.blend, state, wider, setup.ram, 413.15)
    assert found.clamp_needed == pytest.approx(2 * plain.clamp_needed)
