"""Meshes against closed formulas: volume, closedness, bodies, shadow, walls, the melt's way."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from moldwin.physics.mesh import measure, mesh_part, mesh_volume
from moldwin.physics.mesh_file import stl_bytes
from moldwin.physics.mesh_map import thickness_map
from tests.meshes import BOX, box, text_stl, torus, torus_volume, turned, write_stl

TETRAHEDRON = np.array(
    [
        [(0, 0, 0), (0, 3, 0), (2, 0, 0)],
        [(0, 0, 0), (2, 0, 0), (0, 0, 5)],
        [(0, 0, 0), (0, 0, 5), (0, 3, 0)],
        [(2, 0, 0), (0, 3, 0), (0, 0, 5)],
    ],
    float,
).reshape(-1, 9)


# ------------------------------------------------------------------ volume and area


@pytest.mark.parametrize("write", [write_stl, text_stl])
def test_a_tetrahedron(tmp_path, write):
    size = measure(write(tmp_path / "t.stl", TETRAHEDRON), "mm")
    assert size.volume == pytest.approx(5e-9, rel=1e-9)
    assert size.closed
    assert not size.inside_out
    assert size.area == pytest.approx(1e-6 * (3 + 5 + 7.5 + np.sqrt(3**2 + 5**2 + 7.5**2)))
    assert size.extent == pytest.approx((2e-3, 3e-3, 5e-3))


@pytest.mark.parametrize(("around", "across"), [(3, 3), (24, 12), (200, 100)])
def test_a_torus_of_flat_faces(tmp_path, around, across):
    size = measure(text_stl(tmp_path / "t.stl", torus(around, across)), "mm")
    assert size.volume == pytest.approx(1e-9 * torus_volume(around, across), rel=1e-9)
    assert size.closed


def test_a_refined_torus_comes_to_the_round_one(tmp_path):
    size = measure(write_stl(tmp_path / "t.stl", torus(600, 300)), "mm")
    assert size.volume == pytest.approx(1e-9 * 2 * np.pi**2 * 30 * 10**2, rel=1e-4)


def test_a_box_with_a_void(tmp_path):
    corners = np.concatenate([BOX, turned(box((10, 2, 1), (20, 8, 3)))])
    path = write_stl(tmp_path / "b.stl", corners)
    assert measure(path, "mm").volume == pytest.approx(1e-9 * (3200 - 120), rel=1e-9)
    part = mesh_part(path, "mm")
    assert (part.bodies, part.voids) == (1, 1)
    assert part.volume == pytest.approx(3.08e-6, rel=1e-9)


def test_far_from_the_origin_it_is_the_same(tmp_path):
    near, far = (
        measure(text_stl(tmp_path / f"{x}.stl", TETRAHEDRON + x), "mm").volume for x in (0.0, 1e4)
    )
    assert far == pytest.approx(near, rel=1e-9)


@pytest.mark.parametrize(
    ("unit", "meter"), [("mm", 1e-3), ("cm", 1e-2), ("m", 1.0), ("in", 0.0254)]
)
def test_units(tmp_path, unit, meter):
    path = write_stl(tmp_path / "t.stl", TETRAHEDRON)
    assert measure(path, unit).volume == pytest.approx(5 * meter**3)
    assert mesh_volume(path, unit) == pytest.approx(5 * meter**3)


def test_inside_out_is_told_and_counted_outward(tmp_path):
    path = write_stl(tmp_path / "t.stl", turned(BOX))
    size = measure(path, "mm")
    assert size.inside_out
    assert size.closed
    assert size.volume == pytest.approx(3.2e-6)
    assert mesh_volume(path, "mm") == pytest.approx(-3.2e-6)


@pytest.mark.parametrize("kind", ["stl", "obj", "ply", "3mf"])
def test_every_kind_against_the_library(tmp_path, kind):
    trimesh = pytest.importorskip("trimesh")
    for solid in (
        trimesh.creation.icosphere(subdivisions=3, radius=7.0),
        trimesh.creation.annulus(r_min=8.0, r_max=10.0, height=30.0, sections=60),
        trimesh.creation.capsule(height=20.0, radius=4.0),
    ):
        path = tmp_path / f"part.{kind}"
        solid.export(path)
        size = measure(path, "mm")
        read = trimesh.load_mesh(path)  # what the format kept of the digits is the same for both
        assert size.volume == pytest.approx(1e-9 * read.volume, rel=1e-9)
        assert size.area == pytest.approx(1e-6 * read.area, rel=1e-9)
        assert size.closed
        assert size.file_unit == ("mm" if kind == "3mf" else None)


# ------------------------------------------------------------------ closed or not


def _spoiled(how):
    corners = torus(40, 20).astype("f4")
    if how == "dropped":
        return np.delete(corners, 7, axis=0)
    if how == "flipped":
        corners[7] = corners[7].reshape(3, 3)[::-1].ravel()
    if how == "nudged":
        corners[7, 4] = np.nextafter(corners[7, 4], np.float32(99))  # by its last bit
    if how == "twice":
        return np.concatenate([corners, corners[7:8]])
    return corners


@pytest.mark.parametrize("how", ["dropped", "flipped", "nudged", "twice"])
def test_one_bad_triangle_is_seen(tmp_path, how):
    assert measure(write_stl(tmp_path / "good.stl", _spoiled("not")), "mm").closed
    size = measure(write_stl(tmp_path / "bad.stl", _spoiled(how)), "mm")
    assert not size.closed
    assert size.open_edges + size.turned_edges > 0


@pytest.mark.parametrize("how", ["dropped", "flipped", "nudged", "twice"])
def test_the_hash_alone_sees_it(tmp_path, monkeypatch, how):
    monkeypatch.setattr("moldwin.physics.mesh._EXACT", 0)
    assert measure(write_stl(tmp_path / "good.stl", _spoiled("not")), "mm").closed
    assert not measure(write_stl(tmp_path / "bad.stl", _spoiled(how)), "mm").closed


def test_a_hash_that_were_wrong_would_be_found_out(tmp_path, monkeypatch):
    from moldwin.physics import mesh

    monkeypatch.setattr(mesh, "totals", lambda *a, f=mesh.totals: f(*a)._replace(edges=0))
    assert not measure(write_stl(tmp_path / "bad.stl", _spoiled("dropped")), "mm").closed


@pytest.mark.parametrize("how", ["dropped", "flipped"])
def test_flat_lids_give_the_volume_back(tmp_path, how):
    """A triangle that is missing or turned leaves a flat hole: its lid is exact."""
    good = measure(write_stl(tmp_path / "good.stl", _spoiled("not")), "mm")
    size = measure(write_stl(tmp_path / "bad.stl", _spoiled(how)), "mm")
    assert size.volume == pytest.approx(good.volume, rel=1e-9)
    assert size.volume_low < good.volume < size.volume_high


def _cracked(gap, around=60, across=30):
    """A ring cut along its length, the lips of the cut apart by about ``gap``."""
    corners = torus(around, across).reshape(-1, 3)
    upper = np.repeat(corners.reshape(-1, 3, 3)[:, :, 2].mean(axis=1) > 0, 3)
    lip = upper & (np.abs(corners[:, 2]) < 1e-6)
    shake = np.random.default_rng(1).uniform(-gap, gap, corners.shape)
    return np.where(lip[:, None], corners + shake, corners).reshape(-1, 9)


def test_a_crack_finer_than_any_mold_is_told_and_trusted(tmp_path):
    """A surface sewn from two that miss each other by rounding is open, with a volume known."""
    size = measure(text_stl(tmp_path / "t.stl", _cracked(1e-4)), "mm")
    exact = 1e-9 * torus_volume(60, 30)
    assert not size.closed
    assert size.open_edges > 100
    assert size.volume == pytest.approx(exact, rel=1e-4)
    assert size.volume_low < exact < size.volume_high
    assert size.volume_high - size.volume_low < 0.01 * exact
    assert mesh_part(tmp_path / "t.stl", "mm").size.volume == pytest.approx(exact, rel=1e-4)


def test_a_crack_one_can_see_is_a_hole(tmp_path):
    size = measure(text_stl(tmp_path / "t.stl", _cracked(0.5)), "mm")
    assert size.volume_high - size.volume_low > 0.1 * size.volume


def test_the_fine_rim_of_a_large_hole_is_no_crack(tmp_path):
    """Corners closer than a crack's lips, in a row: drawn together they would hide the hole."""
    edge = np.linspace(0.0, 80.0, 20_001)
    fan = [[(0, 0, 0), (b, 0, 4), (a, 0, 4)] for a, b in pairwise(edge)]
    rows = [BOX[k] for k in range(12) if k not in (4, 5)]  # without the side at y = 0
    path = text_stl(tmp_path / "t.stl", np.concatenate([np.array(fan).reshape(-1, 9), *[rows]]))
    size = measure(path, "mm")
    assert not size.closed
    assert size.volume_high - size.volume_low > 0.1 * size.volume


