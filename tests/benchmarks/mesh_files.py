"""A binary STL of a million triangles, for the benchmarks of meshes; each run in its own process.

The body is a ring of 1000 by 500 pieces, whose volume has a closed form. The peaks are those of the
whole process, interpreter and libraries included.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from tests.meshes import torus, torus_volume, write_stl

AROUND, ACROSS = 1000, 500
ROOT = Path(__file__).resolve().parents[2]
#: Single precision keeps seven digits; over a million triangles its errors average out.
WITHIN = 1e-6
#: Runs the work after an import, and tells seconds (the best of three), peak and result.
_TIMED = """
import json, resource, sys, time
{imports}
path = sys.argv[1]
def work():
    {work}
best = float("inf")
for _ in range({repeats}):
    start = time.process_time()
    found = work()
    best = min(best, time.process_time() - start)
try:  # what getrusage tells on Linux begins with the parent's own peak
    status = open("/proc/self/status").read()
    peak = int(status.partition("VmHWM:")[2].split()[0]) / 1024
except OSError:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
print(json.dumps([best, peak, found]))
"""


class Timed(NamedTuple):
    """Processor time, peak of the process [MiB], and what came out."""

    seconds: float
    peak_mib: float
    found: Any


def timed(path: Path, imports: str, work: str, repeats: int = 3) -> Timed:
    """One kind of work on one file, in a fresh process; the imports are not timed."""
    code = _TIMED.format(imports=imports, work=work, repeats=repeats)
    done = subprocess.run(
        [sys.executable, "-c", code, str(path)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return Timed(*json.loads(done.stdout))


def million(folder: Path) -> tuple[Path, Any]:
    """The file, and its corners in single precision."""
    corners = torus(AROUND, ACROSS).astype("f4")
    return write_stl(folder / "ring.stl", corners), corners


def spoiled(folder: Path, corners: Any) -> list[Path]:
    """The same with a triangle dropped, one flipped, and one corner nudged by its last bit."""
    at = len(corners) // 3
    flipped, nudged = corners.copy(), corners.copy()
    flipped[at] = flipped[at].reshape(3, 3)[::-1].ravel()
    nudged[at, 4] = np.nextafter(nudged[at, 4], np.float32(1e3))
    bad = (("dropped", np.delete(corners, at, axis=0)), ("flipped", flipped), ("nudged", nudged))
    return [write_stl(folder / f"{name}.stl", one) for name, one in bad]


def expected() -> float:
    """Volume of the body of flat faces. [m3]"""
    return 1e-9 * torus_volume(AROUND, ACROSS)
