"""The object that other programs rely on: every key, of the right kind, for every example."""

from __future__ import annotations

import json
import math

import pytest

from moldwin.advice.advise import advise
from moldwin.base.remarks import CODES
from tests.jobs import BAR, EXAMPLES, change, dry, job, row

COUNT = 128

_JOBS = {path.stem: path for path in EXAMPLES} | {
    "least": {
        "ingredient": [row("corn-starch", 100)],
        "pellets": {"moisture_pct": 12},
    },
    "stopped": job(ingredient=[row("gelatin", 100), row("glycerol", 30)]),
    "unsealed": job(press=change("press", sealed_nozzle=False)),
    "hot-mold": job(mold=change("mold", temperature_c=140, temperature_max_c=150)),
}

_TRIPLE = {"low", "likely", "high"}
_SITUATION = {"tg_c", "barrel", "soak_s", "mold", "cooling_s", "shot"}
_BARREL = {"low_c", "best_c", "high_c", "confidence", "chance", "open", "limits"}
_KEYS = {
    "schema",
    "job",
    *_SITUATION,
    "after_conditioning",
    "settings",
    "moisture",
    "conditioning",
    "service",
    "remedies",
    "measure_next",
    "warnings",
    "assumptions",
    "learned",
}
_BARREL_LIMITS = {
    "weld",
    "fill",
    "granules",
    "browning",
    "fiber-scorch",
    "fumes",
    "steam",
    "heater",
}


@pytest.fixture(scope="module", params=_JOBS)
def told(request):
    """The answer of one job as it comes back from JSON."""
    answer = advise(_JOBS[request.param], count=COUNT)
    return json.loads(json.dumps(answer.to_dict(), allow_nan=False))


def _number(value, *, may_be_null=False):
    if value is None:
        assert may_be_null
        return
    assert isinstance(value, float | int)
    assert not isinstance(value, bool)
    assert math.isfinite(value)


def _triple(value, *, may_be_null=False):
    if value is None:
        assert may_be_null
        return
    assert set(value) == _TRIPLE
    ends = [value[end] for end in ("low", "likely", "high")]
    for end in ends:
        _number(end, may_be_null=may_be_null)
    known = [end for end in ends if end is not None]
    assert known == sorted(known)


def _words(value):
    assert isinstance(value, str)
    assert value.strip()


def test_every_key_is_there_and_no_other(told):
    assert set(told) == _KEYS
    assert told["schema"] == "moldwin.advice/1"
    _words(told["job"])


def _check_barrel(barrel):
    assert set(barrel) == _BARREL
    for key in ("low_c", "best_c", "high_c"):
        _number(barrel[key], may_be_null=True)
    assert barrel["confidence"] == 0.7
    _number(barrel["chance"])
    assert 0.0 <= barrel["chance"] <= 1.0
    assert isinstance(barrel["open"], bool)
    assert barrel["limits"]
    for limit in barrel["limits"]:
        assert set(limit) == {"name", "side", "temperature_c", "broken_share"}
        assert limit["name"] in _BARREL_LIMITS
        assert limit["side"] in ("low", "high")
        _number(limit["temperature_c"], may_be_null=True)
        assert 0.0 <= limit["broken_share"] <= 1.0


def _check_situation(situation):
    _triple(situation["tg_c"])
    _check_barrel(situation["barrel"])
    assert set(situation["mold"]) == {"low_c", "best_c", "high_c"}
    for value in (situation["soak_s"], situation["cooling_s"], *situation["mold"].values()):
        _number(value, may_be_null=True)
    shot = situation["shot"]
    assert set(shot) == {
        "part_cm3",
        "shot_cm3",
        "charge_g",
        "barrel_fill_pct",
        "clamp_needed_kn",
    }
    for key in ("charge_g", "clamp_needed_kn"):
        _triple(shot[key], may_be_null=True)
    for key in ("part_cm3", "shot_cm3", "barrel_fill_pct"):
        _number(shot[key], may_be_null=True)


def test_pellets_as_they_are_and_at_the_target(told):
    _check_situation(told)
    after = told["after_conditioning"]
    if after is not None:
        assert set(after) == _SITUATION
        _check_situation(after)


