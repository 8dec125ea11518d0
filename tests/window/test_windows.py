"""The barrel and mold windows of a moisture, and the moisture to mold at."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.inputs.files import shipped
from moldwin.window import mold_best
from moldwin.window.judge import chance
from moldwin.window.stops import quick_look
from moldwin.window.windows import FUMES_STOP, NARROWEST
from tests.jobs import BAR, DRY, KELP, change, dry, job, setup_of


@pytest.fixture(scope="module")
def bar():
    setup = setup_of(BAR, count=2048)
    return setup, setup.window(0.10)


def _fine(setup, window):
    """Chance every half kelvin, each set point at the best of the soaks."""
    grid = np.arange(343.15, 503.16, 0.5)
    cells = [
        chance(window.barrel_stage.margins(part, setup.soaks)) for part in np.array_split(grid, 3)
    ]
    return grid, np.concatenate(cells).max(axis=1)


# ------------------------------------------------------------------ the barrel window


def test_the_chance_at_either_end_is_the_confidence(bar):
    """Ends are read by straight lines on a 5 K grid; recomputed every half kelvin.

    Where the chance bends over 5 K a straight line is off by less than a hundredth or two.
    """
    setup, window = bar
    grid, chances = _fine(setup, window)
    for end in (window.barrel.low, window.barrel.high):
        assert np.interp(end, grid, chances) == pytest.approx(0.7, abs=0.02)
    inside = (grid > window.barrel.low + 1.5) & (grid < window.barrel.high - 1.5)
    assert np.all(chances[inside] >= 0.7 - 0.01)


def test_the_best_is_as_good_as_any_set_point(bar):
    setup, window = bar
    _, chances = _fine(setup, window)
    assert window.barrel.chance >= chances.max() - 0.02
    margins = window.barrel_stage.margins(
        np.array([window.barrel.best]), np.array([window.barrel.soak])
    )
    assert float(chance(margins)[0, 0]) == window.barrel.chance


@pytest.mark.parametrize("confidence", [0.5, 0.6, 0.8])
def test_the_window_is_narrower_for_a_higher_confidence(bar, confidence):
    _, window = bar
    other = setup_of(BAR, count=2048)
    other.confidence = confidence
    found = other.window(0.10).barrel
    assert found.best == window.barrel.best
    wider = confidence < 0.7
    assert (found.low < window.barrel.low) == wider
    assert (found.high > window.barrel.high) == wider


def test_every_limit_tells_where_it_binds_and_how_often_it_breaks(bar):
    setup, _ = bar
    window = setup.window(0.08)  # dry enough that half the samples weld inside the grid
    limits = {limit.name: limit for limit in window.barrel.limits}
    assert set(limits) == {"weld", "fill", "browning", "fumes", "steam", "heater"}
    assert {n: limit.side for n, limit in limits.items()} == {
        "weld": "low",
        "fill": "low",
        "browning": "high",
        "fumes": "high",
        "steam": "high",
        "heater": "high",
    }
    margins = window.barrel_stage.margins(
        np.array([window.barrel.best]), np.array([window.barrel.soak])
    )
    for name, limit in limits.items():
        alone = 1.0 - float(np.mean(chance({name: margins[name]})))
        assert limit.broken_share == pytest.approx(alone)
    shares = [limit.broken_share for limit in window.barrel.limits]
    assert shares == sorted(shares, reverse=True)
    assert limits["fumes"].at == pytest.approx(473.0, abs=2.0)  # 15 K below what was read
    assert limits["weld"].at < limits["browning"].at


def test_too_dry_is_closed_and_the_least_bad_is_still_named():
    window = setup_of(DRY).window(0.12)
    assert not window.barrel.open
    assert window.barrel.low is None
    assert window.barrel.high is None
    assert window.barrel.chance < 0.2
    assert window.barrel.best in window.barrel.grid


def test_the_quick_chance_is_the_same_verdict_in_fewer_places():
    for path, w in ((BAR, 0.10), (KELP, 0.08), (DRY, 0.12)):
        setup = setup_of(path)
        whole = setup.window(w).barrel.chances.max()
        # fewer set points and soaks can only miss some of the best
        assert whole - 0.08 <= quick_look(setup, w).chance <= whole + 1e-12


def test_a_spread_of_nothing_makes_the_chance_all_or_nothing():
    for path, w in ((BAR, 0.10), (DRY, 0.12)):
        chances = setup_of(path, count=16, spread=0.0).window(w).barrel.chances
        assert set(np.unique(chances)) <= {0.0, 1.0}


# ------------------------------------------------------------------ the mold


@pytest.mark.parametrize("path", [BAR, KELP], ids=lambda path: path.stem)
def test_the_mold_follows_the_moisture_without_steps(path):
    """A step of 5 K between two moistures was a kink in the map's filling line."""
    setup = setup_of(path, count=1024)
    waters = np.linspace(0.05, 0.20, 61)
    best = np.array([setup._stages(float(w))[3].best for w in waters])
    assert np.abs(np.diff(best)).max() < 2.5
    assert np.ptp(best) > 5.0
    assert np.all(np.diff(best) < 0.5)  # wetter is softer: never a warmer mold


