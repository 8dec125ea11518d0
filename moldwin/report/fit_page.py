"""A fit as text and as data: each number before and after, and what the trials leave open."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from moldwin.base.percentiles import Triple
from moldwin.learn.fitting import Fit, FittedCard, Learnt
from moldwin.report.numbers import interval, percent
from moldwin.report.page import Page
from moldwin.report.words import unknown_words

__all__ = ["fit_data", "fit_page"]

SCHEMA = "moldwin.fit/1"
_ZERO_C = 273.15
_MOST_NUMBERS, _MOST_ODD = 12, 8
_WHAT = {
    "fill": "how far it filled",
    "color": "its color",
    "bubbles": "its bubbles",
    "stuck": "that it stuck, or did not",
    "cracked": "that it cracked, or did not",
    "bend": "how far it bent",
}
_TEMPERATURES = ("tg_dry", "scorch_t", "fume_t", "melting_dry")


def fit_page(fit: Fit, book: str, written: Sequence[str] = (), width: int | None = None) -> str:
    """What the trials say, as text.

    Parameters
    ----------
    fit : Fit
        What was learned. [SI]
    book : str
        The book as the user named it. [-]
    written : sequence of str
        Files that keep it; empty where nothing was written. [-]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        The page. [-]
    """
    page = Page(width)
    count = f"{len(fit.used)} trial" + ("s" if len(fit.used) != 1 else "")
    page.heading(f"What {count} in {book} say about this material")
    before, after = (_moved(t, -_ZERO_C) for t in fit.tg)
    words = f"{interval(after, '°C')}, before {interval(before, '°C')}"
    page.paragraph(f"Glass transition as the job has it: {words}.")
    for card in fit.cards:
        _card(page, card)
    if not fit.cards:
        page.paragraph("They change no number of its cards.")
    _open(page, fit)
    _odd(page, fit)
    _kept(page, written)
    return page.text()


def fit_data(fit: Fit, book: str, written: Sequence[str] = ()) -> dict[str, Any]:
    """What the trials say, as data.

    Parameters
    ----------
    fit : Fit
        What was learned. [SI]
    book : str
        The book as the user named it. [-]
    written : sequence of str
        Files that keep it. [-]

    Returns
    -------
    dict
        The object that ``moldwin fit --json`` prints; numbers of cards in the cards' units.
    """
    before, after = (_moved(t, -_ZERO_C).to_dict() for t in fit.tg)
    return {
        "schema": SCHEMA,
        "book": book,
        "trials": list(fit.used),
        "left_out": list(fit.left_out),
        "tg_c": {"before": before, "after": after},
        "cards": [
            {
                "card": one.card.name,
                "lot": one.lot,
                "learned": [_number(learnt) for learnt in one.learnt],
                "correlation": None
                if one.group is None
                else {
                    "members": list(one.group.members),
                    "matrix": [list(row) for row in one.group.correlation],
                },
            }
            for one in fit.cards
        ],
        "untouched": list(fit.untouched),
        "not_kept": list(fit.not_kept),
        "contradictions": [
            {"trial": odd.number, "what": odd.what, "chance_of_slip": odd.chance} for odd in fit.odd
        ],
        "check": {
            "effective_samples": fit.posterior.effective,
            "disagreement": fit.posterior.disagreement,
            "rounds": fit.posterior.rounds,
        },
        "written": list(written),
    }


def _number(learnt: Learnt) -> dict[str, Any]:
    return {
        "key": learnt.key,
        "unit": learnt.unit,
        "before": learnt.before.to_dict(),
        "after": learnt.after.to_dict(),
        "spread_ratio": learnt.ratio,
    }


def _card(page: Page, one: FittedCard) -> None:
    lot = f", lot {one.lot}" if one.lot else ""
    page.heading(f"{one.card.title}{lot}")
    told = sorted(one.learnt, key=lambda learnt: learnt.ratio)
    for learnt in told[:_MOST_NUMBERS]:
        now, was = _shown(learnt)
        kept = "" if learnt.narrowed else "; moved, hardly narrowed"
        page.paragraph(f"{_named(learnt.key)}: {now}, before {was}{kept}", lead=" - ")
    if len(told) > _MOST_NUMBERS:
        page.paragraph(f"{len(told) - _MOST_NUMBERS} more changed a little (--json).", lead=" - ")


def _shown(learnt: Learnt) -> tuple[str, str]:
    """After and before, in the units of a kitchen."""
    after, before, unit = learnt.after, learnt.before, learnt.unit
    if learnt.key in _TEMPERATURES:
        after, before, unit = _moved(after, -_ZERO_C), _moved(before, -_ZERO_C), "°C"
    elif unit == "kg/kg":
        after, before, unit = _scaled(after, 100.0), _scaled(before, 100.0), "%"
    elif unit == "J/mol":
        after, before, unit = _scaled(after, 1e-3), _scaled(before, 1e-3), "kJ/mol"
    elif unit == "Pa":
        after, before, unit = _scaled(after, 1e-6), _scaled(before, 1e-6), "MPa"
    unit = "" if unit == "1" else unit
    return interval(after, unit).replace("  ", " "), interval(before, unit).replace("  ", " ")


def _named(key: str) -> str:
    words = unknown_words(f"card.{key}")
    return f"{words} ({key})" if words else key


def _open(page: Page, fit: Fit) -> None:
    page.heading("NOT TOLD BY THESE TRIALS")
    if fit.untouched:
        names = ", ".join(fit.untouched)
        page.paragraph(f"As unknown as before: {names}.", lead=" - ")
    if fit.not_kept:
        names = ", ".join(fit.not_kept)
        words = f"Of press and bench they tell something too ({names}); a card of a material does"
        page.paragraph(f"{words} not keep that, but allows for it.", lead=" - ")
    if fit.left_out:
        names = ", ".join(map(str, fit.left_out))
        page.paragraph(
            f"Not used, barrel or soak not noted, or nothing seen: trial {names}.", lead=" - "
        )
    if not (fit.untouched or fit.not_kept or fit.left_out):
        page.paragraph("Nothing that was asked.", lead=" - ")


def _odd(page: Page, fit: Fit) -> None:
    if not fit.odd:
        return
    page.heading("DOES NOT FIT THE REST")
    for odd in fit.odd[:_MOST_ODD]:
        chance = percent(odd.chance)
        words = f"Trial {odd.number}: {_WHAT[odd.what]}. A slip, or another cause, at {chance}"
        page.paragraph(f"{words}; it counts for little.", lead=" - ")
    if len(fit.odd) > _MOST_ODD:
        page.paragraph(f"{len(fit.odd) - _MOST_ODD} more (--json).", lead=" - ")


def _kept(page: Page, written: Sequence[str]) -> None:
    page.gap()
    if written:
        page.paragraph(f"Kept in {', '.join(written)}; `moldwin advise` uses it from now on.")
    else:
        page.paragraph("Nothing was written; --write keeps it in cards/ beside the job.")


def _moved(t: Triple, by: float) -> Triple:
    return Triple(t.low + by, t.likely + by, t.high + by)


def _scaled(t: Triple, by: float) -> Triple:
    return Triple(*(v * by if math.isfinite(v) else v for v in (t.low, t.likely, t.high)))
