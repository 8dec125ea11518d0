"""``moldwin moisture --isotherm``: a material's isotherm from weighings at several humidities."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from moldwin.cli._common import emit, tell
from moldwin.inputs.errors import Fault, InputError

if TYPE_CHECKING:
    from moldwin.stages.isotherm_reading import IsothermReading

__all__ = ["isotherm"]

_ROOM_C = 21.0
_COLDEST, _HOTTEST = 0.0, 60.0


def isotherm(
    card: str,
    table: str | None,
    step: float | None,
    temperature_c: float | None,
    card_out: str | None,
    as_json: bool,
    force: bool,
) -> None:
    """Fit, write the card if asked, print."""
    if table is None:
        columns = "sample, humidity_pct, dish_g, gross_g"
        message = f"no weighings: name a table ({columns}; humidity_pct 0: dry)"
        raise InputError([Fault("moldwin moisture --isotherm", "", message)])
    if temperature_c is not None and not _COLDEST <= temperature_c <= _HOTTEST:
        message = f"got {temperature_c:g}; allowed: {_COLDEST:g} to {_HOTTEST:g} °C"
        raise InputError([Fault("--temperature-c", "", message)])
    from moldwin.inputs.cards import library_for

    library = library_for(Path())
    known = library.card(card)
    target = None
    if card_out is not None:
        from moldwin.inputs.whole_file import checked_target

        target = checked_target(card_out, (".toml",), force=force)
    from moldwin.inputs.humidity_weighings import read_humidity_weighings
    from moldwin.stages.isotherm_reading import read_isotherm

    weighings = read_humidity_weighings(table, step)
    t_c = _ROOM_C if temperature_c is None else temperature_c
    heat_factor = library.card("jar")["sorption_heat_factor"]
    reading = read_isotherm(known, weighings, t_c + 273.15, heat_factor)
    if target is not None:
        _write(reading, target, weighings.file)
    if as_json:
        from moldwin.report.isotherm_page import isotherm_data
        from moldwin.report.json_out import to_json

        emit(to_json(isotherm_data(reading, card_out)))
    else:
        from moldwin.report.isotherm_page import isotherm_page

        emit(isotherm_page(reading, card_out))
    if temperature_c is None:
        tell([f"note: taken as weighed at {_ROOM_C:g} °C; --temperature-c says otherwise"])


def _write(reading: IsothermReading, target: Path, file: str) -> None:
    from moldwin.inputs.whole_file import write_whole
    from moldwin.inputs.write_card import card_with_isotherm

    humidities = sorted({100.0 * point.aw for point in reading.used})
    listed = ", ".join(f"{value:g}" for value in humidities)
    text = card_with_isotherm(
        reading.card,
        target.stem,
        {name: value.likely for name, value in reading.now.items()},
        reading.factors,
        [list(map(float, row)) for row in reading.correlation],
        f"Own weighings: {Path(file).name}, {len(reading.used)} points",
        f"at {listed} % humidity and {reading.t - 273.15:g} °C, moved to 25 °C",
    )
    write_whole(target, text)
