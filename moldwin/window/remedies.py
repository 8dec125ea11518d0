"""What would open a closed window: every lever tried by recomputing, on the same draws."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from moldwin.inputs.errors import InputError
from moldwin.inputs.job import Job
from moldwin.inputs.read_job import read_job
from moldwin.window.windows import BarrelWindow, Setup

__all__ = ["Change", "find_remedies"]

_MOST_COMBINED = 4
_COSTS = ("low", "medium", "high")
#: Glycerol tried, g per 100 g dry polymer added to what is there.
_GLYCEROL_STEPS = (10, 20, 30)


@dataclass(frozen=True, eq=False)
class Step:
    """One setting of one lever: what to say, what to set, how much trouble it is."""

    lever: str
    words: str
    set: Mapping[str, Any]
    cost: str


@dataclass(frozen=True)
class Change:
    """Steps taken together, and the window they give."""

    steps: tuple[Step, ...]
    window: BarrelWindow
    before: float

    @property
    def set(self) -> dict[str, Any]:
        """Every ``--set`` of the steps."""
        return {key: value for step in self.steps for key, value in step.set.items()}

    @property
    def cost(self) -> str:
        """The dearest step's cost."""
        return max((step.cost for step in self.steps), key=_COSTS.index)


@dataclass
class _Search:
    """Chances of combinations, each computed once."""

    setup: Setup
    job: Job
    base: tuple[Step, ...]
    known: dict[tuple[Step, ...], float] = field(default_factory=dict)

    def made(self, steps: tuple[Step, ...]) -> tuple[Setup, float] | None:
        """The setup and moisture with the steps taken; ``None`` where that job is impossible."""
        every = (*self.base, *steps)
        sets = [f"{key}={_toml(value)}" for step in every for key, value in step.set.items()]
        try:
            job = read_job(self.job, sets)
        except InputError:
            return None
        changed = Setup(self.setup.bench.with_job(job), self.setup.confidence)
        return changed, float(job.pellets.moisture or 0.0)

    def chance(self, steps: tuple[Step, ...]) -> float:
        """Best barrel chance with the steps taken, 0 where they cannot be."""
        if steps not in self.known:
            made = self.made(steps)
            self.known[steps] = made[0].quick_chance(made[1]) if made else 0.0
        return self.known[steps]

    def change(self, steps: tuple[Step, ...], before: float) -> Change | None:
        """The whole window with the steps taken."""
        made = self.made(steps)
        if made is None:
            return None
        return Change((*self.base, *steps), made[0].window(made[1]).barrel, before)


def find_remedies(
    setup: Setup, before: float, target: float, *, conditioned: bool = False
) -> list[Change]:
    """Changes that open the window, or raise its chance the most where none does.

    Each lever is tried from its smallest step up. Where no lever alone is enough the one that
    raises the chance most is kept and the others are tried on top, up to four together.

    Parameters
    ----------
    setup : Setup
        The job as it is. [-]
    before : float
        Its best chance. [-]
    target : float
        The moisture to mold at, wet basis. [kg/kg]
    conditioned : bool
        Conditioning to the target comes first in any case; every change is then on top of it. [-]

    Returns
    -------
    list of Change
        Opening ones first, then by cost and by how many steps they take. [-]
    """
    levers = _levers(setup, target)
    base: tuple[Step, ...] = ()
    if conditioned:
        to_target = [lever for lever in levers if lever[0].lever == "moisture"]
        base = tuple(lever[-1] for lever in to_target)
        levers = [lever for lever in levers if lever not in to_target]
    search = _Search(setup, setup.bench.job, base)
    found = [c for c in (_smallest(search, lever, before) for lever in levers) if c]
    if not any(change.window.open for change in found):
        found += _combined(search, levers, before)
    useful = [c for c in found if c.window.open or c.window.chance >= before + 0.05]
    return sorted(
        useful,
        key=lambda c: (not c.window.open, len(c.steps), _COSTS.index(c.cost), -c.window.chance),
    )


def _smallest(search: _Search, lever: list[Step], before: float) -> Change | None:
    """The smallest step of one lever that opens the window, else its best."""
    asked = search.setup.confidence
    chances = [search.chance((step,)) for step in lever]
    for step, reached in zip(lever, chances, strict=True):
        if reached >= asked:
            change = search.change((step,), before)
            if change and change.window.open:
                return change
    best = max(range(len(lever)), key=chances.__getitem__)
    return search.change((lever[best],), before)


def _combined(search: _Search, levers: list[list[Step]], before: float) -> list[Change]:
    """Add the step that helps most until the window opens."""
    taken: tuple[Step, ...] = ()
    for _ in range(_MOST_COMBINED):
        used = {step.lever for step in taken}
        tries = [(*taken, step) for lever in levers for step in lever if step.lever not in used]
        if not tries:
            break
        taken = max(tries, key=search.chance)
        if len(taken) > 1 and search.chance(taken) >= search.setup.confidence:
            change = search.change(_thinned(search, taken), before)
            if change and change.window.open:
                return [change]
    return [c for c in [search.change(taken, before)] if c] if len(taken) > 1 else []


def _thinned(search: _Search, taken: tuple[Step, ...]) -> tuple[Step, ...]:
    """Without the steps that turn out not to be needed."""
    for step in taken:
        fewer = tuple(other for other in taken if other is not step)
        if fewer and search.chance(fewer) >= search.setup.confidence:
            return _thinned(search, fewer)
    return taken


