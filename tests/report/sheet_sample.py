"""A sheet made by hand: no figure in it was computed."""

from __future__ import annotations

from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

from moldwin.advice.answer import Advice, Barrel, Situation
from moldwin.advice.sheet_grid import SheetCell, SheetColumn, SheetGrid
from moldwin.inputs.job import Job
from moldwin.report.sheet import Origin, run_sheet
from tests.report.sample import AS_IT_IS, CLOSED, HOPELESS, OPEN, SETTINGS, WARNINGS

BARREL = [100.0, 120.0, 134.8, 160.0]
CHANCES = [0.1, 0.6, 0.7432, 0.3]
JOB = Job(title="Bars", raw={"title": "Bars", "press": {"force_kn": 6, "sealed_nozzle": True}})


def column(moisture_pct: float, barrel: Barrel = OPEN, heat: bool = True) -> SheetColumn:
    """One moisture: cold at its coldest, best at its third place."""
    cells = []
    for t, chance in zip(BARREL, CHANCES, strict=True):
        warm = heat and chance >= 0.2
        held = replace(AS_IT_IS, barrel=replace(barrel, best_c=t, chance=chance))
        cells.append(
            SheetCell(
                barrel_c=t,
                chance=chance,
                heat=warm,
                situation=held if warm else None,
                settings=replace(SETTINGS, barrel_c=t) if warm else None,
                warnings=WARNINGS,
            )
        )
    situation: Situation = replace(AS_IT_IS, barrel=barrel)
    return SheetColumn(moisture_pct, situation, heat, 2 if heat else None, cells, WARNINGS)


def grid(heat: bool = True) -> SheetGrid:
    """Three moistures; the driest has no window."""
    driest, others = (CLOSED, OPEN) if heat else (HOPELESS, HOPELESS)
    return SheetGrid(
        BARREL,
        [column(9.0, driest, heat), column(10.0, others, heat), column(11.0, others, heat)],
    )


def page(advice: Advice, *, job: Job = JOB, origin: Origin | None = None, **more: Any) -> str:
    """The sheet of an answer made by hand."""
    shown = more.get("grid") or grid(advice.heat)
    return run_sheet(advice, shown, job, origin or Origin("bars.toml", "title = 'Bars'\n"))


class Markup(HTMLParser):
    """A page taken apart: its tags, and the words that stand outside scripts and styles.

    ``visible`` leaves out what is hidden until the script shows it.
    """

    VOID = ("meta", "link", "input", "br", "img")

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.visible: list[str] = []
        self.raw: dict[str, str] = {}
        self._open: list[tuple[str, dict[str, str | None]]] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self._open.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        name, _ = self._open.pop()
        assert name == tag, f"<{name}> is closed by </{tag}>"

    def handle_data(self, data: str) -> None:
        tag, attributes = self._open[-1] if self._open else ("", {})
        if tag in ("style", "script"):
            self.raw[str(attributes.get("id") or tag)] = data
            return
        self.words.append(data)
        if not any("hidden" in attributes for _, attributes in self._open):
            self.visible.append(data)

    @property
    def said(self) -> str:
        return " ".join(" ".join(self.words).split())

    @property
    def seen(self) -> str:
        return " ".join(" ".join(self.visible).split())

    def left_open(self) -> list[str]:
        return [tag for tag, _ in self._open]
