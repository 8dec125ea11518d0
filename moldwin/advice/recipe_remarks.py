"""Remarks on a pot: heat and water for the starch, what boils off, and the blend itself."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from moldwin.advice.blend_remarks import blend_remarks
from moldwin.advice.sharing import PRACTICE, SOME
from moldwin.advice.situation import Found
from moldwin.base.percentiles import in_words, share
from moldwin.base.remarks import Remark, weightiest_first
from moldwin.stages.pot import Cooking, Pot
from moldwin.window.windows import Setup

__all__ = ["recipe_remarks"]

#: Granules that a sample leaves unmelted before it counts as not cooked (assumed). [-]
_LEFT = 0.05
#: The pot is nearly dry when less than this of its water is left (assumed). [-]
_NEARLY_DRY = 0.3


def recipe_remarks(
    setup: Setup, found: Found, pot: Pot, cooking: Cooking | None, parts: Any | None
) -> list[Remark]:
    """Everything worth saying about one pot, stops first.

    Parameters
    ----------
    setup, found
        The job, and its window at the moisture to mold at. [-]
    pot : Pot
        The batch. [SI]
    cooking : Cooking or None
        How its starch cooks; None where nothing is cooked. [SI]
    parts : array or None, shape (s,)
        Parts that come out, if the job describes one. [-]

    Returns
    -------
    list of Remark
        Those on the blend are the ones that every answer has. [-]
    """
    said = list(blend_remarks(setup, found))
    if cooking is not None:
        said.extend(_cooking(pot, cooking))
    if parts is not None and share(parts < 1) >= SOME:
        said.append(
            Remark(
                "shot-size",
                "caution",
                f"The batch may not be enough for one shot ({in_words(share(parts < 1))}).",
                "recipe",
                "mass balance",
            )
        )
    return weightiest_first(said)


def _cooking(pot: Pot, cooking: Cooking) -> Iterator[Remark]:
    if cooking.onset is not None:
        onset, end = (np.median(t) - 273.15 for t in (cooking.onset, cooking.end))
        cold = share(cooking.by_heat < 1.0 - _LEFT)
        if cold >= SOME:
            yield Remark(
                "granules-unmelted",
                "caution",
                f"At {np.median(cooking.t) - 273.15:.0f} °C granules may stay uncooked"
                f" ({in_words(cold)}): this starch starts near"
                f" {onset:.0f} °C and needs about {end:.0f} °C to be done.",
                "recipe",
                "potato: Donovan 1979 (read); rice: 11 varieties (read); the others from memory",
            )
        dry = share(cooking.by_water < 1.0 - _LEFT)
        if dry >= SOME:
            yield Remark(
                "granules-unmelted",
                "caution",
                f"Too little water for the starch ({in_words(dry)}):"
                f" {np.median(cooking.at_hand):.1f} g per g of what drinks, 1.5 would do; add about"
                f" {1e3 * np.median(cooking.lean):.0f} g.",
                "recipe",
                "whole at 1.5 g water per g (J. Food Sci. 1990, read); fiber drinks too (assumed)",
            )
    left = 1.0 - pot.evaporated / np.maximum(pot.water, 1e-12)
    boiled = share(left < _NEARLY_DRY)
    if boiled >= SOME:
        yield Remark(
            "degradation",
            "caution",
            f"The pot may boil dry and burn ({in_words(boiled)}): lid on, or more water; keep some"
            " hot by it.",
            "recipe",
            f"evaporation from an open pot (assumed, wide); {PRACTICE}",
        )
