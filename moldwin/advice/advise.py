"""The whole question at once: this blend, this press, this part: what do I do?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from moldwin.advice.answer import Advice, Assumption, Remedy
from moldwin.advice.at_home import at_home
from moldwin.advice.chosen import Chosen, choose
from moldwin.advice.details import details
from moldwin.advice.heating import stops_among
from moldwin.advice.learned import learned
from moldwin.advice.measure import measure_next, unknowns
from moldwin.advice.missing import Facts, missing, standing
from moldwin.advice.situation import Found, celsius, describe, moisture_advice, settings
from moldwin.advice.verdict import OTHER, judge_windows
from moldwin.base.draws import DEFAULT_COUNT, DEFAULT_SEED
from moldwin.base.memory import keep_memory
from moldwin.base.remarks import Remark
from moldwin.inputs.job import Job
from moldwin.inputs.read_job import read_job
from moldwin.stages.bench import Bench
from moldwin.stages.conditioning import Conditioning, condition
from moldwin.window.remedies import Change, find_remedies
from moldwin.window.windows import MoistureTarget, Setup

__all__ = ["CONFIDENCE", "advise"]

CONFIDENCE = 0.7


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
    looked = choose(setup)
    now, after = looked.now, looked.after
    way = (
        None
        if after is None
        else condition(bench, setup.material, now.window.state, after.window.state)
    )
    return _assemble(setup, looked, way)


def _assemble(setup: Setup, looked: Chosen, way: Conditioning | None) -> Advice:
    target, now, after, chosen = looked.target, looked.now, looked.after, looked.found
    verdict = judge_windows(setup, now, after, leads=looked.leads, way=way)
    said, heat = verdict.said, verdict.heat
    changes = _changes(setup, now, target, verdict.of_now)
    job = setup.bench.job
    found = unknowns(setup, chosen.window)
    advice = Advice(
        job=job.title or (job.path.name if job.path else "untitled job"),
        now=describe(setup, now, verdict.heat_now),
        after_conditioning=None if after is None else describe(setup, after, verdict.heat_after),
        settings=settings(setup, chosen, heat),
        moisture=moisture_advice(now.window.state.nominal, target, chosen.window),
        conditioning=None if way is None else way.to_dict(),
        service=at_home(setup, chosen),
        remedies=[_remedy(change) for change in changes],
        measure_next=(
            [] if verdict.other else measure_next(setup, chosen.window, heating=heat, among=found)
        ),
        warnings=said,
        assumptions=[],
        bundled=job.bundled,
        confidence=setup.confidence,
        seed=setup.bench.draws.seed,
        conditioning_leads=looked.leads,
        heat=heat,
        overrides=setup.bench.library.overrides(),
        learned=learned(setup, chosen.window.barrel, chosen.window.state.nominal) if heat else None,
        details_of=partial(details, setup, chosen, found),
    )
    facts = Facts(setup, now, after, chosen, verdict.stopped)
    return replace(advice, assumptions=_assumptions(advice, facts))


def _changes(
    setup: Setup, now: Found, target: MoistureTarget, of_now: list[Remark]
) -> list[Change]:
    """What would open the window of the pellets as they are, or lift what stops them."""
    stops = stops_among(of_now)
    if any(remark.code == OTHER for remark in stops):
        return find_remedies(setup, target.best, only=("leave out",))
    if now.window.barrel.open and not stops:
        return []
    return find_remedies(setup, target.best)


def _remedy(change: Change) -> Remedy:
    window = change.window
    words = " and ".join(step.words for step in change.steps)
    after = f"{100 * window.chance:.0f} %"
    effect = f"chance {100 * change.before:.0f} → {after}"
    if change.lifts:  # the chance before was of no use
        effect = f"nothing stops it any more, chance {after}"
    if change.opens:
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


def _assumptions(advice: Advice, facts: Facts) -> list[Assumption]:
    """Every number the answer used, with its standing, and why a number is missing."""
    used = [
        Assumption(number.name, number.value, number.unit, number.status, number.source)
        for _, number in sorted(facts.setup.bench.used.items())
    ]
    told = advice.to_dict()
    return [*used, *standing(facts, advice.heat), *missing(told, facts)]