def test_a_triangle_that_is_there_twice_is_counted_once(tmp_path):
    part = mesh_part(write_stl(tmp_path / "t.stl", np.concatenate([BOX, BOX[3:5]])), "mm")
    assert part.twins == 2
    assert part.size.closed
    assert part.volume == pytest.approx(3.2e-6, rel=1e-9)
    assert part.projected_area == pytest.approx(8e-4, rel=1e-6)


def test_a_triangle_and_its_back_are_no_twins(tmp_path):
    """A fin of no thickness closes by itself."""
    fin = np.array([[0, 0, 4, 10, 0, 4, 0, 0, 9]], float)
    path = write_stl(tmp_path / "t.stl", np.concatenate([BOX, fin, turned(fin)]))
    part = mesh_part(path, "mm")
    assert (part.twins, part.size.closed) == (0, True)
    assert part.thickest == pytest.approx(4e-3, rel=0.03)


def test_an_open_surface_too_large_to_look_at_is_open_all_the_same(tmp_path, monkeypatch):
    monkeypatch.setattr("moldwin.physics.mesh._MOST_FOR_A_PART", 100)
    size = measure(write_stl(tmp_path / "bad.stl", _spoiled("dropped")), "mm")
    assert not size.closed
    assert (size.volume_low, size.volume_high) == (0.0, np.inf)


