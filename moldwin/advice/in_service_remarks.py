"""Remarks on the part in service: the worst place for each thing that can go wrong."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from moldwin.advice.blend_remarks import blend_remarks
from moldwin.advice.sharing import SOME
from moldwin.advice.situation import Found
from moldwin.base.percentiles import in_words, share
from moldwin.base.ranges import Range
from moldwin.base.remarks import Remark, weightiest_first
from moldwin.stages.in_use import PartThere
from moldwin.stages.softening import ICE_FROM
from moldwin.window.windows import Setup

__all__ = ["PLACES", "service_remarks"]

#: Places in the words of a sentence.
PLACES = {
    "dry-cold": "in the driest, coldest air",
    "now": "in your room",
    "damp-warm": "in the dampest, warmest air",
}
#: Remarks on the blend itself that bear on the part's life; the others are of the press.
_OF_THE_PART = (
    "antiplasticization",
    "crosslinked",
    "not-polysaccharide",
    "phase-separation",
    "unmeasured-material",
)
_ISOTHERM_T = Range(263.15, 333.15, "K", "isotherms moved at most 35 K")

#: Margin, code, what is said, where the limit comes from.
_LIMITS = (
    (
        "brittle-later",
        "brittle",
        "the part may be brittle",
        "40 to 100 K below the glass transition (assumed); Shogren 1992: embrittles below it",
    ),
    ("sticky", "sticky", "the part may get sticky", "35 to 85 K above the transition (assumed)"),
    ("soft-part", "sticky", "the part may get too soft to keep its shape", "limit assumed"),
    (
        "mold-growth",
        "mold-growth",
        "mold can grow on the part",
        "water activity 0.65 to 0.80, assumed; storage at 0.65 is safe (Abdullah 2000, read)",
    ),
)


def service_remarks(setup: Setup, chosen: Found, parts: list[PartThere]) -> list[Remark]:
    """Everything worth saying about the part's life, the weightiest first."""
    said = [r for r in blend_remarks(setup, chosen) if r.code in _OF_THE_PART]
    said += [*_limits(parts), *_extrapolated(setup, parts)]
    return weightiest_first(said)


def _limits(parts: list[PartThere]) -> Iterator[Remark]:
    for name, code, words, source in _LIMITS:
        broken = [share(part.margins[name] <= 0.0) for part in parts]
        worst = int(np.argmax(broken))
        if broken[worst] < SOME:
            continue
        place = parts[worst].place
        humidity, t = 100.0 * np.median(place.humidity), np.median(place.t) - 273.15
        where = f"{PLACES[place.name]} ({humidity:.0f} %, {t:.0f} °C)"
        message = f"{where[:1].upper()}{where[1:]} {words} ({in_words(broken[worst])})."
        yield Remark(code, "caution", message, "service", source)


def _extrapolated(setup: Setup, parts: list[PartThere]) -> Iterator[Remark]:
    blend = setup.material.blend
    checks: tuple[tuple[Any, str, str], ...] = (
        (
            lambda part: blend.water_in_phase(part.w_water) > ICE_FROM,
            "more water than the glass transition law reaches",
            "Slade & Levine (read)",
        ),
        (
            lambda part: _ISOTHERM_T.outside(part.place.t),
            "colder or warmer than the isotherms are moved",
            _ISOTHERM_T.source,
        ),
        (
            lambda part: part.place.t < 273.15,
            "frost: what ice does to it is not reckoned with",
            "no law here",
        ),
    )
    for outside, words, source in checks:
        for part in parts:
            found = share(outside(part))
            if found > SOME:
                where = PLACES[part.place.name]
                message = f"Extrapolated {where} ({in_words(found)}): {words}."
                yield Remark("extrapolated", "info", message, "service", source)
