"""Below a first answer: what its maker did not know, what stands in, and what that costs."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from moldwin.advice.not_known import Cost
from moldwin.report.numbers import percent
from moldwin.report.page import Page
from moldwin.report.words import first_up

__all__ = ["not_known_section"]

#: A question in two words, and how to answer it with what a workshop has.
_NAMES = {
    "moisture": ("The moisture", "three dishes in an oven tell it: moldwin moisture"),
    "humidity": ("The room's humidity", "any hygrometer tells it"),
    "pieces": ("The pellets", "a ruler tells their size"),
    "barrel": ("The barrel", "a caliper tells its bore"),
    "force": ("The force", "a bathroom scale under the ram tells it"),
    "nozzle": ("The nozzle", "the drill that just fits tells its bore"),
    "sealed": ("Whether the nozzle is shut", "a plug or plate under it shuts it"),
    "mold": ("How warm the mold can be", "a thermometer in its bore tells it"),
    "part": ("The part", "a ruler tells its size"),
}
#: What is missing where nothing is moved.
_WITHOUT = {
    "humidity": "the guess of the moisture, and what becomes of the part, are wider for it",
    "pieces": "only drying and conditioning times rest on their size",
    "part": "no charge, no filling of the barrel and no clamp force can be said",
}


def not_known_section(
    costs: Sequence[Cost],
    unknown: Collection[str],
    stand_ins: Mapping[str, str],
    width: int | None = None,
) -> str:
    """The section as text, empty where everything was known.

    Parameters
    ----------
    costs : sequence of Cost
        What the ends of each open answer lead to, the costliest first. [-]
    unknown : collection of str
        All open questions. [-]
    stand_ins : mapping of str to str
        What was taken for each. [-]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        Lines of text. [-]
    """
    if not unknown:
        return ""
    page = Page(width)
    page.gap()
    page.paragraph("WHAT YOU DID NOT KNOW, and what that costs", style="bold")
    known = {cost.name for cost in costs}
    if costs:
        page.paragraph(
            "The answer above holds for what was taken instead. All else as it is, the barrel"
            " would be best at:"
        )
        _table(page, costs, stand_ins)
    for name in unknown:
        if name not in known:
            cost = _WITHOUT.get(name, "the answer rests on it")
            page.paragraph(f"{_taken(name, stand_ins)}; {cost}. {_how(name)}", lead=" - ")
    return page.text()


def _table(page: Page, costs: Sequence[Cost], stand_ins: Mapping[str, str]) -> None:
    """A line for each end, the costliest question first; below it what was taken, and a way out."""
    rows = [("with", "best", "chance")]
    below = [""]
    for cost in costs:
        for end in cost.ends:
            rows.append((first_up(end.words), f"{end.best_c:.0f} °C", percent(end.chance)))
            below.append("")
        below[-1] = f"{_taken(cost.name, stand_ins)}. {_how(cost.name)}"
    page.rows(rows, right=(1, 2), below=below)


def _taken(name: str, stand_ins: Mapping[str, str]) -> str:
    return f"{_NAMES[name][0]}: {stand_ins.get(name, 'left out')}"


def _how(name: str) -> str:
    return f"{first_up(_NAMES[name][1])}."
