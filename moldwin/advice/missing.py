"""Why a number is missing from the answer, and what some of those that are there stand for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from moldwin.advice.answer import Assumption
from moldwin.advice.situation import Found, celsius
from moldwin.window.soaks import LONGEST
from moldwin.window.windows import NARROWEST, Setup

__all__ = ["Facts", "missing", "standing"]

_STOP = "a stop among the warnings"
_COLD = "the best chance is below 0.2: do not heat"

#: Reasons that hold for a key wherever it stands, by the end of its path.
_ALWAYS = {
    "settings.charge_g": "no [part] in the job",
    "limits.temperature_c": "binds nowhere among the set points looked at",
    "limits.moisture_pct": "binds nowhere among the moistures looked at",
    "mold.low_c": "no mold temperature reaches the confidence",
    "mold.high_c": "no mold temperature reaches the confidence",
    "mold": "no mold temperature reaches the confidence",
    "learned": "no card of this job was fitted to your own trials",
    "learned.low_c": "no window reaches the confidence",
    "learned.high_c": "no window reaches the confidence",
    "learned.before_low_c": "no window reached the confidence before the trials",
    "learned.before_high_c": "no window reached the confidence before the trials",
    "cooling_s": "the part does not get stiff in a mold this warm",
    "after_conditioning": "the pellets are at their target already",
    "conditioning": "the pellets are at their target already",
    "stop_mass_g": "no pellets.mass_g in the job",
    "remedies.low_c": "the change alone does not open the window",
    "remedies.high_c": "the change alone does not open the window",
}
_DEFAULT = "without a limit, or not to be computed from this job"


@dataclass(frozen=True)
class Facts:
    """What the reasons follow from.

    ``stopped`` tells that a stop is among the warnings; ``chosen`` is the one of the two that the
    settings are for.
    """

    setup: Setup
    now: Found
    after: Found | None
    chosen: Found
    stopped: bool


def missing(told: Mapping[str, Any], facts: Facts) -> list[Assumption]:
    """A reason for every null of the answer.

    Parameters
    ----------
    told : mapping
        The answer as plain data. [-]
    facts : Facts
        What it rests on. [-]

    Returns
    -------
    list of Assumption
        One for each place, without its number in a list; one for a whole object of nulls. [-]
    """
    paths = dict.fromkeys(_nulls(told, ""))
    return [Assumption(path, None, "", "missing", _reason(path, facts)) for path in paths]


def standing(facts: Facts, heat: bool) -> list[Assumption]:
    """What numbers of the answer stand for where their name alone does not tell."""
    advised = facts.chosen.window
    rows = [
        Assumption(
            "moisture.limits.broken_share",
            100.0 * advised.state.nominal,
            "%",
            "derived",
            "each share is that of pellets at this moisture, the one advised",
        ),
        Assumption(
            "barrel.narrowest",
            NARROWEST,
            "K",
            "assumed",
            "a heater cannot be set closer: a narrower range is no window",
        ),
    ]
    for path, found in _situations(facts):
        barrel = found.window.barrel
        if heat and barrel.from_the_coldest:
            why = "the coldest set point looked at; the window may reach lower"
            rows.append(
                Assumption(f"{path}barrel.low_c", celsius(barrel.low), "°C", "derived", why)
            )
    if heat and advised.barrel.hold_max >= 0.999 * LONGEST:
        why = "the longest time looked at; the charge may bear more"
        rows.append(Assumption("settings.hold_max_s", LONGEST, "s", "derived", why))
    return rows


def _nulls(value: Any, path: str) -> Iterator[str]:
    """Paths of nulls; an object of nothing else counts as one."""
    if value is None:
        yield path
    elif isinstance(value, Mapping):
        if path and value and all(item is None for item in value.values()):
            yield path
            return
        for key, item in value.items():
            yield from _nulls(item, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for item in value:
            yield from _nulls(item, path)


def _reason(path: str, facts: Facts) -> str:
    job = facts.setup.bench.job
    if path.endswith(("barrel.low_c", "barrel.high_c")):
        return _closed(path, facts)
    if path.endswith(("best_c", "soak_s")) or path == "settings":
        return _STOP if facts.stopped else _COLD
    if "shot" in path.split("."):
        return _of_shot(facts)
    if path.endswith("stop_scale_g") and job.pellets.mass is not None:
        return "no jar.tray_g in the job"
    if path.endswith("stop_scale_g"):
        return "no pellets.mass_g in the job"
    if path.startswith("conditioning.days"):
        return "in one case in twenty it never comes that far"
    fitting = (why for key, why in _ALWAYS.items() if f".{path}".endswith(f".{key}"))
    return next(fitting, _DEFAULT)


def _closed(path: str, facts: Facts) -> str:
    if facts.stopped:
        return f"{_STOP}: no window is named"
    after = facts.after if path.startswith("after_conditioning") else None
    barrel = (after or facts.now).window.barrel
    if barrel.chance >= facts.setup.confidence:
        return f"the range that reaches the confidence is narrower than {NARROWEST:g} K"
    return "no window reaches the confidence; best_c is the least bad"


def _of_shot(facts: Facts) -> str:
    if not facts.setup.geometry.given:
        return "no [part] in the job"
    if facts.setup.bench.job.press.barrel_capacity is None:
        return "no press.barrel_capacity_cm3 in the job"
    return _DEFAULT


def _situations(facts: Facts) -> Iterator[tuple[str, Found]]:
    yield "", facts.now
    if facts.after is not None:
        yield "after_conditioning.", facts.after
