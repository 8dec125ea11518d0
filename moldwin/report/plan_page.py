"""The plan as text: what is known, the next experiments with gain and cost, what then."""

from __future__ import annotations

import shlex

from moldwin.advice.bench_tests import BenchTest
from moldwin.advice.plan_rows import MeasureRow, PlanRow
from moldwin.advice.planned import Cold, PlanAdvice
from moldwin.learn import effort
from moldwin.learn.trials import COLOR_SCALE
from moldwin.report.numbers import duration, of_samples
from moldwin.report.page import Page
from moldwin.report.words import clean, first_up

__all__ = ["plan_page"]

_AIMS = {
    "window": "what narrows the barrel window most",
    "part": "what leads to a good part soonest",
}
_WITHOUT = "what narrows the answer most without heating the press"
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
    _learned_from(page, advice)
    if advice.cold is not None:
        _cold(page, advice.cold)
    if not advice.rows:
        page.heading("NO TRIAL")
        if advice.cold is None:
            page.paragraph(f"{first_up(advice.why_none).rstrip('.')}.")
        page.paragraph("`moldwin advise` tells more.")
        return page.text()
    if advice.cold is None:
        _now(page, advice)
    _experiments(page, advice)
    if advice.left_out:
        page.heading("LEFT OUT OF THE DESIGN")
        for row in advice.left_out:
            page.paragraph(f"{_where(row)}: {row.setting.screened}.", lead=" - ")
    _cost(page, advice)
    if advice.pressed:
        _next(page, job, sheet, advice.design)
    return page.text()


def _learned_from(page: Page, advice: PlanAdvice) -> None:
    if advice.learned_from:
        many = len(advice.learned_from)
        page.paragraph(f"{many} trial{'s' * (many > 1)} of this material counted already.")


def _cold(page: Page, cold: Cold) -> None:
    page.heading("DO NOT HEAT THIS YET")
    page.paragraph(f"The advice is no. {cold.why}")
    if not cold.changes:
        page.paragraph("No single change that was tried, and no two together, would be enough.")
        return
    page.paragraph("What has to change first, one of these:")
    for change in cold.changes:
        words = " and ".join(step.words for step in change.steps)
        sets = " ".join(f"--set {key}={value}" for key, value in change.set.items())
        page.paragraph(
            f"{first_up(words)}: then a chance of {of_samples(change.window.chance)} ({sets})",
            lead=" - ",
        )


def _now(page: Page, advice: PlanAdvice) -> None:
    best = advice.ground.best
    page.paragraph(
        f"Now: the setting most likely good, {100 * best.moisture:.1f} % water,"
        f" {best.barrel - 273.15:.0f} °C and {duration(best.soak)} in the barrel, has a chance"
        f" of {of_samples(advice.best_chance)}; the ends of its barrel window are known give or"
        f" take {advice.spread:.0f} °C."
    )


def _experiments(page: Page, advice: PlanAdvice) -> None:
    page.heading(_headline(advice))
    gains = not advice.design
    numbered = list(enumerate(advice.rows, 1))
    if advice.pressed:
        heads: tuple[str, ...] = ("", "water", "barrel", "soak", "mold", "load", "good?")
        heads += ("then ±", "best then") if gains else ("glycerol",)
        page.rows([heads, *(_cells(n, row) for n, row in numbered)], right=_RIGHT)
        page.gap()
        page.paragraph(
            "Good? is the chance that barrel and part both turn out well; a low one is a trial to"
            " learn from."
            + (
                " Then ± is how well the ends of the window are expected to be known after an"
                " experiment and those before it, best then the chance of the setting that will"
                " look best."
                if gains
                else " Glycerol is in g per 100 g dry polymer; another amount means another batch."
            )
        )
    else:
        page.paragraph(
            f"The ends of the barrel window are known give or take {advice.spread:.0f} °C now."
        )
    for number, row in numbered:
        if isinstance(row, MeasureRow):
            test = row.test
            after = "" if advice.pressed else f", then ± {row.spread:.0f} °C"
            page.paragraph(
                f"{first_up(test.what)} ({_takes(test)}{after}): {test.how}.{_goes(test)}",
                lead=f"{number:2d} ",
            )


def _takes(test: BenchTest) -> str:
    """Minutes at work, and days until there is something to read."""
    wait = f" and {test.days:.0f} day{'s' * (test.days != 1)} of waiting" if test.days else ""
    return f"{test.minutes:.0f} min{wait}"


def _goes(test: BenchTest) -> str:
    """Where the reading goes: a trial's note has a column, a table an option, the rest a key."""
    where, _, what = test.key.partition(".")
    if where == "trial":
        return ""
    if where == "fit":
        return f" The table goes to `moldwin fit --{what.replace('_', '-')}`."
    return f" It goes into `{test.key}`."


