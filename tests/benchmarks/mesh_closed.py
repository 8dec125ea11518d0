"""Volume, area and closedness of a million triangles, against a general mesh library."""

from __future__ import annotations

import tempfile
from pathlib import Path

from tests.benchmarks.mesh_files import WITHIN, expected, million, spoiled, timed
from tests.benchmarks.row import Row

NEEDED, GOAL = 40.0, 80.0
LEAST_MEMORY = 0.25
_OURS = (
    "from moldwin.physics.mesh import measure",
    "size = measure(path, 'mm'); return [size.volume, size.closed]",
)
_PEER = (
    "import trimesh",
    "mesh = trimesh.load_mesh(path); "
    "return [1e-9 * float(mesh.volume), bool(mesh.is_watertight and mesh.is_winding_consistent)]",
)


def run() -> Row:
    """Ours and the library's on the same file; ours on three spoiled ones besides."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        path, corners = million(folder)
        bad = spoiled(folder, corners)
        del corners
        ours, peer = timed(path, *_OURS), timed(path, *_PEER, repeats=1)
        rejected = [not timed(one, *_OURS, repeats=1).found[1] for one in bad]
    ratio = peer.seconds / ours.seconds
    right = [abs(one.found[0] / expected() - 1) <= WITHIN and one.found[1] for one in (ours, peer)]
    small = ours.peak_mib <= LEAST_MEMORY * peer.peak_mib
    return Row(
        name="mesh-closed",
        ours_s=ours.seconds,
        peer="trimesh: load, volume, is_watertight, is_winding_consistent",
        peer_s=peer.seconds,
        ratio=ratio,
        gate=(
            f"both closed and within {WITHIN:g} of the closed formula; a dropped, a flipped and a "
            f"nudged triangle rejected; at least {NEEDED:g} times faster (goal {GOAL:g}) with at "
            f"most {LEAST_MEMORY:g} of its memory"
        ),
        passed=all(right) and all(rejected) and small and ratio >= NEEDED,
        peak_mib=ours.peak_mib,
        peer_peak_mib=peer.peak_mib,
    )
