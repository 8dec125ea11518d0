"""The recipe as an answer: what goes into the pot, what comes out, and how to get elsewhere."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from moldwin.advice.advise import CONFIDENCE
from moldwin.advice.answer import Assumption
from moldwin.advice.recipe_answer import (
    Asked,
    CookingAdvice,
    CostAdvice,
    Line,
    RecipeAdvice,
)
from moldwin.advice.recipe_change import (
    Change,
    aimed,
    ladder,
    resized,
    swapped,
    without_softening,
)
from moldwin.advice.recipe_looks import look_at, plasticizer_of
from moldwin.advice.recipe_remarks import recipe_remarks
from moldwin.advice.situation import find
from moldwin.base.draws import DEFAULT_COUNT, DEFAULT_SEED
from moldwin.base.percentiles import Triple, share, triple
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.job import Job
from moldwin.stages.bench import Bench
from moldwin.stages.melt import melt_density
from moldwin.stages.pot import Cooking, Portion, Pot, cook, fill_pot
from moldwin.stages.state import Material
from moldwin.window.windows import Setup

__all__ = ["recipe_job"]

_MOST_PARTS = 100_000


def recipe_job(
    job: Job,
    asked: Asked | None = None,
    *,
    confidence: float = CONFIDENCE,
    seed: int = DEFAULT_SEED,
    count: int = DEFAULT_COUNT,
) -> RecipeAdvice:
    """From the pot to the parts, and back.

    Parameters
    ----------
    job : Job
        A job read before. [-]
    asked : Asked, optional
        Parts, aim or swap to work back from. [SI]
    confidence : float, optional
        Share of samples in which the parts asked for must come out. [-]
    seed, count : int
        Of the draws. [-]

    Returns
    -------
    RecipeAdvice
        [SI]

    Raises
    ------
    InputError
        More plasticizer than polymer, or an aim that nothing reaches.
    """
    asked = asked or Asked()
    bench = Bench(job, seed=seed, count=count)
    _check_balance(bench)
    known = _learned(bench)
    card = asked.ladder or plasticizer_of(known)
    rungs = ladder(known, card) if asked.ladder else []
    bench, change = _changed(bench, known, asked)
    setup = Setup(bench, confidence)
    target = setup.target(float(bench.job.pellets.moisture or 0.0)).best
    found = find(setup, target)
    charge = found.shot.charge if setup.geometry.given else None
    final, factor = bench, 1.0
    if asked.parts is not None:
        pellets, cavities = fill_pot(bench).pellets(target), setup.geometry.cavities
        factor = _factor(pellets, charge, asked.parts, cavities, confidence)
        final = resized(bench, factor)
    pot = fill_pot(final)
    cooking = cook(final, setup.material.blend, pot) if job.blend.cooked else None
    shots = None if charge is None else np.floor(pot.pellets(target) / charge)
    parts = None if shots is None else setup.geometry.cavities * shots
    return RecipeAdvice(
        job=job.title or (job.path.name if job.path else "untitled job"),
        asked=asked,
        lines=_lines(job, final.job, pot),
        poured=triple(pot.poured),
        poured_before=job.pot.water,
        poured_given=pot.poured_given,
        loss_given=job.pot.loss is not None,
        steps=_steps(pot, target),
        moisture=target,
        solids=triple(pot.solids),
        sheet_area=_sheet_area(final, setup, pot),
        charge=_if_any(charge),
        shots=_if_any(shots),
        parts=_if_any(parts),
        cavities=setup.geometry.cavities,
        chance=None if asked.parts is None or parts is None else share(parts >= asked.parts),
        confidence=confidence,
        factor=factor,
        cooking=None if cooking is None else _cooking(final.job, pot, cooking),
        cost=_cost(final.job, pot.pellets(target), parts),
        look=change.after if change is not None else look_at(known, card),
        change=change,
        rungs=rungs,
        final=final.job,
        warnings=recipe_remarks(setup, found, pot, cooking, parts),
        assumptions=_assumptions(bench, final),
        bundled=job.bundled,
        overrides=bench.library.overrides(),
    )


def _if_any(samples: Any) -> Triple | None:
    return None if samples is None else triple(samples)


def _assumptions(*benches: Bench) -> list[Assumption]:
    """Every number that was used, once, by name."""
    used = {name: number for bench in benches for name, number in bench.used.items()}
    return [
        Assumption(number.name, number.value, number.unit, number.status, number.source)
        for _, number in sorted(used.items())
    ]


def _learned(bench: Bench) -> Bench:
    """A bench on what a bend test has taught, for jobs whose blend it is no test of."""
    material = Material(bench.with_job(bench.job))
    bare = bench.with_job(without_softening(bench.job))
    return bare.with_draws(material.bench.draws)


def _changed(bench: Bench, known: Bench, asked: Asked) -> tuple[Bench, Change | None]:
    if asked.swap is not None:
        return swapped(known, asked.swap)
    if asked.aim is not None or asked.tg is not None:
        return aimed(known, asked.aim, asked.tg)
    return bench, None


def _check_balance(bench: Bench) -> None:
    """A blend with more plasticizer than polymer is a syrup; none of the laws here is for it."""
    dry = {"polymer": 0.0, "plasticizer": 0.0}
    for portion in fill_pot(bench).portions:
        role = bench.card(portion.row.card, portion.row.lot).role
        role = "polymer" if role == "comparator" else role
        if role in dry:
            dry[role] += float(np.median(portion.dry))
    if dry["plasticizer"] > dry["polymer"]:
        message = (
            f"{1e3 * dry['plasticizer']:.0f} g plasticizer to {1e3 * dry['polymer']:.0f} g dry "
            "polymer: allowed is up to as much; are two masses swapped?"
        )
        raise InputError([Fault(str(bench.job.path or "job"), "ingredient", message)])


def _factor(pellets: Any, charge: Any, parts: int, cavities: int, confidence: float) -> float:
    """How many times this batch gives so many parts in this share of samples."""
    if charge is None:
        message = (
            "cannot be counted: the job describes no part; give part.specimen or [[part.solid]]"
        )
        raise InputError([Fault("--parts", "", message)])
    if not 1 <= parts <= _MOST_PARTS:
        raise InputError([Fault("--parts", "", f"got {parts}, allowed: 1 to {_MOST_PARTS}")])
    shots = math.ceil(parts / cavities)
    return float(np.quantile(shots * charge / pellets, confidence, method="higher"))


def _lines(before: Job, after: Job, pot: Pot) -> list[Line]:
    dry = sum(portion.dry for portion in pot.portions)
    weighed: dict[tuple[str, str], list[float]] = {}
    for row in before.ingredients:
        weighed.setdefault((row.card, row.lot), []).append(row.mass)
    return [_line(portion, dry, weighed, after) for portion in pot.portions]


def _line(portion: Portion, dry: Any, before: dict[Any, list[float]], job: Job) -> Line:
    row = portion.row
    old = before.get((row.card, row.lot), [])
    price = job.price.get(row.card)
    return Line(
        card=row.card,
        lot=row.lot,
        weighed=row.mass,
        before=old.pop(0) if old else 0.0,
        water=triple(portion.water),
        dry=triple(portion.dry),
        in_pan=triple(portion.in_pan),
        trimmed=triple(portion.trimmed),
        in_pellets=triple(portion.in_pellets),
        share_of_dry=triple(portion.dry / dry),
        cost=None if price is None else price * row.mass,
    )


def _steps(pot: Pot, target: float) -> dict[str, Triple]:
    """Every mass on the way, in its order; names are those of the data. [kg]"""
    pellets = pot.pellets(target)
    trimmed = pot.trimmed / (1.0 - target)
    return {
        "poured": triple(pot.poured),
        "boiled_off": triple(pot.evaporated),
        "gel": triple(pot.gel),
        "left_in_pan": triple(pot.in_pan),
        "wet_sheet": triple(pot.sheet),
        "dried_off": triple(pot.sheet - pellets - trimmed),
        "dry_sheet": triple(pellets + trimmed),
        "trimmed": triple(trimmed),
        "dry": triple(pot.dry),
        "pellets": triple(pellets),
    }


def _sheet_area(bench: Bench, setup: Setup, pot: Pot) -> Triple | None:
    """What the wet sheet covers at the thickness it is spread to. [m2]"""
    spread = bench.job.sheet.spread
    if spread is None:
        return None
    w = 1.0 - pot.solids
    density = melt_density(bench, setup.material.blend, w, setup.material.room_t)
    density = density / bench.typical("press", "melt_density_factor")  # a gel is no hot melt
    return triple(pot.sheet / density / spread)


def _cooking(job: Job, pot: Pot, cooking: Cooking) -> CookingAdvice:
    starch = cooking.onset is not None
    return CookingAdvice(
        t=triple(cooking.t),
        t_given=job.pot.cook_temperature is not None,
        time=triple(cooking.time),
        time_given=job.pot.cook_time is not None,
        boils=triple(cooking.boils),
        onset=_if_any(cooking.onset),
        end=_if_any(cooking.end),
        cooked=_if_any(cooking.cooked),
        too_cold=share(cooking.t < cooking.end) if starch else 0.0,
        water=triple(cooking.at_hand),
        add=triple(cooking.lean),
        evaporated_share=triple(pot.evaporated / np.maximum(pot.water, 1e-12)),
    )


def _cost(job: Job, pellets: Any, parts: Any) -> CostAdvice | None:
    if not job.price:
        return None
    costs = [(row.card, job.price.get(row.card), row.mass) for row in job.ingredients]
    if job.pot.water and "water" in job.price:
        costs.append(("water", job.price["water"], job.pot.water))
    batch = math.fsum(price * mass for _, price, mass in costs if price is not None)
    number = 0.0 if parts is None else triple(parts).likely
    return CostAdvice(
        batch=batch,
        per_kg=batch / triple(pellets).likely,
        per_part=batch / number if number > 0.0 else None,
        missing=tuple(sorted({c for c, price, _ in costs if price is None and c != "water"})),
    )
