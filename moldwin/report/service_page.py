"""The part in service as a page: place by place, how long it takes, how to test a bar."""

from __future__ import annotations

import math

from moldwin.advice.in_service import FiberAdvice, PlaceAdvice, ServiceAdvice
from moldwin.base.percentiles import Triple, in_words
from moldwin.report.numbers import days, interval, percent, rounded
from moldwin.report.page import Page
from moldwin.report.words import SEVERITY_WORDS, first_up, job_heading

__all__ = ["service_page"]

_PLACES = {"dry-cold": "dry, cold", "now": "your room", "damp-warm": "damp, warm"}
_BRITTLENESS = {
    "brittle": "breaks",
    "stiff": "bends little",
    "flexible": "bends",
    "soft": "limp",
}
_COLDER = {
    "antiplasticization": "so little plasticizer in dry air embrittles it as if it were {k:.0f} °C"
    " colder",
    "ageing": "weeks in a glass embrittle it as if it were {k:.0f} °C colder",
}


def service_page(advice: ServiceAdvice, width: int | None = None) -> str:
    """The answer as text.

    Parameters
    ----------
    advice : ServiceAdvice
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
    if page.stops(advice.warnings):  # another material: no number here would be true of it
        return page.text()
    now = advice.places[1]
    page.paragraph(
        f"In its room the part comes to {interval(now.moisture_pct, '% water', 1)} and is"
        f" {now.state} ({in_words(now.states[now.state])}): its glass transition is"
        f" {interval(now.tg_c, '°C')}, the room {now.temperature_c:.0f} °C. It is molded at"
        f" {advice.molded_pct:.1f} % water."
    )
    _table(page, advice)
    _reasons(page, advice)
    _settling(page, advice)
    _bar(page, advice)
    _water(page, advice)
    if advice.fiber is not None:
        _fiber(page, advice.fiber)
    if advice.warnings:
        page.heading("WARNINGS")
    for remark in advice.warnings:
        page.paragraph(remark.message, lead=" - ", strong=f"{SEVERITY_WORDS[remark.severity]}:")
    return page.text()


def _table(page: Page, advice: ServiceAdvice) -> None:
    page.heading("WHERE IT LIVES, likely, and 9 times in 10")
    places = advice.places
    weeks = _weeks(advice.weeks)
    rows: list[tuple[str, ...]] = [
        ("", *(_PLACES[p.name] for p in places)),
        ("air", *(f"{p.humidity_pct:.0f} %, {p.temperature_c:.0f} °C" for p in places)),
        ("water, %", *(_bare(p.moisture_pct) for p in places)),
        ("Tg, °C", *(_bare(p.tg_c) for p in places)),
        ("state", *(p.state for p in places)),
        ("stiffness, MPa", *(rounded(p.modulus_mpa) for p in places)),
        (f"after {weeks}", *(rounded(p.modulus_later_mpa) for p in places)),
        ("strength, MPa", *(rounded(p.strength_mpa) for p in places)),
        (f"at {weeks} it", *(_BRITTLENESS[p.brittleness] for p in places)),
        ("length, %", *(_bare(p.size_pct) for p in places)),
        ("mass, %", *(_bare(p.mass_pct) for p in places)),
        ("mold can grow", *(percent(p.mold_growth) for p in places)),
    ]
    page.rows(rows)
    page.paragraph(
        "Tg: glass transition. Length and mass: against the part as molded. Stiffness and strength"
        " are of a sound part; a bubble, a weld line or a notch breaks a brittle one much sooner."
    )
    if advice.assumed:
        page.paragraph(f"Assumed, give your own under [use]: {', '.join(advice.assumed)}.")


def _reasons(page: Page, advice: ServiceAdvice) -> None:
    page.heading("BRITTLE OR SOFT, and why")
    for place in advice.places:
        page.paragraph(f"{'. '.join(_why(place, advice.weeks))}.", lead=" - ")


def _why(place: PlaceAdvice, weeks: float) -> list[str]:
    above = place.above_tg.likely
    side = "above" if above >= 0.0 else "below"
    shares = sorted(place.brittle.items(), key=lambda pair: -pair[1])
    told = ", ".join(f"{_BRITTLENESS[name]} {percent(part)}" for name, part in shares if part > 0.1)
    air = f"{place.humidity_pct:.0f} %, {place.temperature_c:.0f} °C"
    name = _PLACES[place.name]
    said = [f"{first_up(name)} ({air}): {told}; {abs(above):.0f} °C {side} Tg"]
    said += [first_up(_COLDER[name].format(k=kelvin)) for name, kelvin in place.colder.items()]
    if place.crystals and place.above_tg.likely > 0.0:
        times = place.modulus_later_mpa.likely / place.modulus_mpa.likely
        said.append(
            f"In {_weeks(weeks)} crystals, {100 * place.crystals:.0f} % of what melts, may make it"
            f" about {times:.1f} times stiffer"
        )
    if max(place.sticky, place.soft) >= 0.1:
        said.append(f"Sticky in {in_words(place.sticky)}, too soft in {in_words(place.soft)}")
    return said


def _settling(page: Page, advice: ServiceAdvice) -> None:
    assumed = "" if advice.wall_given else ", assumed: give [part]"
    page.heading(f"HOW LONG IT TAKES, wall {advice.wall_mm:.2g} mm{assumed}")
    for share in (50, 90, 99):
        page.paragraph(days(advice.days[f"days_{share}"]), lead=f" - {share} % of its way home: ")
    page.paragraph(days(advice.season_days), lead=" - from dry to damp season, 90 %: ")
    page.paragraph(
        f"between the two its length changes by {interval(advice.swing_pct, '%', 1)}: leave it room"
        " where it must fit",
        lead=" - ",
    )


def _bar(page: Page, advice: ServiceAdvice) -> None:
    page.heading("TO TEST A BAR")
    done = advice.bar.done
    page.paragraph(
        "ISO 291 asks for 23 °C, 50 % humidity and at least 88 h, and says itself that this may not"
        f" reach equilibrium. In 88 h this wall does {percent(done.likely)} of its way"
        f" ({percent(done.low)} to {percent(done.high)}); nine tenths take"
        f" {days(advice.bar.days_90)}. Weigh a bar daily until it no longer changes, then test, and"
        " write down its age: it keeps stiffening. Compare bars of one age and one moisture only."
    )


def _water(page: Page, advice: ServiceAdvice) -> None:
    most = 100.0 * advice.leaches.high
    share = f" (up to {most:.0f} % of the dry mass)" if most >= 0.5 else ""
    page.heading("WATER")
    page.paragraph(
        "It does not resist water: wet, it swells, softens and comes apart, and glycerol, salt and"
        f" other small molecules wash out{share}. Published:"
        " starch and agar with 0 to 40 % seaweed took up 52 to 97 % of their mass (Jumaidin 2016)."
        " Not for food, drink or medicine without testing."
    )


def _fiber(page: Page, fiber: FiberAdvice) -> None:
    names = ", ".join(name.lower() for name in fiber.names)
    page.heading(f"FIBER: {names}")
    volume = Triple(*(100.0 * v for v in _ends(fiber.volume_share)))
    water = Triple(*(100.0 * v for v in _ends(fiber.water)))
    page.paragraph(
        f"{100 * fiber.mass_share:.0f} % of the dry mass, {interval(volume, '%')} of the volume;"
        f" in your room it holds {interval(water, '%', 1)} water of its own",
        lead=" - ",
    )
    page.paragraph(
        f"the part gets {rounded(fiber.stiffens)} times stiffer and"
        f" {rounded(fiber.strengthens)} times stronger than without",
        lead=" - ",
    )
    thicker = f"gets {rounded(fiber.thickens)} times more viscous"
    if not math.isfinite(fiber.thickens.likely):
        thicker = "does not flow: its solids lie too close for that"
    page.paragraph(f"the melt {thicker} (already reckoned with)", lead=" - ")
    page.paragraph(
        f"cut it no longer than {rounded(fiber.longest_mm)} mm for the {fiber.passage}, the"
        " narrowest passage (common practice, no source); taken here:"
        f" {rounded(fiber.length_mm)} mm. From {rounded(fiber.critical_mm)} mm on it breaks"
        " instead of pulling out",
        lead=" - ",
    )
    page.paragraph(
        f"it scorches from {interval(fiber.scorch_c, '°C')}: a limit of the barrel", lead=" - "
    )
    page.paragraph(
        "plasticizer is drawn to its surface: what is between may be stiffer and more brittle than"
        " told here",
        lead=" - ",
    )


def _weeks(weeks: float) -> str:
    return f"{weeks:.2g} week" if weeks == 1.0 else f"{weeks:.2g} weeks"


def _ends(triple: Triple) -> tuple[float, float, float]:
    return triple.low, triple.likely, triple.high


def _bare(triple: Triple) -> str:
    """An interval whose unit stands at the head of its row.

    Examples
    --------
    >>> _bare(Triple(9.2, 11.5, 14.1))
    '11.5 (9.2 to 14.1)'
    """
    return interval(triple, "", 1).replace("  ", " ").strip()
