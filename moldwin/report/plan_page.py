"""The plan as text: what is known, the next trials with gain and cost, and what to do with them."""

from __future__ import annotations

import shlex

from moldwin.advice.planned import PlanAdvice, PlanRow
from moldwin.learn.trials import COLOR_SCALE
from moldwin.report.numbers import duration, percent
from moldwin.report.page import Page
from moldwin.report.words import clean, first_up

__all__ = ["plan_page"]

_AIMS = {
    "window": "what narrows the barrel window most",
    "part": "what leads to a good part soonest",
}
_DESIGNS = {
    "grid": "every corner of low and high, and the middle",
    "cross": "the middle, and each of the three changed alone",
}


def plan_page(
    advice: PlanAdvice, job: str | None, sheet: str | None = None, width: int | None = None
) -> str:
    """The plan as a page.

    Parameters
    ----------
    advice : PlanAdvice
        The plan. [-]
    job : str or None
        The job file as the user named it; None for the bundled example. [-]
    sheet : str, optional
        Where the sheet was written. [-]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        The page. [-]
    """
    page = Page(width)
    if advice.bundled:
        page.heading("Bundled example, not your blend")
        page.paragraph(advice.job)
    else:
        page.heading(advice.job)
    _known(page, advice)
    if advice.why_none:
        page.heading("NO TRIAL")
        page.paragraph(f"{first_up(advice.why_none).rstrip('.')}.")
        page.paragraph("`moldwin advise` names what would help.")
        return page.text()
    _trials(page, advice)
    if advice.left_out:
        page.heading("LEFT OUT OF THE DESIGN")
        for row in advice.left_out:
            page.paragraph(f"{_where(row)}: {row.setting.screened}.", lead=" - ")
    _cost(page, advice)
    _next(page, job, sheet)
    return page.text()


def _known(page: Page, advice: PlanAdvice) -> None:
    best = advice.ground.best
    if not advice.why_none:
        page.paragraph(
            f"Now: the setting most likely good, {100 * best.moisture:.1f} % water,"
            f" {best.barrel - 273.15:.0f} °C and {duration(best.soak)} in the barrel, has a chance"
            f" of {percent(advice.best_chance)}; the ends of its barrel window are known give or"
            f" take {advice.spread:.0f} °C."
        )
    if advice.only_to_learn and not advice.why_none:
        page.paragraph(
            "That is less than `moldwin advise` heats for. These trials are only to learn from:"
            " most will fail, none passes a stop.",
            style="bold",
        )
    if advice.learned_from:
        many = len(advice.learned_from)
        page.paragraph(f"{many} trial{'s' * (many > 1)} of this material counted already.")


def _trials(page: Page, advice: PlanAdvice) -> None:
    many = len(advice.rows)
    what = _DESIGNS[advice.design] if advice.design else _AIMS[advice.aim]
    page.heading(f"{many} TRIAL{'S' * (many != 1)}: {what}")
    gains = not advice.design
    heads: tuple[str, ...] = ("", "water", "barrel", "soak", "mold", "load", "good?")
    heads += ("then ±", "best then") if gains else ("glycerol",)
    page.rows([heads, *(_cells(n, row) for n, row in enumerate(advice.rows, 1))], right=_RIGHT)
    page.gap()
    page.paragraph(
        "Good? is the chance that barrel and part both turn out well."
        + (
            " Then ± is how well the ends of the window are expected to be known after a trial and"
            " those before it, best then the chance of the setting that will look best."
            if gains
            else " Glycerol is in g per 100 g dry polymer; another amount means another batch."
        )
    )


_RIGHT = (0, 1, 2, 3, 4, 5, 6, 7, 8)


def _cells(number: int, row: PlanRow) -> tuple[str, ...]:
    sheet = row.sheet
    cells = (
        f"{number}",
        f"{sheet.moisture_pct:g} %",
        f"{sheet.barrel_c:.0f} °C",
        f"{sheet.soak_s:.0f} s",
        f"{sheet.mold_c:.0f} °C",
        "" if sheet.charge_g is None else f"{sheet.charge_g:.1f} g",
        percent(row.setting.chance),
    )
    if row.spread is None or row.best_chance is None:
        return (*cells, f"{100.0 * (row.glycerol or 0.0):.0f} g")
    return (*cells, f"{row.spread:.0f} °C", percent(row.best_chance))


def _where(row: PlanRow) -> str:
    sheet = row.sheet
    words = f"{sheet.moisture_pct:g} % water, {sheet.barrel_c:.0f} °C"
    if row.glycerol is None:
        return words
    return f"{100.0 * row.glycerol:.0f} g glycerol, {words}"


def _cost(page: Page, advice: PlanAdvice) -> None:
    page.heading("COST")
    evenings = f"{advice.evenings} evening{'s' * (advice.evenings != 1)}"
    page.paragraph(
        f"{evenings} at the press (assumed: 25 min a shot and its soak, 3 h an evening)."
    )
    if any(row.charge is not None for row in advice.rows):
        page.paragraph(f"{advice.grams:.2g} g of pellets, besides what the bore keeps.")
    for row in advice.rows:
        if row.effort.wait > 0.0:
            page.paragraph(
                f"Pellets at {row.sheet.moisture_pct:g} % water: about"
                f" {max(row.effort.wait, 1.0):.0f} day{'s' * (row.effort.wait >= 1.5)} in the jar"
                " before; `moldwin condition` says which.",
                lead=" - ",
            )
    batches = {row.glycerol for row in advice.rows if row.job_tables}
    if batches:
        more = "es" * (len(batches) > 1)
        page.paragraph(f"{len(batches)} more batch{more} to cook and dry.", lead=" - ")


def _next(page: Page, job: str | None, sheet: str | None) -> None:
    page.heading("AT THE PRESS")
    page.paragraph(
        "Note how far each part filled (0 to 100 %), its mass, where bubbles sit and its color, 0"
        f" ({COLOR_SCALE[0].split(':')[0]}) to 5 ({COLOR_SCALE[5]}): a short part tells how stiff"
        " the melt is, so it is no trial lost. At any sharp smell or spitting: stop, cool,"
        " ventilate."
    )
    named = shlex.quote(clean(job)) if job else "my-job.toml"
    if sheet is None:
        page.paragraph("A sheet to fill in:")
        page.line(f"  moldwin plan {named} -o trials-to-do.csv")
        return
    page.paragraph(
        f"The sheet is in {clean(sheet)}. Fill it in, take out the rows you did not press, then:"
    )
    page.line(f"  moldwin trial add {named} --from {shlex.quote(clean(sheet))}")
