"""A drying as a page: how long, which oven, how warm at most, when to stop."""

from __future__ import annotations

import math

from moldwin.advice.dried import DryAdvice
from moldwin.base.percentiles import Triple
from moldwin.report.lesson_page import doubt
from moldwin.report.numbers import interval, percent
from moldwin.report.page import Page
from moldwin.report.words import SEVERITY_WORDS, job_heading

__all__ = ["dry_page"]

#: From here times are told in days. [h]
_WATCHED = 72.0


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
    page.heading(job_heading(advice.job, advice.bundled))
    why = (
        "as you said"
        if advice.t_given
        else "our choice: warm enough to dry them, no warmer than need be"
    )
    page.paragraph(
        f"From {100 * advice.now:.1f} to {100 * advice.target:.1f} % water (wet basis), spread on "
        f"the bed of [jar], in air of {advice.t - 273.15:.0f} °C ({why})."
    )
    if advice.not_for_the_press:
        page.paragraph(
            advice.not_for_the_press, strong=f"{SEVERITY_WORDS['stop']}:", style="bold red"
        )
    doubt(page, advice.learned, "pellets, bed, oven and moisture")
    _time(page, advice)
    _limits(page, advice)
    _ovens(page, advice)
    _course(page, advice)
    _layers(page, advice)
    _learned(page, advice)
    if advice.warnings:
        page.heading("WARNINGS")
    for remark in advice.warnings:
        page.paragraph(remark.message, strong=f"{SEVERITY_WORDS[remark.severity]}:")
    return page.text()


def _time(page: Page, advice: DryAdvice) -> None:
    page.heading("HOW LONG")
    for share in (50, 90, 99):
        page.paragraph(_hours(advice.hours[f"hours_{share}"]), lead=f" - {share} % of the way: ")
    page.paragraph(_hours(advice.hours_to_target), lead=" - to the target: ")
    if advice.stop_mass is not None:
        words = f"Stop when the pellets weigh {1e3 * advice.stop_mass:.1f} g"
        if advice.stop_scale is not None:
            words += f"; the scale shows {1e3 * advice.stop_scale:.1f} g with the tray"
        page.paragraph(f"{words}. Then seal them: the heart is wetter than the skin.")


def _limits(page: Page, advice: DryAdvice) -> None:
    page.heading("HOW WARM AT MOST")
    asked = f"{10 * advice.confidence:.2g} of 10 cases"
    if advice.warmest is None:
        page.paragraph(
            f"no air as warm as the room's or warmer is harmless in {asked}: spread the pellets "
            "apart, turn them, and start cold",
            lead=" - ",
        )
    else:
        page.paragraph(
            f"up to {advice.warmest - 273.15:.0f} °C nothing fuses, browns or loses glycerol in "
            f"{asked}",
            lead=" - ",
        )
        if advice.warmest < advice.t - 1.0 and not advice.t_given:
            page.paragraph(
                "air as cool as that would not dry them all the way: start there, and warm up to "
                f"{advice.t - 273.15:.0f} °C as they dry",
                indent=3,
            )
    now, then = (_shifted(limit) for limit in (advice.limit_now, advice.limit_target))
    page.paragraph(f"as they are they fuse from {interval(now, '°C')}", lead=" - ")
    page.paragraph(f"at the target from {interval(then, '°C')}: warm up as they dry", lead=" - ")
    page.paragraph(
        f"glycerol that leaves by then: {interval(_percent(advice.glycerol_share), '%', 1)} of it",
        lead=" - ",
    )


def _ovens(page: Page, advice: DryAdvice) -> None:
    page.heading("WHICH OVEN")
    rows: list[tuple[str, ...]] = [
        ("°C", "to the target", "harmless %", "fuse %", "dry %", "glycerol %", "brown %")
    ]
    for row in advice.ovens:
        shares = (row.chance, row.fuses_now, row.fuses_dry, row.glycerol.high, row.browning.high)
        rows.append((f"{row.t - 273.15:.0f}", _hours(row.hours), *map(_whole, shares)))
    page.rows(rows, right=(0, 2, 3, 4, 5, 6))
    page.paragraph(
        "Harmless; fuse as they are; fuse when at the target: in so many cases. Glycerol lost and "
        "browning time used up: at most (95 %). Harmless is no fusing, under 5 % of the glycerol "
        "and under 10 % of the time until starch browns (judgment)."
    )


