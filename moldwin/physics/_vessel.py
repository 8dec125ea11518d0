"""The air of a closed jar as a surrounding: between pellets and a bath, and sometimes a room.

Water is counted per kg of dry pellets. ``z`` holds what the air holds, what the bath holds, and
what was lost to the room; each flow leaves one of them, or the pellets, and enters another.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from moldwin.physics._surface import ActivityTable
from moldwin.physics.humidity import glycerol_water_activity

__all__: list[str] = []

AIR, BATH, LOST = 0, 1, 2
#: Over this share of all that a bath gives or takes it fades, e-fold, to where it ends; and over
#: this much per kg of dry pellets at the least. [kg/kg]
_FILM, _THINNEST = 1e-3, 1e-8
#: Films left when a bath counts as gone: it gives or takes next to nothing more.
_ALL_BUT_GONE = 10.0
#: Share of what a bath still has to give that one step may take.
_NEARER = 0.8
#: How far the bath's activity may lie from the tangent on which a stage was solved.
_ON_TANGENT = 1e-3
#: A bath's cooling is known when it changes by less than this; a gap of microns needs six rounds.
_SETTLED, _MOST_NEWTON = 1e-7, 8


@dataclass(frozen=True)
class SaltWater:
    """Activity over a slurry: that of saturation while solid salt is left, then of its dilution.

    Diluted, 1 - aw falls in proportion to the salt per water (assumed: Raoult's law with the
    slope that saturation gives). ``full`` is the water in which all its salt is just dissolved.
    """

    saturated: Any
    full: Any

    def take(self, sets: Any) -> SaltWater:
        return SaltWater(self.saturated[sets], self.full[sets])

    def at(self, water: Any) -> tuple[Any, Any]:
        """Water activity, and its slope with the water in the bath."""
        dilute = water > self.full
        wet = np.where(dilute, water, 1.0)
        thin = (1.0 - self.saturated) * np.where(dilute, self.full, 0.0) / wet
        return np.where(dilute, 1.0 - thin, self.saturated), np.where(dilute, thin / wet, 0.0)


@dataclass(frozen=True)
class GlycerolWater:
    """Activity over ``glycerol`` (per kg of dry pellets) and the water in the bath."""

    glycerol: Any
    t: Any

    def take(self, sets: Any) -> GlycerolWater:
        return GlycerolWater(self.glycerol[sets], self.t[sets])

    def at(self, water: Any) -> tuple[Any, Any]:
        step = 1e-4 * self.glycerol
        both = np.fmax([water, water + step], 0.0)
        share = self.glycerol / (self.glycerol + both)
        now, then = glycerol_water_activity(share, self.t, check=False)
        return now, (then - now) / step


@dataclass(frozen=True)
class Ending:
    """A bath that ends when its water has come to ``last``: run dry, or taken out of the jar.

    Before it ends a last film of it fades: toward activity 0 where water falls (``film`` above 0),
    toward 1 where it rises (``film`` below 0), so that it gives, or takes, no more. Beyond, the
    line goes straight on for Newton's method.
    """

    content: Any
    last: Any
    film: Any

    @classmethod
    def of(cls, content: Any, first: Any, last: Any) -> Ending:
        """The bath ``content`` on its way from ``first`` to ``last`` of its water."""
        gives = first - last
        film = np.where(gives < 0.0, -1.0, 1.0) * np.fmax(_FILM * np.abs(gives), _THINNEST)
        return cls(content, last, film)

    def take(self, sets: Any) -> Ending:
        return Ending(self.content.take(sets), self.last[sets], self.film[sets])

    def longest(self, water: Any, rate: Any) -> Any:
        """The longest step from ``water`` on, changing by ``rate``: not past the end. [s]

        A step over it could look smooth at both of its ends and be wrong in between.
        """
        left = np.fmax(_NEARER * (water - self.last) / self.film, 1.0)
        toward = -rate / self.film  # films a second
        return np.where(toward > 0.0, left / np.where(toward > 0.0, toward, 1.0), np.inf)

    def at(self, water: Any) -> tuple[Any, Any]:
        """Water activity, and its slope with the water in the bath."""
        own, slope = self.content.at(water)
        left = (water - self.last) / self.film
        bare = np.exp(-np.fmax(left, 0.0))
        share = np.where(left > 0.0, 1.0 - bare, left)
        over = np.where(self.film > 0.0, own, own - 1.0)  # what fades
        return own - over * (1.0 - share), slope * share + over * bare / self.film


@dataclass(frozen=True)
class JarAir:
    """Surroundings of pellets in a jar.

    Flows are per kg of dry pellets and unit of activity [1/s]: ``bed`` from the skin of the
    pellets through film and voids to the air, ``gap`` from there to the bath, ``room`` out of the
    open jar. ``cooling`` is by how much (as a logarithm) one unit of flow lowers the bath's
    activity, since evaporation cools it; ``capacity`` what the air holds at saturation.
    """

    activity: ActivityTable
    bath: Any
    bed: Any
    gap: Any
    room: Any
    a_room: Any
    cooling: Any
    capacity: Any

    def take(self, sets: Any) -> JarAir:
        taken = {}
        for f in fields(self):
            part = getattr(self, f.name)
            taken[f.name] = part.take(sets) if f.name in ("activity", "bath") else part[sets]
        return replace(self, **taken)

    def evaporation(self, air: Any, bath: Any) -> tuple[Any, Any, Any]:
        """Flow from a bath of activity ``bath``, and its slopes with the two activities."""
        wet = np.fmax(bath, 0.0)  # below 0, while a stage is solved, nothing is there to cool
        beyond = bath - wet - air
        flow = self.gap * (wet + beyond) / (1.0 + self.gap * wet * self.cooling)
        for _ in range(_MOST_NEWTON):
            cooled, steep = _cooled(self.cooling * flow)
            slope = 1.0 + self.gap * wet * self.cooling * steep
            step = (flow - self.gap * (wet * cooled + beyond)) / slope
            flow = flow - step
            if np.max(np.abs(self.cooling * step), initial=0.0) <= _SETTLED:
                break
        by_bath = self.gap * np.where(bath > 0.0, cooled, 1.0) / slope
        return flow, -self.gap / slope, by_bath

    def flow(self, x: Any, z: Any, t: Any) -> Any:
        """Flow out of pellets whose skin holds ``x``, once the little air has settled. [1/s]"""
        own, bath = self.activity.at(x)[0], self.bath.at(z[BATH])[0]
        return (own - bath) / (1.0 / self.bed + 1.0 / self.gap)

    @property
    def steady(self) -> Any:
        """Whether pellets that have come to rest stay so."""
        return self.room == 0.0

    def longest(self, z: Any, rates: Any) -> Any:
        """The longest step that may be tried. [s]"""
        return self.bath.longest(z[BATH], rates[BATH])

    def sealed(self, z: Any) -> Any:
        """Which sets lie sealed, so that only their profile moves: their bath is all but gone."""
        return (z[BATH] - self.bath.last) / self.bath.film < _ALL_BUT_GONE

    def settled(self, z: Any, solved: Any) -> Any:
        """Whether a stage that set out from ``z`` and came to ``solved`` may be kept."""
        before, slope = self.bath.at(z[BATH])
        now, _ = self.bath.at(solved[BATH])
        return np.abs(now - before - slope * (solved[BATH] - z[BATH])) <= _ON_TANGENT

    def line(
        self, x: Any, w: Any, slope: Any, z: Any, z_rest: Any, gh: Any, t: Any
    ) -> tuple[Any, Any, Any, Any]:
        """Flow out of the pellets and ``z`` at the end of a stage, as lines in their potential.

        The balances of bath and air are linear in all but the bath's activity and its cooling,
        which are taken on their tangents; so both are eliminated by hand.
        """
        own, rise = self.activity.at(x)
        rise = rise * slope
        air = z[AIR] / self.capacity
        bath, bath_slope = self.bath.at(z[BATH])
        vapor, by_air, by_bath = self.evaporation(air, bath)
        # Bath: water = rest - gh vapor, with vapor on its tangent.
        by_water = by_bath * bath_slope
        share = 1.0 / (1.0 + gh * by_water)
        const = share * (vapor + by_water * (z_rest[BATH] - z[BATH]) - by_air * air)
        by_air = share * by_air
        # Air: capacity air = rest + gh (bed (own - air) + vapor - room (air - a_room)).
        whole = self.capacity + gh * (self.bed - by_air + self.room)
        own = own - rise * w
        air0 = (z_rest[AIR] + gh * (self.bed * own + const + self.room * self.a_room)) / whole
        air1 = gh * self.bed * rise / whole
        z0 = np.stack(
            [
                self.capacity * air0,
                z_rest[BATH] - gh * (const + by_air * air0),
                z_rest[LOST] + gh * self.room * (air0 - self.a_room),
            ]
        )
        z1 = np.stack([self.capacity * air1, -gh * by_air * air1, gh * self.room * air1])
        return self.bed * (rise - air1), self.bed * (own - air0), z0, z1


def _cooled(fall: Any) -> tuple[Any, Any]:
    """What is left of an activity after a ``fall`` of its logarithm, and minus its slope.

    Where water condenses the bath warms: there the parabola goes on, which cannot run away.
    """
    down, up = np.exp(-np.fmax(fall, 0.0)), np.fmax(-fall, 0.0)
    return down + up * (1.0 + up / 2.0), down + up
