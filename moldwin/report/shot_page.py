"""A shot as a page: what to load, whether it fits and holds, how large to cut the mold."""

from __future__ import annotations

import math

from moldwin.advice.shot import ShotReport
from moldwin.base.percentiles import Triple
from moldwin.physics.specimens import SPECIMENS, Specimen, specimen
from moldwin.report.numbers import interval, percent
from moldwin.report.page import Page
from moldwin.report.words import SEVERITY_WORDS, clean, job_heading

__all__ = ["shot_page", "specimens_page"]

_LABEL = 22


def shot_page(report: ShotReport, width: int | None = None) -> str:
    """The answer as text.

    Parameters
    ----------
    report : ShotReport
        The answer. [-]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        The page. [-]
    """
    page = Page(width)
    page.heading(job_heading(report.job, report.bundled))
    number = report.geometry.cavities
    page.paragraph(f"The shot for {f'{number} x ' if number > 1 else ''}{clean(report.part)}.")
    if report.geometry.given:
        _part(page, report)
        _charge(page, report)
        _press(page, report)
    else:
        page.paragraph("Nothing is made up: give a part, by --specimen, --solid or --mesh.")
    _shrinkage(page, report)
    if report.warnings:
        page.heading("WARNINGS")
    for remark in report.warnings:
        page.paragraph(remark.message, strong=f"{SEVERITY_WORDS[remark.severity]}:")
    return page.text()


def _part(page: Page, report: ShotReport) -> None:
    geometry, (low, high) = report.geometry, report.volume_band
    page.heading("THE PART")
    volume = f"{1e6 * geometry.volume:.3g} cm³"
    if high > low:
        why = "by its tolerances" if report.mesh is None else "as far as it can be trusted"
        volume += f" ({1e6 * low:.3g} to {1e6 * high:.3g} {why})"
    _row(page, "volume", volume)
    if report.mesh is not None:
        sides = " x ".join(f"{1e3 * side:.3g}" for side in report.mesh.size.extent)
        closed = "closed" if report.closed else "not closed"
        _row(page, "mesh", f"{report.mesh.size.triangles} triangles, {closed}, box {sides} mm")
    _row(page, "wall", f"{1e3 * geometry.thickness:.2g} mm, thickest {1e3 * geometry.thickest:.2g}")
    if report.mesh is not None:
        _row(page, "thick spot at", _place(report.mesh.thick_spot))
        _row(page, "last to fill at", f"{_place(report.mesh.last)}: vent there")
    _row(page, "melt flows", f"{1e3 * geometry.flow_length:.0f} mm at most")
    shadow = geometry.projected_area * geometry.cavities + geometry.runner_area
    runners = "" if geometry.runner_area else ", without runners"
    _row(page, "shadow on the mold", f"{1e4 * shadow:.3g} cm²{runners}")


def _charge(page: Page, report: ShotReport) -> None:
    page.heading("WHAT TO LOAD")
    geometry, shot = report.geometry, report.shot
    if shot.charge_g is None or shot.shot_cm3 is None:
        return
    parts = f"{geometry.cavities} x {1e6 * geometry.volume:.3g}"
    _row(
        page,
        "shot",
        f"{shot.shot_cm3:.3g} cm³ ({parts} and {1e6 * geometry.runner_volume:.2g} of sprue and "
        f"runners); {100 * report.cushion:.0f} % cushion and the nozzle come on top",
    )
    _row(
        page,
        "melt",
        f"{interval(_by(report.density, 1e-3), 'g/cm³', 2)} {_hot(report)}; "
        f"{interval(_by(report.packed_density, 1e-3), 'g/cm³', 2)} packed at "
        f"{interval(_by(report.packing_pressure, 1e-6), 'MPa', 0)}",
    )
    _row(
        page,
        "load",
        f"{interval(shot.charge_g, 'g')} of pellets as they are, {100 * report.moisture:.1f} % "
        f"water; {interval(_by(report.charge_dry, 1e3), 'g')} of it dry",
    )
    if report.after is not None and report.after.charge_g is not None:
        _row(
            page,
            "once conditioned",
            f"{interval(report.after.charge_g, 'g')} at {100 * report.after_moisture:.1f} % water",
        )
    if report.shots_in_batch is not None and report.batch is not None:
        _row(
            page,
            "the batch gives",
            f"{_whole(report.shots_in_batch)} shots from its {1e3 * report.batch:.3g} g",
        )


