"""The pot: from what is weighed in to gel, sheet and pellets, and whether the starch cooks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.inputs.job import Ingredient
from moldwin.physics.gelatinization import peak_in_liquid, share_by_heat, share_by_water
from moldwin.physics.open_pot import open_pot_flux
from moldwin.physics.vapor import water_saturation_pressure, water_saturation_temperature
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend, ingredient_moisture
from moldwin.stages.room import air_pressure, room_humidity, room_temperature

__all__ = ["Cooking", "Portion", "Pot", "cook", "cooking_temperature", "fill_pot", "pot_water"]

#: Of a dilute gel, for the size of its pot. [kg/m3]
_GEL_DENSITY = 1050.0


@dataclass(frozen=True)
class Portion:
    """One row of the recipe on its way: masses per sample, shape (s,). [kg]

    ``dry`` splits into what stays in the pan, what is trimmed off and what reaches the pellets.
    """

    row: Ingredient
    water: Any
    dry: Any
    in_pan: Any
    trimmed: Any
    in_pellets: Any


@dataclass(frozen=True)
class Pot:
    """A batch from pot to dry sheet: masses per sample, shape (s,). [kg]

    ``water`` is all there is in the beginning, ``poured`` the part nobody weighed in as an
    ingredient; ``gel`` is what there is when the heat goes off, ``sheet`` what is spread, ``dry``
    the dry matter of the pellets. ``poured_given`` is False where the job does not say.
    """

    portions: tuple[Portion, ...]
    poured: Any
    poured_given: bool
    water: Any
    evaporated: Any
    gel: Any
    in_pan: Any
    sheet: Any
    trimmed: Any
    dry: Any

    @property
    def solids(self) -> Any:
        """Dry share of the gel as spread, shape (s,). [kg/kg]"""
        return sum(p.dry for p in self.portions) / self.gel

    def pellets(self, w_water: float) -> Any:
        """Pellets at a moisture, wet basis, shape (s,). [kg]"""
        return self.dry / (1.0 - w_water)


@dataclass(frozen=True)
class Cooking:
    """How well the starch cooks; arrays have shape (s,), times in s, temperatures in K.

    ``by_heat`` and ``by_water`` are the shares of the granules that either lets go, ``cooked`` that
    both do; ``at_hand`` is water per dry polymer and fiber when the heat goes off [kg/kg], ``lean``
    the water that would have to be there; ``onset`` and ``end`` are those of the starch that takes
    most heat. Without starch they are None.
    """

    t: Any
    time: Any
    boils: Any
    onset: Any
    end: Any
    by_heat: Any
    by_water: Any
    at_hand: Any
    lean: Any

    @property
    def cooked(self) -> Any:
        """Share of the granules that go, shape (s,); None where there is no starch. [-]"""
        return None if self.by_heat is None else np.minimum(self.by_heat, self.by_water)


def pot_water(bench: Bench) -> tuple[Any, bool]:
    """Water poured into the pot, shape (s,) [kg], and whether the job says so.

    Left out of a blend that is cooked, and no water among its ingredients either, it is what makes
    a gel that can be stirred; else it is none.
    """
    given = bench.job.pot.water
    if given is not None:
        return bench.given("pot.water", given, "kg"), True
    rows = bench.job.ingredients
    if not bench.job.blend.cooked or any(bench.card(row.card).role == "water" for row in rows):
        return np.zeros(bench.count), True
    return sum(row.mass for row in rows) * bench.typical("pot", "water_per_dry"), False


def fill_pot(bench: Bench) -> Pot:
    """Follow every ingredient from the scale into the pellets.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]

    Returns
    -------
    Pot
        Per sample. What goes in is what comes out, to rounding. [kg]
    """
    poured, given = pot_water(bench)
    pan = bench.given("pot.loss", bench.job.pot.loss, "1", typical=("pot", "pan_loss"))
    trim = bench.typical("pot", "trim_loss")
    portions = tuple(_portion(bench, row, pan, trim) for row in bench.job.ingredients)
    water = poured + sum(p.water for p in portions)
    dry = sum(p.dry for p in portions)
    evaporated = np.minimum(_evaporated(bench, water + dry), water)
    gel = water - evaporated + dry
    return Pot(
        portions=portions,
        poured=poured,
        poured_given=given,
        water=water,
        evaporated=evaporated,
        gel=gel,
        in_pan=gel * pan,
        sheet=gel * (1.0 - pan),
        trimmed=sum(p.trimmed for p in portions),
        dry=sum(p.in_pellets for p in portions),
    )


def cook(bench: Bench, blend: Blend, pot: Pot) -> Cooking:
    """Whether there is heat and water enough for the starch.

    Parameters
    ----------
    bench, blend, pot
        The job, its dry shares, and what is in the pot. [SI]

    Returns
    -------
    Cooking
        Per sample. Fiber and other polymers drink like starch does, gram for gram (assumed). [SI]
    """
    t, boils = cooking_temperature(bench), _boiling(bench)
    dry = sum(p.dry for p in pot.portions)
    drinks = np.maximum(blend.wetted - blend.plasticizer, 1e-9) * dry
    at_hand = (pot.water - pot.evaporated) / drinks
    whole, none = bench.typical("pot", "water_whole"), bench.typical("pot", "water_none")
    onset, end = _transition(bench, blend, pot, dry)
    return Cooking(
        t=t,
        time=_cooking_time(bench),
        boils=boils,
        onset=onset,
        end=end,
        by_heat=None if onset is None else share_by_heat(t, onset, end),
        by_water=None if onset is None else share_by_water(at_hand, whole, none),
        at_hand=at_hand,
        lean=np.maximum(whole * drinks - (pot.water - pot.evaporated), 0.0),
    )


def cooking_temperature(bench: Bench) -> Any:
    """Temperature of the gel, given or typical, never above the boil, shape (s,). [K]"""
    given = bench.job.pot.cook_temperature
    t = bench.given("pot.cook_temperature", given, "K", typical=("pot", "cook_t"))
    return np.minimum(t, _boiling(bench))


def _boiling(bench: Bench) -> Any:
    return water_saturation_temperature(air_pressure(bench), check=False)


def _cooking_time(bench: Bench) -> Any:
    typical = ("pot", "cook_time")
    return bench.given("pot.cook_time", bench.job.pot.cook_time, "s", typical=typical)


def _evaporated(bench: Bench, filled: Any) -> Any:
    """Water that leaves the open pot on the heat, if there is that much, shape (s,). [kg]"""
    if not bench.job.blend.cooked:
        return np.zeros(bench.count)
    # a larger batch is cooked in a larger pot of the same shape
    surface = bench.typical("pot", "surface_shape") * (filled / _GEL_DENSITY) ** (2.0 / 3.0)
    room = room_humidity(bench) * water_saturation_pressure(room_temperature(bench), check=False)
    flux = open_pot_flux(
        cooking_temperature(bench),
        room,
        air_pressure(bench),
        bench.typical("pot", "film"),
        bench.typical("pot", "heat") / surface,
    )
    return flux * surface * _cooking_time(bench)


def _portion(bench: Bench, row: Ingredient, pan: Any, trim: Any) -> Portion:
    card = bench.card(row.card, row.lot)
    if card.role == "water":
        w = np.ones(bench.count)
    else:
        w = ingredient_moisture(bench, card, row.moisture, row.moisture_u)
    dry = row.mass * (1.0 - w)
    spread = dry * (1.0 - pan)
    trimmed = spread * trim
    return Portion(
        row=row,
        water=row.mass * w,
        dry=dry,
        in_pan=dry * pan,
        trimmed=trimmed,
        in_pellets=spread - trimmed,
    )


def _transition(bench: Bench, blend: Blend, pot: Pot, dry: Any) -> tuple[Any, Any]:
    """Onset and end of the starch that takes most heat, in this liquid; None without starch. [K]"""
    starches = [entry.card for entry in blend.polymers if entry.card.family == "starch"]
    if not starches:
        return None, None
    peaks = [
        bench.of(card, "gelatinization_peak")
        if card.get("gelatinization_peak") is not None
        else bench.typical("pot", "gelatinization_peak")
        for card in starches
    ]
    plasticizer = blend.plasticizer * dry
    liquid = plasticizer / np.maximum(plasticizer + pot.water - pot.evaporated, 1e-12)
    shift = bench.typical("pot", "plasticizer_shift")
    peak = peak_in_liquid(np.max(peaks, axis=0), np.clip(liquid, 0, 1), shift, check=False)
    before, after = (bench.typical("pot", k) for k in ("onset_before_peak", "end_after_peak"))
    return peak - before, peak + after
