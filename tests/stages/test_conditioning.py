"""The jar: how long, from what, to which mass."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.inputs.errors import InputError
from moldwin.stages.conditioning import condition
from moldwin.stages.state import Material
from tests.jobs import bench_of, change, dry, job, row

_JAR = {"slurry_area_cm2": 60, "air_gap_cm": 5, "bed_area_cm2": 60, "temperature_c": 25}
_PELLETS = {
    "moisture_pct": 5,
    "moisture_u_pct": 0,
    "shape": "cylinder",
    "diameter_mm": 3,
    "length_mm": 3,
    "mass_g": 100,
}
_COMPOUND = dry(corn_starch=70, glycerol=20)


def _way(start=0.05, to=0.12, ingredient=None, **options):
    """Conditioning of 100 g from 5 to 12 % in the jar above, with changes."""
    jar = {**_JAR, **options.pop("jar", {})}
    pellets = {**_PELLETS, "moisture_pct": 100 * start, **options.pop("pellets", {})}
    made = job(
        ingredient=ingredient or _COMPOUND,
        pellets={k: v for k, v in pellets.items() if v is not None},
        jar={k: v for k, v in jar.items() if v is not None},
        room={"temperature_c": 25, "humidity_pct": 50},
    )
    bench = bench_of(made, **{"count": 1024, **options})
    material = Material(bench)
    return condition(bench, material, material.at(start), material.at(to))


# ------------------------------------------------------------------ time


def test_still_air_alone_takes_the_derived_time():
    """100 g, 60 cm² of slurry, 5 cm of still air, 25 °C: 90 % in 7 to 12 days (derived, lumped).

    Lumped is: no bed, no pellet, and no convection, which the card has at 1.4.
    """
    lumped = _way(
        jar={"bed_area_cm2": 60000},
        pellets={"diameter_mm": 0.2, "length_mm": 0.2},
        spread=0.0,
    )
    still = 1.4 * lumped.days["days_90"].likely
    assert 7.0 <= still <= 12.0
    # and 99 % takes twice as long as 90 % where one resistance rules, 13 to 26 days; not quite,
    # since the isotherm is no straight line
    twice = 2.0 * lumped.days["days_90"].likely
    assert lumped.days["days_99"].likely == pytest.approx(twice, rel=0.05)


def test_the_whole_jar_reaches_into_the_derived_range_and_air_is_the_bottleneck():
    way = _way()
    days = way.days["days_90"]
    # the bed and the pellet add to the 7 to 12 days of the air alone
    assert days.low < 12.0 < days.high
    assert days.low > 7.0
    assert way.bottleneck == "air"


def test_time_grows_toward_the_end():
    for way in (_way(), _way(jar={"fan": True})):
        half, most, nearly = (way.days[f"days_{n}"] for n in (50, 90, 99))
        for end in ("low", "likely", "high"):
            assert getattr(half, end) < getattr(most, end) < getattr(nearly, end)


def test_a_fan_and_a_thin_layer_take_much_less():
    plain = _way()
    quick = _way(jar={"fan": True, "bed_area_cm2": 600, "slurry_area_cm2": 600})
    assert quick.days["days_90"].likely < plain.days["days_90"].likely / 3.0
    assert quick.bottleneck == "pellet"


def test_a_shallower_jar_is_quicker_and_a_deeper_bed_slower():
    plain = _way().days["days_90"].likely
    assert _way(jar={"air_gap_cm": 1}).days["days_90"].likely < plain
    deep = _way(jar={"bed_area_cm2": None, "bed_depth_cm": 8}).days["days_90"].likely
    assert deep > plain


def test_twice_the_mass_takes_longer():
    assert _way(pellets={"mass_g": 200}).days["days_90"].likely > 1.5 * (
        _way().days["days_90"].likely
    )


def test_a_thick_slab_takes_more_than_a_month_by_itself():
    """4 mm at 0.8 to 1.6e-12 m²/s (5 to 8 %): at 1e-12 0.212 l²/D = 39 days for 90 %."""
    way = _way(
        to=0.08,
        pellets={"shape": "slab", "thickness_mm": 4, "diameter_mm": None, "length_mm": None},
        jar={"fan": True, "bed_area_cm2": 600, "slurry_area_cm2": 600},
    )
    assert way.bottleneck == "pellet"
    assert 25.0 < way.days["days_90"].likely < 40.0
    assert way.days["days_90"].high > 100.0


@pytest.mark.parametrize("size", [1.0, 2.0, 5.0])
def test_the_pellets_own_time_grows_with_the_square_of_its_size(size):
    def inner(mm):
        # no air to speak of
        jar = {"air_gap_cm": 0.1, "slurry_area_cm2": 60000, "bed_area_cm2": 60000, "fan": True}
        sphere = {"shape": "sphere", "diameter_mm": mm, "length_mm": None}
        return _way(pellets=sphere, jar=jar, spread=0.0).days["days_99"].likely

    assert inner(2 * size) / inner(size) == pytest.approx(4.0, rel=0.05)


def test_the_interval_carries_the_factor_of_ten_of_the_diffusivity():
    way = _way(jar={"fan": True, "bed_area_cm2": 600, "slurry_area_cm2": 600})
    days = way.days["days_99"]
    assert days.high / days.low > 30.0


def test_drying_takes_time_too():
    way = _way(start=0.14, to=0.08)
    assert way.days["days_90"].low > 0.0
    assert way.stop_mass < 0.1


def test_without_spread_there_is_one_time():
    for days in _way(spread=0.0).days.values():
        assert days.low == days.likely == days.high


def test_pellets_nobody_described_are_stood_in_for():
    way = _way(pellets={"shape": None, "diameter_mm": None, "length_mm": None, "mass_g": None})
    assert way.days["days_90"].likely == pytest.approx(_way().days["days_90"].likely, rel=0.05)
    assert way.stop_mass is None
    assert way.stop_scale is None


# ------------------------------------------------------------------ mass


def test_the_mass_to_stop_at_by_hand():
    way = _way(jar={"tray_g": 42})
    # 95 g dry at 12 % water: 107.95 g, and 42 g of tray
    assert way.stop_mass == pytest.approx(0.095 / 0.88)
    assert way.stop_scale == pytest.approx(0.095 / 0.88 + 0.042)
    assert 1e3 * way.stop_mass - 100.0 == pytest.approx(8.0, abs=0.05)  # 8.0 g of water


def test_as_plain_data():
    told = _way().to_dict()
    assert list(told) == [
        "humidity_pct",
        "source",
        "days_50",
        "days_90",
        "days_99",
        "bottleneck",
        "stop_mass_g",
        "stop_scale_g",
        "stopped_by_mass",
        "dry_first",
    ]
    assert told["stop_scale_g"] is None
    assert told["stop_mass_g"] == pytest.approx(107.95, abs=0.01)


# ------------------------------------------------------------------ the source


def _humidity_error(way, ingredient=None, to=0.12):
    made = job(ingredient=ingredient or _COMPOUND, room={"temperature_c": 25})
    material = Material(bench_of(made, count=1024))
    aw = np.full(1024, way.humidity)
    return abs(float(np.median(material.isotherm.moisture(aw))) - to)


@pytest.mark.parametrize("to", [0.06, 0.08, 0.10, 0.12, 0.14, 0.16])
def test_the_source_brings_the_pellets_near_their_target(to):
    assert _humidity_error(_way(to=to), to=to) < 0.01


def test_between_the_salts_a_glycerol_bath_is_offered():
    way = _way(to=0.12)  # about 56 %: between MgCl2 (33) and NaCl (75)
    assert way.source.startswith("glycerol and water")
    assert way.humidity == pytest.approx(0.56, abs=0.03)
    assert not way.oxidizer


def test_a_salt_near_enough_is_taken():
    material = Material(bench_of(job(ingredient=_COMPOUND, room={"temperature_c": 25})))
    lands = float(np.median(material.isotherm.moisture(np.full(512, 0.753))))
    way = _way(to=lands + 0.004)
    assert "slurry" in way.source
    assert way.humidity == pytest.approx(0.753, abs=0.002)  # table salt at 25 °C


def test_the_bath_is_mixed_by_the_published_activity():
    way = _way(to=0.12)
    # 75 wt% holds 57 %, 80 holds 50: read from the source's own examples
    share = float(way.source.split(",")[1].split("%")[0]) / 100.0
    # 160 g of it end there, after giving 8 g of water: mixed wetter by as much
    assert 0.74 < share * 168.0 / 160.0 < 0.80


@pytest.mark.parametrize("to", [0.05, 0.08, 0.12, 0.16, 0.20])
def test_an_oxidizer_is_never_offered_unasked(to):
    way = _way(to=to)
    assert not way.oxidizer
    assert "NO3" not in way.source


def test_an_oxidizer_asked_for_is_used_and_told():
    way = _way(to=0.113, jar={"sources": ["Mg-nitrate"]})
    assert way.oxidizer
    assert way.humidity == pytest.approx(0.529, abs=0.005)


def test_only_what_is_at_hand_is_offered():
    way = _way(jar={"sources": ["NaCl"]})
    assert "NaCl" in way.source
    assert _way(jar={"sources": ["glycerol"]}).source.startswith("glycerol")


def test_a_salt_is_not_used_outside_the_temperatures_of_its_fit():
    way = _way(jar={"sources": ["CH3COOK"], "temperature_c": 38})  # fitted for 10 to 30 °C
    assert "none that was named" in way.source


def test_a_source_that_leads_the_wrong_way_is_not_taken_however_near():
    """From 11 % up to 11.6 %, magnesium nitrate ends at 11.2 %; from 11.4 % it would dry them."""
    material = Material(bench_of(job(ingredient=_COMPOUND, room={"temperature_c": 25})))
    lands = float(np.median(material.isotherm.moisture(np.full(512, 0.529))))
    near = {"sources": ["Mg-nitrate"]}
    assert "Mg" in _way(start=lands - 0.004, to=lands + 0.004, jar=near).source
    assert "do not have" in _way(start=lands + 0.002, to=lands + 0.005, jar=near).source


def test_an_unknown_source_in_the_job_is_a_fault_and_not_a_missing_one():
    with pytest.raises(InputError, match="'salt'"):
        _way(jar={"sources": ["salt"]})


def test_days_are_those_of_the_source_that_was_chosen():
    """The same way over a source that goes on past the target takes less."""
    bath, salt = _way(to=0.12), _way(to=0.12, jar={"sources": ["NaCl"]})
    water = _way(to=0.12, jar={"sources": ["plain-water"]})
    assert not bath.by_mass
    assert salt.by_mass
    assert water.by_mass
    for name in ("days_50", "days_90", "days_99"):
        assert water.days[name].likely < salt.days[name].likely < bath.days[name].likely
    # derived for this jar without bed and pellets: NaCl 5 days, plain water 2.5 to 99 %
    assert 5.0 < salt.days["days_99"].likely < 10.0
    assert 2.5 < water.days["days_99"].likely < 5.0


@pytest.mark.parametrize(
    ("start", "to", "first"),
    [(0.50, 0.12, True), (0.25, 0.12, True), (0.14, 0.10, False), (0.05, 0.12, False)],
)
def test_pellets_too_wet_for_a_jar_are_dried_first(start, to, first):
    way = _way(start=start, to=to)
    assert way.dry_first is first
    assert way.to_dict()["dry_first"] is first


def test_seaweed_needs_drier_air_for_the_same_moisture_once_its_salt_draws():
    kelp = [row("brown-seaweed-powder", 100), row("glycerol", 20, 0)]
    starch = dry(corn_starch=100, glycerol=20)
    assert _way(to=0.22, ingredient=kelp).humidity < _way(to=0.22, ingredient=starch).humidity


def test_the_jar_is_as_warm_as_the_room_unless_told():
    made = job(pellets=change("pellets", moisture_pct=5), jar=None)
    bench = bench_of(made)
    material = Material(bench)
    way = condition(bench, material, material.at(0.05), material.at(0.12))
    assert way.days["days_90"].likely > 0
