"""From the moisture now to the target: which humidity, from what, how long, to which mass.

The quick answer of the whole advice: times by quadrature, where ``moldwin condition`` solves the
full problem over the same plan to the same end.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from scipy import special

from moldwin.base.percentiles import Triple, triple
from moldwin.physics.diffusion import dense_starch_diffusivity, fourier_at
from moldwin.physics.jar_parts import bath_activity, bath_cooling, jar_conductances
from moldwin.stages.bench import Bench
from moldwin.stages.jar_plan import JarPlan, plan_jar
from moldwin.stages.jar_stage import DAY, JarStage, as_far_as
from moldwin.stages.state import Material, State

__all__ = ["WAYS", "Conditioning", "QuickWay", "condition", "told"]

#: Shares of the way whose times are told.
WAYS = {"days_50": 0.5, "days_90": 0.9, "days_99": 0.99}
#: Shares of the way at which the flow is worked out.
_SHARES = (0.0, 0.05, 0.15, 0.3, 0.5, 0.7, 0.8, 0.9, 0.95, 0.99)
#: Diffusivity is weighted with this power of the distance from where the profile starts, wetting
#: and drying, while the heart does not know of it yet: Crank, The Mathematics of Diffusion, ch. 9
#: (from memory; the full solver agrees to 5 % up to half of the way).
_WETTING, _DRYING = 2.0 / 3.0, 0.85
#: Done so far, the heart knows; from then on it is the plain mean between mean and skin (by trial).
_HEART_KNOWS = 0.6
#: Places at which diffusivity is read, rounds in search of the skin: more change nothing.
_PLACES, _ROUNDS = 4, 6
_TINY = 1e-9


@dataclass(frozen=True)
class Conditioning:
    """One way to the target moisture.

    Parameters
    ----------
    humidity : float
        Relative humidity of the source. [-]
    source : str
        What to put in the jar. [-]
    oxidizer : bool
        The source feeds fire. [-]
    days : mapping of str to Triple
        Time for 50, 90 and 99 % of the way. [days]
    bottleneck : str
        ``"air"``, ``"pellet"`` or ``"bath"``, whichever takes longest to 90 %. [-]
    stop_mass, stop_scale : float or None
        Mass of the pellets alone, and with their tray. [kg]
    by_mass : bool
        The source goes on past the target: the scale says when to stop. [-]
    dry_first : bool
        The pellets are too wet for a jar: oven or air come first. [-]
    """

    humidity: float
    source: str
    oxidizer: bool
    days: dict[str, Triple]
    bottleneck: str
    stop_mass: float | None
    stop_scale: float | None
    by_mass: bool = False
    dry_first: bool = False

    def to_dict(self) -> dict[str, Any]:
        """The conditioning object of the contract: the same keys, quick or solved in full."""
        return {
            "humidity_pct": 100.0 * self.humidity,
            "source": self.source,
            **{name: days.to_dict() for name, days in self.days.items()},
            "bottleneck": self.bottleneck,
            "stop_mass_g": None if self.stop_mass is None else 1e3 * self.stop_mass,
            "stop_scale_g": None if self.stop_scale is None else 1e3 * self.stop_scale,
            "stopped_by_mass": self.by_mass,
            "dry_first": self.dry_first,
        }


def condition(bench: Bench, material: Material, now: State, target: State) -> Conditioning:
    """The patient way: a jar of constant humidity until the pellets weigh what they should.

    Parameters
    ----------
    bench, material
        The job and its prepared blend. [-]
    now, target : State
        The blend at the two moistures. [SI]

    Returns
    -------
    Conditioning
        [SI]
    """
    stage = JarStage(bench, material, now.nominal)
    plan = plan_jar(stage, target.nominal, strict=False)
    quick = QuickWay(stage, plan, target.nominal)
    parts = {name: float(np.median(part)) for name, part in quick.parts(0.9).items()}
    days = {name: triple(quick.time_to(share) / DAY) for name, share in WAYS.items()}
    return told(stage, plan, days, max(parts, key=lambda name: parts[name]))


def told(stage: JarStage, plan: JarPlan, days: dict[str, Triple], bottleneck: str) -> Conditioning:
    """The plan with its times, however these were found.

    Parameters
    ----------
    days : dict of str to Triple
        Times until shares of the way are gone. [days]
    """
    job = stage.bench.job
    stop = stage.mass + plan.moved if job.pellets.mass is not None else None
    tray = job.jar.tray
    return Conditioning(
        humidity=plan.source.activity,
        source=plan.words,
        oxidizer=plan.source.oxidizer,
        days=days,
        bottleneck=bottleneck,
        stop_mass=stop,
        stop_scale=stop + tray if stop is not None and tray is not None else None,
        by_mass=plan.by_mass,
        dry_first=plan.dry_first,
    )


class QuickWay:
    """Times along the way, by quadrature: at each share of it, how fast does water arrive?

    The skin stands where as much water crosses the air as goes on inward: air over the source, its
    cooling and the pellet lie in series, each with its own law. What the quadrature does not know
    is the profile inside, which it takes from the linear pellet that has done the same share; a
    test tells how far the times lie from the full solution.

    Parameters
    ----------
    stage : JarStage
        The pellets in their jar. [SI]
    plan : JarPlan
        What is in it. [SI]
    target : float
        Wet basis. [kg/kg]
    """

    def __init__(self, stage: JarStage, plan: JarPlan, target: float) -> None:
        self._stage, self._bath = stage, plan.bath
        #: Moisture that the way adds: to the target, or to where the source ends, shape (s,).
        self.way = as_far_as(stage.way_to(target), self._source_end())
        self._times = self._march()

    def time_to(self, share: float) -> Any:
        """When this share of the way is done: 0.5, 0.9 or 0.99; shape (s,). [s]"""
        return sum(self.parts(share).values())

    def parts(self, share: float) -> dict[str, Any]:
        """What each resistance takes of it, shape (s,). [s]"""
        return {name: part[_SHARES.index(share)] for name, part in self._times.items()}

    def _bath_at(self, gained: Any) -> Any:
        """Activity of the bath once the pellets have gained moisture, shapes (..., s). [-]"""
        most = 0.99 * self._bath.water
        given = np.minimum(self._stage.dry_mass * gained, most)
        activity = bath_activity(self._bath, self._stage.t, given)
        return np.minimum(activity, self._stage.top_activity)

    def _source_end(self) -> Any:
        """Moisture the pellets gain until source and pellets agree, shape (s,). [kg/kg]"""
        gained = np.zeros(self._stage.bench.count)
        for _ in range(4):  # a bath drifts a sixth of the way back: four rounds leave a thousandth
            gained = self._end_over(self._bath_at(gained))
        return gained

    def _end_over(self, activity: Any) -> Any:
        """Moisture that pellets gain in the end over a steady activity, shapes (..., s). [kg/kg]"""
        w = self._stage.isotherm.moisture(activity)
        return w / (1.0 - w) - self._stage.x_start

    def _march(self) -> dict[str, Any]:
        """What each resistance takes of the time to every share, shapes (shares, s). [s]"""
        stage = self._stage
        gained = np.array(_SHARES)[:, None] * self.way
        bath, mean = self._bath_at(gained), self._activity(gained)
        gap, bed = jar_conductances(stage.jar, stage.pellet, stage.dry_mass, check=False)
        cooling = bath_cooling(stage.jar)[1] * bath
        still = 1.0 / gap + 1.0 / bed
        outside = stage.dry_mass * (still + cooling)
        skin = self._skin(gained, bath, outside)
        drop = np.maximum(np.abs(bath - skin), _TINY)
        seconds = _between(outside / drop, np.abs(gained))
        # what held the water up between two shares: the mean of what did at both
        inside = np.abs(skin - mean)
        inside, still = (_pairs(a) for a in (inside / (inside + drop), still / (still + cooling)))
        parts = {
            "air": seconds * (1.0 - inside) * still,
            "pellet": seconds * inside,
            "bath": seconds * (1.0 - inside) * (1.0 - still),
        }
        return {name: np.cumsum(part, axis=0) for name, part in parts.items()}

    def _activity(self, gained: Any) -> Any:
        x = self._stage.x_start + gained
        return self._stage.isotherm.activity(x / (1.0 + x))

    def _skin(self, gained: Any, bath: Any, outside: Any) -> Any:
        """Activity of the skin where as much crosses the air as goes on inward, (shares, s). [-]

        Where on the way from mean to end the skin stands is sought as a logit, in which the
        logarithm of one flow over the other falls nearly straight.
        """
        ahead = self._end_over(bath) - gained
        place = last = np.zeros_like(ahead)
        tilt, error = np.full_like(ahead, -1.0), None
        for _ in range(_ROUNDS):
            skin = gained + ahead / (1.0 + np.exp(-place))
            own = self._activity(skin)
            crossing = np.maximum(np.abs(bath - own), _TINY) / outside
            excess = np.log(crossing / np.maximum(self._inward(gained, skin), 1e-30))
            if error is not None:
                moved = np.where(place == last, 1.0, place - last)
                tilt = np.clip((excess - error) / moved, -5.0, -0.3)
            last, error = place, excess
            place = np.clip(place - excess / tilt, -25.0, 25.0)
        return own

    def _inward(self, gained: Any, skin: Any) -> Any:
        """Moisture gained per second with the skin there, shapes (shares, s). [1/s]"""
        stage = self._stage
        left = np.clip((skin - gained) / np.where(skin == 0.0, 1.0, skin), 0.0, 1.0)
        starting = left > 1.0 - _HEART_KNOWS
        inner = stage.x_start + np.where(starting, 0.0, gained)
        power = np.where(starting, np.where(skin > gained, _WETTING, _DRYING), 0.0)
        diffusivity = self._mean_diffusivity(inner, stage.x_start + skin, power)
        pace = np.interp(left, *_linear_pace(stage.pellet.shape, stage.pellet.aspect))
        return pace * diffusivity / stage.pellet.half**2 * np.abs(skin - gained)

    def _mean_diffusivity(self, inner: Any, skin: Any, power: Any) -> Any:
        """Of the moistures between, weighted with a power of the distance from the inner one."""
        mean: Any = 0.0
        for place, weight in zip(*_quadrature(), strict=True):
            # even steps of the integral of the weight
            x = inner + place ** (1.0 / (1.0 + power)) * (skin - inner)
            mean = mean + weight * dense_starch_diffusivity(x, self._stage.t, check=False)
        return mean * self._stage.diffusivity_factor


def _pairs(at: Any) -> Any:
    """Means of neighbors along the first axis; the first stays alone."""
    return np.concatenate([at[:1], 0.5 * (at[1:] + at[:-1])])


def _between(slow: Any, gained: Any) -> Any:
    """Seconds from share to share, from seconds per moisture at each, shapes (shares, s)."""
    step, first, last = np.diff(gained, axis=0), slow[:-1], slow[1:]
    ratio = np.log(last / first)
    even = np.abs(ratio) < 1e-6
    # a pellet slows down straight with what it holds at first, straight with what is left at last
    late = np.where(even, last, last * first * ratio / np.where(even, 1.0, last - first))
    early = 0.5 * (last + first)
    seconds = step * np.where(np.array(_SHARES)[1:, None] <= 0.5, early, late)
    return np.concatenate([np.zeros_like(slow[:1]), seconds])


@cache
def _linear_pace(shape: str, aspect: float | None) -> tuple[Any, Any]:
    """How fast what is left falls in a linear pellet, over what is left: -d ln left/d Fourier."""
    left = np.concatenate([np.geomspace(1e-4, 0.5, 40), 1.0 - np.geomspace(0.49, 1e-3, 40)])
    fourier = fourier_at(shape, left, aspect=aspect)
    return np.sqrt(left[1:] * left[:-1]), -np.diff(np.log(left)) / np.diff(fourier)


@cache
def _quadrature() -> tuple[Any, Any]:
    """Places between 0 and 1 and their weights (Gauss-Legendre)."""
    places, weights = special.roots_legendre(_PLACES)
    return (places + 1.0) / 2.0, weights / 2.0
