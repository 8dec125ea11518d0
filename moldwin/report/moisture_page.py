"""A moisture from weighings as a page: the number, how it comes about, what to do better."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from moldwin.base.percentiles import digits_for
from moldwin.report.numbers import around, duration
from moldwin.report.page import Page
from moldwin.report.words import SEVERITY_WORDS

__all__ = ["moisture_page"]

_MOST_SAMPLES = 12
_STATES = {
    "leveled": "The mass has settled.",
    "tail": "It has settled but for a steady loss: glycerol, slow water or browning.",
    "unclear": "Whether the mass has settled cannot be told from these weighings.",
    "falling": "The mass was still falling: there is more water in it than this says.",
}
_STATE_WORDS = {
    "leveled": "settled",
    "tail": "steady loss",
    "unclear": "cannot be told",
    "falling": "still falling",
}
_ASSUMED = {
    "oven.film": "film coefficient of glycerol vapor over the dish",
    "oven.glycerol_activity": "activity of the glycerol",
    "oven.temperature": "oven at",
    "oven.time": "time in the oven",
    "oven.dish_area": "open area of the dish",
}
_ZERO_C = 273.15


def moisture_page(data: Mapping[str, Any], width: int | None = None) -> str:
    """The answer as text.

    Parameters
    ----------
    data : mapping
        From ``moisture_data``. [as named there]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        The page. [-]
    """
    page = Page(width)
    _answer(page, data)
    _comes_about(page, data)
    _samples(page, data)
    _warnings(page, data["warnings"])
    _instead(page, data["instead"])
    _list(page, "NEXT", [_sentence(words) for words in data["next"]])
    _method(page, data["method"])
    _assumptions(page, data["assumptions"])
    _written(page, data["written"])
    return page.text()


def _answer(page: Page, data: Mapping[str, Any]) -> None:
    page.heading(f"Moisture, wet basis: {_band(data['intervals']['wet_pct'], data['wet_pct'])}")
    dry = _band(data["intervals"]["dry_pct"], data["dry_pct"])
    u = data["u_pct"]
    page.paragraph(
        f"Per dry mass: {dry}. Standard uncertainty of the wet basis {u:.{_places(u)}f} points. "
        "In brackets stand 90 % intervals."
    )


def _comes_about(page: Page, data: Mapping[str, Any]) -> None:
    page.heading("HOW IT COMES ABOUT")
    n, places = len(data["samples"]), _places(data["u_pct"])
    mean = f", mean of {n} samples" if n > 1 else ""
    page.paragraph(
        f"Lost in the oven: {data['loss_pct']:.{places}f} %{mean}; the scale shows steps of "
        f"{data['resolution_g']:g} g.",
        lead=" - ",
    )
    page.paragraph(_glycerol(data), lead=" - ")
    settling = data["settling"]
    if settling["state"] is not None:
        page.paragraph(f"{_STATES[settling['state']]}{_tail(settling)}", lead=" - ")


def _glycerol(data: Mapping[str, Any]) -> str:
    part = data["glycerol_part_pct"]
    if part is None:
        return "Whether some of that was glycerol is not known; none is taken off."
    if part == 0.0:
        return "No glycerol in it, so all of that counts as water."
    band = _band(data["intervals"]["glycerol_part_pct"], part, "")
    return f"Of that, likely glycerol and taken off: {band} points."


def _tail(settling: Mapping[str, Any]) -> str:
    rate, u = settling["tail_pct_per_h"], settling["tail_u_pct_per_h"]
    if rate is None:
        return ""
    words = f" Steady loss at the end: {rate:.{_places(u)}f} ± {u:.{_places(u)}f} points an hour"
    rest = settling["rest_pct"]
    if settling["state"] in ("falling", "unclear"):
        words += f"; about {rest:.1f} points still to come, which widens the interval"
    words += "."
    if not settling["tail_fits_estimate"]:
        words += " The glycerol estimate does not reach that rate and followed it part of the way."
    return words


def _samples(page: Page, data: Mapping[str, Any]) -> None:
    rows = data["samples"]
    if len(rows) < 2:
        return
    page.heading("SAMPLES, in % of the wet mass")
    places = _places(data["u_pct"])
    table = [("sample", "minutes", "lost", "glycerol", "water", "mass")]
    for row in rows[:_MOST_SAMPLES]:
        part = row["glycerol_part_pct"]
        table.append(
            (
                row["sample"],
                "?" if row["minutes"] is None else f"{row['minutes']:.0f}",
                f"{row['loss_pct']:.{places}f}",
                "?" if part is None else f"{part:.{places}f}",
                f"{row['wet_pct']:.{places}f}",
                _STATE_WORDS.get(row["state"], ""),
            )
        )
    page.rows(table, right=(1, 2, 3, 4))
    if len(rows) > _MOST_SAMPLES:
        page.paragraph(f"and {len(rows) - _MOST_SAMPLES} more; --json lists them all")


def _method(page: Page, method: Mapping[str, Any]) -> None:
    page.heading("METHOD")
    standards, departs = method["standards"], method["departs"]
    if method["name"]:
        page.paragraph(f"By temperature and time {method['name']}: {standards[method['name']]}.")
    elif method["nearest"]:
        nearest = method["nearest"]
        page.paragraph(f"None of the standards. Nearest: {nearest}, {standards[nearest]}.")
    else:
        page.paragraph(f"No standard can be named: {'; '.join(departs)}.")
        return
    for words in departs:
        page.paragraph(f"departs: {words}", lead=" - ")
    page.paragraph(
        "ISO 15512 (titrates the water) and ASTM D6980 (weighs inside the heater) are for "
        "plastics, and other kinds of method."
    )


def _instead(page: Page, ways: list[dict[str, Any]]) -> None:
    if not ways:
        return
    page.heading("WHAT TAKES LESS GLYCEROL FOR WATER")
    for way in ways:
        if way["oven_c"] is None:
            page.paragraph(_sentence(way["way"]), lead=" - ")
            continue
        part, a_water = way["glycerol_part_pct"], way["room_air_water_activity"]
        page.paragraph(
            f"The oven at {way['oven_c']:.0f} °C for {duration(60.0 * way['minutes'])} dries as "
            f"far and takes about {part:.1f} points of glycerol along; the room's air holds it at "
            f"water activity {a_water:.2f}, so a trace of water stays.",
            lead=" - ",
        )


def _warnings(page: Page, warnings: list[dict[str, Any]]) -> None:
    if not warnings:
        return
    page.heading("WARNINGS")
    for warning in warnings:
        strong = f"{SEVERITY_WORDS[warning['severity']]}:"
        page.paragraph(warning["message"], lead=" - ", strong=strong, style="bold")


def _assumptions(page: Page, rows: list[dict[str, Any]]) -> None:
    guessed = [row for row in rows if row["status"] == "assumed" and row["value"] is not None]
    if guessed:
        page.heading("ASSUMED")
    for row in guessed:
        what, value = _ASSUMED[row["name"]], _edge(row["value"], row["unit"])
        page.paragraph(f"{what} {value} ({row['source']})", lead=" - ")


def _written(page: Page, written: Mapping[str, Any] | None) -> None:
    if written is None:
        return
    page.heading(f"WRITTEN into {written['file']}")
    for key, value in written["now"].items():
        old = written["before"].get(key)
        was = "" if old is None else f" (was {old})"
        page.paragraph(f"pellets.{key} = {value:g}{was}", lead=" - ")
    if "weighings" in written["before"]:
        page.paragraph("pellets.weighings is a comment now", lead=" - ")


def _list(page: Page, heading: str, rows: list[str]) -> None:
    if rows:
        page.heading(heading)
    for row in rows:
        page.paragraph(row, lead=" - ")


def _band(triple: Mapping[str, float], likely: float, unit: str = "%") -> str:
    return around(triple["low"], likely, triple["high"], unit).replace("  ", " ").strip()


def _places(u: float) -> int:
    """Decimals that a standard uncertainty allows; its 90 % interval is 3.3 times as wide."""
    return max(1, digits_for(3.3 * u))


def _edge(value: float, unit: str) -> str:
    """A number in the unit of the options."""
    if unit == "K":
        return f"{value - _ZERO_C:.0f} °C"
    scale, sign = {"m2": (1e4, " cm²"), "s": (1 / 60.0, " min"), "m/s": (1e3, " mm/s")}.get(
        unit, (1.0, "")
    )
    return f"{value * scale:.3g}{sign}"


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:].rstrip(".") + ("" if words.endswith("?") else ".")
