"""The one page of answer: what to do, what limits it, what to measure next, what to beware of."""

from __future__ import annotations

import shlex
from collections.abc import Mapping
from typing import Any

from moldwin.advice.answer import Advice, Barrel, MoistureLimit, Remedy, Situation
from moldwin.base.percentiles import Triple, in_words
from moldwin.base.remarks import weightiest_first
from moldwin.report.numbers import around, days, duration, interval, percent
from moldwin.report.page import Page, together
from moldwin.report.soak_page import soak_section
from moldwin.report.words import SEVERITY_WORDS, limit_words

__all__ = ["advice_page"]

_MOST_LIMITS = 4
_MOST_MEASUREMENTS = 3
_STYLES = {"stop": "bold red", "caution": "bold", "info": ""}
_MOST_REMEDIES = 4
#: A limit broken less often than this is not worth a line.
_RARE = 0.005
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
    _what_to_do(page, advice)
    soak_section(page, advice)
    _what_limits(page, advice)
    _measure_next(page, advice)
    _warnings(page, advice)
    _last_line(page, advice, job)
    return page.text()


def _shown(advice: Advice) -> Situation:
    """The situation the steps are about: after conditioning where that leads, else as it is."""
    if advice.conditioning_leads and advice.after_conditioning is not None:
        return advice.after_conditioning
    return advice.now


# ------------------------------------------------------------------------- title


def _title(page: Page, advice: Advice) -> None:
    if advice.bundled:
        page.heading("Bundled example, not your blend")
        page.paragraph(advice.job)
    else:
        page.heading(advice.job or "Your job")
    tg = interval(advice.now.tg_c, "°C", most=1)
    page.paragraph(
        f"As it is now: {_moisture(advice.moisture.now_pct)} water, glass transition {tg}."
    )


def _moisture(pct: float) -> str:
    return f"{pct:.1f}".removesuffix(".0") + " %"


# -------------------------------------------------------------------- what to do


def _what_to_do(page: Page, advice: Advice) -> None:
    page.heading("WHAT TO DO")
    steps = _Steps(page)
    shown = _shown(advice)
    if advice.conditioning_leads and advice.conditioning is not None:
        _condition(steps, advice, advice.conditioning)
    if not advice.heat:
        _do_not_heat(page, advice)
        return
    if not shown.barrel.open:
        _no_window(page, advice, shown.barrel)
    _heat(steps, advice, shown)
    _mold(steps, advice, shown)
    _cool(steps, advice, shown)
    _load(steps, advice, shown)
    _later(page, advice)


class _Steps:
    """Numbers the steps as they come."""

    def __init__(self, page: Page) -> None:
        self._page, self._number = page, 0

    def step(self, words: str) -> None:
        self._number += 1
        self._page.paragraph(words, lead=f"{self._number}. ")

    def more(self, words: str) -> None:
        self._page.paragraph(words, indent=3)


def _condition(steps: _Steps, advice: Advice, conditioning: Mapping[str, Any]) -> None:
    target = advice.moisture
    aim = around(
        target.target_low_pct, target.target_best_pct, target.target_high_pct, "% water", most=1
    )
    direction = "Dry" if target.target_best_pct < target.now_pct else "Dampen"
    steps.step(f"{direction} the pellets to {aim}.")
    steps.more(
        f"In a closed jar over {conditioning['source']}: "
        f"{conditioning['humidity_pct']:.0f} % humidity."
    )
    half, most = (_triple(conditioning[key]) for key in ("days_50", "days_90"))
    steps.more(f"Half way after {days(half)}; nine tenths after {days(most)}.")
    stop = _stop_mass(conditioning)
    if stop:
        steps.more(stop)


def _stop_mass(conditioning: Mapping[str, Any]) -> str:
    alone, with_tray = conditioning.get("stop_mass_g"), conditioning.get("stop_scale_g")
    if alone is None:
        return ""
    places = 1 if alone < 1000.0 else 0
    tray = "" if with_tray is None else f", {with_tray:.{places}f} g with their tray"
    return f"They are done when they weigh {alone:.{places}f} g{tray}."


def _triple(value: Any) -> Triple:
    """A triple from what the answer holds: the object or its plain form, null for no limit."""
    if isinstance(value, Triple):
        return value
    ends = (value["low"], value["likely"], value["high"])
    return Triple(*(float("inf") if end is None else end for end in ends))


