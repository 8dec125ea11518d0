"""A conditioning as a page: what to put in the jar, how long, when to stop, what is quicker."""

from __future__ import annotations

import math

from moldwin.advice.conditioned import BETWEEN_ROWS, ConditionAdvice
from moldwin.advice.faster import Route
from moldwin.advice.sharing import SOME
from moldwin.base.percentiles import Triple
from moldwin.report.lesson_page import doubt
from moldwin.report.numbers import days, interval, percent
from moldwin.report.page import Page
from moldwin.report.words import SEVERITY_WORDS, job_heading

__all__ = ["condition_page"]

_BOTTLENECK = {
    "air": "the still air of the jar and its bed of pellets, not the pellets themselves",
    "pellet": "the inside of the pellets: a better jar helps little",
    "bath": "the source: it cools itself, or runs low",
}
#: What takes this share of the time without a resistance is not worth a line.
_HELPS = 0.97
#: Wetter than this, wet basis, a number says no more than that it is wet. [kg/kg]
_WET = 0.40
#: What weighings move: key, words, unit, and factor from SI.
_LEARNED = (
    ("diffusivity_factor", "diffusivity, of the published law", "times", 1.0),
    ("air_conductance", "air passes, a day from full to no humidity", "g", 86400e3),
    ("end_moisture", "over this source they would end at", "%", 100.0),
)
_SAFETY = {"kitchen": "kitchen", "gloves": "gloves", "not-offered": "not offered"}
_GONE = {
    "air": "without the resistance of the air",
    "pellet": "with pellets that take water at once",
    "bath": "with a source that never cools or drifts",
}


