"""An isotherm from one's own weighings: as plain data, and as a page."""

from __future__ import annotations

from typing import Any

from moldwin.base.percentiles import Triple
from moldwin.report.numbers import interval
from moldwin.report.page import Page
from moldwin.report.words import clean
from moldwin.stages.isotherm_reading import CONSTANTS, IsothermReading

__all__ = ["ISOTHERM_SCHEMA", "isotherm_data", "isotherm_page"]

ISOTHERM_SCHEMA = "moldwin.isotherm/1"
_NAMES = {"xm": "xm, % per dry mass", "c": "C", "k": "K"}
_MOST_POINTS = 16


def isotherm_data(reading: IsothermReading, written: str | None = None) -> dict[str, Any]:
    """Everything a reading says.

    Parameters
    ----------
    reading : IsothermReading
        The isotherm. [SI]
    written : str, optional
        The card that was written. [-]

    Returns
    -------
    dict
        Plain data with a schema name; percent per dry mass unless said otherwise. [as named]
    """
    return {
        "schema": ISOTHERM_SCHEMA,
        "card": reading.card.name,
        "temperature_c": reading.t - 273.15,
        "points": [
            {
                "sample": point.sample,
                "humidity_pct": 100.0 * point.aw,
                "dry_pct": 100.0 * point.x,
                "fitted_pct": 100.0 * fitted,
            }
            for point, fitted in zip(reading.used, reading.fitted, strict=True)
        ],
        "left_out": [
            {"sample": p.sample, "humidity_pct": 100.0 * p.aw, "dry_pct": 100.0 * p.x}
            for p in reading.left_out
        ],
        "xm_pct": _percent(reading.now["xm"]),
        "c": reading.now["c"].to_dict(),
        "k": reading.now["k"].to_dict(),
        "card_before": {
            "xm_pct": _percent(reading.before["xm"]),
            "c": reading.before["c"].to_dict(),
            "k": reading.before["k"].to_dict(),
        },
        "log_correlation": [list(map(float, row)) for row in reading.correlation],
        "curve": [
            {
                "humidity_pct": 100.0 * edge.aw,
                "dry_pct": _percent(edge.now),
                "wet_pct": _wet(edge.now),
                "card_dry_pct": _percent(edge.before),
                "measured_near": edge.measured_near,
            }
            for edge in reading.edges
        ],
        "notes": list(reading.notes),
        "written": written,
    }


def isotherm_page(
    reading: IsothermReading, written: str | None = None, width: int | None = None
) -> str:
    """The answer as text.

    Parameters
    ----------
    reading : IsothermReading
        The isotherm. [SI]
    written : str, optional
        The card that was written. [-]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        The page. [-]
    """
    page = Page(width)
    page.heading(f"Isotherm of {clean(reading.card.title)}, from your weighings")
    humidities = len({point.aw for point in reading.used})
    page.paragraph(
        f"{len(reading.used)} points at {humidities} humidities, taken at "
        f"{reading.t - 273.15:.0f} °C and moved to 25, joined with what the card "
        f"{reading.card.name} knew before. In brackets stand 90 % intervals."
    )
    _curve(page, reading)
    page.heading("CONSTANTS (GAB)")
    rows = [("", "now", "the card before")]
    for name in CONSTANTS:
        scale = 100.0 if name == "xm" else 1.0
        now, before = (_scaled(of[name], scale) for of in (reading.now, reading.before))
        rows.append((_NAMES[name], _band(now, 3), _band(before, 3)))
    page.rows(rows)
    page.heading("YOUR POINTS, % per dry mass")
    table = [("sample", "humidity %", "measured", "curve", "off by")]
    for point, fitted in list(zip(reading.used, reading.fitted, strict=True))[:_MOST_POINTS]:
        off = 100.0 * (point.x - fitted)
        table.append(
            (
                clean(point.sample),
                f"{100 * point.aw:.0f}",
                f"{100 * point.x:.1f}",
                f"{100 * fitted:.1f}",
                f"{off:+.1f}",
            )
        )
    page.rows(table, right=(1, 2, 3, 4))
    if len(reading.used) > _MOST_POINTS:
        page.paragraph(f"and {len(reading.used) - _MOST_POINTS} more; --json lists them all")
    if reading.notes:
        page.heading("BEWARE")
    for note in reading.notes:
        page.paragraph(
            f"{note[:1].upper()}{note[1:]}" + ("" if note.endswith("?") else "."), lead=" - "
        )
    _written(page, reading, written)
    return page.text()


def _curve(page: Page, reading: IsothermReading) -> None:
    page.heading("MOISTURE AT A HUMIDITY, 25 °C")
    rows = [("humidity %", "% per dry mass", "% wet basis", "by the card alone", "")]
    for edge in reading.edges:
        wet = 100.0 * edge.now.likely / (1.0 + edge.now.likely)
        rows.append(
            (
                f"{100 * edge.aw:.0f}",
                _band(_scaled(edge.now, 100.0), 1),
                f"{wet:.1f}",
                _band(_scaled(edge.before, 100.0), 1),
                "" if edge.measured_near else "no point near",
            )
        )
    page.rows(rows, right=(0, 2))


def _written(page: Page, reading: IsothermReading, written: str | None) -> None:
    if written is None:
        page.gap()
        page.paragraph(
            "--card-out FILE.toml writes it as a card of your own: with the name "
            f"{reading.card.name}.toml it stands in for ours."
        )
        return
    page.heading(f"WRITTEN: {clean(written)}")
    page.paragraph(
        "It is used where it lies in cards/ beside the job, or in the folder that MOLDWIN_CARDS "
        "names; its file name is the card's name in the job. Its isotherm is measured now, all "
        "else in it is as before."
    )


def _band(value: Triple, most: int) -> str:
    return interval(value, "", most).replace("  ", " ").strip()


def _scaled(value: Triple, scale: float) -> Triple:
    return Triple(scale * value.low, scale * value.likely, scale * value.high)


def _percent(value: Triple) -> dict[str, float]:
    return _scaled(value, 100.0).to_dict()


def _wet(x: Triple) -> dict[str, float]:
    return {name: 100.0 * value / (1.0 + value) for name, value in x.to_dict().items()}
