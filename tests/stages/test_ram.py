"""The ram by hand: its pressure, and what the plug of loose pellets leaves of it."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.stages.shot import Ram
from tests.jobs import change, job, setup_of

_PLATE = {"shape": "plate", "length_mm": 60, "width_mm": 15, "thickness_mm": 3}


def test_pressure_is_force_over_the_plungers_area():
    setup = setup_of(job(press=change("press", force_kn=4, plunger_diameter_mm=20)))
    assert setup.ram.pressure == pytest.approx(12.7e6, rel=0.005)  # 4 kN on 20 mm


@pytest.mark.parametrize(
    ("force", "pressure"),
    [
        ({"melt_pressure_mpa": 20}, 20e6),
        ({"lever_force_n": 200, "lever_ratio": 10}, 2000 / (np.pi * 0.008**2)),
        (
            {"gauge_mpa": 10, "jack_piston_diameter_mm": 30},
            10e6 * 0.015**2 / 0.008**2,
        ),
    ],
    ids=["melt", "lever", "gauge"],
)
def test_every_way_to_give_the_force(force, pressure):
    setup = setup_of(job(press=change("press", force_kn=None, **force)))
    assert setup.ram.pressure == pytest.approx(pressure)


def _with_plug(bores, **options):
    """A press whose pellets, poured in loosely, stand so many bores high in a typical sample."""
    typical = setup_of(job(), spread=0.0)
    loose = float(typical.bench.typical("press", "loose_fill_share")[0])
    shot = bores * float(np.pi / 4 * typical.ram.bore**3) * loose
    runner = shot / 1.1 - typical.geometry.shot_volume + 0.4e-6  # a tenth of cushion
    return setup_of(job(mold=change("mold", runner_volume_cm3=runner * 1e6)), **options)


def _plug(setup):
    """Height of the loose pellets in bores, per sample."""
    loaded = 1.1 * setup.geometry.shot_volume  # a tenth of cushion
    loose = loaded / setup.bench.typical("press", "loose_fill_share")
    return loose / (np.pi / 4 * setup.ram.bore**3)


def test_the_plug_leaves_the_stated_share_and_a_longer_one_less():
    """Judged before anything has molten: the whole charge rubs."""
    two = _with_plug(2, spread=0.0)
    stated = two.bench.typical("press", "force_share")
    assert _plug(two) == pytest.approx(2.0)
    assert two.ram.depth == pytest.approx(2.0)
    assert two.ram.share(1.0) == pytest.approx(stated)  # quoted for two bores
    # four bores long: the share squared, and further in every sample
    assert _with_plug(4, spread=0.0).ram.share(1.0) == pytest.approx(stated**2)
    long_plug, longer = (_with_plug(bores, count=2048) for bores in (4, 6))
    low, high = np.quantile(long_plug.bench.typical("press", "force_share"), [0.01, 0.99])
    assert 0.4 < low < high < 0.9
    plug = _plug(long_plug)
    assert np.median(plug) == pytest.approx(4.0, rel=0.05)
    share = long_plug.bench.typical("press", "force_share")
    assert long_plug.ram.share(1.0) == pytest.approx(share ** (plug / 2.0))
    assert np.all(longer.ram.share(1.0) < long_plug.ram.share(1.0))


@pytest.mark.parametrize(("friction", "two", "four"), [(0.05, 0.67, 0.45), (0.15, 0.30, 0.09)])
def test_a_plug_by_its_wall_friction(friction, two, four):
    """Derived figures of exp(-4 mu K L/D), two and four bores long."""
    for bores, left in ((2.0, two), (4.0, four)):
        reach = Ram(bore=0.02, area=3e-4, pressure=1e7, kept=np.exp(-4.0 * friction), depth=bores)
        assert reach.share(1.0) == pytest.approx(left, abs=0.005)


def test_only_what_has_not_molten_rubs():
    """Of four bores half molten two are left: Janssen's share of two bores."""
    setup = _with_plug(4, spread=0.0)
    stated = setup.bench.typical("press", "force_share")
    assert setup.ram.share(0.5) == pytest.approx(stated)
    spread = _with_plug(4, count=2048).ram
    unmelted = np.linspace(0.0, 1.0, 21)[:, None]
    shares = spread.share(unmelted)
    assert shares.shape == (21, 2048)
    assert np.all(np.diff(shares, axis=0) <= 0)
    assert np.all(shares[-1] < shares[0])
    bores = np.maximum(unmelted * spread.depth, 0.8)
    assert np.log(shares) == pytest.approx(bores * np.log(spread.kept))


def test_two_pieces_of_plug_take_what_one_of_their_length_takes():
    """Friction is a power of the length, so that where a plug is cut does not matter."""
    whole = _with_plug(6, spread=0.0).ram
    assert whole.share(1 / 2) * whole.share(1 / 3) == pytest.approx(whole.share(5 / 6))


def test_a_plug_is_loose_pellets_not_melt():
    """The height that rubs is that of the pellets as poured, longer than the melt they make."""
    setup = _with_plug(2, spread=0.0)
    melt = 1.1 * setup.geometry.shot_volume / (np.pi / 4 * setup.ram.bore**3)
    share = setup.bench.typical("press", "force_share")
    assert np.all(melt > 1.0)  # not held up by the cold end
    assert np.all(setup.ram.share(1.0) < share ** (melt / 2.0))


def test_a_molten_charge_keeps_the_cold_end_under_the_ram_whatever_its_length():
    """0.8 bores stay cold: neither a smaller part nor a molten long charge has less of a plug."""
    mold = change("mold", runner_volume_cm3=0)
    small, smaller = (
        setup_of(job(part={"solid": [_PLATE | {"length_mm": mm}]}, mold=mold)) for mm in (20, 5)
    )
    assert np.all(_plug(small) < 0.8)
    cold = small.bench.typical("press", "force_share") ** 0.4
    assert small.ram.share(1.0) == pytest.approx(cold)
    assert smaller.ram.share(1.0) == pytest.approx(cold)
    assert np.all(cold < 1.0)
    for setup in (small, _with_plug(4)):
        molten = setup.bench.typical("press", "force_share") ** 0.4
        assert setup.ram.share() == pytest.approx(molten)
        assert setup.ram.at_melt == pytest.approx(setup.ram.pressure * molten)


def test_what_is_not_known_of_the_plug_is_not_known_of_its_share():
    share = _with_plug(4).ram.share(np.array([[0.5], [np.nan]]))
    assert np.all(np.isfinite(share[0]))
    assert np.all(np.isnan(share[1]))
