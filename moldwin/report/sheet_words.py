"""What the run sheet says: the steps of the terminal's page in pieces, the same words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

from moldwin.advice.answer import Advice, Barrel, Details, Situation
from moldwin.advice.sheet_grid import SheetCell, SheetColumn
from moldwin.base.remarks import Remark, weightiest_first
from moldwin.report.numbers import duration, of_samples, percent
from moldwin.report.page import Page
from moldwin.report.steps_page import moisture_words, shown, steps_section
from moldwin.report.words import SEVERITY_WORDS, clean

__all__ = [
    "Note",
    "Told",
    "advised_status",
    "cell_status",
    "column_status",
    "figures",
    "jar_figure",
    "steps_at",
    "told",
    "warning_lead",
    "warnings_of",
]

#: Where a remark is of use, by the stage that raised it.
_PLACES: dict[str, str] = {
    "blend": "blend",
    "moisture": "pellets",
    "drying": "pellets",
    "conditioning": "jar",
    "melting": "barrel",
    "molding": "mold",
    "shot": "shot",
    "service": "part",
}
#: Said by the steps already, as on the terminal's page.
_IN_THE_STEPS = ("held-too-long",)


@dataclass(frozen=True)
class Note:
    """Something said beside the steps; a remedy has its ``--set`` options behind it."""

    words: str
    strong: str = ""
    remedy: bool = False
    options: str = ""


@dataclass
class Told:
    """The steps in order, each a few sentences, and what is said beside them."""

    steps: list[list[str]] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)


class _Listener(Page):
    """Takes the page's paragraphs apart instead of laying them out."""

    def __init__(self) -> None:
        super().__init__(width=80)
        self.told = Told()

    def heading(self, words: str) -> None:
        """The sheet has headings of its own."""

    def paragraph(
        self,
        words: object,
        *,
        lead: str = "",
        strong: str = "",
        indent: int = 0,
        style: str = "",
    ) -> None:
        """A step, what more is said of it, a remedy, or a note."""
        text = clean(words)
        if lead.strip().endswith("."):
            self.told.steps.append([text])
        elif lead:
            self.told.notes.append(Note(text, remedy=True))
        elif indent and self.told.steps:
            self.told.steps[-1].append(text)
        elif strong or not style:  # "do not heat" stands on the sheet in large letters already
            self.told.notes.append(Note(text, clean(strong)))

    def line(self, words: object, *, indent: int = 0, cut: bool = False, style: str = "") -> None:
        """The options behind a remedy."""
        self.told.notes[-1] = replace(self.told.notes[-1], options=clean(words))


def told(advice: Advice, job: str | None = None) -> Told:
    """The steps of the terminal's page in pieces.

    Parameters
    ----------
    advice : Advice
        The answer. [-]
    job : str, optional
        The job file as the user named it, for the commands the steps suggest. [-]

    Returns
    -------
    Told
        The same words. [-]
    """
    page = _Listener()
    steps_section(page, advice, job)
    return page.told


def steps_at(advice: Advice, cell: SheetCell) -> list[list[str]]:
    """The press's three steps - heat, load, cool - at one position of the controls.

    Parameters
    ----------
    advice : Advice
        The answer for the job. [-]
    cell : SheetCell
        A place where heating is advised. [-]

    Returns
    -------
    list of list of str
        Sentences by step; empty where nobody should heat. [-]
    """
    if cell.situation is None or not cell.heat:
        return []
    here = replace(
        advice,
        now=cell.situation,
        after_conditioning=None,
        conditioning_leads=False,
        settings=cell.settings,
        remedies=[],
        heat=True,
        details_of=_details_at(advice.details, cell),
    )
    return told(here).steps


def _details_at(details: Details | None, cell: SheetCell) -> Callable[[], Details] | None:
    # how often the barrel is filled is worked out once; the part's chance is the place's own
    return None if details is None else lambda: replace(details, part_chance=cell.part_chance)


def figures(situation: Situation, heat: bool) -> dict[str, str]:
    """The numbers to read from afar; a dash where nobody should heat or nothing is known."""
    known = {
        "barrel": _celsius(situation.barrel.best_c),
        "soak": None if situation.soak_s is None else duration(situation.soak_s),
        "mold": _celsius(situation.mold.best_c),
        "cool": None if situation.cooling_s is None else duration(situation.cooling_s),
    }
    return {name: (value if heat else None) or "–" for name, value in known.items()}


def jar_figure(advice: Advice) -> tuple[str, str] | None:
    """Label and mass that the jar is stopped at, with its tray where that is known."""
    if not advice.heat or not advice.conditioning_leads or advice.conditioning is None:
        return None
    alone, on_scale = (advice.conditioning.get(key) for key in ("stop_mass_g", "stop_scale_g"))
    mass = alone if on_scale is None else on_scale
    if mass is None:
        return None
    label = "Stop jar at" if on_scale is None else "Stop jar at, with tray"
    return label, f"{mass:.{1 if mass < 1000.0 else 0}f} g"


def _celsius(value: float | None) -> str | None:
    return None if value is None else f"{value:.0f} °C"


# ------------------------------------------------------------- where the controls stand


def advised_status(advice: Advice) -> str:
    """One line on the setting that the sheet was made for."""
    barrel = shown(advice).barrel
    if not advice.heat or barrel.best_c is None:
        return f"Do not heat. Best chance at any barrel temperature: {of_samples(barrel.chance)}."
    return f"Chance that barrel and filling go well: {of_samples(barrel.chance)}.{_range(barrel)}"


def column_status(column: SheetColumn) -> str:
    """One line on a moisture where nobody should heat."""
    water = moisture_words(column.moisture_pct)
    chance = of_samples(column.situation.barrel.chance)
    return f"{water} water: do not heat. Best chance at any barrel temperature: {chance}."


def cell_status(column: SheetColumn, cell: SheetCell) -> str:
    """One line on one position of both controls."""
    where = f"{moisture_words(column.moisture_pct)} water, barrel {cell.barrel_c:.0f} °C"
    if not cell.heat:
        return f"{where}: do not heat. Chance {of_samples(cell.chance)}."
    barrel = column.situation.barrel
    inside = ""
    if barrel.low_c is not None and barrel.high_c is not None:
        within = barrel.low_c <= cell.barrel_c <= barrel.high_c
        inside = " Inside the window." if within else " Outside the window."
    return f"{where}: chance {of_samples(cell.chance)}.{inside}{_range(barrel)}"


def _range(barrel: Barrel) -> str:
    asked = percent(barrel.confidence)
    if barrel.low_c is None or barrel.high_c is None:
        return f" No window that a heater can hold reaches the {asked} asked for."
    return f" Window at {asked}: {barrel.low_c:.0f} to {barrel.high_c:.0f} °C."


# ---------------------------------------------------------------------------- warnings


def warning_lead(remark: Remark) -> str:
    """What stands before a warning: how grave, and where.

    Examples
    --------
    >>> warning_lead(Remark("steam", "caution", "Steam.", "melting", "IF97"))
    'Caution, barrel:'
    """
    return clean(f"{SEVERITY_WORDS[remark.severity]}, {_PLACES.get(remark.stage, remark.stage)}:")


def warnings_of(remarks: list[Remark], heat: bool) -> Iterator[Remark]:
    """What the sheet shows of the remarks, weightiest first.

    Where it says do not heat its stops stand with that, in large letters.
    """
    for remark in weightiest_first(remarks):
        if remark.code not in _IN_THE_STEPS and (heat or remark.severity != "stop"):
            yield remark