def test_the_mold_is_kept_inside_what_lets_the_part_go():
    """10 K inside the warm end, or halfway where there is no such room."""
    at = mold_best.MOLD_GRID
    wide = np.clip((390.0 - at) / 10.0, 0.0, 1.0)  # 0.75 at 382.5 K, read by straight lines
    assert mold_best._warm_side(wide) == pytest.approx(372.5, abs=1.0)
    narrow = np.clip(1.0 - np.abs(at - 353.15) / 20.0, 0.0, 1.0)  # 0.75 at 5 K on either side
    assert mold_best._warm_side(narrow) == pytest.approx(353.15)
    assert mold_best._warm_side(np.zeros(len(at))) == pytest.approx(at[-1] - 10.0)
    for shift in np.linspace(0.0, 15.0, 31):  # and moves with them, without a step
        moved = np.clip((390.0 + shift - at) / 10.0, 0.0, 1.0)
        assert mold_best._warm_side(moved) == pytest.approx(372.5 + shift, abs=1.5)


def test_a_mold_that_is_held_is_judged_where_it_is_held():
    setup = setup_of(BAR, ["mold.temperature_c=93"], count=512)
    window = setup.window(0.10)
    assert window.mold.best == pytest.approx(366.15)
    alone = chance(window.cavity.margins(np.array([366.15])))[0]
    assert window.mold.chance == float(alone)


# ------------------------------------------------------------------ moisture


@pytest.fixture(scope="module")
def target():
    return setup_of(BAR, count=1024).target(0.10)


def test_more_water_helps_the_barrel_and_hurts_the_rest(target):
    """Within Monte-Carlo noise of 1024 samples, 0.01."""
    assert np.all(np.diff(target.barrel_chances[:9]) > -0.01)
    assert target.barrel_chances[6] > target.barrel_chances[0] + 0.2
    falling = target.moisture_chances[6:]
    assert np.all(np.diff(falling) < 0.01)
    assert falling[-1] < falling[0] - 0.2


def test_the_product_peaks_inside(target):
    product = target.barrel_chances * target.moisture_chances
    top = int(np.argmax(product))
    assert 0 < top < len(product) - 1
    best = int(np.abs(target.grid - target.best).argmin())
    assert product[best] >= 0.98 * product.max()
    assert target.grid[0] < target.low < target.best < target.high < target.grid[-1]


def test_the_band_keeps_nine_tenths_of_the_best_product(target):
    product = target.barrel_chances * target.moisture_chances
    best = product[int(np.abs(target.grid - target.best).argmin())]
    for end in (target.low, target.high):
        assert np.interp(end, target.grid, product) == pytest.approx(0.9 * best, abs=1e-6)