def _headline(advice: PlanAdvice) -> str:
    many = len(advice.rows)
    if advice.design:
        return f"{many} TRIAL{'S' * (many != 1)}: {_DESIGNS[advice.design]}"
    if not advice.pressed:
        return f"{many} MEASUREMENT{'S' * (many != 1)}: {_WITHOUT}"
    what = "TRIAL" if len(advice.pressed) == many else "EXPERIMENT"
    return f"{many} {what}{'S' * (many != 1)}: {_AIMS[advice.aim]}"


_RIGHT = (0, 1, 2, 3, 4, 5, 6, 7, 8)


def _cells(number: int, row: PlanRow | MeasureRow) -> tuple[str, ...]:
    if isinstance(row, MeasureRow):
        gains = f"{row.spread:.0f} °C", of_samples(row.best_chance)
        return (f"{number}", "no press:", "below", "", "", "", "", *gains)
    sheet = row.sheet
    cells = (
        f"{number}",
        f"{sheet.moisture_pct:g} %",
        f"{sheet.barrel_c:.0f} °C",
        f"{sheet.soak_s:.0f} s",
        f"{sheet.mold_c:.0f} °C",
        "" if sheet.charge_g is None else _load(sheet.charge_g),
        of_samples(row.setting.chance),
    )
    if row.spread is None or row.best_chance is None:
        return (*cells, f"{100.0 * (row.glycerol or 0.0):.0f} g")
    return (*cells, f"{row.spread:.0f} °C", of_samples(row.best_chance))


def _where(row: PlanRow) -> str:
    sheet = row.sheet
    words = f"{sheet.moisture_pct:g} % water, {sheet.barrel_c:.0f} °C"
    if row.glycerol is None:
        return words
    return f"{100.0 * row.glycerol:.0f} g glycerol, {words}"


def _cost(page: Page, advice: PlanAdvice) -> None:
    page.heading("COST")
    evenings = f"{advice.evenings} evening{'s' * (advice.evenings != 1)}"
    if not advice.pressed:
        page.paragraph(f"{evenings}.")
        return
    page.paragraph(
        f"{evenings} (assumed: {effort.HANDLING_MIN:.0f} min a shot besides its soak and cooling,"
        f" {effort.SETTLING_MIN:.0f} min for another set point, {effort.HEATING_MIN:.0f} min to"
        f" heat the barrel and {effort.COOLING_DOWN_MIN:.0f} min for it to cool, in an evening of"
        f" {effort.EVENING_MIN / 60:.0f} h). Press from cold to hot: a barrel cools slowly."
    )
    if any(row.charge is not None for row in advice.pressed):
        grams = f"{_mass(advice.grams)} of pellets, besides what the bore keeps"
        if advice.at_hand is not None and advice.grams > 1e3 * advice.at_hand:
            grams += f": more than the {_mass(1e3 * advice.at_hand)} there are"
        page.paragraph(f"{grams}.")
    for row in advice.pressed:
        if row.effort.wait > 0.0:
            page.paragraph(
                f"Pellets at {row.sheet.moisture_pct:g} % water: about"
                f" {max(row.effort.wait, 1.0):.0f} day{'s' * (row.effort.wait >= 1.5)} in the jar"
                " before; `moldwin condition` says which.",
                lead=" - ",
            )
    batches = {row.glycerol for row in advice.pressed if row.job_tables}
    if batches:
        more = "es" * (len(batches) > 1)
        page.paragraph(f"{len(batches)} more batch{more} to cook and dry.", lead=" - ")


def _next(page: Page, job: str | None, sheet: str | None, design: str) -> None:
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
        shape = f" --design {design}" if design else ""
        page.command(f"moldwin plan {named}{shape} -o trials-to-do.csv")
        return
    page.paragraph(
        f"The sheet is in {clean(sheet)}. Fill it in, take out the rows you did not press, then:"
    )
    page.command(f"moldwin trial add {named} --from {shlex.quote(clean(sheet))}")


def _load(grams: float) -> str:
    """To a tenth of a gram, as a kitchen scale weighs it."""
    return f"{grams:.1f} g" if grams < 100.0 else f"{grams:.0f} g"


def _mass(grams: float) -> str:
    """Grams in two digits, as a kitchen scale would show them.

    Examples
    --------
    >>> _mass(9.74), _mass(99.7), _mass(234.0), _mass(11240.0), _mass(2.4e6)
    ('9.7 g', '100 g', '230 g', '11 kg', '2400 kg')
    """
    unit = "g"
    if grams >= 995.0:
        grams, unit = grams / 1e3, "kg"
    if grams < 99.5:
        return f"{grams:.2g} {unit}"
    return f"{float(f'{grams:.2g}'):.0f} {unit}"