def test_negative_zero_is_zero(tmp_path):
    corners = BOX.copy()
    corners[3][corners[3] == 0] = -0.0
    assert measure(write_stl(tmp_path / "b.stl", corners), "mm").closed


# ------------------------------------------------------------------ the part


def test_a_plate(tmp_path):
    part = mesh_part(write_stl(tmp_path / "b.stl", BOX), "mm", gate=(0.0, 0.005, 0.002))
    assert part.projected_area == pytest.approx(8e-4, rel=1e-9)
    assert part.wall == pytest.approx(4e-3, rel=1e-6)
    assert part.thickest == pytest.approx(4e-3, rel=0.03)
    assert part.thick_spot[2] == pytest.approx(2e-3, abs=2e-4)
    assert part.flow_length == pytest.approx(np.hypot(80, 5) * 1e-3, rel=0.03)
    assert part.last[0] == pytest.approx(0.08, abs=1e-3)
    assert part.followed


@pytest.mark.parametrize(("axis", "shadow"), [(0, 40e-6), (1, 320e-6), (2, 800e-6)])
def test_the_shadow_is_the_clamps(tmp_path, axis, shadow):
    part = mesh_part(write_stl(tmp_path / "b.stl", BOX), "mm", axis=axis)
    assert part.projected_area == pytest.approx(shadow, rel=1e-9)
    depth = thickness_map(part, axis).depth
    assert depth == pytest.approx(np.full(depth.shape, 3.2e-6 / shadow))


