"""Every null of the answer has its reason, and what is named fits together."""

from __future__ import annotations

from collections.abc import Iterator
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from moldwin.advice.advise import advise
from moldwin.advice.chosen import _leads
from tests.jobs import BAR, DRY, EXAMPLES, change, job, row

COUNT = 128

_JOBS: dict[str, tuple[Any, list[str]]] = {
    **{path.stem: (path, []) for path in EXAMPLES},
    "least": ({"ingredient": [row("corn-starch", 100)], "pellets": {"moisture_pct": 12}}, []),
    "stopped": (job(ingredient=[row("gelatin", 100), row("glycerol", 30)]), []),
    "unsealed": (job(press=change("press", sealed_nozzle=False)), []),
    "hot-mold": (job(mold=change("mold", temperature_c=140, temperature_max_c=150)), []),
    "feeble-heater": (BAR, ["press.heater_max_c=60"]),
    "no-part": (job(part=None), []),
    "never-comes": (job(), ["pellets.moisture_pct=2", "room.humidity_pct=90"]),
    "hopeless": (DRY, ["press.force_kn=0.2"]),
}


@pytest.fixture(scope="module", params=_JOBS)
def told(request) -> dict[str, Any]:
    source, sets = _JOBS[request.param]
    return advise(source, sets=sets, count=COUNT).to_dict()


def _nulls(value: Any, path: str = "") -> Iterator[str]:
    if value is None:
        yield path
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from _nulls(item, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for item in value:
            yield from _nulls(item, path)


def test_every_null_has_its_reason(told):
    reasons = {a["name"]: a["source"] for a in told["assumptions"] if a["value"] is None}
    answer = {key: value for key, value in told.items() if key != "assumptions"}
    for path in _nulls(answer):
        parts = path.split(".")
        above = {".".join(parts[: n + 1]) for n in range(len(parts))}
        assert above & set(reasons), path
    for name, reason in reasons.items():
        assert len(reason.split()) >= 3, name


def test_no_reason_is_given_for_what_is_there(told):
    for assumption in told["assumptions"]:
        if assumption["value"] is None:
            assert _found_null(told, assumption["name"].split(".")), assumption["name"]


def _found_null(value: Any, parts: list[str]) -> bool:
    """Whether something at this path, in some row of a list, is null or all null."""
    if isinstance(value, list):
        return any(_found_null(item, parts) for item in value)
    if not parts:
        return value is None or (
            isinstance(value, dict) and all(item is None for item in value.values())
        )
    return isinstance(value, dict) and parts[0] in value and _found_null(value[parts[0]], parts[1:])


def test_behind_a_stop_nothing_is_open():
    source, sets = _JOBS["stopped"]
    answer = advise(source, sets=sets, count=COUNT).to_dict()
    assert any(warning["severity"] == "stop" for warning in answer["warnings"])
    assert answer["barrel"]["chance"] >= 0.7  # what the laws of starch would say
    for situation in filter(None, (answer, answer["after_conditioning"])):
        barrel = situation["barrel"]
        assert barrel["open"] is False
        assert barrel["low_c"] is barrel["best_c"] is barrel["high_c"] is None
        assert situation["soak_s"] is None
    assert answer["settings"] is None


def test_shares_of_the_moisture_limits_are_those_of_the_moisture_advised(told):
    named = {a["name"]: a["value"] for a in told["assumptions"]}
    at = named["moisture.limits.broken_share"]
    if told["settings"] is not None:
        assert at == pytest.approx(told["settings"]["moisture_pct"])


def _window(is_open: bool, chance: float, inside: float) -> Any:
    margins = {"brittle": np.linspace(inside - 1.0, inside, 1001)}
    barrel = SimpleNamespace(open=is_open, chance=chance)
    return SimpleNamespace(window=SimpleNamespace(barrel=barrel, part_margins=margins))


def test_conditioning_never_leads_from_an_open_window_into_a_closed_one():
    fragile, sound = _window(True, 0.8, 0.1), _window(False, 0.65, 1.0)
    assert not _leads(fragile, sound)
    assert _leads(fragile, _window(True, 0.71, 1.0))
    assert _leads(_window(False, 0.3, 1.0), sound)