def _no_window(page: Page, advice: Advice, barrel: Barrel) -> None:
    at = "" if barrel.best_c is None else f", at {barrel.best_c:.0f} °C"
    page.paragraph(
        f"No barrel temperature reaches the {percent(barrel.confidence)} asked for. "
        f"The best chance is {percent(barrel.chance)}{at}.",
    )
    if any(remedy.low_c is not None for remedy in advice.remedies):
        page.paragraph("What would open a window:")
    elif advice.remedies:
        page.paragraph("What would help, though not enough by itself:")
    _remedies(page, advice)
    page.paragraph("To try it as it is all the same:")


def _heat(steps: _Steps, advice: Advice, shown: Situation) -> None:
    barrel = shown.barrel
    then = "" if shown.soak_s is None else f" and soak {duration(shown.soak_s)}"
    if advice.settings is not None and advice.settings.hold_max_s is not None:
        then += f"; out of the heat within {duration(advice.settings.hold_max_s)}"
    steps.step(f"Heat the barrel to {_window(barrel)}{then}.")
    if barrel.open and barrel.best_c is not None:
        steps.more(
            f"Chance that barrel and filling go well: {percent(barrel.chance)} at"
            f" {barrel.best_c:.0f} °C, at least {percent(barrel.confidence)} in the range."
        )


def _window(barrel: Barrel) -> str:
    low, best, high = barrel.low_c, barrel.best_c, barrel.high_c
    if best is None:
        return "a temperature that cannot be said"
    if low is None or high is None:
        return f"{best:.0f} °C"
    return around(low, best, high, "°C", most=0)


def _mold(steps: _Steps, advice: Advice, shown: Situation) -> None:
    mold = shown.mold
    if mold.best_c is None:
        steps.step(f"Mold: {_unknown(advice, 'mold')}")
    elif mold.low_c is None or mold.high_c is None:
        steps.step(f"Warm the mold to {mold.best_c:.0f} °C; no range of it is safe enough.")
    else:
        window = around(mold.low_c, mold.best_c, mold.high_c, "°C", most=0)
        steps.step(f"Warm the mold to {window}.")


def _cool(steps: _Steps, advice: Advice, shown: Situation) -> None:
    cooling = shown.cooling_s
    if cooling is None:
        steps.step(f"Cooling: {_unknown(advice, 'cooling_s')}")
    else:
        steps.step(
            f"Hold the ram and cool for {duration(cooling)} before the mold opens: 9 times in 10"
            " the part is stiff and its core below the steam onset by then."
        )


def _load(steps: _Steps, advice: Advice, shown: Situation) -> None:
    shot = shown.shot
    if shot.charge_g is None:
        steps.step(f"Load: {_unknown(advice, 'shot')}")
        return
    fill = shot.barrel_fill_pct
    fills = "" if fill is None else f"; that fills {fill:.0f} % of the barrel"
    clamp = shot.clamp_needed_kn
    needs = (
        "" if clamp is None else f". The mold needs {interval(clamp, 'kN', most=1)} to stay shut"
    )
    steps.step(f"Load {interval(shot.charge_g, 'g')}{fills}{needs}.")


def _unknown(advice: Advice, key: str) -> str:
    """Why a number is missing, from the list of assumptions."""
    for row in advice.assumptions:
        if row.value is None and row.name in (key, f"{key}.best_c", f"{key}.charge_g"):
            return f"not known, {row.source.rstrip('.')}."
    return "not known from this job."


def _do_not_heat(page: Page, advice: Advice) -> None:
    barrel = _shown(advice).barrel
    page.paragraph("Do not heat this.", style="bold")
    stops = [warning for warning in advice.warnings if warning.severity == "stop"]
    if not stops:
        page.paragraph(
            f"The best chance at any barrel temperature is {percent(barrel.chance)}; "
            f"{percent(barrel.confidence)} was asked for."
        )
    if advice.remedies:
        page.paragraph("What would help:")
    _remedies(page, advice)


def _remedies(page: Page, advice: Advice) -> None:
    if not advice.remedies:
        page.paragraph("Nothing that was tried helps enough; the limits below say why.", indent=3)
    for remedy in advice.remedies[:_MOST_REMEDIES]:
        cost = f" ({remedy.cost} cost)"
        page.paragraph(f"{_sentence(_first_up(remedy.change))} {remedy.effect}{cost}", lead=" - ")
        page.line(_set_line(remedy), indent=3)