def _levers(setup: Setup, target: float) -> list[list[Step]]:
    """Every lever this job has, each a list of steps from small to large."""
    makers: tuple[Callable[[Setup, float], list[Step]], ...] = (
        _cooking_steps,
        _moisture_steps,
        _glycerol_steps,
        _nozzle_steps,
        _mold_steps,
        _force_steps,
        _part_steps,
        _plunger_steps,
    )
    levers = (maker(setup, target) for maker in makers)
    return [lever for lever in levers if lever]


def _cooking_steps(setup: Setup, target: float) -> list[Step]:
    if setup.bench.job.blend.cooked:
        return []
    words = "cook the blend to a clear gel and dry it before molding"
    return [Step("cook", words, {"blend.cooked": True}, "medium")]


def _moisture_steps(setup: Setup, target: float) -> list[Step]:
    now = 100.0 * float(setup.bench.job.pellets.moisture or 0.0)
    tried = sorted({round(100.0 * target, 1), round(0.5 * (now + 100.0 * target), 1)})
    tried.sort(key=lambda pct: abs(pct - now))
    return [
        Step(
            "moisture",
            f"condition the pellets to {pct:g} % water",
            {"pellets.moisture_pct": pct},
            "low",
        )
        for pct in tried
        if abs(pct - now) >= 0.3
    ]


def _glycerol_steps(setup: Setup, target: float) -> list[Step]:
    job = setup.bench.job
    there = sum(row.mass for row in job.ingredients if row.card == "glycerol")
    polymer = float((setup.material.blend.polymer * setup.material.blend.dry_mass).mean())
    steps = []
    for extra in _GLYCEROL_STEPS:
        grams = 1e3 * (there + extra / 100.0 * polymer)
        rounded = round(grams, -1) if grams >= 100 else round(grams)
        steps.append(
            Step(
                "glycerol",
                f"cook the next batch with {rounded:g} g glycerol in it"
                f" ({extra} g more per 100 g dry polymer)",
                {"ingredient.glycerol.mass_g": rounded},
                "medium",
            )
        )
    return steps


def _nozzle_steps(setup: Setup, target: float) -> list[Step]:
    press = setup.bench.job.press
    steps = []
    if press.sealed_nozzle is not True:
        steps.append(
            Step(
                "seal",
                "seal the nozzle while the charge soaks",
                {"press.sealed_nozzle": True},
                "low",
            )
        )
    return steps


def _mold_steps(setup: Setup, target: float) -> list[Step]:
    mold = setup.bench.job.mold
    steps = []
    if mold.temperature is not None:
        for warmer in (20.0, 40.0):
            celsius = round(mold.temperature - 273.15 + warmer)
            steps.append(
                Step(
                    "mold", f"hold the mold at {celsius} °C", {"mold.temperature_c": celsius}, "low"
                )
            )
    return steps


def _force_steps(setup: Setup, target: float) -> list[Step]:
    press = setup.bench.job.press
    steps = []
    for times in (1.5, 2.0):
        key, value, unit = _force_key(setup, press, times)
        steps.append(Step("force", f"press with {value:g} {unit}", {key: value}, "medium"))
    return steps


def _force_key(setup: Setup, press: Any, times: float) -> tuple[str, float, str]:
    """The way the job gives its force, multiplied."""
    if press.force is None and press.lever_force is not None:
        return "press.lever_force_n", round(press.lever_force * times), "N at the lever"
    if press.force is None and press.melt_pressure is not None:
        return (
            "press.melt_pressure_mpa",
            round(press.melt_pressure * times / 1e6, 1),
            "MPa in the melt",
        )
    if press.force is None and press.gauge_pressure is not None:
        return "press.gauge_mpa", round(press.gauge_pressure * times / 1e6, 1), "MPa at the gauge"
    force = press.force or float(setup.bench.typical("press", "force").mean())
    return "press.force_kn", round(force * times / 1e3, 2), "kN on the ram"


def _part_steps(setup: Setup, target: float) -> list[Step]:
    part = setup.geometry
    if not part.given:
        return []
    steps = []
    for share in (0.7, 0.5):
        length = round(1e3 * float(part.flow_length) * share, 1)
        words = f"gate the part so that the melt flows {length:g} mm at the most"
        steps.append(Step("flow length", words, {"part.flow_length_mm": length}, "medium"))
    for times in (1.5, 2.0):
        wall = round(1e3 * float(part.thickness) * times, 2)
        words = f"make the wall {wall:g} mm thick"
        steps.append(Step("wall", words, {"part.wall_mm": wall}, "high"))
    return steps


def _plunger_steps(setup: Setup, target: float) -> list[Step]:
    press = setup.bench.job.press
    if press.melt_pressure is not None:
        return []
    steps = []
    for share in (0.8, 0.65):
        bore = round(1e3 * float(setup.ram.bore) * share, 1)
        changed = {"press.plunger_diameter_mm": bore}
        if "barrel_diameter_mm" in setup.bench.job.raw.get("press", {}):
            changed["press.barrel_diameter_mm"] = bore
        words = f"fit a {bore:g} mm plunger and barrel to the same force"
        steps.append(Step("plunger", words, changed, "high"))
    return steps


def _toml(value: Any) -> str:
    """A value as ``--set`` reads it back."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:g}" if isinstance(value, float) else str(value)
