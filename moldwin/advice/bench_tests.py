"""The cheap measurements a maker can make: what each would read on every sample, and how surely."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.inputs.cards import Card
from moldwin.learn.fitted_numbers import main_card
from moldwin.physics.sorption import gab
from moldwin.stages.bench import Bench
from moldwin.stages.room import room_humidity
from moldwin.window.windows import Setup, Window

__all__ = ["BenchTest", "bench_tests"]

#: Where flow and browning are read. [K]
_T_TEST = 403.15

_FLOW = (
    ".melt_viscosity",
    ".flow_activation",
    ".flow_index",
    ".flow_plasticizer",
    ".flow_water",
    ".dissolved_share",
    "melt.solids_packing",
    "press.entrance_radii",
    "press.force_share",
)
_BROWNING = (".browning_limit", ".browning_activation")
_SOFTENING = (".tg_dry", ".k_starch", ".k_water", ".tg_misfit")
#: Over magnesium chloride and over glycerol and water; a seaweed's salt draws water from 70 %. [-]
_TWO_HUMIDITIES = (0.33, 0.61)
#: What a sample that has not quite settled may miss, and a bath that is not quite what it should
#: be: as a fit of such weighings takes them (assumed). [-], [kg/kg], [-]
_SETTLED_SHARE, _SETTLED, _BATH_U = 0.03, 0.002, 0.02
#: A week in closed jars: thin samples have come to rest (assumed). [days]
_JAR_WEEK = 7.0
#: A hygrometer that was set right at 75 % is still off by this in a drier room (assumed). [-]
_HYGROMETER_U = 0.02
#: Poured twice, a cup holds the same to this share (assumed). [-]
_POURED_U = 0.03


@dataclass(frozen=True)
class BenchTest:
    """A measurement.

    Parameters
    ----------
    what, how : str
        For the page. [-]
    key : str
        Where the reading goes. [-]
    minutes : float
        It takes. [min]
    unknowns : tuple of str
        Endings of the columns it tells of. [-]
    readings : tuple of (array, float)
        What is read on every sample, shape (s,), and how far a reading may be off. [any]
    hot : bool
        Whether it needs a hot press. [-]
    days : float
        To wait for the reading. [days]
    """

    what: str
    how: str
    key: str
    minutes: float
    unknowns: tuple[str, ...]
    readings: tuple[tuple[Any, float], ...]
    hot: bool = False
    days: float = 0.0


def bench_tests(setup: Setup, window: Window) -> list[BenchTest]:
    """Every measurement worth naming; how far each may be off is assumed.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    window : Window
        The window at the moisture in question. [-]

    Returns
    -------
    list of BenchTest
        In no order. [-]
    """
    bench, stage = setup.bench, window.barrel_stage
    soak = np.array([window.barrel.soak])
    # a jammed melt needs endless pressure: clipped to what still compares
    fill = np.clip(stage.margins(np.array([_T_TEST]), soak)["fill"][0, 0], -50.0, 50.0)
    wall = stage.true_temperature(np.array([_T_TEST]))
    brown = np.log(stage.browning_dose(wall, np.array([[600.0]])))[0, 0]
    return [
        BenchTest(
            "how far a short shot fills",
            f"press one at {window.barrel.best - 273.15:.0f} °C after the soak and weigh the part,"
            " which tells how stiff the melt is",
            "trial.fill_pct" if setup.geometry.given else "trial.part_g",
            40.0,
            _FLOW,
            ((fill, 0.25),),
            hot=True,
        ),
        BenchTest(
            "a gram between baking paper on a hot plate",
            "at a known temperature of the plate, for the soak time: when it flows, its color",
            "trial.color",
            20.0,
            (*_FLOW, *_BROWNING),
            ((brown, 0.4), (fill, 0.8)),
        ),
        BenchTest(
            "the temperature at which a strip bends",
            "warm a strip of known moisture on a plate, bend it every 5 °C: where it gives way",
            "blend.softening_c",
            30.0,
            _SOFTENING,
            ((window.state.tg, 9.0),),
        ),
        BenchTest(
            "the moisture again, three dishes",
            "three samples from different places, dried cool until they stop losing mass",
            "pellets.moisture_u_pct",
            15.0,
            ("pellets.moisture",),
            ((window.state.w_water, 0.002),),
        ),
        BenchTest(
            "the barrel with a second thermometer",
            "a thin probe against the wall of the empty barrel, after twenty minutes",
            "press.heater_u_c",
            25.0,
            ("press.heater_error",),
            ((wall[0, 0], 1.0),),
        ),
        BenchTest(
            "how long the middle of the barrel takes to warm",
            "a probe in the middle of loose pellets, timed to two thirds of the way: once, dry",
            "trial.soak_s",
            30.0,
            ("press.loose_diffusivity", "press.wall_transfer", "press.loose_conductivity"),
            ((np.log(stage.warming.time_constant), 0.08),),
        ),
        BenchTest(
            "the force that reaches the melt",
            "press a charge against a closed nozzle with a scale or load cell under the barrel",
            "press.melt_pressure_mpa",
            30.0,
            ("press.force_share",),
            ((np.log(bench.typical("press", "force_share")), 0.1),),
        ),
        *_away_from_the_press(bench),
    ]


def _away_from_the_press(bench: Bench) -> Iterator[BenchTest]:
    """What needs neither press nor heat: scale, jar, hygrometer, cup."""
    card = main_card(bench)
    if card.get("xm") is not None:
        yield BenchTest(
            "the main ingredient weighed over two humidities",
            f"some {card.title[:1].lower()}{card.title[1:]} as powder in two closed jars, over "
            "magnesium chloride (33 %) and over glycerol and water 7 to 3 (61 %): weighed after a "
            "week, and again when dried",
            "fit.humidity_weighings",
            40.0,
            (".xm", ".c", ".k"),
            tuple(_equilibrium(bench, card)),
            days=_JAR_WEEK,
        )
    yield BenchTest(
        "the hygrometer over wet table salt",
        "a day in a closed jar over a slush of table salt, where it should show 75 %: correct what "
        "it shows in the room by as much",
        "room.humidity_pct",
        10.0,
        ("room.humidity",),
        ((room_humidity(bench), _HYGROMETER_U),),
        days=1.0,
    )
    if bench.job.pellets.bulk_density is None:
        yield BenchTest(
            "a cup filled with pellets",
            "pour, do not tamp, strike it level and weigh: mass over volume",
            "pellets.bulk_density_g_cm3",
            5.0,
            ("press.loose_fill_share",),
            ((np.log(bench.typical("press", "loose_fill_share")), _POURED_U),),
        )


def _equilibrium(bench: Bench, card: Card) -> Iterator[tuple[Any, float]]:
    """Moisture of a card's material over each of the two, dry basis, and how surely. [kg/kg]"""
    xm, c, k = (bench.of(card, key) for key in ("xm", "c", "k"))
    dry, damp = (gab(aw, xm, c, k) for aw in _TWO_HUMIDITIES)
    slope = float(np.median(damp - dry)) / (_TWO_HUMIDITIES[1] - _TWO_HUMIDITIES[0])
    for x in (dry, damp):
        share = _SETTLED_SHARE * float(np.median(x))
        yield x, float(np.sqrt(share**2 + _SETTLED**2 + (slope * _BATH_U) ** 2))