def _set_line(remedy: Remedy) -> str:
    """The options that make the change, ready to be pasted behind the command."""
    pairs = (f"{key}={_toml(value)}" for key, value in remedy.set.items())
    return " ".join(f"--set {shlex.quote(pair)}" for pair in pairs)


def _toml(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def _sentence(words: str) -> str:
    words = words.strip()
    return words if words.endswith((".", "!", "?", ":")) else words + ":"


def _later(page: Page, advice: Advice) -> None:
    """Conditioning where it helps a little, but is not worth waiting for."""
    after = advice.after_conditioning
    if advice.conditioning_leads or after is None:
        return
    gain = after.barrel.chance - advice.now.barrel.chance
    target = _moisture(advice.moisture.target_best_pct)
    if gain > 0.0:
        page.paragraph(
            f"At {target} water the chance would be {percent(after.barrel.chance)} instead of "
            f"{percent(advice.now.barrel.chance)}: little gain for the wait."
        )
    else:
        page.paragraph(
            f"The barrel likes this moisture; bag and part would rather have {target} water."
        )


# ---------------------------------------------------------------- what limits it


def _what_limits(page: Page, advice: Advice) -> None:
    best = _shown(advice).barrel.best_c
    where = "" if best is None else f", and how often at {best:.0f} °C"
    page.heading(f"WHAT LIMITS IT{where}")
    barrel = [
        (limit.broken_share, _barrel_limit(limit.side, limit.temperature_c, limit.name))
        for limit in _shown(advice).barrel.limits
    ]
    moisture = [(limit.broken_share, _moisture_limit(limit)) for limit in advice.moisture.limits]
    often = [row for row in barrel + moisture if row[0] >= _RARE]
    often.sort(key=lambda row: -row[0])
    for share, words in often[:_MOST_LIMITS]:
        page.paragraph(f"{words}: {in_words(share)}.", lead=" - ")
    if not often:
        page.paragraph("No limit is broken in more than 1 in 100 cases.", lead=" - ")


def _barrel_limit(side: str, temperature: float | None, name: str) -> str:
    if temperature is None:
        return _first_up(limit_words(name))
    where = "Below" if side == "low" else "Above"
    return f"{where} about {temperature:.0f} °C {limit_words(name)}"


def _moisture_limit(limit: MoistureLimit) -> str:
    if limit.moisture_pct is None:
        return _first_up(limit_words(limit.name))
    where = "Below" if limit.side == "low" else "Above"
    return f"{where} about {limit.moisture_pct:.0f} % water {limit_words(limit.name)}"


def _first_up(words: str) -> str:
    words = words.strip()
    return words[:1].upper() + words[1:]


# ------------------------------------------------- measure next, warnings, sources


def _measure_next(page: Page, advice: Advice) -> None:
    if not advice.measure_next:
        return
    page.heading("MEASURE NEXT")
    for row in advice.measure_next[:_MOST_MEASUREMENTS]:
        page.paragraph(
            f"{_sentence(_first_up(row.what))} {row.how.strip().rstrip('.')}. "
            f"About {duration(60.0 * row.minutes)}; narrows the answer from "
            f"{row.width_now:.0f} to {row.width_after:.0f} °C.",
            lead=" - ",
        )


def _warnings(page: Page, advice: Advice) -> None:
    if not advice.warnings:
        return
    page.heading("WARNINGS")
    for warning in weightiest_first(advice.warnings):
        word = f"{SEVERITY_WORDS[warning.severity]}:"
        page.paragraph(warning.message, lead=" - ", strong=word, style=_STYLES[warning.severity])


def _last_line(page: Page, advice: Advice, job: str | None) -> None:
    numbers = [row for row in advice.assumptions if row.value is not None]
    count = sum(row.status in _NOT_MEASURED for row in numbers)
    file = "" if job is None else f"{shlex.quote(job)} "
    command, cards = together(f"moldwin advise {file}--json"), together("moldwin cards NAME")
    page.gap()
    page.paragraph(
        f"{count} of the {len(numbers)} numbers behind this are assumed or from memory. "
        f"See them: {command} ; where they come from: {cards}"
    )
