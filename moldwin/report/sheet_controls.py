"""The run sheet's controls: moisture, barrel temperature, units. Hidden until the script runs."""

from __future__ import annotations

from collections.abc import Iterator

from moldwin.advice.answer import Advice
from moldwin.advice.sheet_grid import SheetGrid
from moldwin.report.sheet_data import advised_column
from moldwin.report.sheet_parts import text
from moldwin.report.steps_page import moisture_words

__all__ = ["controls", "units_switch"]


def units_switch() -> str:
    """°C or °F, g or oz."""
    return (
        '<div class="units screen" id="units" hidden>'
        f"{_either('c', 'Temperatures', ('°C', '°F'))}{_either('g', 'Masses', ('g', 'oz'))}</div>\n"
    )


def _either(unit: str, label: str, names: tuple[str, str]) -> str:
    radios = "".join(
        f'<label><input type=radio name="unit-{unit}" data-sets="{unit}" value="{name}"'
        f"{' checked' if name == names[0] else ''}>{name}</label>"
        for name in names
    )
    return f"<fieldset><legend>{label}</legend>{radios}</fieldset>"


def controls(advice: Advice, grid: SheetGrid) -> Iterator[str]:
    """Sliders for moisture and barrel temperature, and a field to type the moisture in.

    Parameters
    ----------
    advice : Advice
        The answer. [-]
    grid : SheetGrid
        Results for each position; without set points there is nothing to control. [-]

    Returns
    -------
    iterator of str
        Markup.
    """
    if not grid.barrel_c:
        return
    at = advised_column(advice, grid)
    column = grid.columns[at]
    barrel = "do not heat"
    if column.best is not None:
        barrel = f"{grid.barrel_c[column.best]:.0f} °C"
    off = " disabled" if column.best is None else ""
    yield '<form class="try screen" id="controls" aria-labelledby="try-title" hidden>\n'
    yield '<h2 id="try-title">What if the pellets or the barrel are different?</h2>\n'
    yield (
        "<p>Everything here was worked out when the sheet was made. Each moisture starts at its"
        " best barrel temperature.</p>\n"
    )
    water = text(f"{moisture_words(column.moisture_pct)} water")
    yield _slider("water", "Water in the pellets", water, len(grid.columns), at)
    yield (
        '<p class="typed"><label for="typed">Or type it, in percent'
        ' </label><input id="typed" inputmode="decimal" autocomplete="off" size="8"'
        ' aria-describedby="typed-says"> <button>Show</button> <span id="typed-says" role="status">'
        "</span></p>\n"
    )
    yield _slider("barrel", "Barrel temperature", barrel, len(grid.barrel_c), column.best or 0, off)
    yield '<button type="button" id="back">Back to the advised setting</button>\n'
    yield '<p class="hush" id="spoken" role="status" data-say=""></p>\n</form>\n'


def _slider(name: str, label: str, value: str, count: int, at: int, off: str = "") -> str:
    return (
        f'<label for="{name}">{label}: <output id="{name}-now" for="{name}" data-say="">{value}'
        f'</output></label>\n<input type="range" id="{name}" min="0" max="{count - 1}" step="1"'
        f' value="{at}" aria-valuetext="{value}"{off}>\n'
    )
