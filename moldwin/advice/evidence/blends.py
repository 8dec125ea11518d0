"""Blends and parts of the shipped cards alone, as the published tables name them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property
from typing import Any

import numpy as np

from moldwin.base.percentiles import Triple, triple
from moldwin.inputs.cards import Library
from moldwin.inputs.job import Job
from moldwin.inputs.read_job import read_job
from moldwin.physics.diffusion import dense_starch_diffusivity
from moldwin.stages.bench import Bench
from moldwin.stages.filling import MeltFlow
from moldwin.stages.in_use import Home, PartThere, places
from moldwin.stages.melt import melt_heat_capacity
from moldwin.stages.moisture import Isotherm
from moldwin.stages.pot import Cooking, cook, fill_pot
from moldwin.stages.state import Material

__all__ = ["Blends"]

#: What the tables leave out: a small bar, of pellets that hold some water.
_JOB: dict[str, Any] = {
    "pellets": {"moisture_pct": 10, "moisture_u_pct": 0.5},
    "part": {"specimen": "ISO 527-2 1BA"},
}
_WEEK, _HOUR = 604800.0, 3600.0
#: Moisture of the part as molded; at home it takes up that of its room. [kg/kg]
_MOLDED = 0.12


class Blends:
    """Answers the tables' questions from the shipped cards; the user's own never count here.

    Parameters
    ----------
    count : int
        Samples. [-]
    """

    def __init__(self, count: int = 1024) -> None:
        self.count = count
        self._parts: dict[tuple[Any, ...], PartThere] = {}

    @cached_property
    def library(self) -> Library:
        """The shipped cards."""
        return Library()

    @property
    def sorption_heat_factor(self) -> float:
        """From the middle of the heat that is drawn to either end of its 90 % interval. [-]"""
        return float(self.library.card("jar")["sorption_heat_factor"].factor or 1.0)

    def bench(self, job: Job) -> Bench:
        """A bench for a job on these samples."""
        return Bench(job, count=self.count, library=self.library)

    def typical(self, card: str, key: str) -> Any:
        """Samples of a bench card's number, shape (s,). [the quantity's unit]"""
        return self.bench(self._read("corn-starch 100")).typical(card, key)

    def uptake(self, recipe: str, aw: Any, t_c: float = 25.0) -> Any:
        """Equilibrium moisture of a dry recipe such as ``"potato-starch 85 + glycerol 15"``.

        Parameters
        ----------
        recipe : str
            Cards and grams of dry mass. [g]
        aw : float or array, shape (n,)
            Water activity. [-]
        t_c : float
            Temperature. [°C]

        Returns
        -------
        array, shape (s,) or (n, s)
            Moisture, dry basis. [kg/kg]
        """
        bench = self.bench(self._read(recipe))
        isotherm = Isotherm(bench, Material(bench).blend, t_c + 273.15)
        w = isotherm.moisture(np.asarray(aw, dtype=float)[..., None] * np.ones(self.count))
        return w / (1.0 - w)

    def uptake_band(self, recipe: str, aw: float, t_c: float = 25.0) -> Triple:
        """The same as an interval. [kg/kg]"""
        return triple(self.uptake(recipe, aw, t_c))

    def tg(self, recipe: str, w_water: float) -> Triple:
        """Glass transition of a dry recipe at a moisture of the whole. [°C]"""
        _, material = self._at_moisture(recipe, w_water)
        return triple(material.at(w_water).tg - 273.15)

    def viscosity(self, recipe: str, w_water: float, t_c: float, rate: float) -> Any:
        """Viscosity of the melt of a dry recipe, shape (s,). [Pa s]

        Parameters
        ----------
        recipe : str
            Cards and grams of dry mass. [g]
        w_water : float
            Water, wet basis. [kg/kg]
        t_c : float
            Temperature. [°C]
        rate : float
            Shear rate. [1/s]
        """
        bench, material = self._at_moisture(recipe, w_water)
        melt = MeltFlow(bench, material.blend, material.at(w_water))
        consistency = np.exp(melt.consistency(np.full(self.count, t_c + 273.15)))
        return consistency * rate ** (melt.n - 1.0)

    def heat_capacity(self, recipe: str, w_water: float, t_c: float) -> Any:
        """Heat capacity of a dry recipe at a moisture of the whole, shape (s,). [J/kg/K]

        Parameters
        ----------
        recipe : str
            Cards and grams of dry mass. [g]
        w_water : float
            Water, wet basis. [kg/kg]
        t_c : float
            Temperature. [°C]
        """
        bench, material = self._at_moisture(recipe, w_water)
        water = np.full(self.count, w_water)
        return melt_heat_capacity(bench, material.blend, water, t_c + 273.15)

    def water_diffusivity(self, recipe: str, aw: float, t_c: float) -> Any:
        """Diffusivity of water in a dry recipe at a water activity, shape (s,). [m²/s]

        Parameters
        ----------
        recipe : str
            Cards and grams of dry mass. [g]
        aw : float
            Water activity. [-]
        t_c : float
            Temperature. [°C]
        """
        bench = self.bench(self._read(recipe))
        factor = Material(bench).blend.mean_over_polymers(bench, "diffusivity_factor", 1.0)
        x = self.uptake(recipe, aw, t_c)
        return factor * dense_starch_diffusivity(x, t_c + 273.15, check=False)

    def cooking(self, starch: str, cook_c: float = 90.0) -> Cooking:
        """One starch in a pot with five times its water, for a minute. [SI]"""
        pot = {"water_g": 1500, "cook_c": cook_c, "cook_min": 1}
        rows = [{"card": starch, "mass_g": 300, "moisture_pct": 0}]
        bench = self.bench(self.read({"ingredient": rows, "pot": pot, **_JOB}))
        return cook(bench, Material(bench).blend, fill_pot(bench))

    def peak(self, starch: str) -> Triple:
        """Peak of gelatinization in much water. [°C]"""
        bench = self.bench(self._read(f"{starch} 100"))
        return triple(bench.of(self.library.card(starch), "gelatinization_peak") - 273.15)

    def read(self, job: Mapping[str, Any]) -> Job:
        """A whole job read with the shipped cards."""
        return read_job(job, library=self.library)

    def part(
        self, recipe: str, humidity: float, t_c: float = 23.0, weeks: float = 0.0
    ) -> PartThere:
        """A part of a dry recipe at home in a room. [SI]"""
        key = (recipe, humidity, t_c, weeks)
        if key not in self._parts:
            room = {"temperature_c": t_c, "humidity_pct": 100.0 * humidity}
            job = self._read(recipe, room=room)
            use = replace(job.use, time=max(weeks * _WEEK, _HOUR))
            bench = self.bench(replace(job, use=use))
            material = Material(bench)
            home = Home(bench, material, material.at(_MOLDED))
            self._parts[key] = home.at(places(bench)[1])
        return self._parts[key]

    def _at_moisture(self, recipe: str, w_water: float) -> tuple[Bench, Material]:
        """A recipe whose moisture is known for certain."""
        pellets = {"moisture_pct": 100.0 * w_water, "moisture_u_pct": 0}
        bench = self.bench(self._read(recipe, pellets=pellets))
        return bench, Material(bench)

    def _read(self, recipe: str, **sections: Mapping[str, Any]) -> Job:
        """A recipe as read has to be one to mold, with enough polymer in it.

        The tables ask about any, so it is read with equal masses and weighed out afterward.
        """
        parts = [part.rsplit(" ", 1) for part in recipe.split(" + ")]
        rows = [{"card": card, "mass_g": 1, "moisture_pct": 0} for card, _ in parts]
        job = self.read({"ingredient": rows, **_JOB, **sections})
        masses = {card: 1e-3 * float(grams) for card, grams in parts}
        weighed = tuple(replace(each, mass=masses[each.card]) for each in job.ingredients)
        return replace(job, ingredients=weighed)