def test_settings_are_all_there_or_none_is(told):
    settings = told["settings"]
    if settings is None:
        return
    assert set(settings) == {
        "moisture_pct",
        "barrel_c",
        "soak_s",
        "hold_max_s",
        "mold_c",
        "cooling_s",
        "charge_g",
    }
    for value in settings.values():
        _number(value, may_be_null=True)
    for key in ("moisture_pct", "barrel_c", "soak_s", "hold_max_s", "mold_c"):
        _number(settings[key])


def test_settings_are_those_of_one_of_the_two_moistures(told):
    settings = told["settings"]
    if settings is None:
        return
    situations = [told, told["after_conditioning"] or {}]
    moistures = [told["moisture"]["now_pct"], told["moisture"]["target_best_pct"]]
    chosen = situations[0 if settings["moisture_pct"] == pytest.approx(moistures[0]) else 1]
    assert settings["barrel_c"] == chosen["barrel"]["best_c"]
    assert settings["soak_s"] == chosen["soak_s"]
    assert settings["mold_c"] == chosen["mold"]["best_c"]
    assert settings["cooling_s"] == chosen["cooling_s"]


def test_moisture(told):
    moisture = told["moisture"]
    assert set(moisture) == {
        "now_pct",
        "target_low_pct",
        "target_best_pct",
        "target_high_pct",
        "limits",
    }
    low, best, high = (moisture[f"target_{end}_pct"] for end in ("low", "best", "high"))
    assert 0.0 < low <= best <= high < 60.0
    for limit in moisture["limits"]:
        assert set(limit) == {"name", "side", "moisture_pct", "broken_share"}
        assert limit["side"] in ("low", "high")
        _number(limit["moisture_pct"], may_be_null=True)
        assert 0.0 <= limit["broken_share"] <= 1.0


def test_conditioning_is_there_whenever_there_is_a_target_to_go_to(told):
    way, after = told["conditioning"], told["after_conditioning"]
    assert (way is None) == (after is None)
    if way is None:
        return
    assert {
        "humidity_pct",
        "source",
        "days_50",
        "days_90",
        "days_99",
        "bottleneck",
        "stop_mass_g",
        "stop_scale_g",
    } <= set(way)
    for key, value in way.items():
        if key.startswith("days"):
            _triple(value)
    assert way["bottleneck"] in ("air", "pellet", "bath")
    _number(way["humidity_pct"])
    _words(way["source"])
    for key in ("stop_mass_g", "stop_scale_g"):
        _number(way[key], may_be_null=True)


def test_service(told):
    service = told["service"]
    assert {"moisture_pct", "tg_c", "state", "size_change_pct"} <= set(service)
    _triple(service["moisture_pct"])
    _triple(service["tg_c"])
    assert service["state"] in ("glassy", "leathery", "rubbery")
    _number(service["size_change_pct"])


def test_remedies(told):
    for remedy in told["remedies"]:
        assert set(remedy) == {"change", "effect", "set", "low_c", "high_c", "chance", "cost"}
        _words(remedy["change"])
        _words(remedy["effect"])
        assert remedy["set"]
        for key in remedy["set"]:
            assert "." in key
        assert remedy["cost"] in ("low", "medium", "high")
        assert 0.0 <= remedy["chance"] <= 1.0
        assert (remedy["low_c"] is None) == (remedy["high_c"] is None)


def test_measure_next(told):
    for test in told["measure_next"]:
        assert set(test) == {"what", "how", "key", "width_now", "width_after", "minutes"}
        for key in ("what", "how", "key"):
            _words(test[key])
        assert 0.0 <= test["width_after"] < test["width_now"]
        assert test["minutes"] > 0


def test_warnings(told):
    for warning in told["warnings"]:
        assert set(warning) == {"code", "severity", "message", "stage", "source"}
        assert warning["code"] in CODES
        assert warning["severity"] in ("info", "caution", "stop")
        for key in ("message", "stage", "source"):
            _words(warning[key])
    weights = [("stop", "caution", "info").index(w["severity"]) for w in told["warnings"]]
    assert weights == sorted(weights)


def test_assumptions(told):
    names = [assumption["name"] for assumption in told["assumptions"]]
    assert len(names) == len(set(names))
    for assumption in told["assumptions"]:
        assert set(assumption) == {"name", "value", "unit", "status", "source"}
        statuses = ("measured", "read", "memory", "derived", "assumed", "missing")
        assert assumption["status"] in statuses
        assert (assumption["value"] is None) == (assumption["status"] == "missing")
        _words(assumption["source"])


