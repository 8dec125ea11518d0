"""A drying as a page: how long, how warm at most, when to stop."""

from __future__ import annotations

from moldwin.advice.dried import DryAdvice
from moldwin.base.percentiles import Triple
from moldwin.report.numbers import days, interval
from moldwin.report.page import Page
from moldwin.report.words import SEVERITY_WORDS, clean

__all__ = ["dry_page"]


def dry_page(advice: DryAdvice, width: int | None = None) -> str:
    """The answer as text.

    Parameters
    ----------
    advice : DryAdvice
        The answer. [-]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        The page. [-]
    """
    page = Page(width)
    page.heading("Bundled example, not your blend" if advice.bundled else clean(advice.job))
    why = (
        "as you said"
        if advice.t_given
        else "our choice: warm enough to dry them, no warmer than need be"
    )
    page.paragraph(
        f"From {100 * advice.now:.1f} to {100 * advice.target:.1f} % water (wet basis), spread on "
        f"the bed of [jar], in air of {advice.t - 273.15:.0f} °C ({why})."
    )
    page.heading("HOW LONG")
    for share in (50, 90, 99):
        page.paragraph(_time(advice.hours[f"hours_{share}"]), lead=f" - {share} % of the way: ")
    page.paragraph(_time(advice.hours_to_target), lead=" - to the target: ")
    if advice.stop_mass is not None:
        words = f"Stop when the pellets weigh {1e3 * advice.stop_mass:.1f} g"
        if advice.stop_scale is not None:
            words += f"; the scale shows {1e3 * advice.stop_scale:.1f} g with the tray"
        page.paragraph(f"{words}. Then seal them: the heart is wetter than the skin.")
    page.heading("HOW WARM AT MOST")
    now, then = (_shifted(limit) for limit in (advice.limit_now, advice.limit_target))
    page.paragraph(f"as they are they fuse from {interval(now, '°C')}", lead=" - ")
    page.paragraph(f"at the target from {interval(then, '°C')}", lead=" - ")
    page.paragraph(
        f"glycerol that leaves by then: {interval(_percent(advice.glycerol_share), '%', 1)} of it",
        lead=" - ",
    )
    if advice.warnings:
        page.heading("WARNINGS")
    for remark in advice.warnings:
        page.paragraph(remark.message, strong=f"{SEVERITY_WORDS[remark.severity]}:")
    return page.text()


def _time(hours: Triple) -> str:
    """In hours up to three days: an oven is not watched in days."""
    if hours.likely >= 72.0:
        return days(Triple(hours.low / 24.0, hours.likely / 24.0, hours.high / 24.0))
    return interval(hours, "h", 1)


def _shifted(kelvin: Triple) -> Triple:
    return Triple(kelvin.low - 273.15, kelvin.likely - 273.15, kelvin.high - 273.15)


def _percent(part: Triple) -> Triple:
    return Triple(100 * part.low, 100 * part.likely, 100 * part.high)