def test_a_round_bar_and_a_ball(tmp_path):
    trimesh = pytest.importorskip("trimesh")
    path = tmp_path / "p.stl"
    trimesh.creation.cylinder(radius=3.0, height=50.0, sections=96).export(path)
    bar = mesh_part(path, "mm")
    assert bar.wall == pytest.approx(6e-3, rel=0.01)
    assert bar.thickest == pytest.approx(6e-3, rel=0.01)
    assert bar.projected_area == pytest.approx(np.pi * 9e-6, rel=0.01)
    trimesh.creation.icosphere(subdivisions=4, radius=10.0).export(path)
    ball = mesh_part(path, "mm")
    assert ball.thickest == pytest.approx(20e-3, rel=0.02)
    assert ball.thick_spot == pytest.approx((0, 0, 0), abs=5e-4)


def test_a_boss_on_a_plate_is_the_thick_spot(tmp_path):
    """An L of one piece: 4 mm of plate, a block of 12 mm at its end."""
    profile = [(0, 0), (60, 0), (60, 12), (48, 12), (48, 4), (0, 4)]
    path = write_stl(tmp_path / "l.stl", _prism(profile, 20.0))
    part = mesh_part(path, "mm")
    assert part.size.closed
    assert part.volume == pytest.approx(1e-9 * 20 * (60 * 4 + 12 * 8), rel=1e-6)
    assert part.wall < 6e-3
    assert part.thickest == pytest.approx(12e-3, rel=0.1)
    assert 1e3 * part.thick_spot[0] == pytest.approx(54, abs=1.5)


def _prism(profile, depth):
    """A profile that is star-shaped about (54, 2), drawn out along y: (n, 9)."""
    center = (54.0, 2.0)
    faces = []
    for (x, z), (u, w) in zip(profile, profile[1:] + profile[:1], strict=True):
        at = [(x, 0, z), (u, 0, w), (u, depth, w), (x, depth, z)]
        faces += [[at[0], at[1], at[2]], [at[0], at[2], at[3]]]
        faces += [[(center[0], 0, center[1]), at[1], at[0]]]
        faces += [[(center[0], depth, center[1]), at[3], at[2]]]
    corners = np.array(faces, float).reshape(-1, 9)
    return corners


def test_the_way_goes_round_a_ring(tmp_path):
    path = write_stl(tmp_path / "r.stl", torus(120, 24, ring=30.0, tube=4.0))
    part = mesh_part(path, "mm", gate=(0.03, 0.0, 0.0))
    assert np.pi * 26e-3 < part.flow_length < np.pi * 34e-3
    assert part.last[0] < -0.025


def test_overlapping_bodies_are_counted_once(tmp_path):
    corners = np.concatenate([BOX, box((60, 2, 1), (100, 8, 3))])
    part = mesh_part(write_stl(tmp_path / "o.stl", corners), "mm")
    assert part.bodies == 2
    assert part.doubled_share == pytest.approx(240 / (3200 + 240), rel=0.02)
    assert part.volume == pytest.approx(3440e-9, rel=2e-3)


def test_two_bodies_apart_do_not_overlap(tmp_path):
    corners = np.concatenate([BOX, BOX + np.tile([0, 20, 0], 3)])
    part = mesh_part(write_stl(tmp_path / "o.stl", corners), "mm")
    assert (part.bodies, part.doubled_share) == (2, 0.0)
    assert not part.followed


def test_what_encloses_nothing_is_refused(tmp_path):
    sheet = np.concatenate([TETRAHEDRON[:1], turned(TETRAHEDRON[:1])])
    with pytest.raises(ValueError, match="no volume"):
        mesh_part(write_stl(tmp_path / "s.stl", sheet), "mm")


def test_a_gate_off_the_part_is_refused(tmp_path):
    with pytest.raises(ValueError, match="gate lies 420 mm outside"):
        mesh_part(write_stl(tmp_path / "b.stl", BOX), "mm", gate=(0.5, 0.0, 0.0))


def test_an_unknown_unit_is_refused(tmp_path):
    with pytest.raises(ValueError, match="mm, cm, m, in"):
        measure(write_stl(tmp_path / "b.stl", BOX), "inch")


def test_what_is_written_is_read_back(tmp_path):
    path = tmp_path / "w.stl"
    path.write_bytes(stl_bytes(1.5 * BOX))
    assert measure(path, "mm").volume == pytest.approx(1.5**3 * 3.2e-6, rel=1e-6)