def test_what_is_null_has_its_reason(told):
    reasons = {a["name"] for a in told["assumptions"] if a["status"] == "missing"}
    if told["settings"] is None:
        assert "settings" in reasons
    if told["after_conditioning"] is None:
        assert "after_conditioning" in reasons
    if told["barrel"]["low_c"] is None:
        assert "barrel.low_c" in reasons
    if told["shot"]["charge_g"] is None:
        assert "shot" in reasons
    if told["cooling_s"] is None:
        assert "cooling_s" in reasons
    if told["conditioning"] is not None and told["conditioning"]["stop_mass_g"] is None:
        assert "conditioning.stop_mass_g" in reasons


def test_a_closed_window_has_no_ends_and_an_open_one_has(told):
    for situation in filter(None, (told, told["after_conditioning"])):
        barrel = situation["barrel"]
        assert barrel["open"] == (barrel["low_c"] is not None) == (barrel["high_c"] is not None)
        stopped = any(warning["severity"] == "stop" for warning in told["warnings"])
        assert barrel["open"] == (barrel["chance"] >= barrel["confidence"] and not stopped)
        if barrel["open"]:
            assert barrel["low_c"] <= barrel["best_c"] <= barrel["high_c"]


def test_nobody_is_told_to_heat_past_a_stop_or_without_a_chance(told):
    stopped = any(warning["severity"] == "stop" for warning in told["warnings"])
    for situation in filter(None, (told, told["after_conditioning"])):
        hopeless = situation["barrel"]["chance"] < 0.2
        assert (situation["barrel"]["best_c"] is None) == (stopped or hopeless)
        assert (situation["soak_s"] is None) == (stopped or hopeless)
    if stopped:
        assert told["settings"] is None


def test_remedies_stand_in_the_place_of_settings_where_there_is_no_chance(told):
    """Where the page says do not heat, it says what to change instead."""
    stopped = any(warning["severity"] == "stop" for warning in told["warnings"])
    if told["settings"] is None and not stopped:
        assert told["remedies"]


def test_behind_a_stop_for_protein_the_remedy_is_to_leave_it_out():
    """Protein alone has no remedy here: another material is another tool's business."""
    mixed = job(ingredient=[row("corn-starch", 60), row("gelatin", 100), row("glycerol", 30)])
    told = advise(mixed, count=COUNT)
    assert told.settings is None
    assert [dict(remedy.set) for remedy in told.remedies] == [{"ingredient.gelatin.mass_g": 0}]
    assert advise(_JOBS["stopped"], count=COUNT).remedies == []


def test_a_closed_window_says_what_to_measure():
    assert advise(_JOBS["least"], count=COUNT).measure_next


# ------------------------------------------------------------------ kinds of call


def test_the_confidence_asked_for_is_the_one_used():
    answer = advise(BAR, count=COUNT, confidence=0.8).to_dict()
    assert answer["barrel"]["confidence"] == 0.8
    plain = advise(BAR, count=COUNT).to_dict()
    assert answer["barrel"]["low_c"] > plain["barrel"]["low_c"]
    assert answer["barrel"]["high_c"] < plain["barrel"]["high_c"]
    assert answer["barrel"]["chance"] == plain["barrel"]["chance"]


@pytest.mark.parametrize("confidence", [0.49, 0.995, float("nan"), -1])
def test_a_confidence_that_means_nothing_is_refused(confidence):
    with pytest.raises(ValueError, match="confidence"):
        advise(BAR, count=COUNT, confidence=confidence)


def test_a_path_its_text_its_tables_and_a_job_read_before_are_the_same_job():
    import tomllib

    from moldwin.inputs.read_job import read_job

    tables = tomllib.loads(BAR.read_text())
    expected = advise(BAR, count=COUNT).to_dict()
    for source in (str(BAR), tables, read_job(BAR)):
        assert advise(source, count=COUNT).to_dict() == expected


def test_without_a_job_it_is_the_bundled_example():
    answer = advise(count=COUNT)
    assert answer.bundled
    assert not advise(BAR, count=COUNT).bundled


def test_a_title_left_out_is_the_name_of_the_file(tmp_path):
    path = tmp_path / "labels.toml"
    path.write_text(
        '[[ingredient]]\ncard = "corn-starch"\nmass_g = 100\n[pellets]\nmoisture_pct = 12\n'
    )
    assert advise(path, count=64).job == "labels.toml"
    assert advise(job(ingredient=dry(corn_starch=100)), count=64).job == "untitled job"
