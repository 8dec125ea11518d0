"""Codes and severities of remarks."""

from __future__ import annotations

import pytest

from moldwin.base.remarks import CODES, SEVERITIES, Remark, weightiest_first

#: The codes other programs may rely on.
CONTRACT = [
    "steam",
    "degradation",
    "fume",
    "fiber-scorch",
    "too-stiff-to-fill",
    "short-shot",
    "brittle",
    "sticky",
    "pellets-fuse",
    "phase-separation",
    "antiplasticization",
    "mold-growth",
    "extrapolated",
    "unmeasured-material",
    "granules-unmelted",
    "freeze-off",
    "hot-core",
    "condensation",
    "shot-size",
    "flash",
    "heater-limit",
    "held-too-long",
    "glycerol-read-as-water",
    "oxidizer",
    "acid-browning",
    "crosslinked",
    "salt-corrosion",
    "dust",
    "hot-metal",
    "not-polysaccharide",
]


def _remark(code="dust", severity="info", message="m"):
    return Remark(code, severity, message, "blend", "common practice, no source")


def test_the_codes_are_those_of_the_contract():
    assert set(CODES) == set(CONTRACT)
    assert list(CODES) == sorted(CODES)
    assert SEVERITIES == ("info", "caution", "stop")


def test_an_unknown_code_is_refused():
    with pytest.raises(ValueError, match="'smoke'"):
        _remark(code="smoke")


def test_an_unknown_severity_is_refused():
    with pytest.raises(ValueError, match="'alarm'"):
        _remark(severity="alarm")


def test_plain_data_in_the_order_of_the_contract():
    assert list(_remark().to_dict()) == ["code", "severity", "message", "stage", "source"]


def test_stops_come_first_and_the_rest_keeps_its_order():
    said = [
        _remark("dust", "info"),
        _remark("steam", "caution"),
        _remark("hot-metal", "info"),
        _remark("fume", "stop"),
        _remark("sticky", "caution"),
    ]
    codes = [remark.code for remark in weightiest_first(said)]
    assert codes == ["fume", "steam", "sticky", "dust", "hot-metal"]


def test_the_same_remark_is_said_once():
    assert weightiest_first([_remark(), _remark()]) == [_remark()]
    assert len(weightiest_first([_remark(), _remark(message="another")])) == 2
