"""A recipe as a page: what to weigh, what comes out of the pot, how it cooks, what it will be."""

from __future__ import annotations

import math

from moldwin.advice.recipe_answer import CookingAdvice, RecipeAdvice
from moldwin.advice.recipe_change import Change
from moldwin.advice.recipe_looks import Look
from moldwin.base.percentiles import Triple, digits_for
from moldwin.report.numbers import interval, percent, rounded
from moldwin.report.page import Page
from moldwin.report.words import SEVERITY_WORDS, code_words, job_heading

__all__ = ["recipe_page"]

#: Less than this of the dry mass changes nothing worth showing. [kg]
_NOTHING = 5e-5
#: Columns of the ladder that are shares of cases, and their heads.
_SHARES = {
    "brittle": "brittle",
    "antiplasticization": "stiffer",
    "sticky": "sticky",
    "phase-separation": "sweats",
}

_CASES = {
    "brittle": "brittle in the dry season",
    "antiplasticization": "stiffer for so little of it",
    "soft-part": "too soft in the damp season",
    "sticky": "sticky in the damp season",
    "phase-separation": "separates, sweats out",
}


def recipe_page(advice: RecipeAdvice, width: int | None = None) -> str:
    """The answer as text.

    Parameters
    ----------
    advice : RecipeAdvice
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
    if page.stops(advice.warnings):  # another material: only its masses are true of it
        _weigh(page, advice)
        _comes_out(page, advice)
        return page.text()
    if advice.change is not None:
        _change(page, advice.change)
    _weigh(page, advice)
    _comes_out(page, advice)
    if advice.cooking is not None:
        _cooking(page, advice.cooking)
    _in_room(page, advice.look)
    if advice.rungs:
        _ladder(page, advice.rungs)
    if advice.warnings:
        page.heading("WARNINGS")
    for remark in advice.warnings:
        page.paragraph(remark.message, strong=f"{SEVERITY_WORDS[remark.severity]}:")
    return page.text()


def _weigh(page: Page, advice: RecipeAdvice) -> None:
    page.heading(_weigh_head(advice))
    priced = any(line.cost is not None for line in advice.lines)
    changed = any(abs(line.weighed - line.before) > _NOTHING for line in advice.lines)
    more = [*(["was g"] if changed else []), *(["cost"] if priced else [])]
    rows: list[tuple[str, ...]] = [("weigh g", "", "dry g", "of the dry %", *more)]
    for line in advice.lines:
        rows.append(
            (
                _plain(1e3 * line.weighed),
                line.card + (f" ({line.lot})" if line.lot else ""),
                _plain(1e3 * line.dry.likely),
                f"{100.0 * line.share_of_dry.likely:.0f}",
                *([_plain(1e3 * line.before)] if changed else []),
                *(["" if line.cost is None else _money(line.cost)] if priced else []),
            )
        )
    if advice.poured.high > 0.0:
        old = advice.poured_before
        was = [_plain(1e3 * old) if old is not None else ""] if changed else []
        empty = [""] if priced else []
        rows.append((_span(advice.poured, 1e3), "water, poured", "", "", *was, *empty))
    page.rows(rows, right=(0, 2, 3, 4, 5))
    if not advice.poured_given:
        page.paragraph(
            "The job gives no pot.water_g: as much as makes a gel that can be stirred is assumed."
        )
    _cost(page, advice)


def _weigh_head(advice: RecipeAdvice) -> str:
    if advice.asked.parts is None or advice.chance is None:
        return "WHAT GOES IN"
    return (
        f"WHAT GOES IN for {advice.asked.parts} parts ({advice.factor:.2f} times your batch;"
        f" enough in {percent(advice.chance)} of cases)"
    )


def _cost(page: Page, advice: RecipeAdvice) -> None:
    if advice.cost is None:
        return
    words = f"Costs {_money(advice.cost.batch)} for the batch, in the currency of [price];"
    words += f" {_money(advice.cost.per_kg)} a kg of pellets"
    if advice.cost.per_part is not None:
        words += f", {_money(advice.cost.per_part)} a part"
    if advice.cost.missing:
        words += f". No price for {', '.join(advice.cost.missing)}: not in it"
    page.paragraph(f"{words}.")


def _money(amount: float) -> str:
    """Two decimals; of less than a unit two digits, so that a cheap part is not free.

    Examples
    --------
    >>> _money(3.532), _money(0.0344), _money(0.0)
    ('3.53', '0.034', '0.00')
    """
    if 0.0 < amount < 0.1:
        return f"{amount:.{1 - math.floor(math.log10(amount))}f}"
    return f"{amount:.2f}"


def _comes_out(page: Page, advice: RecipeAdvice) -> None:
    page.heading("WHAT COMES OUT, likely, with a 90 % interval")
    steps = advice.steps
    at = f"at {100.0 * advice.moisture:.1f} % water"
    rows = [
        ("boils off (assumed: pot, lid and stove are not known)", steps["boiled_off"]),
        ("gel when the heat goes off", steps["gel"]),
        (f"stays in pot and on tools{_from_memory(not advice.loss_given)}", steps["left_in_pan"]),
        (f"wet sheet, {_span(advice.solids, 100.0)} % of it dry", steps["wet_sheet"]),
        ("dries off", steps["dried_off"]),
        (f"dry sheet {at}", steps["dry_sheet"]),
        (f"trimmings and dust{_from_memory(True)}", steps["trimmed"]),
        (f"pellets {at}, the best to mold", steps["pellets"]),
    ]
    page.rows([(_span(mass, 1e3) + " g", words) for words, mass in rows], right=(0,))
    dry = _span(steps["dry"], 1e3)
    page.paragraph(f"Of the pellets {dry} g are dry matter.")
    if advice.sheet_area is not None:
        area = _span(advice.sheet_area, 1e4)
        page.paragraph(f"Spread as thick as you do, the wet sheet covers {area} cm².")
    if advice.charge is None or advice.parts is None:
        page.paragraph(
            "Parts are not counted: the job describes none (part.specimen or [[part.solid]])."
        )
        return
    each = "" if advice.cavities == 1 else f", {advice.cavities} parts each"
    page.paragraph(
        f"A shot takes {interval(_scaled(advice.charge, 1e3), 'g')}{each}: about"
        f" {advice.parts.likely:.0f} parts ({advice.parts.low:.0f} to {advice.parts.high:.0f})."
        " Parts that fail are not taken off."
    )


def _from_memory(it_is: bool) -> str:
    return " (from memory; weigh your own)" if it_is else ""


def _cooking(page: Page, cooking: CookingAdvice) -> None:
    page.heading("COOKING")
    how = "as you said" if cooking.t_given else "common practice, no source"
    page.paragraph(f"{interval(_kelvin(cooking.t), '°C')}, stirred ({how})", lead=" - ")
    how = "as you said" if cooking.time_given else "common practice, no source"
    minutes = interval(_scaled(cooking.time, 1 / 60.0), "min")
    page.paragraph(
        f"{minutes} ({how}); about {_span(cooking.evaporated_share, 100.0)} % of the water boils"
        " off, more without a lid",
        lead=" - ",
    )
    if cooking.onset is None or cooking.end is None or cooking.cooked is None:
        page.paragraph("there is no starch in it that would have to gelatinize", lead=" - ")
        return
    page.paragraph(
        f"the starch begins to gelatinize at {interval(_kelvin(cooking.onset), '°C')} in this"
        f" liquid and is done at {interval(_kelvin(cooking.end), '°C')}",
        lead=" - ",
    )
    page.paragraph(
        f"water when the heat goes off: {interval(cooking.water, 'g', 1)} per g of what drinks;"
        " from about 1.5 on all granules can go",
        lead=" - ",
    )
    enough = cooking.cooked.low > 0.95
    verdict = "heat and water are enough" if enough else "NOT SURE to cook through"
    page.paragraph(
        f"{verdict}: {_span(cooking.cooked, 100.0)} % of the granules go. Spread it hot, and dry"
        " it the same day: wet gel stiffens as it stands",
        lead=" - ",
    )


def _in_room(page: Page, look: Look) -> None:
    page.heading("THE PART, SETTLED IN ITS ROOM (moldwin service says more)")
    page.paragraph(
        f"{interval(_scaled(look.moisture, 100.0), '%', 1)} water, glass transition"
        f" {interval(_kelvin(look.tg), '°C')}, the room {_above(look.above)}: {look.state}",
        lead=" - ",
    )
    page.paragraph(
        f"plasticizer: {interval(_scaled(look.per_polymer, 100.0), 'g')} {look.card} per 100 g dry"
        f" polymer, {interval(_scaled(look.loading, 100.0), 'g')} of all kinds",
        lead=" - ",
    )
    low, high = (100.0 * season for season in look.seasons)
    page.paragraph(
        f"from {low:.0f} to {high:.0f} % humidity it takes up"
        f" {interval(_scaled(look.swing, 100.0), 'points', 1)} of water",
        lead=" - ",
    )


def _change(page: Page, change: Change) -> None:
    page.heading(f"CHANGED: {change.asked}")
    before, after = change.before, change.after
    rows = [
        ("", "before", "after"),
        ("plasticizer", before.card, after.card),
        ("weigh g", _plain(1e3 * before.mass), _plain(1e3 * after.mass)),
        *(
            (
                words,
                _span(getattr(before, name), scale, off),
                _span(getattr(after, name), scale, off),
            )
            for words, name, scale, off in (
                ("per 100 g dry polymer, g", "per_polymer", 100.0, 0.0),
                ("glass transition in the room, °C", "tg", 1.0, -273.15),
                ("water in the room, %", "moisture", 100.0, 0.0),
                ("water from dry to damp season, points", "swing", 100.0, 0.0),
            )
        ),
        (
            "stiffness in the room, MPa",
            rounded(_scaled(before.modulus, 1e-6)),
            rounded(_scaled(after.modulus, 1e-6)),
        ),
        ("in the room it is", before.state, after.state),
        *(
            (f"{_cases(code)}, cases", percent(before.broken[code]), percent(after.broken[code]))
            for code in before.broken
        ),
    ]
    page.rows(rows, right=(1, 2))
    page.paragraph(
        f"The middle of the glass transition is brought to {change.target - 273.15:z.0f} °C; nine"
        f" cases in ten lie from {after.tg.low - 273.15:z.0f} to {after.tg.high - 273.15:z.0f} °C."
    )
    if before.card != after.card:
        for look in (before, after):
            page.paragraph(look.about, lead=f" - {look.card}: ")
        page.paragraph(
            "either dissolves in water: as much as there is can leach out of a part that gets wet",
            lead=" - ",
        )


def _ladder(page: Page, rungs: list[Look]) -> None:
    page.heading(f"MORE AND MORE {rungs[0].card.upper()}, part settled in its room")
    rows = [("weigh g", "per 100", "Tg °C", "stiff MPa", *_SHARES.values())]
    for look in rungs:
        rows.append(
            (
                _plain(1e3 * look.mass),
                _plain(100.0 * look.per_polymer.likely),
                _span(look.tg, 1.0, -273.15),
                f"{float(f'{1e-6 * look.modulus.likely:.2g}'):.0f}",
                *(_whole(look.broken[code]) for code in _SHARES),
            )
        )
    page.rows(rows, right=tuple(range(len(rows[0]))))
    page.paragraph(
        "Per 100: g of it per 100 g dry polymer. Stiffness: the likely one. The last four: % of"
        " cases. Brittle in the dry season, after the weeks of use: breaks without bending."
        " Stiffer: so little of it stiffens in dry air. Sticky in the damp season. Sweats: some of"
        " it separates."
    )


def _whole(part: float) -> str:
    """A share in whole percent without its sign, never rounded to certainty."""
    return percent(part).replace("under ", "<").replace("over ", ">").removesuffix(" %")


def _cases(code: str) -> str:
    return _CASES.get(code, code_words(code))


def _above(above: Triple) -> str:
    words = "warmer" if above.likely >= 0.0 else "colder"
    return f"{abs(above.likely):.0f} °C {words} than that"


def _scaled(t: Triple, factor: float, offset: float = 0.0) -> Triple:
    return Triple(factor * t.low + offset, factor * t.likely + offset, factor * t.high + offset)


def _kelvin(t: Triple) -> Triple:
    return _scaled(t, 1.0, -273.15)


def _span(t: Triple, factor: float = 1.0, offset: float = 0.0) -> str:
    """Likely and interval without a unit, no more digits than the interval allows."""
    t = _scaled(t, factor, offset)
    places = min(digits_for(t.high - t.low), 1)
    low, likely, high = (f"{value:z.{places}f}" for value in (t.low, t.likely, t.high))
    if t.high == t.low:
        return _plain(t.likely)
    return _plain(t.likely) if low == high else f"{likely} ({low} to {high})"


def _plain(value: float) -> str:
    """A mass to weigh: four digits, no decimals that say nothing."""
    return f"{float(f'{value:.4g}'):z.1f}".removesuffix(".0")
