"""Makers at the blind press, and makers who follow a rule there; counted as at the second press."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from tests.blind_press.hidden import Truth, truths
from tests.blind_press.press import REASONS, ample_charge_g, shoot
from tests.second_press.known import Known
from tests.second_press.press import Settings, good
from tests.second_press.report import Press, Rivals
from tests.second_press.trial import grid, overnight

#: Rivals wait this long before they open: more than any of these parts needs.
_LONG_COOLING_S = 120.0
_AT_ONCE = 3000


def rivals(known: Known, truth: Truth) -> Rivals:
    """Who succeeds with each setting of the grid, and by drying overnight."""
    return Rivals(table=_tried(known, truth, grid()), overnight=_tried(known, truth, overnight()))


def _tried(known: Known, truth: Truth, settings: Sequence[tuple[float, ...]]) -> Any:
    """Success of every maker with every setting, shape (settings, makers).

    Shots are pressed a few thousand at a time, which is quickest.
    """
    rows = np.repeat(np.array(settings), len(known), axis=0)
    who = np.tile(np.arange(len(known)), len(settings))
    pieces = np.array_split(np.arange(len(who)), max(1, len(who) // _AT_ONCE))
    won = [_pressed(known.take(who[p]), truth.take(who[p]), rows[p]) for p in pieces]
    return np.concatenate(won).reshape(len(settings), len(known))


def _pressed(known: Known, truth: Truth, rows: Any) -> Any:
    moisture, barrel, soak, mold = rows.T
    settings = Settings(
        moisture_pct=moisture,
        conditioned=np.full(len(known), True),
        barrel_c=barrel,
        soak_s=soak,
        mold_c=mold,
        cooling_s=np.full(len(known), _LONG_COOLING_S),
        charge_g=ample_charge_g(known, truth),
    )
    return good(shoot(known, truth, settings), REASONS)


BLIND = Press(truths=truths, shoot=shoot, rivals=rivals, reasons=REASONS)
