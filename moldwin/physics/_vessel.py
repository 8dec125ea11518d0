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
#: With this share of its first water left a slurry is all but dry: its humidity falls by 1/e.
_DRY = 0.005
#: How far the bath's activity may lie from the tangent on which a stage was solved.
_ON_TANGENT = 1e-3


@dataclass(frozen=True)
class SaltWater:
    """Activity over a slurry: that of saturation while solid salt is left, then of its dilution.

    Diluted, 1 - aw falls in proportion to the salt per water (assumed: Raoult's law with the
    slope that saturation gives). ``first`` is its water at the start, ``full`` the water in which
    all its salt is just dissolved.
    """

    saturated: Any
    first: Any
    full: Any

    def take(self, sets: Any) -> SaltWater:
        return SaltWater(self.saturated[sets], self.first[sets], self.full[sets])

    def at(self, water: Any) -> tuple[Any, Any]:
        """Water activity, and its slope with the water in the bath."""
        dilute = water > self.full
        wet = np.where(dilute, water, 1.0)
        thin = (1.0 - self.saturated) * np.where(dilute, self.full, 0.0) / wet
        moist = np.where(dilute, 1.0 - thin, self.saturated)
        # A last film that bends down to nothing, and goes on straight below for Newton's method.
        film = water / (_DRY * self.first)
        bare = np.exp(-np.fmax(film, 0.0))
        left = np.where(film > 0, 1.0 - bare, film)
        return moist * left, moist * bare / (_DRY * self.first) + np.where(dilute, thin / wet, 0.0)


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
        flow = self.gap * (bath - air) / (1.0 + self.gap * bath * self.cooling)
        for _ in range(3):  # Newton; the linear start is already within some thousandths
            cooled = np.exp(np.fmin(-self.cooling * flow, 1.0))
            slope = 1.0 + self.gap * bath * self.cooling * cooled
            flow = flow - (flow - self.gap * (bath * cooled - air)) / slope
        return flow, -self.gap / slope, self.gap * cooled / slope

    def flow(self, x: Any, z: Any, t: Any) -> Any:
        """Flow out of pellets whose skin holds ``x``, once the little air has settled. [1/s]"""
        own, bath = self.activity.at(x)[0], self.bath.at(z[BATH])[0]
        return (own - bath) / (1.0 / self.bed + 1.0 / self.gap)

    @property
    def steady(self) -> Any:
        """Whether pellets that have come to rest stay so."""
        return self.room == 0.0

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