def condition_page(advice: ConditionAdvice, width: int | None = None) -> str:
    """The answer as text.

    Parameters
    ----------
    advice : ConditionAdvice
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
    way = f"{100 * advice.now:.1f} % water now, target {100 * advice.target:.1f} % (wet basis)"
    page.paragraph(f"{way}, at {advice.temperature - 273.15:.0f} °C.")
    if advice.not_for_the_press:
        page.paragraph(
            advice.not_for_the_press, strong=f"{SEVERITY_WORDS['stop']}:", style="bold red"
        )
    if advice.there:
        then = "seal them" if advice.not_for_the_press else "seal them and mold"
        page.paragraph(f"The pellets are at their target already: {then}.")
        page.paragraph(f"{_weigh(advice)} keeps them there.", lead=" - ")
        _warnings(page, advice)
        return page.text()
    doubt(page, advice.learned, "pellets, jar and moisture")
    if advice.plan.dry_first:
        page.paragraph(
            "They are too wet for a jar: mold is quicker than still air. Dry them in an oven or in "
            "moving air first (moldwin dry); a jar is for the last percents.",
            strong="Dry first:",
        )
    _jar(page, advice)
    _time(page, advice)
    _course(page, advice)
    _routes(page, advice)
    _faster(page, advice)
    _learned(page, advice)
    _sources(page, advice)
    _warnings(page, advice)
    page.gap()
    page.paragraph(
        f"In brackets stand 90 % intervals, over {advice.count} of the possible truths: fewer than "
        "for the whole advice, because each is solved in full."
    )
    return page.text()


def _jar(page: Page, advice: ConditionAdvice) -> None:
    page.heading("THE JAR")
    page.paragraph(_weigh(advice) + ".", lead=" - ")
    grams = 1e3 * abs(advice.plan.moved)
    verb = "take" if advice.plan.moved > 0 else "give"
    words = f"The pellets {verb} {grams:.1f} g of water"
    if advice.plan.charge.glycerol is not None:
        mixed = "wetter" if advice.plan.moved > 0 else "drier"
        words += f": the bath is mixed that much {mixed} and ends at {_humidity(advice)}"
    elif advice.plan.charge.salt is not None:
        words += "; solid salt must be left over: heap it above the liquid and stir daily"
    page.paragraph(words + ".", lead=" - ")
    if advice.plan.source.safety:
        page.paragraph(advice.plan.source.safety, lead=" - ")
    if not advice.way.by_mass:
        page.paragraph(
            f"In {percent(advice.reaches)} of the possible truths this source ends within half a "
            "percent of the target: finish by weighing.",
            lead=" - ",
        )
    if advice.short >= SOME:
        page.paragraph(
            f"In {percent(advice.short)} it ends short of the target; there the way counts to its "
            "own end.",
            lead=" - ",
        )


def _weigh(advice: ConditionAdvice) -> str:
    charge, source = advice.plan.charge, advice.plan.source
    water = f"{1e3 * charge.water:.0f} g of water"
    if charge.glycerol is not None:
        return f"{1e3 * charge.glycerol:.0f} g of glycerol with {water}, for {_humidity(advice)}"
    if charge.salt is None:
        return f"Plain water, {water}"
    salt = f"{1e3 * charge.salt:.0f} g of {source.formula} (as the dry salt)"
    return f"A slurry of {salt} with {water}: {_humidity(advice)}"


def _humidity(advice: ConditionAdvice) -> str:
    return f"{100 * advice.plan.source.activity:.0f} % humidity"


def _time(page: Page, advice: ConditionAdvice) -> None:
    page.heading("HOW LONG")
    for share in (50, 90, 99):
        page.paragraph(days(advice.way.days[f"days_{share}"]), lead=f" - {share} % of the way: ")
    page.paragraph(_even(advice), lead=" - ")
    page.paragraph(f"What it waits for: {_BOTTLENECK[advice.way.bottleneck]}.", lead=" - ")
    for name, found in advice.without.items():
        if found.likely > _HELPS * advice.way.days["days_90"].likely:
            continue  # a bath mixed wetter drifts to our good
        page.paragraph(f"{_GONE[name]}: {days(found)} to 90 %", indent=3)
    if not advice.clock_alone:
        page.paragraph(
            "Waiting that long is no plan: the clock alone will not do. Break the pellets up, mist "
            "or dry them by mass and temper, or cast thinner.",
            strong="Too slow:",
        )
    if advice.way.stop_mass is not None:
        words = f"Stop when the pellets weigh {1e3 * advice.way.stop_mass:.1f} g"
        if advice.way.stop_scale is not None:
            words += f"; the scale shows {1e3 * advice.way.stop_scale:.1f} g with the tray"
        page.paragraph(words + ".", strong="By weight:")
    if advice.way.by_mass:
        page.paragraph(
            "This source goes on past the target: the scale decides, not the clock; then seal the "
            "pellets and let them even out.",
            strong="Do not leave it:",
        )
    if math.isfinite(advice.mold):
        words = f"may show after about {advice.mold:.0f} days at this humidity (judgment)"
        if advice.way.by_mass:
            words += ", if the pellets are forgotten over it"
        page.paragraph(f"{words}.", strong="Mold:")
    else:
        page.paragraph("none is to be expected at this humidity (below 0.65).", strong="Mold:")


def _even(advice: ConditionAdvice) -> str:
    """When skin and heart are alike."""
    even = advice.even
    if even.likely > 0.0:
        return f"skin and heart within half a percent of the mean: {days(even)}"
    words = "skin and heart: likely never half a percent from the mean"
    if even.high > 0.0:
        words += f", at the worst for {days(Triple(even.high, even.high, even.high))}"
    return words


def _course(page: Page, advice: ConditionAdvice) -> None:
    course, tray = advice.course, advice.tray or 0.0
    of = "" if advice.mass_given else ", for 100 g: no pellets.mass_g in the job"
    page.heading(f"DAY BY DAY, likely, with a 90 % band of the mass{of}")
    head = ("day", "pellets g", "band g", "water %", "skin %", "heart %")
    rows = [head if not tray else (*head, "on the scale g")]
    for i, day in list(enumerate(course.days))[::BETWEEN_ROWS]:
        mass = course.mass[i]
        row = (
            f"{day:g}",
            f"{1e3 * mass.likely:.1f}",
            f"{1e3 * mass.low:.1f} to {1e3 * mass.high:.1f}",
            f"{100 * course.mean[i]:.1f}",
            f"{100 * course.skin[i]:.1f}",
            f"{100 * course.heart[i]:.1f}",
        )
        rows.append(row if not tray else (*row, f"{1e3 * (mass.likely + tray):.1f}"))
    page.rows(rows, right=(0, 1, 2, 3, 4, 5, 6))


def _routes(page: Page, advice: ConditionAdvice) -> None:
    if not advice.routes:
        return
    page.heading("FASTER ROUTES")
    for route in advice.routes:
        page.paragraph(_route(route), lead=" - ")
    if advice.plan.moved > 0:
        page.paragraph(
            "Stop a wetter source before the skin reaches a water activity of 0.75, and keep it "
            "above 0.65 for two days at the most (judgment). Temper sealed before you mold: a wet "
            "skin foams, a dry heart stays hard.",
        )


def _route(route: Route) -> str:
    if route.name == "mist":
        return (
            f"Mist {1e3 * (route.water or 0.0):.1f} g of water on, tumble, seal with little air, "
            f"tumble daily: even after {days(route.tempering)}."
        )
    words = f"{route.words}"
    if route.to_stop is not None:
        words += f" after {days(route.to_stop)}"
    if route.skin is not None:
        words += f": skin then at {interval(route.skin, 'aw')}"
    words += f", even {days(route.tempering)} later."
    return words if route.allowed else f"{words} Not in one go: the skin gets too wet for too long."


def _faster(page: Page, advice: ConditionAdvice) -> None:
    if not advice.faster:
        return
    page.heading("WHAT WOULD MAKE IT FASTER, to 90 %")
    for change in advice.faster:
        page.paragraph(f"{change.change}: {days(change.days_90)}", lead=" - ")


def _learned(page: Page, advice: ConditionAdvice) -> None:
    found = advice.learned
    if found is None:
        return
    page.heading(f"WHAT YOUR {found.used} WEIGHINGS SAY, over {found.hours:.0f} h")
    page.paragraph(
        f"90 % of the way: before {days(found.before['days_90'])}, "
        f"now {days(found.after['days_90'])}, counted from the start.",
        lead=" - ",
    )
    for key, words, unit, factor in _LEARNED:
        old, new = (_in_words(t[key], factor, unit) for t in (found.before, found.after))
        page.paragraph(f"{words}: before {old}, now {new}", lead=" - ")


def _in_words(triple: Triple, factor: float, unit: str) -> str:
    """An interval in its unit; one that spans factors of ten shows two digits each."""
    low, likely, high = (factor * v for v in (triple.low, triple.likely, triple.high))
    if low > 0.0 and high > 5.0 * low:
        return f"{likely:.2g} {unit} ({low:.2g} to {high:.2g})"
    return interval(Triple(low, likely, high), unit, 1)


def _sources(page: Page, advice: ConditionAdvice) -> None:
    page.heading(f"SOURCES at {advice.temperature - 273.15:.0f} °C")
    rows = [("source", "humidity %", "pellets end at %", "safety", "")]
    for source in advice.plan.sources:
        note = "oxidizer: feeds fire" if source.oxidizer else ""
        note = "not known at this temperature" if source.outside else note
        rows.append(
            (
                source.name,
                f"{100 * source.activity:.0f}",
                _lands(source.lands),
                _SAFETY.get(source.fitness, source.fitness),
                note,
            )
        )
    page.rows(rows, right=(1, 2))


def _lands(w: float) -> str:
    """Where pellets end, in percent; far beyond anything molded no digits are worth it."""
    return f"{100 * w:.1f}" if w <= _WET else f"over {100 * _WET:.0f}"


def _warnings(page: Page, advice: ConditionAdvice) -> None:
    if not advice.warnings:
        return
    page.heading("WARNINGS")
    for remark in advice.warnings:
        page.paragraph(remark.message, strong=f"{SEVERITY_WORDS[remark.severity]}:")