def _press(page: Page, report: ShotReport) -> None:
    page.heading("WHETHER IT FITS AND HOLDS")
    shot = report.shot
    if shot.barrel_fill_pct is None or report.loads is None:
        _row(page, "barrel", "its volume is not known: press.barrel_capacity_cm3")
    else:
        _row(page, "barrel", f"{shot.barrel_fill_pct:.0f} % full of melt; 20 to 80 is usual")
        _row(page, "loose pellets", f"{interval(_by(report.poured, 1e6), 'cm³')}: {_fills(report)}")
        if report.loads > 1:
            _row(
                page,
                "too large",
                f"it would take {report.loads} shots, and a small ram cannot do it in one",
            )
    if shot.clamp_needed_kn is None:
        return
    needed = interval(shot.clamp_needed_kn, "kN", 1)
    if report.clamp is None or report.clamp_holds is None:
        _row(page, "clamp", f"needs {needed}; what yours holds is not known: press.clamp_kn")
    else:
        _row(
            page,
            "clamp",
            f"needs {needed}, has {report.clamp / 1e3:.3g} kN: holds in "
            f"{percent(report.clamp_holds)} of cases",
        )


def _shrinkage(page: Page, report: ShotReport) -> None:
    page.heading("HOW LARGE TO CUT THE MOLD")
    found = report.shrinkage
    _row(page, "cooling takes", f"{interval(_by(found.cooling, 100.0), '%', 1)} of every length")
    grows = "; below 0 it takes up water and grows" if found.drying.low < 0.0 else ""
    _row(page, "drying takes", f"{interval(_by(found.drying, 100.0), '%', 1)}{grows}")
    scale = interval(found.scale, "times", 3)
    _row(page, "cut it", f"{scale} the part's size: cool first, then weeks in its room")


def _hot(report: ShotReport) -> str:
    """No temperature where nobody should heat."""
    return f"at {report.t_melt - 273.15:.0f} °C" if report.heat else "hot (but do not heat it yet)"


def _fills(report: ShotReport) -> str:
    if report.fills is None:
        return "fills are not known"
    if math.isinf(report.fills):
        return "they never fit cold, pressed or not"
    count = int(report.fills)
    if count == 1:
        return "one fill, one stroke to press them together"
    return f"{count} fills, each pressed cold with a stroke of the ram"


def _row(page: Page, name: str, words: str) -> None:
    page.paragraph(words, lead=f" {name:<{_LABEL - 2}} ")


def _by(values: Triple, factor: float) -> Triple:
    return Triple(factor * values.low, factor * values.likely, factor * values.high)


def _whole(count: Triple) -> str:
    if count.low == count.high:
        return f"{count.likely:.0f}"
    return f"{count.likely:.0f} ({count.low:.0f} to {count.high:.0f})"


def _place(at: tuple[float, ...]) -> str:
    return "x, y, z = " + ", ".join(f"{1e3 * value:.1f}" for value in at) + " mm"


def specimens_page(width: int | None = None) -> str:
    """Every specimen with its dimensions, tolerances, volume and standard.

    Parameters
    ----------
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        The page. [-]
    """
    page = Page(width)
    page.heading("SPECIMENS, nominal in mm; printed as a minimum: from")
    for name in SPECIMENS:
        one = specimen(name)
        low, high = one.volume_band
        page.paragraph(
            f"{1e6 * one.volume:.3g} cm³ ({1e6 * low:.3g} to {1e6 * high:.3g})", strong=f"{name}:"
        )
        bar = one.narrow_width == one.wide_width
        keys = ("overall_length", "narrow_width", "thickness") if bar else _ALL
        said = ", ".join(_dimension(one, key) for key in keys if getattr(one, key))
        page.paragraph(said, indent=2)
        page.paragraph(f"{one.standard}; {one.edition}. Dimensions: {one.source}.", indent=2)
    return page.text()


_ALL = (
    "overall_length",
    "narrow_length",
    "narrow_width",
    "wide_width",
    "thickness",
    "radius",
    "outer_radius",
)
_WORDS = {"overall_length": "long", "narrow_width": "wide", "thickness": "thick"} | {
    "narrow_length": "narrow part",
    "wide_width": "ends",
    "radius": "radius",
    "outer_radius": "outer radius",
}


def _dimension(one: Specimen, key: str) -> str:
    """One dimension with its tolerance and, where it is from memory, the word."""
    value = f"{1e3 * getattr(one, key):.4g}"
    below, above = one.tolerance.get(key, (0.0, 0.0))
    if key in one.minimum:
        value = f"from {value}"
    if below == above and above:
        value += f" ± {1e3 * above:.3g}"
    elif above:
        value += f" + {1e3 * above:.3g}"
    memory = " (from memory)" if one.status[key] == "memory" else ""
    return f"{_WORDS[key]} {value}{memory}"
