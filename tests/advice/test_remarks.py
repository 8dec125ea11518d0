"""Remarks on what no window shows: additives, damp rooms, barrels too small, heaters too weak."""

from __future__ import annotations

import re

import pytest

from moldwin.advice.advise import advise
from moldwin.advice.remarks import remarks
from moldwin.advice.situation import find
from tests.jobs import BAR, change, job, setup_of

COUNT = 256


@pytest.fixture(autouse=True)
def _without_remedies(monkeypatch):
    """What would open a window is tried elsewhere, and takes most of the time."""
    monkeypatch.setattr("moldwin.advice.advise.find_remedies", lambda *a, **k: [])


def _said(source, sets=(), moisture=0.10):
    setup = setup_of(source, sets, count=COUNT)
    return remarks(setup, find(setup, moisture), None)


def _of(said, code, word=""):
    return [r for r in said if r.code == code and word in r.message]


# ------------------------------------------------------------------ additives


def test_much_wax_is_told_and_a_little_is_not():
    def wax(grams):
        return _of(_said(BAR, [f"ingredient.beeswax.mass_g={grams}"]), "phase-separation", "Wax")

    assert wax(90)
    assert not wax(20)


def test_baking_soda_foams_and_makes_strict_fail():
    def soda(grams):
        return _of(_said(BAR, [f"ingredient.baking-soda.mass_g={grams}"]), "extrapolated", "soda")

    (found,) = soda(10)
    assert found.severity == "caution"
    assert "foams" in found.message
    assert not soda(1)


# ------------------------------------------------------------------ the room


@pytest.mark.parametrize("humidity", [75, 85, 95])
def test_a_damp_room_grows_mold_on_the_part_and_softens_it(humidity):
    said = _said(BAR, [f"room.humidity_pct={humidity}"])
    assert _of(said, "mold-growth", "room")
    if humidity > 80:
        assert _of(said, "sticky", "In its room")


def test_an_ordinary_room_does_neither():
    said = _said(BAR, ["room.humidity_pct=45"])
    assert not _of(said, "mold-growth", "room")
    assert not _of(said, "sticky", "In its room")


def test_a_damper_room_is_never_better():
    def share(humidity):
        found = _of(_said(BAR, [f"room.humidity_pct={humidity}"]), "sticky", "In its room")
        return 0.0 if not found else float(re.search(r"(\d+) in 10", found[0].message)[1])

    shares = [share(h) for h in (45, 85, 90)]
    assert shares == sorted(shares)


# ------------------------------------------------------------------ the barrel


def test_a_charge_that_does_not_fit_says_how_many_loads():
    (found,) = _of(_said(BAR, ["press.barrel_capacity_cm3=0.8"]), "shot-size")
    assert found.severity == "stop"
    assert "cannot be done in one load" in found.message
    assert " 3 would be needed" in found.message
    assert not _of(_said(BAR, ["press.barrel_capacity_cm3=4"]), "shot-size")


def test_what_eats_the_pressure_is_named():
    thin = _said(BAR, ["press.nozzle_diameter_mm=0.4", "press.force_kn=0.5"])
    (found,) = _of(thin, "too-stiff-to-fill")
    assert "the nozzle eats" in found.message
    long = _said(BAR, ["part.flow_length_mm=900", "press.force_kn=1"])
    (found,) = _of(long, "too-stiff-to-fill")
    assert "the part itself takes" in found.message


def _only_hotter(top_c):
    """Share of samples named by the heater's remark, in tenths."""
    found = _of(_said(BAR, [f"press.heater_max_c={top_c}"]), "heater-limit")
    if not found:
        return 0.0
    assert f"{top_c:.0f} °C" in found[0].message
    if found[0].message.startswith("Every case"):
        return 1.0
    number, among = re.search(r"(\d+) in (\d+)", found[0].message).groups()
    return float(number) / float(among)


def test_a_stronger_heater_never_leaves_more_out():
    shares = [_only_hotter(top) for top in (60, 75, 85, 95, 105, 120, 140, 180)]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] > 0.5
    assert shares[-1] == 0.0


# ------------------------------------------------------------------ what is not said


def test_nobody_who_does_not_heat_is_told_to_hurry():
    hopeless = advise(BAR, sets=["press.force_kn=0.05"], count=COUNT)
    assert not hopeless.heat
    assert "held-too-long" not in {w.code for w in hopeless.warnings}


def test_the_same_is_not_said_of_both_moistures():
    dry = advise(job(pellets=change("pellets", moisture_pct=4)), count=COUNT)
    assert dry.conditioning_leads
    plain = [w.message.removeprefix("As the pellets are now: ") for w in dry.warnings]
    assert len(plain) == len(set(plain))
