"""Browning of a blend: each polymer has its own clock, and acid makes all of them run faster."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from moldwin.inputs.cards import Card
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend

__all__ = ["acid_speedup", "browned"]

#: Acid of the dry mass from which its whole effect on browning counts (assumed). [kg/kg]
_FULL_ACID = 0.005
#: A polymer that is this share of all of them colors the whole; less of it colors less (assumed).
_COLORS_ALL = 0.25


def browned(bench: Bench, blend: Blend, used: Callable[[Any, Any], Any]) -> Any:
    """Share of the browning clock that some heat uses up; 1 is spoiled.

    Parameters
    ----------
    bench, blend
        The job, dry shares. [-]
    used : callable
        What the heat uses of one clock, given its limit at 150 °C [s] and its activation energy
        [J/mol]; any shape that ends in (s,). [-]

    Returns
    -------
    array
        As ``used`` returns. The first clock to run out spoils the part. [-]
    """
    total = np.maximum(blend.polymer, 1e-12)
    dose: Any = 0.0
    for card, share in _shares(blend):
        colors = np.minimum(share / total / _COLORS_ALL, 1.0)
        limit, energy = (bench.of(card, f"browning_{key}") for key in ("limit", "activation"))
        dose = np.maximum(dose, colors * used(limit, energy))
    return dose * acid_speedup(bench, blend)


def acid_speedup(bench: Bench, blend: Blend) -> Any:
    """How many times faster the blend browns for the acid in it, shape (s,) or 1. [-]"""
    factor: Any = 1.0
    for name in ("citric-acid", "vinegar"):
        if name in blend.additives:
            whole = bench.of(bench.library.card(name), "browning_speedup", 1.0)
            factor = factor * whole ** np.minimum(blend.additives[name] / _FULL_ACID, 1.0)
    return factor


def _shares(blend: Blend) -> list[tuple[Card, Any]]:
    """Each polymer once, however many lots or rows of it there are, and its dry share."""
    found: dict[str, tuple[Card, Any]] = {}
    for entry in blend.polymers:
        card, share = found.get(entry.card.name, (entry.card, 0.0))
        found[entry.card.name] = (card, share + entry.share)
    return list(found.values())