def _course(page: Page, advice: DryAdvice) -> None:
    course, tray = advice.course, advice.tray or 0.0
    of = "" if advice.mass_given else ", for 100 g: no pellets.mass_g in the job"
    page.heading(f"HOUR BY HOUR, likely, with a 90 % band of the mass{of}")
    head = ("hour", "pellets g", "band g", "water %", "skin %", "heart %")
    rows = [head if not tray else (*head, "on the scale g")]
    for i, day in enumerate(course.days):
        mass = course.mass[i]
        row = (
            f"{24 * day:g}",
            f"{1e3 * mass.likely:.1f}",
            f"{1e3 * mass.low:.1f} to {1e3 * mass.high:.1f}",
            f"{100 * course.mean[i]:.1f}",
            f"{100 * course.skin[i]:.1f}",
            f"{100 * course.heart[i]:.1f}",
        )
        rows.append(row if not tray else (*row, f"{1e3 * (mass.likely + tray):.1f}"))
    page.rows(rows, right=(0, 1, 2, 3, 4, 5, 6))


def _layers(page: Page, advice: DryAdvice) -> None:
    page.heading("SPREAD THIN OR HEAPED, to the target")
    for layer in advice.layers:
        area = f"on {1e4 * layer.area:.0f} cm²"
        page.paragraph(f"{layer.words}, {area}: {_hours(layer.hours)}", lead=" - ")


def _learned(page: Page, advice: DryAdvice) -> None:
    found = advice.learned
    if found is None:
        return
    page.heading(f"WHAT YOUR {found.used} WEIGHINGS SAY, over {found.hours:g} h")
    page.paragraph(
        f"to the target: before {_hours(found.before['hours_to_target'])}, "
        f"now {_hours(found.after['hours_to_target'])}, counted from the start",
        lead=" - ",
    )
    names = {
        "diffusivity_factor": "diffusivity, of the published law",
        "film_factor": "film of air over the bed, of the typical",
    }
    for key, words in names.items():
        old, new = (interval(of[key], "times") for of in (found.before, found.after))
        page.paragraph(f"{words}: before {old}, now {new}", lead=" - ")


def _hours(hours: Triple) -> str:
    """In hours up to three days: an oven is not watched in days. Two digits at most."""
    if not math.isfinite(hours.likely):
        best = f" (at best {_time_of(hours.low)})" if math.isfinite(hours.low) else ""
        return f"too damp{best}"
    in_days = hours.likely >= _WATCHED
    scale, unit = (24.0, "days") if in_days else (1.0, "h")
    low, likely, high = (_two_digits(v / scale) for v in (hours.low, hours.likely, hours.high))
    return f"{likely} {unit} ({low} to {high})"


def _time_of(hours: float) -> str:
    if hours >= _WATCHED:
        return f"{_two_digits(hours / 24.0)} days"
    return f"{_two_digits(hours)} h"


def _two_digits(value: float) -> str:
    if not math.isfinite(value):
        return "never"
    return "under 1" if value < 0.95 else f"{float(f'{value:.2g}'):.0f}"


def _shifted(kelvin: Triple) -> Triple:
    return Triple(kelvin.low - 273.15, kelvin.likely - 273.15, kelvin.high - 273.15)


def _percent(part: Triple) -> Triple:
    return Triple(100 * part.low, 100 * part.likely, 100 * part.high)


def _whole(share: float) -> str:
    """A share in whole percent without its sign, never rounded to certainty."""
    if share > 1.0:
        return "all"
    return percent(share).replace("under ", "<").replace("over ", ">").removesuffix(" %")
