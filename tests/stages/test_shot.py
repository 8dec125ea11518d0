"""The shot by hand: volumes, charge, force, and what the plug leaves of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from moldwin.inputs.errors import InputError
from moldwin.stages.shot import Ram, charge, fillings, part_geometry, ram
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


def _with_plug(bores, **options):
    """A press whose pellets, poured in loosely, stand so many bores high in a typical sample."""
    typical = setup_of(job(), spread=0.0)
    loose = float(typical.bench.typical("press", "loose_fill_share")[0])
    shot = bores * float(np.pi / 4 * typical.ram.bore**3) * loose
    runner = shot / 1.1 - typical.geometry.shot_volume + 0.4e-6  # a tenth of cushion
    return setup_of(job(mold=change("mold", runner_volume_cm3=runner * 1e6)), **options)


def _plug(setup):
    """Height of the loose pellets in bores, per sample."""
    loaded = 1.1 * setup.geometry.shot_volume  # a tenth of cushion
    loose = loaded / setup.bench.typical("press", "loose_fill_share")
    return loose / (np.pi / 4 * setup.ram.bore**3)


def test_the_plug_leaves_the_stated_share_and_a_longer_one_less():
    """Judged before anything has molten: the whole charge rubs."""
    two = _with_plug(2, spread=0.0)
    stated = two.bench.typical("press", "force_share")
    assert _plug(two) == pytest.approx(2.0)
    assert two.ram.depth == pytest.approx(2.0)
    assert two.ram.share(1.0) == pytest.approx(stated)  # quoted for two bores
    # four bores long: the share squared, and further in every sample
    assert _with_plug(4, spread=0.0).ram.share(1.0) == pytest.approx(stated**2)
    long_plug, longer = (_with_plug(bores, count=2048) for bores in (4, 6))
    low, high = np.quantile(long_plug.bench.typical("press", "force_share"), [0.01, 0.99])
    assert 0.4 < low < high < 0.9
    plug = _plug(long_plug)
    assert np.median(plug) == pytest.approx(4.0, rel=0.05)
    share = long_plug.bench.typical("press", "force_share")
    assert long_plug.ram.share(1.0) == pytest.approx(share ** (plug / 2.0))
    assert np.all(longer.ram.share(1.0) < long_plug.ram.share(1.0))


@pytest.mark.parametrize(("friction", "two", "four"), [(0.05, 0.67, 0.45), (0.15, 0.30, 0.09)])
def test_a_plug_by_its_wall_friction(friction, two, four):
    """Derived figures of exp(-4 mu K L/D), two and four bores long."""
    for bores, left in ((2.0, two), (4.0, four)):
        reach = Ram(bore=0.02, area=3e-4, pressure=1e7, kept=np.exp(-4.0 * friction), depth=bores)
        assert reach.share(1.0) == pytest.approx(left, abs=0.005)


def test_only_what_has_not_molten_rubs():
    """Of four bores half molten two are left: Janssen's share of two bores."""
    setup = _with_plug(4, spread=0.0)
    stated = setup.bench.typical("press", "force_share")
    assert setup.ram.share(0.5) == pytest.approx(stated)
    spread = _with_plug(4, count=2048).ram
    unmelted = np.linspace(0.0, 1.0, 21)[:, None]
    shares = spread.share(unmelted)
    assert shares.shape == (21, 2048)
    assert np.all(np.diff(shares, axis=0) <= 0)
    assert np.all(shares[-1] < shares[0])
    bores = np.maximum(unmelted * spread.depth, 0.8)
    assert np.log(shares) == pytest.approx(bores * np.log(spread.kept))


def test_two_pieces_of_plug_take_what_one_of_their_length_takes():
    """Friction is a power of the length, so that where a plug is cut does not matter."""
    whole = _with_plug(6, spread=0.0).ram
    assert whole.share(1 / 2) * whole.share(1 / 3) == pytest.approx(whole.share(5 / 6))


def test_a_plug_is_loose_pellets_not_melt():
    """The height that rubs is that of the pellets as poured, longer than the melt they make."""
    setup = _with_plug(2, spread=0.0)
    melt = 1.1 * setup.geometry.shot_volume / (np.pi / 4 * setup.ram.bore**3)
    share = setup.bench.typical("press", "force_share")
    assert np.all(melt > 1.0)  # not held up by the cold end
    assert np.all(setup.ram.share(1.0) < share ** (melt / 2.0))


def test_a_molten_charge_keeps_the_cold_end_under_the_ram_whatever_its_length():
    """0.8 bores stay cold: neither a smaller part nor a molten long charge has less of a plug."""
    mold = change("mold", runner_volume_cm3=0)
    small, smaller = (
        setup_of(job(part={"solid": [{**_PLATE, "length_mm": mm}]}, mold=mold)) for mm in (20, 5)
    )
    assert np.all(_plug(small) < 0.8)
    cold = small.bench.typical("press", "force_share") ** 0.4
    assert small.ram.share(1.0) == pytest.approx(cold)
    assert smaller.ram.share(1.0) == pytest.approx(cold)
    assert np.all(cold < 1.0)
    for setup in (small, _with_plug(4)):
        molten = setup.bench.typical("press", "force_share") ** 0.4
        assert setup.ram.share() == pytest.approx(molten)
        assert setup.ram.at_melt == pytest.approx(setup.ram.pressure * molten)


def test_what_is_not_known_of_the_plug_is_not_known_of_its_share():
    share = _with_plug(4).ram.share(np.array([[0.5], [np.nan]]))
    assert np.all(np.isfinite(share[0]))
    assert np.all(np.isnan(share[1]))


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


def test_fills_with_a_stroke_after_each_by_hand():
    """A loose fill of .6 solid goes down to .75: a fifth of the room is free after each stroke."""
    _, found = _fills(0.7, 20)
    loose = 1e6 * float(np.median(found.charge)) / 700.0  # cm3
    for filled, expected in ((0.9, 1), (1.15, 2), (1.3, np.inf)):
        assert _fills(0.7, loose / (filled + 0.05))[0] == expected, filled
    press = change("press", barrel_capacity_cm3=None)
    setup, _, unknown = _shot(press=press)
    assert fillings(setup.bench, unknown) is None


def test_runners_count_for_the_clamp_where_their_shadow_is_known():
    setup, state, plain = _shot()
    wider = replace(setup.geometry, runner_area=setup.geometry.projected_area)
    found = charge(setup.bench, setup.material.blend, state, wider, setup.ram, 413.15)
    assert found.clamp_needed == pytest.approx(2 * plain.clamp_needed)
