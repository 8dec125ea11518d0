"""The part in service as an answer: the same as advise, and warnings that come in their order."""

from __future__ import annotations

from functools import cache

import pytest

from moldwin.advice.advise import advise
from moldwin.advice.in_service import SCHEMA, ServiceAdvice, service_job
from moldwin.inputs.read_job import read_job
from moldwin.report.service_page import service_page
from tests.jobs import BAR, DRY, EXAMPLES, KELP, dry, job

ROOM = ("moisture_pct", "tg_c", "state", "size_change_pct")


def answer(sets=(), count=256, **sections) -> ServiceAdvice:
    return service_job(read_job(job(**sections), sets), count=count)


def codes(found: ServiceAdvice) -> set[str]:
    return {remark.code for remark in found.warnings}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_it_is_the_very_object_of_advise(path):
    told = service_job(read_job(path), count=256).to_dict()
    assert {key: told[key] for key in ROOM} == advise(path, count=256).to_dict()["service"]
    assert told["schema"] == SCHEMA


@pytest.mark.parametrize("confidence", [0.5, 0.9])
def test_it_is_so_at_any_confidence(confidence):
    told = service_job(read_job(KELP), count=256, confidence=confidence).to_dict()
    other = advise(KELP, count=256, confidence=confidence).to_dict()["service"]
    assert {key: told[key] for key in ROOM} == other


def test_fiber_cut_too_long_is_named():
    flax = dry(corn_starch=75, glycerol=25, flax_fiber=10)
    flax[-1]["length_mm"] = 20
    said = [w.message for w in advise(job(ingredient=flax), count=256).warnings]
    assert any("Flax fiber cut to 20 mm may bridge" in message for message in said)
    flax[-1]["length_mm"] = 0.3
    said = [w.message for w in advise(job(ingredient=flax), count=256).warnings]
    assert not any("may bridge" in message for message in said)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_room_is_the_middle_place(path):
    found = service_job(read_job(path), count=256)
    now = found.places[1]
    assert now.moisture_pct.to_dict() == found.room["moisture_pct"]
    assert now.tg_c.to_dict() == found.room["tg_c"]
    assert now.state == found.room["state"]
    assert now.size_pct.likely == pytest.approx(found.room["size_change_pct"], abs=0.1)


def test_shares_are_shares():
    for place in service_job(read_job(KELP), count=256).places:
        assert sum(place.states.values()) == pytest.approx(1.0)
        assert sum(place.brittle.values()) == pytest.approx(1.0)
        assert place.brittleness == max(place.brittle, key=lambda name: place.brittle[name])


def test_the_dry_example_is_brittle_and_the_damp_shelf_molds():
    assert "brittle" in codes(service_job(read_job(DRY), count=256))
    assert {"mold-growth", "sticky"} <= codes(service_job(read_job(KELP), count=256))


DAMP = {"humidity_low_pct": 25, "humidity_high_pct": 80, "temperature_high_c": 32}
STEPS = (0, 5, 10, 15, 20, 30, 40, 50)


@cache
def ladder() -> list[ServiceAdvice]:
    """Glycerol turned up in small steps, g per 100 g of dry starch."""
    recipes = [dry(corn_starch=100, **({"glycerol": g} if g else {})) for g in STEPS]
    return [answer(ingredient=recipe, use=DAMP) for recipe in recipes]


def test_glycerol_stiffens_then_softens_in_dry_air():
    moduli = [found.places[0].modulus_mpa.likely for found in ladder()]
    top = moduli.index(max(moduli))
    assert 0 < STEPS[top] <= 15
    assert moduli[top:] == sorted(moduli[top:], reverse=True)
    assert moduli[-1] < 0.5 * moduli[0]


def test_then_it_gets_sticky_and_separates_and_is_no_longer_brittle():
    said = [codes(found) for found in ladder()]
    first = {
        code: next((g for g, of in zip(STEPS, said, strict=True) if code in of), None)
        for code in ("sticky", "phase-separation", "antiplasticization")
    }
    moduli = [found.places[0].modulus_mpa.likely for found in ladder()]
    stiffest = STEPS[moduli.index(max(moduli))]
    assert first["sticky"] is not None
    assert first["phase-separation"] is not None
    assert stiffest < min(first["sticky"], first["phase-separation"])
    brittle = [found.places[0].brittle["brittle"] for found in ladder()]
    assert "brittle" in said[0]
    assert brittle[-1] < 0.05
    # once they are there they stay
    for code in ("sticky", "phase-separation"):
        assert all(code in of for g, of in zip(STEPS, said, strict=True) if g >= first[code])


def test_a_little_glycerol_in_a_dry_room_is_named_as_a_reason():
    dry_room = {"temperature_c": 21, "humidity_pct": 25}
    found = answer(ingredient=dry(corn_starch=100, glycerol=10), room=dry_room)
    assert "antiplasticization" in codes(found)
    assert found.places[1].colder["antiplasticization"] > 10
    assert "embrittles it as if it were" in service_page(found, 80)


def test_fiber_is_told_where_it_is_in_the_blend_and_nowhere_else():
    plain = answer()
    assert plain.fiber is None
    assert "FIBER" not in service_page(plain, 80)
    found = answer(ingredient=dry(corn_starch=75, glycerol=25, flax_fiber=15))
    assert found.fiber is not None
    assert found.fiber.scorch_c.likely == pytest.approx(160, abs=1)
    assert found.fiber.stiffens.low > 1
    assert found.fiber.thickens.low > 1
    page = service_page(found, 80)
    for words in ("FIBER: flax fiber", "common practice, no source", "drawn to its surface"):
        assert words in page


def test_what_use_leaves_out_is_said_to_be_assumed():
    assert len(answer().assumed) == 5
    told = answer(use={"humidity_low_pct": 30, "weeks": 3})
    assert "humidity_low_pct" not in told.assumed
    assert "weeks" not in told.assumed
    assert told.weeks == pytest.approx(3)
    assert "Assumed" not in service_page(service_job(read_job(KELP), count=256), 80)


def test_beyond_the_laws_it_says_so():
    found = answer(use={"temperature_low_c": -20, "temperature_high_c": 85})
    said = [r.message for r in found.warnings if r.code == "extrapolated"]
    assert any("frost" in message for message in said)
    assert any("isotherms" in message for message in said)


def test_another_material_gets_no_numbers_on_the_page():
    found = answer(ingredient=dry(gelatin=80, glycerol=20))
    page = service_page(found, 80)
    assert "STOP" in page
    assert "WHERE IT LIVES" not in page


def test_the_same_seed_gives_the_same_answer():
    read = read_job(BAR)
    one, two = (service_job(read, seed=7, count=128).to_dict() for _ in range(2))
    assert one == two
