"""The seaweed's own plasticizer as text and as data."""

from __future__ import annotations

from typing import Any

from moldwin.base.percentiles import Triple
from moldwin.learn.native import Native
from moldwin.report.numbers import interval
from moldwin.report.page import Page

__all__ = ["plasticizer_data", "plasticizer_page"]

SCHEMA = "moldwin.plasticizer/1"
#: The measurement is worth nothing where less than this share of the interval is gone.
_HARDLY = 0.9


def plasticizer_page(found: Native, width: int | None = None) -> str:
    """What the seaweed brings along, and what that means for the recipe.

    Parameters
    ----------
    found : Native
        The answer. [SI]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        The page. [-]
    """
    page = Page(width)
    page.heading("Plasticizer in the seaweed, counted as glycerol")
    after, before = (_times(t, 100.0) for t in (found.after, found.before))
    unit = "g per 100 g of dry seaweed"
    words = f"{interval(after, unit)}, 9 times in 10."
    page.paragraph(f"By {' and '.join(found.measured)}: {words}")
    page.paragraph(f"Before it: {interval(before, unit)}.")
    if after.high - after.low > _HARDLY * (before.high - before.low):
        page.paragraph(
            "That hardly narrowed it: what was measured is explained as well by what else is "
            "unknown of this seaweed, such as how its polymer softens when dry."
        )
    page.gap()
    brought, added = (_times(t, 1000.0) for t in (found.in_recipe, found.added))
    page.paragraph(f"In your recipe it counts like {interval(brought, 'g')} of glycerol.")
    if found.added.likely > 0.0:
        page.paragraph(
            f"You add {interval(added, 'g')} yourself. For a part as soft as a recipe without "
            "seaweed would give, add so much less than you would there."
        )
    return page.text()


def plasticizer_data(found: Native) -> dict[str, Any]:
    """The object that ``moldwin plasticizer --json`` prints.

    Parameters
    ----------
    found : Native
        The answer. [SI]

    Returns
    -------
    dict
        Triples in grams.
    """
    return {
        "schema": SCHEMA,
        "glycerol_equivalent_g_per_100g_dry": _times(found.after, 100.0).to_dict(),
        "before": _times(found.before, 100.0).to_dict(),
        "in_recipe_g": _times(found.in_recipe, 1000.0).to_dict(),
        "added_g": _times(found.added, 1000.0).to_dict(),
        "measured": list(found.measured),
    }


def _times(t: Triple, by: float) -> Triple:
    return Triple(t.low * by, t.likely * by, t.high * by)
