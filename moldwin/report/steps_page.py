"""What to do, step by step, and where there is no way: what would open one."""

from __future__ import annotations

import shlex
from collections.abc import Mapping
from typing import Any

from moldwin.advice.answer import Advice, Barrel, Remedy, Situation
from moldwin.base.percentiles import Triple
from moldwin.report.numbers import around, days, duration, interval, of_samples, percent
from moldwin.report.page import Page, together
from moldwin.report.words import SEVERITY_WORDS, first_up, sentence, source_words

__all__ = ["at_moisture", "moisture_words", "shown", "steps_section"]

_MOST_REMEDIES = 3
#: Percent of the barrel from which one load does not do.
_FULL = 100.0


def shown(advice: Advice) -> Situation:
    """The situation the steps are about: after conditioning where that leads, else as it is."""
    if advice.conditioning_leads and advice.after_conditioning is not None:
        return advice.after_conditioning
    return advice.now


def at_moisture(advice: Advice) -> str:
    """Which moisture the answer is about, where it is not that of the pellets now."""
    if shown(advice) is advice.now:
        return ""
    return f" at {moisture_words(advice.moisture.target_best_pct)} water"


def moisture_words(pct: float) -> str:
    """A moisture as the page writes it.

    Parameters
    ----------
    pct : float
        Moisture, wet basis. [%]
    """
    return f"{pct:.1f}".removesuffix(".0") + " %"


def steps_section(page: Page, advice: Advice, job: str | None = None) -> None:
    """The steps; where the window is closed what would open it, and where nobody should heat why.

    Parameters
    ----------
    page : Page
        The page so far. [-]
    advice : Advice
        The answer. [-]
    job : str, optional
        The job file as the user named it, for the commands the steps suggest. [-]
    """
    page.heading("WHAT TO DO")
    if not advice.heat:
        _do_not_heat(page, advice)
        return
    situation = shown(advice)
    if not situation.barrel.open:
        _no_window(page, advice, situation.barrel)
    steps = _Steps(page)
    if advice.conditioning_leads and advice.conditioning is not None:
        _condition(steps, advice, advice.conditioning, job)
    _heat(steps, advice, situation)
    _load(steps, advice, situation)
    _cool(steps, advice, situation)
    _later(page, advice)
    _without_force(page, advice)


class _Steps:
    """Numbers the steps as they come."""

    def __init__(self, page: Page) -> None:
        self._page, self._number = page, 0

    def step(self, words: str) -> None:
        self._number += 1
        self._page.paragraph(words, lead=f"{self._number}. ")

    def more(self, words: str) -> None:
        self._page.paragraph(words, indent=3)


# ------------------------------------------------------------------------- steps


def _condition(
    steps: _Steps, advice: Advice, conditioning: Mapping[str, Any], job: str | None
) -> None:
    target = advice.moisture
    aim = around(
        target.target_low_pct, target.target_best_pct, target.target_high_pct, "% water", most=1
    )
    if conditioning.get("dry_first"):
        command = together("moldwin dry" if job is None else f"moldwin dry {shlex.quote(job)}")
        steps.step(
            f"Dry the pellets to {aim}, in an oven or in moving air; they are too wet for a jar."
        )
        steps.more(f"{command} says how warm and how long.{_stop_mass(conditioning)}")
        return
    direction = "Dry" if target.target_best_pct < target.now_pct else "Dampen"
    steps.step(
        f"{direction} the pellets to {aim}, in a closed jar over"
        f" {source_words(conditioning['source'])}: {conditioning['humidity_pct']:.0f} % humidity."
    )
    half, most = (_triple(conditioning[key]) for key in ("days_50", "days_90"))
    steps.more(
        f"Half way after {days(half)}; nine tenths after {days(most)}.{_stop_mass(conditioning)}"
    )


def _stop_mass(conditioning: Mapping[str, Any]) -> str:
    alone, with_tray = conditioning.get("stop_mass_g"), conditioning.get("stop_scale_g")
    if alone is None:
        return ""
    places = 1 if alone < 1000.0 else 0
    tray = "" if with_tray is None else f", {with_tray:.{places}f} g with their tray"
    return f" They are done at {alone:.{places}f} g{tray}."


