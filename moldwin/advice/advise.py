"""The whole question at once: this blend, this press, this part: what do I do?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from moldwin.advice.answer import Advice, Assumption, Remedy
from moldwin.advice.details import details
from moldwin.advice.learned import learned
from moldwin.advice.measure import measure_next, unknowns
from moldwin.advice.missing import Facts, missing, standing
from moldwin.advice.remarks import present_remarks, remarks
from moldwin.advice.situation import Found, celsius, describe, find, moisture_advice, settings
from moldwin.base.draws import DEFAULT_COUNT, DEFAULT_SEED
from moldwin.base.memory import keep_memory
from moldwin.base.percentiles import triple
from moldwin.base.remarks import Remark, weightiest_first
from moldwin.inputs.job import Job
from moldwin.inputs.read_job import read_job
from moldwin.physics.shrinkage import drying_shrinkage
from moldwin.stages.bench import Bench
from moldwin.stages.conditioning import Conditioning, condition
from moldwin.stages.melt import melt_density
from moldwin.window.judge import chance
from moldwin.window.remedies import Change, find_remedies
from moldwin.window.windows import MoistureTarget, Setup

__all__ = ["CONFIDENCE", "HOPELESS", "advise"]

CONFIDENCE = 0.7
#: Below this best chance the page names no setting: it says do not heat.
HOPELESS = 0.2
#: Of no use where nobody heats.
_OF_HOT_PRESSES = ("held-too-long",)
#: Another material than ours, where it is a stop, and the stages whose laws do not hold for it.
_OTHER = "not-polysaccharide"
_PRESS_STAGES = ("melting", "molding", "shot")
#: Conditioning leads the page when it raises the barrel chance by this much.
_WORTH_CONDITIONING = 0.1


def advise(
    job: str | Path | Mapping[str, Any] | Job | None = None,
    *,
    sets: Sequence[str] = (),
    seed: int = DEFAULT_SEED,
    confidence: float = CONFIDENCE,
    count: int = DEFAULT_COUNT,
    spread: float = 1.0,
    spreads: Mapping[str, float] | None = None,
) -> Advice:
    """The page of answer for one job.

    Parameters
    ----------
    job : str, pathlib.Path, mapping, Job or None
        A job file, its tables, a job read before; ``None`` is the bundled example. [-]
    sets : sequence of str
        What-ifs, each ``KEY=VALUE`` in the job's keys and units. [-]
    seed, count : int
        Of the draws; the same seed gives the same bytes. [-]
    confidence : float
        Chance asked of a window, 0.5 to 0.99. [-]
    spread : float
        Multiplies every spread: 0 collapses all intervals. [-]
    spreads : mapping of str to float, optional
        The same for single quantities, by name. [-]

    Returns
    -------
    Advice
        Everything on the page; ``.to_dict()`` is the JSON object.

    Raises
    ------
    InputError
        The job is wrong; every fault at once.
    CardError
        A material card is wrong.
    ValueError
        A confidence outside 0.5 to 0.99.

    Examples
    --------
    >>> answer = advise()
    >>> answer.now.barrel.open
    True
    """
    if not 0.5 <= confidence <= 0.99:
        raise ValueError(f"confidence must lie in 0.5 to 0.99, got {confidence:g}")
    keep_memory()
    read = read_job(job, sets)
    bench = Bench(read, seed=seed, count=count, spread=spread, spreads=spreads)
    setup = Setup(bench, confidence)
    moisture = float(read.pellets.moisture or 0.0)
    target = setup.target(moisture)
    now = find(setup, moisture)
    there = target.low <= moisture <= target.high
    after = None if there and now.window.barrel.open else find(setup, target.best)
    if there and after is not None and not _opens(now, after):
        after = None
    way = (
        None
        if after is None
        else condition(bench, setup.material, now.window.state, after.window.state)
    )
    return _assemble(setup, target, now, after, way)


def _assemble(
    setup: Setup,
    target: MoistureTarget,
    now: Found,
    after: Found | None,
    way: Conditioning | None,
) -> Advice:
    leads = after is not None and _leads(now, after)
    chosen = after if after is not None and leads else now
    said = remarks(setup, chosen, way)
    if chosen is not now:
        said = weightiest_first([*said, *present_remarks(setup, now, said)])
    stopped = any(remark.severity == "stop" for remark in said)
    heat = not stopped and chosen.window.barrel.chance >= HOPELESS
    other = any(remark.code == _OTHER and remark.severity == "stop" for remark in said)
    if not heat:
        said = [remark for remark in said if _still_said(remark, other)]
    heat_now = not stopped and now.window.barrel.chance >= HOPELESS
    heat_after = after is not None and not stopped and after.window.barrel.chance >= HOPELESS
    changes = _changes(setup, now, chosen, target, said)
    job = setup.bench.job
    found = unknowns(setup, chosen.window)
    advice = Advice(
        job=job.title or (job.path.name if job.path else "untitled job"),
        now=describe(setup, now, heat_now),
        after_conditioning=None if after is None else describe(setup, after, heat_after),
        settings=settings(setup, chosen, heat),
        moisture=moisture_advice(now.window.state.nominal, target, chosen.window),
        conditioning=None if way is None else way.to_dict(),
        service=_service(setup, chosen),
        remedies=[_remedy(change) for change in changes],
        measure_next=(
            [] if other else measure_next(setup, chosen.window, heating=heat, among=found)
        ),
        warnings=said,
        assumptions=[],
        bundled=job.bundled,
        confidence=setup.confidence,
        seed=setup.bench.draws.seed,
        conditioning_leads=leads,
        heat=heat,
        overrides=setup.bench.library.overrides(),
        learned=learned(setup, chosen.window.barrel, chosen.window.state.nominal) if heat else None,
        details_of=partial(details, setup, chosen, found),
    )
    facts = Facts(setup, now, after, chosen, stopped)
    return replace(advice, assumptions=_assumptions(advice, facts))


def _leads(now: Found, after: Found) -> bool:
    """Whether the page starts with conditioning; it never leads out of an open window."""
    closes = now.window.barrel.open and not after.window.barrel.open
    return not closes and _worth_conditioning(now, after)


def _still_said(remark: Remark, other: bool) -> bool:
    """What is of use where nobody heats; for another material no law of the press holds."""
    if remark.code in _OF_HOT_PRESSES:
        return False
    return not (other and remark.stage in _PRESS_STAGES)


def _worth_conditioning(now: Found, after: Found) -> bool:
    """Whether the target raises the barrel's chance, or that of barrel and part together."""
    barrel = after.window.barrel.chance - now.window.barrel.chance
    whole = _whole_chance(after) - _whole_chance(now)
    return max(barrel, whole) >= _WORTH_CONDITIONING


