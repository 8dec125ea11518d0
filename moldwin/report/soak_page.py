"""The soak table of the page, and where the pressure goes."""

from __future__ import annotations

from moldwin.advice.answer import Advice, SoakAdvice
from moldwin.report.numbers import duration, interval, percent
from moldwin.report.page import Page
from moldwin.report.words import limit_words

__all__ = ["soak_section"]

#: Columns of draws in words a maker uses; others are shown by name.
_UNKNOWNS = {
    "melt_viscosity": "how stiff the melt is",
    "flow_activation": "how fast heat thins the melt",
    "flow_plasticizer": "how much plasticizer thins it",
    "flow_water": "how much water thins it",
    "flow_index": "how pushing thins it",
    "browning_limit": "how soon it browns",
    "browning_activation": "how fast heat browns it",
    "heater_error": "the true barrel temperature",
    "force_share": "the force lost in cold pellets",
    "wall_transfer": "how heat passes the barrel wall",
    "weld_offset": "when pellets weld",
    "tg_misfit": "the glass transition",
    "moisture": "the true moisture",
    "solids_packing": "how solids thicken it",
    "dissolved_share": "how much seaweed melts",
}


def soak_section(page: Page, advice: Advice) -> None:
    """Soak and chance by barrel temperature, steam against packing, the nozzle's part."""
    details = advice.details
    if details is None or not advice.heat or not details.soaks:
        return
    page.heading("SOAK, by barrel temperature")
    header = ("barrel", "soak from", "to", "best", "chance", "fails first")
    page.rows([header, *(_row(row) for row in details.soaks)], right=(1, 2, 3, 4))
    page.paragraph(
        f"Steam in the charge: {interval(details.steam_mpa, 'MPa')}; what holds it:"
        f" {interval(details.held_mpa, 'MPa')}. The nozzle takes {percent(details.nozzle_share)} of"
        " the pressure that filling needs."
    )
    if details.unknowns:
        named = ", ".join(
            f"{_words(name)} {percent(share)}" for name, share in details.unknowns[:4]
        )
        page.paragraph(f"Where the window lies is unknown mostly for: {named}.")


def _row(row: SoakAdvice) -> tuple[str, ...]:
    return (
        f"{row.barrel_c:.0f} °C",
        "-" if row.from_s is None else duration(row.from_s),
        "-" if row.to_s is None else duration(row.to_s),
        duration(row.best_s),
        percent(row.chance),
        limit_words(row.fails_first).replace("the melt is ", ""),
    )


def _words(name: str) -> str:
    return _UNKNOWNS.get(name.rsplit(".", 1)[-1], name)
