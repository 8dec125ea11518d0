"""The second press as a command: ``python -m tests.second_press [--makers 300] [--json]``.

Prints how often promises are kept, by decile, how the advisor fares against two rivals, and what
went wrong. Nothing here is a test.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from tests.second_press.report import ENOUGH, Bin, Report, run


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the makers and print the report."""
    parser = argparse.ArgumentParser(prog="python -m tests.second_press", description=__doc__)
    parser.add_argument("--makers", type=int, default=300, help="how many ask")
    parser.add_argument("--twins", type=int, default=20, help="how many try each page")
    parser.add_argument("--draws", type=int, default=512, help="samples behind each page")
    parser.add_argument("--seed", type=int, default=20, help="of the makers and their truths")
    parser.add_argument("--processes", type=int, default=2, help="that ask side by side")
    parser.add_argument("--json", action="store_true", help="print the report as JSON")
    options = parser.parse_args(arguments)
    if min(options.makers, options.twins, options.draws, options.processes) < 1:
        parser.error("makers, twins, draws and processes must each be 1 at least")
    report = run(
        options.makers,
        seed=options.seed,
        twins=options.twins,
        draws=options.draws,
        processes=options.processes,
    )
    print(json.dumps(_plain(asdict(report)), indent=2) if options.json else page(report))
    return 0


def page(report: Report) -> str:
    """The report as text."""
    one = "moisture {:g} %, barrel {:g} °C, soak {:g} s, mold {:g} °C".format(
        *report.one_setting_is
    )
    return "\n".join(
        [
            f"{report.makers} makers, {report.attempts} heat; each page tried by {report.twins}",
            "",
            "Whole: barrel chance x share inside the moisture limits, against a good part",
            *_table(report.whole),
            f"largest gap (deciles of {ENOUGH} makers and more): {report.whole_gap:+.3f}",
            "",
            "Barrel chance, against filled, welded, not browned, no foam",
            *_table(report.barrel),
            f"largest gap: {report.barrel_gap:+.3f}",
            "",
            f"First-shot success among the {report.served} makers whom some setting serves",
            f"  the advisor                      {report.advisor:.3f}",
            f"  dry overnight, 130 °C, 5 min     {report.overnight:.3f}"
            f" (mold {report.overnight_mold_c:g} °C, the best of four)",
            f"  the one best setting             {report.one_setting:.3f} ({one})",
            f"  any setting of the grid          {report.chance_of_any:.3f} (of all makers)",
            "",
            "Limits at the settings given: share expected broken, share seen spoiled",
            *(f"  {n:14s} {e:.3f}  {seen:.3f}" for n, (e, seen) in report.limits.items()),
            "",
            "Shares of all attempts by what spoiled them: " + _list(report.reasons),
            "Where the advisor lost and some setting serves: " + _list(report.missed),
        ]
    )


def _plain(value: Any) -> Any:
    """The report for JSON, which has no word for what is not a number but null."""
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    return None if isinstance(value, float) and value != value else value


def _table(bins: Sequence[Bin]) -> list[str]:
    lines = ["  decile    makers  promised   kept    gap  (± error)"]
    for b in bins:
        if b.makers:
            lines.append(
                f"  {b.low:.1f}-{b.high:.1f} {b.makers:9d} {b.promised:9.3f} {b.kept:6.3f} "
                f"{b.gap:+6.3f}  (±{b.error:.3f})"
            )
    return lines


def _list(shares: dict[str, float]) -> str:
    named = [f"{name} {share:.2f}" for name, share in shares.items() if share >= 0.005]
    return ", ".join(named) or "none"


if __name__ == "__main__":
    sys.exit(main())
