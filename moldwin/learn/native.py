"""How much plasticizer the seaweed brings along, counted as glycerol."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from moldwin.base.percentiles import Triple, triple
from moldwin.inputs.cards import Card
from moldwin.inputs.errors import Fault, InputError
from moldwin.stages.bench import Bench
from moldwin.stages.blend import make_blend
from moldwin.stages.moisture import Isotherm
from moldwin.stages.room import room_temperature
from moldwin.stages.softening import prepare_blend

__all__ = ["Native", "native_plasticizer", "native_share"]

#: What an equilibrium weighing may be off, of the moisture, beside its own reading (assumed).
_ISOTHERM_SHARE = 0.05
#: A weighing further than this from what any blend like it holds there, in its errors and the
#: samples' spread together, is a slip.
_FAR = 4.0


@dataclass(frozen=True)
class Native:
    """The seaweed's own plasticizer.

    Parameters
    ----------
    before, after : Triple
        As glycerol, per kg of its dry mass, before the measurement and after. [kg/kg]
    in_recipe, added : Triple
        The same for the whole recipe; plasticizer weighed into it, dry. [kg]
    measured : tuple of str
        What was used. [-]
    """

    before: Triple
    after: Triple
    in_recipe: Triple
    added: Triple
    measured: tuple[str, ...]


def native_plasticizer(
    bench: Bench, moisture: float | None = None, humidity: float | None = None, u: float = 0.005
) -> Native:
    """The seaweed's own plasticizer from a softening test, a weighing at a known humidity, or both.

    Parameters
    ----------
    bench : Bench
        The job, with its softening test if it has one; its draws are replaced by moved ones. [-]
    moisture, humidity : float, optional
        Equilibrium moisture of the blend, wet basis [kg/kg], at this relative humidity [-].
    u : float
        Standard uncertainty of that moisture. [kg/kg]

    Returns
    -------
    Native
        [SI]

    Raises
    ------
    InputError
        The job has no seaweed, nothing was measured, or it cannot be of this blend.

    Notes
    -----
    Counted as the glycerol that pulls the transition of the dry seaweed as far: in the mixing rule
    a mass m of another plasticizer is worth m k (Tg - Tg_i) / [k_g (Tg - Tg_g)], here at the likely
    Tg of its polymer. A strip cannot tell a softer polymer from more plasticizer: what it says is
    shared between them by how unknown each is.
    """
    job = bench.job
    seaweeds = [r for r in job.ingredients if bench.card(r.card, r.lot).family == "seaweed"]
    if not seaweeds:
        message = "the job has no seaweed; only that brings a plasticizer nobody weighed"
        raise InputError([Fault(str(job.path or "job"), "ingredient", message)])
    measured = ["softening test"] if job.blend.softening is not None else []
    weighed = moisture is not None and humidity is not None
    measured += ["equilibrium weighing"] if weighed else []
    if not measured:
        message = (
            "nothing measured: give [blend] softening_c and softening_moisture_pct, or the "
            "moisture the blend comes to at a known humidity (--moisture-pct, --humidity-pct)"
        )
        raise InputError([Fault(str(job.path or "job"), "blend", message)])
    before = _per_seaweed(_untold(bench))[0]
    blend = prepare_blend(bench)
    if weighed:
        isotherm = Isotherm(bench, blend, room_temperature(bench))
        expected = isotherm.moisture(np.full(bench.count, humidity))
        error = float(np.hypot(u, _ISOTHERM_SHARE * float(moisture or 0.0)))
        _plausible(bench, float(moisture or 0.0), float(humidity or 0.0), expected, error)
        bench.draws = bench.draws.copy()
        bench.draws.shift(bench.columns.values(), expected, float(moisture or 0.0), error)
        bench.forget()
    share, mass, added = _per_seaweed(bench)
    return Native(triple(before), triple(share), triple(mass), triple(added), tuple(measured))


def _plausible(bench: Bench, moisture: float, humidity: float, expected: Any, u: float) -> None:
    """Refuse a weighing that no such blend can give: what it would teach is wrong."""
    off = abs(moisture - float(expected.mean())) / float(np.hypot(expected.std(), u))
    if off > _FAR:
        low, high = (100.0 * float(q) for q in np.quantile(expected, [0.05, 0.95]))
        message = (
            f"got {100.0 * moisture:.1f} % at {100.0 * humidity:.0f} % humidity, where such a "
            f"blend holds {low:.0f} to {high:.0f} %: dried to the end, and in percent, wet basis?"
        )
        raise InputError([Fault(str(bench.job.path or "job"), "moisture", message)])


def native_share(bench: Bench) -> Any:
    """Plasticizer that the seaweed of a job brings along, as glycerol, (s,); None without any.

    Parameters
    ----------
    bench : Bench
        The job and its draws, which stay as they are. [-]

    Returns
    -------
    array, shape (s,), or None
        Per dry mass of the seaweed. [kg/kg]
    """
    rows = bench.job.ingredients
    if all(bench.card(row.card, row.lot).family != "seaweed" for row in rows):
        return None
    return _per_seaweed(bench)[0]


def _untold(bench: Bench) -> Bench:
    """The same job on draws that know of no measurement."""
    job = bench.job
    bare = replace(job, blend=replace(job.blend, softening=None, softening_moisture=None))
    return bench.with_job(bare)


def _per_seaweed(bench: Bench) -> tuple[Any, Any, Any]:
    """Glycerol-equivalent per dry mass of seaweed [kg/kg], in the recipe, and added [kg]; (s,)."""
    blend = make_blend(bench)
    weighed = {row.card for row in bench.job.ingredients}
    own = [e for e in blend.plasticizers if e.card.name not in weighed]
    # at likely values, so that what is counted moves with how much there is and not with the ruler
    glycerol = bench.library.card("glycerol")
    ruler = glycerol["k_starch"].value * (_dry_transition(bench) - glycerol["tg_dry"].value)
    worth = [e.share * bench.of(e.card, "k_starch") * _reach(bench, e.card) / ruler for e in own]
    native = sum(worth, start=np.zeros(bench.count))
    added = sum(
        (e.share + np.zeros(bench.count) for e in blend.plasticizers if e.card.name in weighed),
        start=np.zeros(bench.count),
    )
    seaweed = np.zeros(bench.count)
    for row in {row.card: row for row in bench.job.ingredients}.values():
        if bench.card(row.card, row.lot).family == "seaweed":
            seaweed = seaweed + blend.additives[row.card]
    per_seaweed = native / np.maximum(seaweed, 1e-9)
    return per_seaweed, native * blend.dry_mass, added * blend.dry_mass


def _reach(bench: Bench, card: Card) -> float:
    return max(_dry_transition(bench) - card["tg_dry"].value, 0.0)


def _dry_transition(bench: Bench) -> float:
    """Of the seaweed's polymer at its likely value. [K]"""
    cards = [bench.card(row.card, row.lot) for row in bench.job.ingredients]
    return next(card["tg_dry"].value for card in cards if card.family == "seaweed")
