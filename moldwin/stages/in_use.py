"""The part where it lives: water, softness, stiffness, strength and brittleness, place by place."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from moldwin.physics.ageing import ageing_decades, crystal_stiffening, crystallized
from moldwin.physics.shrinkage import drying_shrinkage
from moldwin.physics.strength import strength_of_modulus
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend
from moldwin.stages.fiber import Reinforcement, matrix_of, reinforcement
from moldwin.stages.loading import embrittled, stiffened
from moldwin.stages.melt import melt_density
from moldwin.stages.moisture import Isotherm
from moldwin.stages.molding import Stiffness, stiffness
from moldwin.stages.room import room_humidity, room_temperature
from moldwin.stages.service import brittle_margin, settled_margins
from moldwin.stages.state import Material, State

__all__ = [
    "BRITTLENESS",
    "STATES",
    "Home",
    "PartThere",
    "Place",
    "glassy_state",
    "places",
    "size_change",
    "time_in_use",
]

STATES = ("glassy", "leathery", "rubbery")
#: From the most brittle to the softest.
BRITTLENESS = ("brittle", "stiff", "flexible", "soft")
_DRIEST, _DAMPEST = 0.02, 0.98
#: Water of what melts from which on starch is seen to crystallize (Forssell 1997, read: 20 %); the
#: step is made a ramp (assumed). [kg/kg]
_CRYSTALLIZES = (0.19, 0.21)


@dataclass(frozen=True)
class Place:
    """Air a part lives in; arrays of shape (s,): relative humidity [-] and temperature [K]."""

    name: str
    humidity: Any
    t: Any


@dataclass(frozen=True)
class PartThere:
    """The part once it is at home in one place; arrays of shape (s,).

    Parameters
    ----------
    place : Place
        Where. [SI]
    w_water, tg : array
        Its water, wet basis [kg/kg], and glass transition [K].
    state : array of str
        One of ``STATES``. [-]
    modulus, modulus_later : array
        New, and after the weeks of use. [Pa]
    strength, strength_later : array
        New, and after the weeks, without notch or bubble. [Pa]
    matrix_modulus, matrix_strength : array
        New, of what surrounds the fiber: the same where there is none. [Pa]
    crystals : array
        Crystals gained in the weeks, as a share of all polymer. [-]
    pushed : dict of str to array
        What makes it brittle as if it were so much colder: ``antiplasticization``, ``ageing``. [K]
    margins : dict of str to array
        ``brittle`` (new), ``brittle-later``, ``sticky``, ``soft-part``, ``mold-growth``; above
        zero is fine. [K, log of a ratio, -]
    size, mass : array
        Linear size and mass against the part as molded. [-]
    fiber : Reinforcement or None
        Its fiber. [SI]
    """

    place: Place
    w_water: Any
    tg: Any
    state: Any
    modulus: Any
    modulus_later: Any
    strength: Any
    strength_later: Any
    matrix_modulus: Any
    matrix_strength: Any
    crystals: Any
    pushed: dict[str, Any]
    margins: dict[str, Any]
    size: Any
    mass: Any
    fiber: Reinforcement | None

    @property
    def brittleness(self) -> Any:
        """One of ``BRITTLENESS`` for each sample, after the weeks of use, shape (s,)."""
        checks = [
            self.margins["brittle-later"] <= 0.0,
            self.margins["soft-part"] <= 0.0,
            self.state == "glassy",
        ]
        return np.select(checks, ["brittle", "soft", "stiff"], "flexible")


def places(bench: Bench) -> tuple[Place, Place, Place]:
    """Dry and cold, the room as it is, damp and warm: the two that try a part the hardest.

    What ``[use]`` leaves out is typical, and then no tamer than the room itself. What it says is
    taken at its word: it is a question about an air, not a reading of one.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]

    Returns
    -------
    tuple of Place
        ``dry-cold``, ``now``, ``damp-warm``. [SI]
    """
    humidity, t = room_humidity(bench), room_temperature(bench)

    def end(key: str, unit: str, room: Any, tamer: Any) -> Any:
        given = getattr(bench.job.use, key)
        typical = ("use", key)
        found = bench.given(f"use.{key}", given, unit, typical=typical)
        return found if given is not None else tamer(found, room)

    dry, damp = (
        end("humidity_low", "1", humidity, np.minimum),
        end("humidity_high", "1", humidity, np.maximum),
    )
    cold, warm = (
        end("temperature_low", "K", t, np.minimum),
        end("temperature_high", "K", t, np.maximum),
    )
    if bench.job.use.humidity_high is None:
        damp = np.maximum(damp, dry)
    elif bench.job.use.humidity_low is None:
        dry = np.minimum(dry, damp)
    if bench.job.use.temperature_high is None:
        warm = np.maximum(warm, cold)
    elif bench.job.use.temperature_low is None:
        cold = np.minimum(cold, warm)
    return (
        Place("dry-cold", np.clip(dry, _DRIEST, _DAMPEST), cold),
        Place("now", humidity, t),
        Place("damp-warm", np.clip(damp, _DRIEST, _DAMPEST), warm),
    )


def time_in_use(bench: Bench) -> float:
    """How long the part is in use until it is judged. [s]"""
    found = bench.given("use.time", bench.job.use.time, "s", typical=("use", "time"))
    return float(np.median(found))


def glassy_state(bench: Bench, above: Any) -> Any:
    """Glassy, leathery or rubbery: below, within or above the fall of the modulus about Tg.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    above : array, shape (s,)
        Temperature less glass transition. [K]

    Returns
    -------
    array of str, shape (s,)
        One of ``STATES``. [-]
    """
    half = bench.typical("mold", "modulus_drop") / 2.0
    return np.select([above < -half, above > half], ["glassy", "rubbery"], "leathery")


def size_change(bench: Bench, blend: Blend, w_molded: Any, w_there: Any) -> Any:
    """Linear change of size from the moisture as molded to another, shape (s,). [-]

    Above zero it grows. A third of the volume of its water in each direction: the larger end for a
    glass, which keeps part of that as pores and stress.

    Parameters
    ----------
    w_molded, w_there : float or array, shape (s,)
        Moisture as molded and where the part is, wet basis. [kg/kg]
    """
    density = melt_density(bench, blend, w_molded, room_temperature(bench))
    return -drying_shrinkage(w_molded, w_there, density)


class Home:
    """What becomes of one part, in any place.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    material : Material
        Its prepared blend. [-]
    molded : State
        The blend at the moisture it is molded at. [SI]
    """

    def __init__(self, bench: Bench, material: Material, molded: State) -> None:
        self.bench, self.material, self.molded = bench, material, molded
        self.matrix = matrix_of(material.blend)
        self.time = time_in_use(bench)

    def moisture(self, place: Place) -> Any:
        """Water that the part comes to in a place, wet basis, shape (s,). [kg/kg]"""
        if place.name == "now":  # the room's own isotherm is there already
            return self.material.isotherm.moisture(place.humidity)
        return Isotherm(self.bench, self.material.blend, place.t).moisture(place.humidity)

    def at(self, place: Place) -> PartThere:
        """The part at home in a place.

        Parameters
        ----------
        place : Place
            Where. [SI]

        Returns
        -------
        PartThere
            [SI]
        """
        bench, blend = self.bench, self.material.blend
        w = self.moisture(place)
        tg = self.material.glass_transition(w)
        state = replace(self.molded, nominal=np.nan, w_water=w, tg=tg, a_water=place.humidity)
        above = place.t - tg
        fiber = reinforcement(bench, blend, w, place.humidity, place.t)
        pushed, crystals = self._pushed(place, above), self._crystals(above, w)
        new = self._matrix_stiffness(state, place)
        later = self._crystallized(new, crystals)
        plain, aged = (stiff.modulus(place.t) for stiff in (new, later))
        modulus, modulus_later = plain, aged
        at_10_mpa = bench.typical("part", "strength_at_10_mpa")
        matrix_strength, aged_strength = (
            strength_of_modulus(each, at_10_mpa, check=False) for each in (plain, aged)
        )
        strength, strength_later = matrix_strength, aged_strength
        if fiber is not None:
            modulus, modulus_later = fiber.stiffened(plain), fiber.stiffened(aged)
            strength = fiber.strengthened(matrix_strength)
            strength_later = fiber.strengthened(aged_strength)
        x_molded, x = (v / (1.0 - v) for v in (self.molded.w_water, w))
        return PartThere(
            place=place,
            w_water=w,
            tg=tg,
            state=glassy_state(bench, above),
            modulus=modulus,
            modulus_later=modulus_later,
            strength=strength,
            strength_later=strength_later,
            matrix_modulus=plain,
            matrix_strength=matrix_strength,
            crystals=crystals,
            pushed=pushed,
            margins={
                **self._brittle(place, above, pushed["ageing"]),
                **settled_margins(bench, blend, state, place.t),
                "mold-growth": bench.typical("room", "mold_growth_aw") - place.humidity,
            },
            size=size_change(bench, blend, self.molded.w_water, w),
            mass=(1.0 + x) / (1.0 + x_molded) - 1.0,
            fiber=fiber,
        )

    def _brittle(self, place: Place, above: Any, ageing: Any) -> dict[str, Any]:
        """How far above where it breaks without bending, new and after weeks. [K]"""
        new = brittle_margin(self.bench, self.material.blend, above, place.humidity)
        return {"brittle": new, "brittle-later": new - ageing}

    def _pushed(self, place: Place, above: Any) -> dict[str, Any]:
        """What makes it as brittle as if it were so much colder, shape (s,). [K]"""
        return {
            "antiplasticization": embrittled(self.bench, self.material.blend, place.humidity),
            "ageing": self.bench.typical("use", "ageing_per_decade")
            * ageing_decades(above, self.time),
        }

    def _matrix_stiffness(self, state: State, place: Place) -> Stiffness:
        """Stiffness of what surrounds the fiber, with what a little plasticizer adds to a glass."""
        plain = stiffness(self.bench, self.matrix, state)
        raised = stiffened(self.bench, self.material.blend, place.humidity)
        return replace(plain, glass=plain.glass * raised)

    def _crystals(self, above: Any, w_water: Any) -> Any:
        """Crystals gained in the weeks, as a share of all polymer: only starch does so. [-]"""
        bench, blend = self.bench, self.material.blend
        starch = sum((e.share for e in blend.polymers if _is_starch(e)), start=np.zeros(1))
        most = bench.typical("use", "crystal_gain") * starch / np.maximum(blend.polymer, 1e-9)
        # glycerol softens starch but does not make it crystallize: that takes water
        dry = np.interp(blend.water_in_phase(w_water), _CRYSTALLIZES, (1.0, 0.0))
        tau = bench.typical("use", "crystal_time")
        tau = tau / bench.typical("use", "crystal_slowing") ** dry
        return most * crystallized(above, self.time, tau)

    def _crystallized(self, new: Stiffness, crystals: Any) -> Stiffness:
        growth = self.bench.typical("use", "crystal_growth")
        plateau = new.plateau * crystal_stiffening(crystals, growth, check=False)
        return replace(new, plateau=np.minimum(plateau, 0.9 * new.glass))


def _is_starch(entry: Any) -> bool:
    return bool(entry.card.family == "starch")