def _opens(now: Found, after: Found) -> bool:
    """Whether going on to the best of a band the pellets lie in already is worth the wait."""
    return after.window.barrel.open and _worth_conditioning(now, after)


def _whole_chance(found: Found) -> float:
    return found.window.barrel.chance * float(chance(found.window.moisture_margins))


def _changes(
    setup: Setup, now: Found, chosen: Found, target: MoistureTarget, said: list[Remark]
) -> list[Change]:
    """Remedies for what is advised if that is still closed, else for the pellets as they are.

    Behind a stop only what lifts the stop is a remedy.
    """
    if any(remark.code == _OTHER and remark.severity == "stop" for remark in said):
        return find_remedies(setup, 0.0, target.best, only=("leave out",))
    if now.window.barrel.open:
        return []
    still_closed = chosen is not now and not chosen.window.barrel.open
    before = chosen if still_closed else now
    return find_remedies(setup, before.window.barrel.chance, target.best, conditioned=still_closed)


def _remedy(change: Change) -> Remedy:
    window = change.window
    words = " and ".join(step.words for step in change.steps)
    effect = f"chance {100 * change.before:.0f} → {100 * window.chance:.0f} %"
    if window.open:
        effect += f", barrel {celsius(window.low):.0f} to {celsius(window.high):.0f} °C"
    return Remedy(
        change=words,
        effect=effect,
        set=change.set,
        low_c=celsius(window.low),
        high_c=celsius(window.high),
        chance=window.chance,
        cost=change.cost,
    )


def _service(setup: Setup, chosen: Found) -> dict[str, Any]:
    """The part once it has settled in its room."""
    tg = setup.material.glass_transition(setup.room_w)
    above = setup.material.room_t - tg
    fall = setup.bench.typical("mold", "modulus_drop") / 2.0
    state = np.select([above < -fall, above > fall], ["glassy", "rubbery"], "leathery")
    names, counts = np.unique(state, return_counts=True)
    w_molded = chosen.window.state.w_water
    density = melt_density(setup.bench, setup.material.blend, w_molded, setup.material.room_t)
    shrinks = drying_shrinkage(w_molded, setup.room_w, density)
    return {
        "moisture_pct": triple(100.0 * setup.room_w).to_dict(),
        "tg_c": triple(tg - 273.15).to_dict(),
        "state": str(names[int(counts.argmax())]),
        "size_change_pct": -100.0 * float(np.median(shrinks)),
    }


def _assumptions(advice: Advice, facts: Facts) -> list[Assumption]:
    """Every number the answer used, with its standing, and why a number is missing."""
    used = [
        Assumption(number.name, number.value, number.unit, number.status, number.source)
        for _, number in sorted(facts.setup.bench.used.items())
    ]
    told = advice.to_dict()
    return [*used, *standing(facts, advice.heat), *missing(told, facts)]