def _triple(value: Any) -> Triple:
    """A triple from what the answer holds: the object or its plain form, null for no limit."""
    if isinstance(value, Triple):
        return value
    ends = (value["low"], value["likely"], value["high"])
    return Triple(*(float("inf") if end is None else end for end in ends))


def _heat(steps: _Steps, advice: Advice, situation: Situation) -> None:
    barrel = situation.barrel
    steps.step(f"Heat the barrel to {_window(barrel)}, {_mold(advice, situation)}.")
    if barrel.open and barrel.best_c is not None:
        steps.more(
            f"Chance that barrel and filling go well: {of_samples(barrel.chance)}; at least"
            f" {percent(barrel.confidence)} in the range."
        )
    if advice.details is not None and advice.details.part_chance is not None:
        steps.more(
            "That the part comes out good too, mold and room counted:"
            f" {of_samples(advice.details.part_chance)}."
        )


def _window(barrel: Barrel) -> str:
    low, best, high = barrel.low_c, barrel.best_c, barrel.high_c
    if best is None:
        return "a temperature that cannot be said"
    if low is None or high is None:
        return f"{best:.0f} °C"
    return around(low, best, high, "°C", most=0)


def _mold(advice: Advice, situation: Situation) -> str:
    mold = situation.mold
    if mold.best_c is None:
        return f"the mold: {_unknown(advice, 'mold')}"
    if mold.low_c is None or mold.high_c is None:
        return f"the mold to {mold.best_c:.0f} °C, though no range of it is safe enough"
    return f"the mold to {around(mold.low_c, mold.best_c, mold.high_c, '°C', most=0)}"


def _load(steps: _Steps, advice: Advice, situation: Situation) -> None:
    soak = (
        "" if situation.soak_s is None else f" Press it down and soak {duration(situation.soak_s)}"
    )
    if soak and advice.settings is not None and advice.settings.hold_max_s is not None:
        soak += f"; fill within {duration(advice.settings.hold_max_s)} of loading"
    steps.step(f"Load {_charge(advice, situation)}.{soak}.")


def _charge(advice: Advice, situation: Situation) -> str:
    shot = situation.shot
    if shot.charge_g is None:
        return f"the charge: {_unknown(advice, 'shot')}"
    words = interval(shot.charge_g, "g")
    fill = shot.barrel_fill_pct
    if fill is None:
        return words
    if fill > _FULL:
        return f"{words}, which the barrel cannot hold: it would be {fill:.0f} % full"
    fillings = None if advice.details is None else advice.details.fillings
    often = "" if fillings in (None, 1) else f", in {fillings} fillings tamped cold"
    return f"{words}{often}; as melt it fills {fill:.0f} % of the barrel"


def _cool(steps: _Steps, advice: Advice, situation: Situation) -> None:
    clamp = situation.shot.clamp_needed_kn
    shut = "" if clamp is None else f"Hold the mold shut with {interval(clamp, 'kN', most=1)}. "
    if any(warning.code == "flash" for warning in advice.warnings):
        shut = "Push gently: your clamp does not hold the full push, see the caution. "
    cooling = situation.cooling_s
    if cooling is None:
        steps.step(f"{shut}Cooling: {_unknown(advice, 'cooling_s')}.")
        return
    steps.step(
        f"{shut}Keep the ram down and cool for {duration(cooling)}: in 9 cases of 10 the part is"
        " stiff by then, and its core below the steam onset."
    )


def _unknown(advice: Advice, key: str) -> str:
    """Why a number is missing, from the list of assumptions."""
    for row in advice.assumptions:
        if row.value is None and row.name.removeprefix("after_conditioning.") == key:
            return f"not known, {row.source.rstrip('.')}"
    return "not known from this job"


