"""How much plasticizer per polymer: limits by kind, and the sign of what little of it does."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.stages.in_use import Home, places
from moldwin.stages.loading import embrittled, loading, separates, stiffened, stiffens_in_room
from moldwin.stages.service import moisture_margins
from moldwin.stages.state import Material
from tests.jobs import bench_of, dry, job, setup_of

DRY_ROOM = {"temperature_c": 21, "humidity_pct": 35}
DAMP_ROOM = {"temperature_c": 21, "humidity_pct": 85}


def _made(room=DRY_ROOM, **masses):
    bench = bench_of(job(ingredient=dry(**masses), room=room))
    return bench, Material(bench).blend


def test_the_load_by_hand():
    bench, blend = _made(corn_starch=80, glycerol=20)
    assert loading(bench, blend) == pytest.approx(np.full(bench.count, 0.25))
    bench, blend = _made(corn_starch=80)
    assert np.all(loading(bench, blend) == 0.0)


def test_each_plasticizer_goes_by_its_own_limit_and_a_mixture_between():
    shares = {}
    for name, masses in {
        "glycerol": {"glycerol": 24},
        "mixture": {"glycerol": 12, "sorbitol": 12},
        "sorbitol": {"sorbitol": 24},
    }.items():
        shares[name] = np.mean(separates(*_made(corn_starch=100, **masses)))
    # 22 and 27 g per 100 g are the middles of the two cards
    assert shares["glycerol"] > 0.5 > shares["sorbitol"]
    assert shares["sorbitol"] < shares["mixture"] < shares["glycerol"]


def test_without_its_own_limit_it_is_held_to_that_of_glycerol():
    glycol = np.mean(separates(*_made(corn_starch=100, propylene_glycol=24)))
    assert glycol == np.mean(separates(*_made(corn_starch=100, glycerol=24)))


@pytest.mark.parametrize("masses", [{}, {"glycerol": 40}])
def test_none_and_enough_neither_stiffen_nor_embrittle(masses):
    bench, blend = _made(corn_starch=100, **masses)
    dry_air = np.full(bench.count, 0.2)
    assert not np.any(stiffens_in_room(bench, blend))
    assert np.all(stiffened(bench, blend, dry_air) == 1.0)
    assert np.all(embrittled(bench, blend, dry_air) == 0.0)


def test_a_little_does_both_in_dry_air_and_nothing_in_damp_air():
    bench, blend = _made(corn_starch=100, glycerol=8)
    dry_air, damp = np.full(bench.count, 0.2), np.full(bench.count, 0.75)
    assert np.all(stiffened(bench, blend, dry_air) > 1.0)
    assert np.all(embrittled(bench, blend, dry_air) > 10.0)
    assert np.all(stiffened(bench, blend, damp) == 1.0)
    assert np.all(embrittled(bench, blend, damp) == 0.0)
    assert np.mean(stiffens_in_room(bench, blend)) > 0.9
    assert not np.any(stiffens_in_room(*_made(DAMP_ROOM, corn_starch=100, glycerol=8)))


def test_a_new_part_is_as_brittle_to_the_press_as_to_the_room():
    setup = setup_of(job(ingredient=dry(corn_starch=100, glycerol=10), room=DRY_ROOM))
    bench, material = setup.bench, setup.material
    home = Home(bench, material, material.at(0.10)).at(places(bench)[1])
    state = material.at(0.10)
    settled = type(state)(
        **{**vars(state), "w_water": home.w_water, "tg": home.tg, "a_water": home.place.humidity}
    )
    core = np.full(bench.count, 60.0)
    margins = moisture_margins(bench, material.blend, settled, setup.geometry, home.w_water, core)
    assert margins["brittle"] == pytest.approx(home.margins["brittle"])
    plain = home.place.t - home.tg + bench.typical("part", "brittle_offset")
    assert np.all(margins["brittle"] < plain - 5.0)