def test_the_limits_of_the_target_name_their_side(target):
    sides = {limit.name: limit.side for limit in target.limits}
    assert sides["brittle"] == "low"
    assert {name for name, side in sides.items() if side == "high"} == {
        "pellets-fuse",
        "sticky",
        "soft-part",
        "drying-cracks",
        "mold-growth",
        "hot-core",
    }
    shares = [limit.broken_share for limit in target.limits]
    assert shares == sorted(shares, reverse=True)


def test_the_target_does_not_depend_on_the_moisture_now():
    setup = setup_of(job())
    assert setup.target(0.06).best == setup.target(0.14).best


def test_a_damper_room_asks_for_wetter_pellets():
    targets = [
        setup_of(job(room={"temperature_c": 21, "humidity_pct": humidity})).target(0.10).best
        for humidity in (20, 75)
    ]
    assert targets[1] >= targets[0]


# ------------------------------------------------------------------ levers


def _chance(sets=(), w=0.10, **sections):
    return setup_of(job(**sections), sets).window(w).barrel.chance


def test_every_lever_moves_the_chance_its_way():
    plain = _chance()
    assert _chance(["press.force_kn=3"]) < plain
    assert _chance(["part.wall_mm=4"]) > plain
    assert _chance(["part.flow_length_mm=150"]) < plain
    assert _chance(["press.sealed_nozzle=false"]) < plain
    assert _chance(["pellets.times_heated=4"]) < plain
    assert _chance(["ingredient.glycerol.mass_g=160"]) > plain


@pytest.mark.parametrize("top_c", [118.0, 120.0, 122.3, 129.7, 131.0])
def test_no_window_reaches_past_the_heater(top_c):
    weak = setup_of(job(press=change("press", heater_max_c=top_c))).window(0.10).barrel
    assert weak.open
    assert weak.best <= weak.high <= top_c + 273.15 + 1e-6
    # and it loses nothing below: the heater's last degree is one of the set points
    assert weak.high == pytest.approx(top_c + 273.15, abs=0.01)


def test_a_window_narrower_than_a_heater_can_be_set_is_none():
    """At the cold end of the window the chance grows: a heater that ends there cuts it narrow."""
    low_c = setup_of(BAR, count=2048).window(0.10).barrel.low - 273.15
    found = {}
    for above in (0.7, 1.4, 2.5, 4.0, 6.0):
        top = round(low_c + above, 1)
        barrel = setup_of(BAR, [f"press.heater_max_c={top}"], count=2048).window(0.10).barrel
        found[above] = barrel
        if barrel.open:
            assert barrel.high - barrel.low >= NARROWEST
        else:
            assert barrel.low is barrel.high is None
    assert found[0.7].chance >= 0.7
    assert not found[0.7].open
    assert found[6.0].open


def test_the_window_ends_where_the_plasticizer_fumes(tmp_path, monkeypatch):
    text = (shipped("material_cards") / "glycerol.toml").read_text(encoding="utf-8")
    (tmp_path / "glycerol.toml").write_text(text.replace("value = 488.15", "value = 418.15"))
    monkeypatch.setenv("MOLDWIN_CARDS", str(tmp_path))
    barrel = setup_of(BAR, count=512).window(0.10)
    high = barrel.barrel.high
    margins = barrel.barrel_stage.margins(np.array([high]), np.array([barrel.barrel.soak]))
    assert float(1.0 - chance({"fumes": margins["fumes"]})[0, 0]) <= FUMES_STOP
    monkeypatch.delenv("MOLDWIN_CARDS")
    assert high < setup_of(BAR, count=512).window(0.10).barrel.high


def test_a_low_end_that_is_only_where_looking_began_says_so():
    syrup = setup_of(job(ingredient=dry(corn_starch=30, glycerol=100))).window(0.20).barrel
    assert syrup.from_the_coldest
    assert not setup_of(BAR).window(0.10).barrel.from_the_coldest
