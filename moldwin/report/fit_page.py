"""A fit as text and as data: each number before and after, and what the trials leave open."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from moldwin.base.percentiles import Triple
from moldwin.inputs.card_keys import BENCH_KEYS, MATERIAL_KEYS
from moldwin.inputs.cards import Card
from moldwin.learn.fitting import Fit, FittedCard, Learnt
from moldwin.report.lesson_page import doubt
from moldwin.report.numbers import interval, percent
from moldwin.report.page import Page
from moldwin.report.words import first_up, unknown_words

__all__ = ["fit_data", "fit_page"]

SCHEMA = "moldwin.fit/1"
_ZERO_C = 273.15
_MOST_NUMBERS, _MOST_ODD = 12, 8
#: What most numbers are learned from; only another origin is named beside one.
_BY_TRIALS = "trials"
_WHAT = {
    "fill": "how far it filled",
    "color": "its color",
    "bubbles": "its bubbles",
    "stuck": "that it stuck, or did not",
    "cracked": "that it cracked, or did not",
    "warped": "that it warped, or did not",
    "lumps": "that it shows lumps, or does not",
    "bend": "how far it bent",
}
#: Units of a card in those of a kitchen.
_KITCHEN = {
    "kg/kg": (100.0, "%"),
    "J/mol": (1e-3, "kJ/mol"),
    "Pa": (1e-6, "MPa"),
    "Pa.s": (1.0, "Pa s"),
    "kg/m3": (1e-3, "g/cm³"),
    "m2/s": (1e6, "mm²/s"),
    "m": (1e3, "mm"),
}
#: The two ways' means lie further apart than chance would have it, by this much (judgment).
_DISAGREE = 6.0
#: Fewer independent samples than this leave the ends of an interval to chance (judgment).
_FEW_SAMPLES = 60.0
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
    page.heading(f"What {_data(fit, book)} say about this material")
    doubt(page, fit.jar, "pellets and jar")
    for note in fit.doubts:
        page.paragraph(f"{first_up(note)}.", strong="Caution:")
    for note in () if fit.isotherm is None else fit.isotherm.notes:
        page.paragraph(f"{first_up(note)}.", strong="Isotherm:")
    before, after = (_moved(t, -_ZERO_C) for t in fit.tg)
    words = f"{interval(after, '°C')}, before {interval(before, '°C')}"
    page.paragraph(f"Glass transition as the job has it: {words}.")
    if fit.native is not None:
        had, now = (interval(_scaled(t, 100.0), "g") for t in fit.native)
        words = f"{now} of glycerol per 100 g of it dry, before {had}"
        page.paragraph(f"Plasticizer that the seaweed brings along counts like {words}.")
    for card in fit.cards:
        if not card.of_bench:
            _card(page, card)
    if not fit.cards:
        page.paragraph("They change no number of its cards.")
    _bench(page, [card for card in fit.cards if card.of_bench])
    _open(page, fit)
    _odd(page, fit)
    _sure(page, fit)
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
        "data": fit.data,
        "tg_c": {"before": before, "after": after},
        "glycerol_equivalent_g_per_100g_dry": None
        if fit.native is None
        else dict(
            zip(("before", "after"), (_scaled(t, 100.0).to_dict() for t in fit.native), strict=True)
        ),
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
        "doubts": list(fit.doubts),
        "untouched": list(fit.untouched),
        "not_kept": list(fit.not_kept),
        "contradictions": [
            {"trial": odd.number, "what": odd.what, "chance_of_slip": odd.chance} for odd in fit.odd
        ],
        "isotherm": None
        if fit.isotherm is None
        else {
            "card": fit.isotherm.card.name,
            "points": len(fit.isotherm.used),
            "left_out": len(fit.isotherm.left_out),
            "notes": list(fit.isotherm.notes),
        },
        "jar": None if fit.jar is None else fit.jar.to_dict(),
        "check": None
        if fit.posterior is None
        else {
            "effective_samples": fit.posterior.effective,
            "samples": fit.posterior.draws.count,
            "effective_by_weights": fit.posterior.weighed,
            "disagreement": fit.posterior.disagreement,
            "shown_from_sd": fit.posterior.shown_from(_DISAGREE),
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
        "from": learnt.data,
    }


def _data(fit: Fit, book: str) -> str:
    """What was used, the trials with their book."""
    count = f"{len(fit.used)} trial" + "s" * (len(fit.used) != 1)
    return fit.data.replace(count, f"{count} in {book}", 1) if fit.used else fit.data


def _card(page: Page, one: FittedCard) -> None:
    lot = f", lot {one.lot}" if one.lot else ""
    page.heading(f"{one.card.title}{lot}")
    _numbers(page, one, one.learnt)


def _bench(page: Page, cards: Sequence[FittedCard]) -> None:
    """Of press and bench only what was learned: the rest is kept for how it hangs together."""
    told = [
        (card, [learnt for learnt in card.learnt if learnt.narrowed and _tells(learnt)])
        for card in cards
    ]
    told = [(card, learnt) for card, learnt in told if learnt]
    if not told:
        return
    page.heading("YOUR PRESS AND BENCH")
    for card, learnt in told:
        _numbers(page, card, learnt)


def _numbers(page: Page, one: FittedCard, numbers: Sequence[Learnt]) -> None:
    """What was learned; the rest is in the card for how it hangs together with that."""
    told = [learnt for learnt in numbers if _tells(learnt)]
    told = sorted(told, key=lambda learnt: learnt.ratio)[:_MOST_NUMBERS]
    for learnt in told:
        now, was = _shown(learnt)
        kept = "" if learnt.narrowed else "; moved, hardly narrowed"
        origin = "" if learnt.data == _BY_TRIALS else f" [{learnt.data}]"
        words = f"{now}, before {was}{kept}{origin}"
        page.paragraph(f"{_named(one.card, learnt.key)}: {words}", lead=" - ")
    rest = len(numbers) - len(told)
    if rest:
        page.paragraph(f"{rest} {'more ' if told else ''}changed a little (--json).", lead=" - ")


def _tells(learnt: Learnt) -> bool:
    """Whether a reader sees a difference: at the digits told, some are the same as before.

    Whoever gave a table is told all the same what it says.
    """
    now, was = _shown(learnt)
    seen = now != was or learnt.data != _BY_TRIALS
    return (learnt.narrowed or learnt.moved) and seen


def _shown(learnt: Learnt) -> tuple[str, str]:
    """After and before, in the units of a kitchen."""
    after, before, unit = learnt.after, learnt.before, learnt.unit
    if learnt.key in _TEMPERATURES:
        after, before, unit = _moved(after, -_ZERO_C), _moved(before, -_ZERO_C), "°C"
    elif unit in _KITCHEN:
        times, unit = _KITCHEN[unit]
        after, before = _scaled(after, times), _scaled(before, times)
    unit = "" if unit == "1" else unit
    return interval(after, unit).replace("  ", " "), interval(before, unit).replace("  ", " ")


def _named(card: Card, key: str) -> str:
    """A number in plain words; its key stands behind them, to find it in the card."""
    keys = BENCH_KEYS.get(card.name, MATERIAL_KEYS)
    part = key.removeprefix("composition.")
    what = keys[key].what if key in keys else f"share of {part.replace('_', ' ')} when dry"
    return f"{unknown_words(f'{card.name}.{key}') or what} ({key})"


def _full_name(name: str) -> str:
    """A column of the draws in plain words, with the card it belongs to.

    Examples
    --------
    >>> _full_name("brown-seaweed-powder@june.flow_water")
    'how much water thins it (brown-seaweed-powder, lot june: flow_water)'
    >>> _full_name("corn-starch.moisture = 0.125")
    'the true moisture (corn-starch: moisture)'
    """
    name = name.partition(" = ")[0]  # a moisture's column holds its likely value too
    card, _, key = name.partition(".")
    words = unknown_words(name)
    if not words:
        for keys in (BENCH_KEYS.get(card, {}), MATERIAL_KEYS):
            words = words or (keys[key].what if key in keys else "")
    return f"{words or key.replace('_', ' ')} ({card.replace('@', ', lot ')}: {key})"


def _open(page: Page, fit: Fit) -> None:
    page.heading("NOT TOLD BY THESE DATA")
    if fit.untouched:
        names = "; ".join(_full_name(name) for name in fit.untouched)
        page.paragraph(f"As unknown as before: {names}.", lead=" - ")
    if fit.not_kept:
        names = "; ".join(_full_name(name) for name in fit.not_kept)
        words = f"They tell something of this job alone, which no card keeps: {names}"
        page.paragraph(f"{words}.", lead=" - ")
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


def _sure(page: Page, fit: Fit) -> None:
    """Where the two ways disagree, or few samples are left, the intervals cannot be trusted."""
    found = fit.posterior
    if found is None:
        return
    if found.effective < _FEW_SAMPLES:
        page.paragraph(
            f"These intervals rest on {found.effective:.0f} independent samples: take them as "
            "rougher than they look.",
            strong="Caution:",
        )
    if found.disagreement > _DISAGREE:
        page.paragraph(
            "A second way to the same numbers comes out elsewhere: take them as rougher than they "
            "look, and try another --seed.",
            strong="Caution:",
        )
        return
    page.paragraph(
        f"These intervals rest on about {_tens(found.effective)} independent samples. A check by "
        f"weights does not contradict them; it would show a middle that is off by "
        f"{found.shown_from(_DISAGREE):.1g} of its standard deviations, no less."
    )


def _tens(samples: float) -> str:
    return f"{10.0 * max(round(samples / 10.0), 1):.0f}"


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
