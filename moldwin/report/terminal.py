"""The one page of answer: what to do, what limits it, what to measure next, what to beware of."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from typing import Any

from moldwin.advice.answer import Advice, BarrelLimit, MoistureLimit
from moldwin.base.percentiles import in_words
from moldwin.base.remarks import weightiest_first
from moldwin.report.numbers import duration, interval, of_samples, percent
from moldwin.report.page import Page, together
from moldwin.report.soak_page import soak_section
from moldwin.report.steps_page import at_moisture, moisture_words, shown, steps_section
from moldwin.report.words import SEVERITY_WORDS, first_up, job_heading, limit_words, unknown_words

__all__ = ["advice_page"]

_MOST_LIMITS, _MOST_MEASUREMENTS, _MOST_UNKNOWNS = 4, 2, 3
_STYLES = {"stop": "bold red", "caution": "bold", "info": ""}
#: A limit broken less often than this is not worth a line.
_RARE = 0.02
#: An interval this wide tells nothing. [K]
_HARDLY_KNOWN = 150.0
#: Said by the steps already.
_IN_THE_STEPS = ("held-too-long",)
#: Statuses of numbers that nobody measured or published.
_NOT_MEASURED = ("assumed", "memory")


def advice_page(advice: Advice, job: str | None = None, width: int | None = None) -> str:
    """The answer as one screen of text.

    Parameters
    ----------
    advice : Advice
        The answer. [-]
    job : str, optional
        The job file as the user named it, for the commands the page suggests. [-]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        The page. [-]
    """
    page = Page(width)
    _title(page, advice)
    steps_section(page, advice, job)
    soak_section(page, advice)
    _what_limits(page, advice)
    _measure_next(page, advice)
    _warnings(page, advice)
    _last_line(page, advice, job)
    return page.text()


def _title(page: Page, advice: Advice) -> None:
    page.heading(job_heading(advice.job, advice.bundled))
    if advice.bundled:
        page.paragraph(advice.job)
    now = moisture_words(advice.moisture.now_pct)
    tg = advice.now.tg_c
    if _another_material(advice):  # its transition would be that of starch
        page.paragraph(f"As it is now: {now} water.")
        return
    words = interval(tg, "°C", most=1).replace(")", ", 9 times in 10)")
    page.paragraph(f"As it is now: {now} water, glass transition {words}.")
    if advice.learned is not None:
        page.paragraph(_learned(advice.learned))


def _learned(learned: Any) -> str:
    """What the trials have changed, in one sentence."""
    now = _window(learned.low_c, learned.high_c, learned.chance)
    before = _window(learned.before_low_c, learned.before_high_c, learned.before_chance)
    link = "after" if learned.effect in ("Still closed", "Unchanged") else "by"
    return f"{learned.effect} {link} {learned.by}: barrel {now} (before: {before})."


def _window(low: float | None, high: float | None, chance: float) -> str:
    if low is None or high is None:
        return f"closed, best chance {of_samples(chance)}"
    return f"{low:.0f} to {high:.0f} °C"


def _another_material(advice: Advice) -> bool:
    return any(w.code == "not-polysaccharide" and w.severity == "stop" for w in advice.warnings)


# ---------------------------------------------------------------- what limits it


def _what_limits(page: Page, advice: Advice) -> None:
    if _another_material(advice):
        return
    best = shown(advice).barrel.best_c
    water = f",{at_moisture(advice)}" if at_moisture(advice) else ""
    where = "" if best is None else f", and how often at {best:.0f} °C"
    page.heading(f"WHAT LIMITS IT{water}{where}")
    barrel = [
        (limit.broken_share, _barrel_limit(limit.side, limit.temperature_c, limit.name))
        for limit in shown(advice).barrel.limits
    ]
    moisture = [(limit.broken_share, _moisture_limit(limit)) for limit in advice.moisture.limits]
    often = [row for row in barrel + moisture if row[0] >= _RARE]
    often.sort(key=lambda row: -row[0])
    told = often[:_MOST_LIMITS]
    if not any(row in barrel for row in told):  # the ends of the window all the same
        told += _first_met(shown(advice).barrel.limits)
    for share, words in told:
        page.paragraph(f"{words}: {in_words(share)}.", lead=" - ")
    if not told:
        page.paragraph("No limit is broken in as many as 2 of 100 cases.", lead=" - ")


def _first_met(limits: Sequence[BarrelLimit]) -> list[tuple[float, str]]:
    """On either side the barrel limit that is met first on the way out of the window."""
    found = []
    for side, first in (("low", max), ("high", min)):
        met = [limit for limit in limits if limit.side == side and limit.temperature_c is not None]
        if met:
            limit = first(met, key=lambda one: float(one.temperature_c or 0.0))
            words = _barrel_limit(limit.side, limit.temperature_c, limit.name)
            found.append((limit.broken_share, words))
    return found


def _barrel_limit(side: str, temperature: float | None, name: str) -> str:
    if temperature is None:
        return first_up(limit_words(name))
    where = "Below" if side == "low" else "Above"
    return f"{where} about {temperature:.0f} °C {limit_words(name)}"


def _moisture_limit(limit: MoistureLimit) -> str:
    if limit.moisture_pct is None:
        return first_up(limit_words(limit.name))
    where = "Below" if limit.side == "low" else "Above"
    return f"{where} about {limit.moisture_pct:.0f} % water {limit_words(limit.name)}"


# ------------------------------------------------- measure next, warnings, sources


def _measure_next(page: Page, advice: Advice) -> None:
    if not advice.measure_next:
        return
    page.heading("MEASURE NEXT")
    width = advice.measure_next[0].width_now
    known = (
        f"known within {width:.0f} °C, 9 times in 10" if width < _HARDLY_KNOWN else "hardly known"
    )
    page.paragraph(f"The best barrel temperature is {known}.{_unknown(advice)}")
    for row in advice.measure_next[:_MOST_MEASUREMENTS]:
        left = f", leaves {row.width_after:.0f} °C" if width < _HARDLY_KNOWN else ""
        page.paragraph(
            f"{first_up(row.what)} ({duration(60.0 * row.minutes)}{left}):"
            f" {row.how.strip().rstrip('.')}.",
            lead=" - ",
        )


def _unknown(advice: Advice) -> str:
    """What that is mostly for; nothing where no details were worked out."""
    details = advice.details
    named = [] if details is None else [(unknown_words(n), s) for n, s in details.unknowns]
    words = ", ".join(f"{name} {percent(s)}" for name, s in named[:_MOST_UNKNOWNS] if name)
    return f" Unknown mostly: {words}." if words else ""


def _warnings(page: Page, advice: Advice) -> None:
    warnings = [w for w in advice.warnings if w.code not in _IN_THE_STEPS and w.severity != "stop"]
    if not warnings:
        return
    page.heading("WARNINGS")
    for warning in weightiest_first(warnings):
        word = f"{SEVERITY_WORDS[warning.severity]}:"
        page.paragraph(warning.message, lead=" - ", strong=word, style=_STYLES[warning.severity])


def _last_line(page: Page, advice: Advice, job: str | None) -> None:
    numbers = [row for row in advice.assumptions if row.value is not None]
    count = sum(row.status in _NOT_MEASURED for row in numbers)
    file = "" if job is None else f"{shlex.quote(job)} "
    page.gap()
    page.paragraph(
        f"{count} of {len(numbers)} numbers behind this are assumed or from memory:"
        f" {together(f'moldwin advise {file}--json')} shows them all."
    )
