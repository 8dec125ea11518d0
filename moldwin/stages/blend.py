"""The ledger: from ingredients as weighed to dry shares by what they do in the melt."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from moldwin.inputs.cards import Card
from moldwin.stages.bench import Bench

__all__ = ["Blend", "Entry", "ingredient_moisture", "make_blend"]

#: What the shares of a composition table do. Everything that is not named here is inert.
_POLYMERS = ("starch", "alginate", "fucoidan", "laminarin", "galactan")
_FIBROUS = ("cellulose", "fiber", "protein")


@dataclass(frozen=True)
class Entry:
    """One card's part of the blend: its dry share of all dry solids, per sample."""

    card: Card
    share: Any


@dataclass
class Blend:
    """Dry shares (kg per kg dry solids, shape (s,)), by role.

    ``polymers`` melt; ``plasticizers`` are what is dissolved in them; ``fibrous`` is inert but
    takes up water; ``salt`` is the soluble part of the ash; ``inert`` the rest. ``crosslinked`` is
    the share of the alginate that calcium holds; ``calcium`` is calcium chloride.
    """

    polymers: list[Entry] = field(default_factory=list)
    plasticizers: list[Entry] = field(default_factory=list)
    fibrous: list[Entry] = field(default_factory=list)
    alginate: Any = 0.0
    protein: Any = 0.0
    ash: Any = 0.0
    salt: Any = 0.0
    inert: Any = 0.0
    crosslinked: Any = 0.0
    calcium: Any = 0.0
    additives: dict[str, Any] = field(default_factory=dict)
    dry_mass: Any = 0.0

    @property
    def polymer(self) -> Any:
        """Melting polymer per kg dry solids, shape (s,). [kg/kg]"""
        return _total(self.polymers)

    @property
    def plasticizer(self) -> Any:
        """Dissolved plasticizer per kg dry solids, shape (s,). [kg/kg]"""
        return _total(self.plasticizers)

    @property
    def amorphous(self) -> Any:
        """Polymer and plasticizer, the phase that has the glass transition. [kg/kg]"""
        return self.polymer + self.plasticizer

    @property
    def filler(self) -> Any:
        """Everything dry that does not melt. [kg/kg]"""
        return 1.0 - self.amorphous

    @property
    def wetted(self) -> Any:
        """Dry solids that share the water at room humidity: all but ash and other inert matter."""
        return self.amorphous + _total(self.fibrous)

    def water_in_phase(self, w_water: Any) -> Any:
        """Water as a mass fraction of the amorphous phase.

        Fiber and undissolved seaweed take up water like the melt does, gram for gram (assumed);
        ash and fat take none.

        Parameters
        ----------
        w_water : float or array, shape (..., s)
            Water of the whole, wet basis. [kg/kg]

        Returns
        -------
        array, shape (..., s)
            Water over water plus polymer plus plasticizer. [kg/kg]
        """
        x = w_water / (1.0 - w_water)
        phase = x / np.maximum(self.wetted, 1e-9)
        return phase / (1.0 + phase)

    def loadings(self, w_water: float) -> dict[str, Any]:
        """Plasticizer the three ways the trade quotes it. [kg/kg]"""
        plasticizer = self.plasticizer
        return {
            "per_dry_polymer": plasticizer / np.maximum(self.polymer, 1e-9),
            "per_dry_solids": plasticizer,
            "per_total": plasticizer * (1.0 - w_water),
        }

    def mean_over_polymers(self, bench: Bench, key: str, default: float | None = None) -> Any:
        """A polymer property weighted by dry share, shape (s,). [the quantity's unit]"""
        total = self.polymer
        plain = np.mean([bench.of(e.card, key, default) for e in self.polymers], axis=0)
        nothing = total <= 1e-9  # where nothing melts, any of them stands for the others
        total = np.maximum(total, 1e-9)
        mean = sum(e.share * bench.of(e.card, key, default) for e in self.polymers) / total
        return np.where(nothing, plain, mean)

    def dry_share_of(self, name: str) -> Any:
        """Dry share of one added card, 0 where it is not in the blend. [kg/kg]"""
        found = [
            e.share
            for e in (*self.polymers, *self.plasticizers, *self.fibrous)
            if e.card.name == name
        ]
        return sum(found) if found else self.additives.get(name, 0.0)


def make_blend(bench: Bench) -> Blend:
    """Weigh the ledger up.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]

    Returns
    -------
    Blend
        Dry shares per sample; water never changes them. [kg/kg]
    """
    # water leaves again: it is not even weighed
    rows = [r for r in bench.job.ingredients if bench.card(r.card).role != "water"]
    weighed = math.fsum(row.mass for row in rows)
    batches: dict[tuple[str, str, float | None, float | None], list[float]] = {}
    for row in rows:
        key = (row.card, row.lot, row.moisture, row.moisture_u)
        batches.setdefault(key, []).append(row.mass)
    masses: dict[tuple[str, str], Any] = {}
    for name, lot, moisture, u in sorted(batches, key=str):
        # shares to 12 digits: the same recipe in other rows or another size is the same to the bit
        share = float(f"{math.fsum(batches[name, lot, moisture, u]) / weighed:.12g}")
        dry = share * (1.0 - ingredient_moisture(bench, bench.card(name, lot), moisture, u))
        masses[name, lot] = masses.get((name, lot), 0.0) + dry
    total = sum(masses[key] for key in sorted(masses))
    blend = Blend(dry_mass=total * weighed)
    calcium = [masses[key] for key in sorted(masses) if key[0] == "calcium-chloride"]
    blend.calcium = sum(calcium) / total  # before the alginate enters: it decides what melts
    for name, lot in sorted(masses):  # sorted: the order of rows must not change a bit
        _enter(bench, blend, bench.card(name, lot), masses[name, lot] / total)
    return blend