def _later(page: Page, advice: Advice) -> None:
    """Conditioning where it helps a little, but is not worth waiting for."""
    after = advice.after_conditioning
    if advice.conditioning_leads or after is None:
        return
    gain = after.barrel.chance - advice.now.barrel.chance
    target = moisture_words(advice.moisture.target_best_pct)
    if gain > 0.0:
        page.paragraph(
            f"At {target} water the chance would be {of_samples(after.barrel.chance)} instead of "
            f"{of_samples(advice.now.barrel.chance)}: little gain for the wait."
        )
    else:
        page.paragraph(
            f"The barrel likes this moisture; bag and part would rather have {target} water."
        )


def _without_force(page: Page, advice: Advice) -> None:
    """Filling hangs on the force: where the job names none that must not go unseen."""
    for row in advice.assumptions:
        if row.name == "press.force" and row.status == "assumed" and row.value is not None:
            page.paragraph(
                f"The job names no force on the ram: {row.value / 1e3:.3g} kN is assumed, and all"
                " of this rests on it. Give press.force_kn, or a gauge with its jack's piston."
            )


# ------------------------------------------------------------------- where it is closed


def _no_window(page: Page, advice: Advice, barrel: Barrel) -> None:
    at = "" if barrel.best_c is None else f", at {barrel.best_c:.0f} °C"
    target = moisture_words(advice.moisture.target_best_pct)
    even = f", not even at {target} water" if advice.conditioning_leads else ""
    if barrel.chance >= barrel.confidence:
        page.paragraph(
            f"The best chance is {of_samples(barrel.chance)}{at}, but the range that reaches the"
            f" {percent(barrel.confidence)} asked for is narrower than a heater can be set to."
        )
    else:
        page.paragraph(
            f"No barrel temperature reaches the {percent(barrel.confidence)} asked for{even}. "
            f"The best chance is {of_samples(barrel.chance)}{at}."
        )
    _remedies(page, advice)
    page.paragraph("To try it all the same:")


def _do_not_heat(page: Page, advice: Advice) -> None:
    barrel = shown(advice).barrel
    page.paragraph("Do not heat this.", style="bold")
    stops = [warning for warning in advice.warnings if warning.severity == "stop"]
    for stop in stops:
        page.paragraph(stop.message, strong=f"{SEVERITY_WORDS['stop']}:", style="bold red")
    if not stops:
        page.paragraph(
            f"The best chance at any barrel temperature is {of_samples(barrel.chance)}"
            f"{at_moisture(advice)}; {percent(barrel.confidence)} was asked for."
            f"{_even_conditioned(advice)}"
        )
    if advice.remedies or not stops:
        _remedies(page, advice)


def _even_conditioned(advice: Advice) -> str:
    """What another moisture would change, where it is too little to go there."""
    after = advice.after_conditioning
    if after is None or advice.conditioning_leads:
        return ""
    if after.barrel.chance <= advice.now.barrel.chance:
        return ""
    target = moisture_words(advice.moisture.target_best_pct)
    return f" Even conditioned to {target} water first it is {of_samples(after.barrel.chance)}."


def _remedies(page: Page, advice: Advice) -> None:
    if not advice.remedies:
        page.paragraph("Nothing that was tried helps enough; the limits below say why.")
        return
    opening = [remedy for remedy in advice.remedies if remedy.low_c is not None]
    pellets = "" if shown(advice) is advice.now else " for the pellets as they are"
    if any(warning.severity == "stop" for warning in advice.warnings):
        page.paragraph(f"What would make it possible{pellets}, the cheapest first:")
    elif opening:
        page.paragraph(f"What would open a window{pellets}, the cheapest first:")
    else:
        page.paragraph(f"What would help{pellets}, though not enough by itself:")
    for remedy in (opening or advice.remedies)[:_MOST_REMEDIES]:
        page.paragraph(
            f"{sentence(first_up(remedy.change))} {remedy.effect} ({remedy.cost} cost)", lead=" - "
        )
        page.line(_set_line(remedy), indent=3)


def _set_line(remedy: Remedy) -> str:
    """The options that make the change, ready to be pasted behind the command."""
    pairs = (f"{key}={_toml(value)}" for key, value in remedy.set.items())
    return " ".join(f"--set {shlex.quote(pair)}" for pair in pairs)


def _toml(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:.6g}" if isinstance(value, float) else str(value)
