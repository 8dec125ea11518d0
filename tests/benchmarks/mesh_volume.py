"""Volume alone of a million triangles, against a STL reader with a line of numpy."""

from __future__ import annotations

import tempfile
from pathlib import Path

from tests.benchmarks.mesh_files import WITHIN, expected, million, timed
from tests.benchmarks.row import Row

NEEDED = 8.0
_OURS = (
    "from moldwin.physics.mesh import mesh_volume",
    "return mesh_volume(path, 'mm')",
)
#: As people use it: its own mass properties take half a minute, so they write this line, in the
#: single precision that it reads.
_PEER = (
    "import numpy as np; from stl.mesh import Mesh",
    "mesh = Mesh.from_file(path); "
    "return 1e-9 * float((mesh.v0 * np.cross(mesh.v1, mesh.v2)).sum()) / 6",
)


def run() -> Row:
    """Ours and the reader's on the same file."""
    with tempfile.TemporaryDirectory() as place:
        path, _ = million(Path(place))
        ours, peer = timed(path, *_OURS), timed(path, *_PEER)
    ratio = peer.seconds / ours.seconds
    right = all(abs(one.found / expected() - 1) <= WITHIN for one in (ours, peer))
    return Row(
        name="mesh-volume",
        ours_s=ours.seconds,
        peer="numpy-stl, and a line of cross products",
        peer_s=peer.seconds,
        ratio=ratio,
        gate=(f"both within {WITHIN:g} of the closed formula and at least {NEEDED:g} times faster"),
        passed=right and ratio >= NEEDED,
        peak_mib=ours.peak_mib,
        peer_peak_mib=peer.peak_mib,
    )
