"""The blind press as a command: ``python -m tests.blind_press [MAKERS]``.

Prints how often promises are kept at a press that was written without a look at the advisor's
laws, and how the advisor fares there against two rivals. Nothing here is a test.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from tests.blind_press.trial import BLIND
from tests.second_press.__main__ import page
from tests.second_press.report import run


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the makers and print the report."""
    parser = argparse.ArgumentParser(prog="python -m tests.blind_press", description=__doc__)
    parser.add_argument("makers", type=int, nargs="?", default=240, help="how many ask")
    parser.add_argument("--twins", type=int, default=25, help="how many try each page")
    parser.add_argument("--seed", type=int, default=71, help="of the makers and their truths")
    parser.add_argument("--processes", type=int, default=2, help="that ask side by side")
    options = parser.parse_args(arguments)
    if min(options.makers, options.twins, options.processes) < 1:
        parser.error("makers, twins and processes must each be 1 at least")
    report = run(
        options.makers,
        seed=options.seed,
        twins=options.twins,
        processes=options.processes,
        press=BLIND,
    )
    print(page(report))
    return 0


if __name__ == "__main__":
    sys.exit(main())
