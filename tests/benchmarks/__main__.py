"""Side-by-side timings: ``python -m tests.benchmarks [NAME ...] [--json]``.

Each row names what it is measured against, and a gate: the answer must be right for its speed to
count. Nothing here is a test; figures depend on the machine. Linear algebra has one thread on
either side, as in the commands: processor time would count threads that only wait.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from dataclasses import asdict

from moldwin.cli._threads import one_thread

one_thread()  # before anything below loads numpy

# isort: split
from tests.benchmarks import (  # noqa: E402
    diffusion_batch,
    mesh_closed,
    mesh_volume,
    screen,
    screen_between,
    sobol,
    startup,
    uptake_linear,
    vapor_pressure,
    window_edges,
    window_map,
    window_million,
)
from tests.benchmarks.row import Row  # noqa: E402

#: Benchmarks by name, in the order they run.
BENCHMARKS: dict[str, Callable[[], Row]] = {
    "startup": startup.run,
    "vapor-pressure": vapor_pressure.run,
    "uptake-linear": uptake_linear.run,
    "diffusion-batch": diffusion_batch.run,
    "window-edges": window_edges.run,
    "window-edges-brentq": window_edges.run_brentq,
    "window-map": window_map.run,
    "window-million": window_million.run,
    "mesh-volume": mesh_volume.run,
    "mesh-closed": mesh_closed.run,
    "sobol": sobol.run,
    "screen": screen.run,
    "screen-between": screen_between.run,
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the named benchmarks, or all; exit code 1 where a gate fails, 2 for an unknown name."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", help=", ".join(BENCHMARKS))
    parser.add_argument("--json", action="store_true", help="print the rows as JSON")
    options = parser.parse_args(arguments)
    unknown = [name for name in options.names if name not in BENCHMARKS]
    if unknown:
        parser.error(f"no benchmark is named {unknown[0]!r}; there are: {', '.join(BENCHMARKS)}")
    rows = [BENCHMARKS[name]() for name in options.names or BENCHMARKS]
    print(json.dumps([asdict(row) for row in rows], indent=2) if options.json else _table(rows))
    return 0 if all(row.passed for row in rows) else 1


def _table(rows: Sequence[Row]) -> str:
    lines = []
    for row in rows:
        ratio = "-" if row.ratio is None else f"{row.ratio:.2f}"
        lines.append(f"{row.name}: {row.ours_s:.3g} s; {row.peer}: {_or_dash(row.peer_s)} s")
        lines.append(f"    ratio {ratio} (above 1: ours is faster)")
        lines.append(f"    peak {_or_dash(row.peak_mib)} MiB; {_or_dash(row.peer_peak_mib)} MiB")
        lines.append(f"    gate: {row.gate}: {'passed' if row.passed else 'FAILED'}")
    return "\n".join(lines)


def _or_dash(value: float | None) -> str:
    return "-" if value is None else f"{value:.3g}"


if __name__ == "__main__":
    sys.exit(main())
