"""Remarks on what no barrel temperature can mend: a hot core, a barrel too small, a weak clamp."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from moldwin.advice.sharing import MANY, SOME, spelled
from moldwin.advice.situation import Found
from moldwin.base.percentiles import in_words, share
from moldwin.base.remarks import Remark
from moldwin.window.judge import broken_shares
from moldwin.window.stops import best_push, stops
from moldwin.window.windows import Setup

__all__ = ["core_remarks", "shot_remarks"]

_PRACTICE = "common practice; ISO 294-1 (from memory)"


def core_remarks(setup: Setup, found: Found) -> Iterator[Remark]:
    """Whether the core cools in a time that anyone waits.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    found : Found
        The window that is advised. [-]

    Yields
    ------
    Remark
        ``hot-core``: a stop in nearly every case, a caution in some, and where it decided how hot
        the barrel is.
    """
    if found.window.barrel.for_core:
        yield Remark(
            "hot-core",
            "caution",
            f"The barrel is held cooler than filling alone would have it, so that the core of a"
            f" {1e3 * setup.geometry.thickest:.3g} mm wall is below its steam onset in time: opened"
            " before, it foams. Do not go above the range.",
            "molding",
            "limit assumed",
        )
    margins = {"hot-core": found.window.moisture_margins["hot-core"]}
    part = float(broken_shares(margins)["hot-core"])
    if part < SOME:
        return
    stopped = "hot-core" in stops(setup, found.window)
    longest = float(np.median(setup.bench.typical("mold", "cooling_longest")))
    words = (
        "The core may stay above its steam onset for longer than you want to wait"
        f" ({in_words(part)})."
    )
    if stopped:
        words = (
            f"The core of a {1e3 * setup.geometry.thickest:.3g} mm wall {_core_time(found)}, and"
            f" {longest / 60:.0f} min is as long as anyone waits: too short in {in_words(part)}."
            " Opened before, it foams. A thinner wall or a cooler mold."
        )
    yield Remark("hot-core", "stop" if stopped else "caution", words, "molding", "limit assumed")


def _core_time(found: Found) -> str:
    """How long the middle one of all samples stays too hot inside."""
    core = float(np.median(found.window.cooling_core))
    if not math.isfinite(core):
        return "never falls below its steam onset in a mold this warm"
    time = f"{core / 60:.0f} min" if core < 7200.0 else f"{core / 3600:.0f} h"
    return f"stays above its steam onset for about {time}"


def shot_remarks(setup: Setup, found: Found) -> Iterator[Remark]:
    """Whether the charge fits the barrel, and whether the clamp holds against it.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    found : Found
        The window that is advised. [-]

    Yields
    ------
    Remark
        ``shot-size`` and ``flash``, each a stop in nearly every case.
    """
    if not setup.geometry.given:
        return
    stopped = stops(setup, found.window)
    if found.shot.barrel_fill is not None:
        yield from _barrel_fill(setup, found, "shot-size" in stopped)
    yield from _flash(setup, found, "flash" in stopped)


def _flash(setup: Setup, found: Found, stopped: bool) -> Iterator[Remark]:
    clamp, needed = setup.bench.job.press.clamp, found.shot.clamp_needed
    if clamp is None:
        return
    opens = share(needed > clamp)
    window = found.window
    push = best_push(
        setup, window.state, window.barrel_stage, (window.barrel.best, window.barrel.soak)
    )
    if push is None or (opens < SOME and not stopped):
        return
    holds = f"it needs {spelled(needed, 'kN', 1e-3)}, the clamp holds {clamp / 1e3:g} kN"
    if stopped:
        words = (
            "No push fills this part and leaves the mold shut: even the best one,"
            f" {push.force / 1e3:.2g} kN on the ram, fails in {in_words(push.fails)}. At full"
            f" packing {holds}. A stronger clamp, fewer cavities or a part that fills easier."
        )
    else:
        words = (
            f"Full packing may open the mold ({in_words(opens)}): {holds}. Push with about"
            f" {push.force / 1e3:.2g} kN on the ram: that fills and keeps it shut in"
            f" {in_words(push.works)}."
        )
    yield Remark(
        "flash",
        "stop" if stopped else "caution",
        words,
        "shot",
        "pressure in the cavity assumed 30 to 80 % of that at the melt",
    )


def _barrel_fill(setup: Setup, found: Found, stopped: bool) -> Iterator[Remark]:
    """Whether the charge fits: as melt, and before that as loose pellets."""
    low, high = (setup.bench.typical("press", f"barrel_fill_{end}") for end in ("low", "high"))
    fill = float(np.median(found.shot.barrel_fill))
    if share(found.shot.barrel_fill > 1.0) >= MANY:
        words = (
            f"The charge does not fit: as melt it takes {100 * fill:.0f} % of the barrel. It cannot"
            f" be done in one load, {math.ceil(fill)} would be needed, and refilling onto a hot"
            " charge spits. A smaller part or fewer cavities, or a larger barrel."
        )
        yield Remark("shot-size", "stop" if stopped else "caution", words, "shot", _PRACTICE)
    elif share(found.shot.barrel_fill > high) >= MANY:
        words = f"The shot is large for this barrel, {100 * fill:.0f} % of it: up to 80 % is usual."
        yield Remark("shot-size", "caution", words, "shot", _PRACTICE)
    elif share(found.shot.barrel_fill < low) >= MANY:
        words = f"The shot is small for this barrel, {100 * fill:.0f} % of it: over 20 % is usual."
        yield Remark("shot-size", "info", words, "shot", _PRACTICE)
