"""A drying sheet as a page: thickness, hours, tearing, curl, and how to break it up."""

from __future__ import annotations

import math

from moldwin.advice.film import STRIP, FilmAdvice, Stage
from moldwin.base.percentiles import Triple
from moldwin.physics.film_stress import edge_lift
from moldwin.report.numbers import interval, percent
from moldwin.report.page import Page
from moldwin.report.words import SEVERITY_WORDS, job_heading

__all__ = ["film_page"]

#: From here times are told in days. [h]
_WATCHED = 72.0
#: From here nobody counts in days. [h]
_YEARS = 2000.0 * 24.0
#: Wet gel crystallizes within a day. [h]
_CRYSTALLIZES = 24.0
#: A pot that fills so much more or less than one sheet is told.
_NOT_ONE_SHEET = 0.05
#: Spreads beyond this are told as "over": nobody spreads that. [m]
_THICK = 0.05


def film_page(advice: FilmAdvice, width: int | None = None) -> str:
    """The answer as text.

    Parameters
    ----------
    advice : FilmAdvice
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
    if page.stops(advice.warnings):  # no number here would be true of it
        return page.text()
    _intro(page, advice)
    _thickness(page, advice)
    _time(page, advice)
    _tears(page, advice)
    _curl(page, advice)
    _pieces(page, advice)
    _helps(page, advice)
    if advice.warnings:
        page.heading("WARNINGS")
    for remark in advice.warnings:
        page.paragraph(remark.message, strong=f"{SEVERITY_WORDS[remark.severity]}:")
    return page.text()


def _intro(page: Page, advice: FilmAdvice) -> None:
    on = f" on {advice.plate}" if advice.plate else ""
    fan = "a fan over it" if advice.air.fan else "no fan"
    page.paragraph(
        f"Gel spread {1e3 * advice.spread:.3g} mm thick{on}, "
        f"{interval(_times(advice.wet_water, 100), '%')} water, in air of "
        f"{advice.air_t - 273.15:.0f} °C and {100 * advice.humidity:.0f} % humidity, {fan}; one "
        "face open, stuck to its plate until it is peeled."
    )
    assumed = []
    if not advice.spread_given:
        assumed.append(f"a spread of {1e3 * advice.spread:.3g} mm (sheet.spread_mm)")
    if not advice.water_given:
        assumed.append("as much water as makes a gel that can be stirred (pot.water_g)")
    if not advice.area_given:
        assumed.append(f"masses for {1e4 * advice.area:.0f} cm² (sheet.area_cm2)")
    if assumed:
        page.paragraph(f"{'; '.join(assumed)}.", strong="Not in the job, so assumed:")


def _thickness(page: Page, advice: FilmAdvice) -> None:
    page.heading("HOW THICK IT DRIES")
    page.paragraph(
        f"stuck to its plate: {interval(_times(advice.flake.thickness, 1e3), 'mm')}, all of the"
        " shrinkage in its thickness",
        lead=" - ",
    )
    page.paragraph(
        f"free, or once it lets go wet: {100 * advice.free_shrink:.0f} % off every length, "
        f"{1e3 * advice.dry_free:.2g} mm thick; a block of this gel keeps "
        f"{100 * advice.block_left:.0f} % of its volume",
        lead=" - ",
    )
    if advice.gel_for is not None and abs(advice.gel_for - 1.0) > _NOT_ONE_SHEET:
        page.paragraph(
            f"the pot's gel is enough for {advice.gel_for:.2g} such sheets of "
            f"{1e4 * advice.area:.0f} cm²; the masses below are those of one",
            lead=" - ",
        )


def _time(page: Page, advice: FilmAdvice) -> None:
    page.heading("HOW LONG")
    of = "sheet" if advice.area_given else f"{1e4 * advice.area:.0f} cm²"
    rows = [("", "after", "water %", f"{of} weighs g")]
    words = {"wet": "spread", "peel": "peels", "dry": "dry"}
    for name, stage in advice.stages.items():
        rows.append((words[name], *_cells(stage)))
    page.rows(rows)
    page.paragraph(
        "Peels: firm enough to let go of, underside too. Dry: within a point of its balance with"
        " this air."
    )
    if advice.never_stored < 0.5:
        page.paragraph(f"safe to store, heart included: {_hours(advice.store)}", lead=" - ")
    flux = interval(_times(advice.flux, 3.6e6), "g")
    page.paragraph(
        f"while wet it loses {flux} per m² and hour and "
        f"cools to {advice.t_wet.likely - 273.15:.0f} °C",
        lead=" - ",
    )
    slow = {
        "air": "the air over it: a fan or warmer air shortens it",
        "sheet": "water on its way through the sheet: only a thinner one shortens it much",
    }
    page.paragraph(f"what takes longest is {slow[advice.bottleneck]}", lead=" - ")
    if advice.stages["peel"].hours.likely > _CRYSTALLIZES:
        page.paragraph(
            "starch kept wet for more than a day crystallizes: stiffer, and softer only when hotter"
            " (Forssell 1997)",
            lead=" - ",
        )
    page.paragraph(
        "Weigh plate and gel together: take the plate's own mass off. The mass tells better than"
        " the clock when it is dry."
    )


def _tears(page: Page, advice: FilmAdvice) -> None:
    page.heading("WHEN IT TEARS OR LETS GO, as wet spread")
    page.paragraph(
        f"tears from {_spread(advice.tear)} up; as spread: {percent(advice.tear_chance)} of cases",
        lead=" - ",
    )
    page.paragraph(
        f"lets go of its plate by itself and shrinks in from the sides from "
        f"{_spread(advice.lets_go)} up, by how well it sticks",
        lead=" - ",
    )
    if advice.sheets is not None:
        told = advice.sheets
        torn = [] if told.torn is None else [f"{1e3 * told.torn:g} mm tore"]
        held = [] if told.whole is None else [f"{1e3 * told.whole:g} mm held"]
        page.paragraph(
            f"your sheets ({', '.join([*torn, *held])}): before, {_spread(told.before)}", lead=" - "
        )
        if not told.inside:
            page.paragraph(
                "They lie outside what this job allows and are only half believed: check gel, air"
                " and spread.",
                strong="Caution:",
            )
    page.paragraph(
        "Thin sheets shrink in thickness and lie flat; thick ones shrink in from their sides and"
        " tear (common practice, no source). A drying skin over a soft heart pulls hardest: dry"
        " slowly at first, under a cloth, then faster."
    )


def _curl(page: Page, advice: FilmAdvice) -> None:
    page.heading("CURL, from one open face")
    peeled, dry = (
        1e3 * float(edge_lift(of.likely, STRIP)) for of in (advice.curl_peeled, advice.curl_dry)
    )
    page.paragraph(
        f"a strip of {1e3 * STRIP:.0f} mm peeled at the first chance lifts its edges by about "
        f"{_rounded(peeled)} mm, toward the dry face; peeled when dry, {_rounded(dry)} mm",
        lead=" - ",
    )
    page.paragraph(
        "against it: leave it stuck until it is dry, or peel, turn it over and finish it between"
        " two meshes under a weight (common practice, no source)",
        lead=" - ",
    )


def _pieces(page: Page, advice: FilmAdvice) -> None:
    flake = advice.flake
    page.heading("EVEN PELLETS FROM IT")
    page.paragraph(
        f"cut squares of about {1e3 * flake.edge:.0f} mm: strips first, then across; pieces of one"
        " size dry, fill and melt alike",
        lead=" - ",
    )
    if flake.bends_above.likely > 0.0:
        page.paragraph(
            f"cut while it bends: from peeling down to "
            f"{interval(_times(flake.bends_above, 100), '%')} water; below, it snaps and crumbles",
            lead=" - ",
        )
    page.paragraph(
        f"once dry for this air it snaps in {percent(flake.snaps_when_dry)} of cases", lead=" - "
    )
    page.paragraph(
        f'in the job: shape = "flake", thickness_mm = {1e3 * advice.dry:.2g}', lead=" - "
    )


def _helps(page: Page, advice: FilmAdvice) -> None:
    page.heading("WHAT HELPS")
    rows: list[tuple[str, ...]] = [("", "dry after", "tears", "molds first")]
    for each in advice.helps:
        rows.append((each.change, _hours(each.hours), percent(each.tears), percent(each.molds)))
    page.rows(rows, right=(2, 3))


def _cells(stage: Stage) -> tuple[str, str, str]:
    water = interval(_times(stage.moisture, 100), "").replace("  ", " ").strip()
    mass = interval(_times(stage.mass, 1e3), "", 1).replace("  ", " ").strip()
    return _hours(stage.hours), water, mass


def _spread(of: Triple) -> str:
    """A spread in mm with two digits at most; what nobody spreads is "over"."""
    low, likely, high = (_millimeters(value) for value in (of.low, of.likely, of.high))
    return f"{likely} mm ({low} to {high})"


def _millimeters(value: float) -> str:
    if value > _THICK:
        return f"over {1e3 * _THICK:.0f}"
    return "under 0.1" if value < 1e-4 else f"{float(f'{1e3 * value:.2g}'):g}"


def _hours(hours: Triple) -> str:
    """In hours up to three days. Two digits at most."""
    if hours.high == 0.0:
        return "0 h"
    in_days = hours.likely >= _WATCHED
    scale, unit = (24.0, "days") if in_days else (1.0, "h")
    low, likely, high = (
        "years" if _YEARS < v < math.inf else _two_digits(v / scale)
        for v in (hours.low, hours.likely, hours.high)
    )
    return f"{likely} {unit} ({low} to {high})"


def _two_digits(value: float) -> str:
    if not math.isfinite(value):
        return "never"
    return "<1" if value < 0.95 else f"{float(f'{value:.2g}'):.0f}"


def _rounded(millimeters: float) -> str:
    return "under 1" if millimeters < 1.0 else f"{float(f'{millimeters:.1g}'):g}"


def _times(of: Triple, scale: float) -> Triple:
    return Triple(scale * of.low, scale * of.likely, scale * of.high)