def ingredient_moisture(bench: Bench, card: Card, moisture: float | None, u: float | None) -> Any:
    """Water of an ingredient as weighed: measured, or the card's usual value. [kg/kg]

    Parameters
    ----------
    moisture, u : float or None
        As the job says, wet basis, with its standard uncertainty. [kg/kg]
    """
    if moisture is None:
        return bench.of(card, "moisture", 0.0)
    quantity = card.get("moisture")
    name = quantity.name if quantity else f"{card.name}.moisture"
    return np.clip(bench.given(f"{name} = {moisture:g}", moisture, "kg/kg", u=u), 0.0, 0.99)


def _enter(bench: Bench, blend: Blend, card: Card, share: Any) -> None:
    """Enter one card's dry share under what its parts do."""
    parts = {
        k.split(".", 1)[1]: bench.of(card, k)
        for k in card.quantities
        if k.startswith("composition.")
    }
    parts.pop("water", None)
    blend.additives[card.name] = blend.additives.get(card.name, 0.0) + share
    if parts:
        whole = sum(parts[k] for k in sorted(parts))
        scale = np.maximum(whole, 1.0) if card.role == "additive" else whole
        for part in sorted(parts):
            _enter_part(bench, blend, card, part, share * parts[part] / scale)
    elif card.role == "polymer":
        _enter_polymer(bench, blend, card, share, alginate=card.family == "alginate")
    elif card.role == "plasticizer":
        blend.plasticizers.append(Entry(card, share))
    elif card.role == "fiber":
        blend.fibrous.append(Entry(card, share))
    elif card.role == "comparator":
        _enter_fibrous(bench, blend, card, "protein", share)
    elif card.family == "salt":
        blend.ash = blend.ash + share
        blend.salt = blend.salt + share
    else:
        blend.inert = blend.inert + share


def _enter_part(bench: Bench, blend: Blend, card: Card, part: str, share: Any) -> None:
    if part in _POLYMERS:
        _enter_polymer(bench, blend, card, share, alginate=part == "alginate")
    elif part == "mannitol":
        # only what has not crystallized on drying plasticizes
        dissolved = bench.of(card, "mannitol_dissolved_share", 1.0)
        mannitol = bench.library.card("mannitol")
        blend.plasticizers.append(Entry(mannitol, share * dissolved))
        blend.inert = blend.inert + share * (1.0 - dissolved)
    elif part in _FIBROUS:
        _enter_fibrous(bench, blend, card, part, share)
    elif part == "ash":
        _enter_ash(bench, blend, card, share)
    elif part != "acid":  # acids act through their card's browning_speedup
        blend.inert = blend.inert + share


def _enter_fibrous(bench: Bench, blend: Blend, card: Card, part: str, share: Any) -> None:
    """Fiber, cellulose and protein do not melt; a blend of protein alone borrows starch's laws.

    What is borrowed is never shown as an answer: protein of that much stops the page.
    """
    if part == "protein":
        blend.protein = blend.protein + share
    if card.role == "comparator":
        blend.polymers.append(Entry(bench.library.card("corn-starch"), share))
    else:
        blend.fibrous.append(Entry(card, share))


def _enter_polymer(bench: Bench, blend: Blend, card: Card, share: Any, *, alginate: bool) -> None:
    """Polymer melts, but plant alginate only as far as cooking in plain water dissolved it."""
    if not alginate:
        blend.polymers.append(Entry(card, share))
        return
    blend.alginate = blend.alginate + share
    free = _not_crosslinked(bench, blend, share)
    blend.crosslinked = np.maximum(blend.crosslinked, 1.0 - free)
    melts = share * bench.of(card, "dissolved_share", 1.0) * free
    blend.polymers.append(Entry(card, melts))
    blend.fibrous.append(Entry(card, share - melts))


def _not_crosslinked(bench: Bench, blend: Blend, alginate: Any) -> Any:
    """Share of the alginate that calcium has left free to melt."""
    if not np.any(blend.calcium):
        return 1.0
    needed = alginate * bench.of(bench.library.card("calcium-chloride"), "crosslink_share")
    return np.clip(1.0 - blend.calcium / np.maximum(needed, 1e-9), 0.0, 1.0)


def _enter_ash(bench: Bench, blend: Blend, card: Card, share: Any) -> None:
    soluble = share * bench.of(card, "soluble_salt_share", 0.0)
    rinsed: Any = 0.0
    if bench.job.blend.washed:
        # what was rinsed out would leave the other shares a little richer, far inside their own
        # ranges: it is kept in the ledger as inert, so that the shares still make up 1
        rinsed = soluble * (1.0 - bench.of(card, "rinse_left", 1.0))
    blend.ash = blend.ash + share - rinsed
    blend.salt = blend.salt + soluble - rinsed
    blend.inert = blend.inert + rinsed


def _total(entries: list[Entry]) -> Any:
    return sum((e.share for e in entries), start=np.zeros(1)) if entries else 0.0
