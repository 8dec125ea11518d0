"""The soak table of the page, and where the pressure goes."""

from __future__ import annotations

from moldwin.advice.answer import Advice, SoakAdvice
from moldwin.report.numbers import duration, interval, percent
from moldwin.report.page import Page
from moldwin.report.words import short_words

__all__ = ["soak_section"]

_MOST_ROWS = 5


def soak_section(page: Page, advice: Advice) -> None:
    """Soak and chance by barrel temperature, steam against packing, the nozzle's part.

    Parameters
    ----------
    page : Page
        The page so far. [-]
    advice : Advice
        The answer. [-]
    """
    details = advice.details if advice.heat else None
    if details is None or not details.soaks:
        return
    rows = _some(details.soaks)
    page.heading("SOAK, by barrel temperature")
    asked = percent(advice.confidence)
    table = [("barrel", "best", "chance", f"{asked} from", "to", "fails first"), *map(_row, rows)]
    if all(row.from_s is None for row in rows):  # then there is nothing to show of either end
        table = [(*cells[:3], cells[-1]) for cells in table]
    page.rows(table, right=tuple(range(1, len(table[0]) - 1)))
    page.paragraph(
        f"Steam in the charge: {interval(details.steam_mpa, 'MPa')}, held down by"
        f" {interval(details.held_mpa, 'MPa')}. The nozzle takes {percent(details.nozzle_share)} of"
        " the filling pressure."
    )


def _some(rows: list[SoakAdvice]) -> list[SoakAdvice]:
    """The middle rows where there are too many for the page."""
    spare = len(rows) - _MOST_ROWS
    return rows if spare <= 0 else rows[spare // 2 : len(rows) - (spare - spare // 2)]


def _row(row: SoakAdvice) -> tuple[str, ...]:
    return (
        f"{row.barrel_c:.0f} °C",
        duration(row.best_s),
        percent(row.chance),
        "never" if row.from_s is None else duration(row.from_s),
        "" if row.to_s is None else duration(row.to_s),
        short_words(row.fails_first),
    )
