"""What of a job cannot go with the typical values that stand in for what it leaves out."""

from __future__ import annotations

from collections.abc import Iterator

from moldwin.inputs.cards import Library
from moldwin.inputs.job import Job

__all__ = ["against_typical"]

#: Melting polymer of the dry mass below which nothing is molded (assumed). [kg/kg]
_LEAST_POLYMER = 0.005
_POLYMERS = ("polymer", "comparator")


def against_typical(job: Job, library: Library) -> Iterator[tuple[str, str]]:
    """What is wrong once the cards' typical values have taken the empty places.

    Parameters
    ----------
    job : Job
        A job whose cards are all there. [SI]
    library : Library
        The cards the job sees. [-]

    Yields
    ------
    tuple of str
        Dotted key and message.
    """
    yield from _nozzle(job, library)
    yield from _mold(job, library)
    yield from _recipe(job, library)


def _nozzle(job: Job, library: Library) -> Iterator[tuple[str, str]]:
    """Where both are given they are compared as given."""
    nozzle, bore = job.press.nozzle_diameter, job.press.barrel_diameter
    if nozzle is not None and bore is None:
        bore = library.card("press")["plunger_diameter"].value
        if nozzle >= bore:
            yield (
                "press.nozzle_diameter_mm",
                f"is as wide as the barrel or wider: {1e3 * bore:g} mm is assumed of it; "
                "give plunger_diameter_mm",
            )
    elif nozzle is None and bore is not None:
        nozzle = library.card("press")["nozzle_diameter"].value
        if nozzle >= bore:
            yield (
                "press.plunger_diameter_mm",
                f"is no wider than the nozzle: {1e3 * nozzle:g} mm is assumed of it; "
                "give nozzle_diameter_mm",
            )


def _mold(job: Job, library: Library) -> Iterator[tuple[str, str]]:
    top = job.mold.temperature_max
    if top is None or job.room.temperature is not None:
        return
    room = library.card("room")["temperature"].value
    if top < room:
        yield (
            "mold.temperature_max_c",
            f"is below the room's temperature, {room - 273.15:g} °C where the job gives none; "
            "a mold is never kept colder than its room here",
        )


def _recipe(job: Job, library: Library) -> Iterator[tuple[str, str]]:
    dry = {"all": 0.0, "polymer": 0.0}
    for number, row in enumerate(job.ingredients):
        card = library.card(row.card)
        usual = card.get("moisture")
        moisture = row.moisture if row.moisture is not None else usual.value if usual else 0.0
        if card.role == "water":
            continue
        if moisture >= 1.0 and card.role not in _POLYMERS:  # of a polymer the recipe says so
            yield (
                f"ingredient.{number}.moisture_pct",
                f"got 100: that is water alone, with no {row.card} in it; write card = 'water'",
            )
        dry["all"] += row.mass * (1.0 - moisture)
        dry["polymer"] += row.mass * (1.0 - moisture) * (card.role in _POLYMERS)
    share = dry["polymer"] / dry["all"] if dry["all"] > 0.0 else 1.0
    if 0.0 < share < _LEAST_POLYMER:
        yield (
            "ingredient",
            f"only {100 * share:.2g} % of the dry mass is a polymer, allowed: from "
            f"{100 * _LEAST_POLYMER:g} % on; there is nothing to mold, check the masses",
        )
