"""Cards fitted to the maker's trials: what each number was, what it is now, and what is not known.

The posterior over all draws is read back as numbers of the material's cards, which belong to card
and lot. What the trials say of the press stays out of any card and is said.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from moldwin.base.draws import DEFAULT_SEED, Draws
from moldwin.base.normal import normal_strata
from moldwin.base.percentiles import Triple, triple
from moldwin.base.quantities import Quantity
from moldwin.inputs.cards import Card, Group, library_for
from moldwin.inputs.job import Job
from moldwin.learn.evidence import Evidence, Odd, trial_evidence
from moldwin.learn.posterior import UNTOUCHED, Posterior, posterior
from moldwin.learn.trials import Trial
from moldwin.stages.bench import Bench
from moldwin.stages.state import Material

__all__ = ["Fit", "FittedCard", "Learnt", "fit_trials"]

DEFAULT_COUNT = 1024
#: A middle that moved by this much of the prior's spread counts as learned too.
_MOVED = 0.35
#: Written to the card: narrower than this, or moved by so much of the prior's spread.
_WRITTEN, _SHIFTED = 0.97, 0.15
#: Numbers of other cards tied to a fitted card: those at least so correlated with one of its own.
_TIED = 0.1
_BENCH_CARDS = ("press", "melt", "mold")
_MISFIT = "tg_misfit"
#: What a maker asks of a fit, by the ending of the name; said where the trials do not touch it.
_ASKED = (
    "melt_viscosity",
    "flow_water",
    "flow_plasticizer",
    "browning_limit",
    "tg_dry",
    "tg_misfit",
    "diffusivity_factor",
    "xm",
)
_Z90 = 1.6448536269514722


@dataclass(frozen=True)
class Learnt:
    """One number of a card.

    Parameters
    ----------
    key, unit : str
        As in the card. [-]
    before, after : Triple
        5th, 50th and 95th percentile. [``unit``]
    ratio : float
        Spread after over spread before. [-]
    quantity : Quantity
        As the fitted card will state it. [``unit``]
    """

    key: str
    unit: str
    before: Triple
    after: Triple
    ratio: float
    quantity: Quantity

    @property
    def narrowed(self) -> bool:
        """Whether the trials taught it."""
        return self.ratio <= UNTOUCHED


@dataclass(frozen=True)
class FittedCard:
    """A card and lot with what was learned of it; ``group`` keeps how the numbers hang together."""

    card: Card
    lot: str
    learnt: tuple[Learnt, ...]
    group: Group | None


@dataclass(frozen=True)
class Fit:
    """What the trials of one material teach.

    Parameters
    ----------
    cards : tuple of FittedCard
        Materials of which something was learned. [-]
    tg : tuple of Triple
        Glass transition at the job's moisture, before and after. [K]
    untouched : tuple of str
        Numbers the trials say nothing of. [-]
    not_kept : tuple of str
        What the trials say of press and bench, which is allowed for but not kept. [-]
    odd : tuple of Odd
        Notes that are rather slips. [-]
    used, left_out : tuple of int
        Numbers of trials. [-]
    posterior : Posterior
        Draws that know of the trials. [-]
    """

    cards: tuple[FittedCard, ...]
    tg: tuple[Triple, Triple]
    untouched: tuple[str, ...]
    not_kept: tuple[str, ...]
    odd: tuple[Odd, ...]
    used: tuple[int, ...]
    left_out: tuple[int, ...]
    posterior: Posterior


def fit_trials(
    job: Job,
    trials: Sequence[Trial],
    folder: str | Path,
    *,
    seed: int = DEFAULT_SEED,
    count: int = DEFAULT_COUNT,
    told: Callable[[float], None] | None = None,
) -> Fit | None:
    """Fit the cards of a job's material to its trials.

    Parameters
    ----------
    job : Job
        Whose cards are to be fitted. [SI]
    trials : sequence of Trial
        Of this material. [-]
    folder : str or pathlib.Path
        The book's. [-]
    seed, count : int
        Of the draws. [-]
    told : callable, optional
        Hears how far the fit has come, 0 to 1. [-]

    Returns
    -------
    Fit or None
        None where no trial says anything.

    Notes
    -----
    The fit starts from the cards behind any earlier fit, so that no trial counts twice, and sees
    all trials at once.
    """
    library = library_for(job.folder, fits="behind")
    evidence = trial_evidence(trials, folder, library)
    if not len(evidence):
        return None
    prior = Draws(seed, count)
    found = posterior(prior, evidence.columns(prior), evidence.logs, told)
    own = Evidence([job], [], library)  # the job as it is now, its bend test apart
    reading = _Reading(own.bench(0, prior), own.bench(0, found.draws), found)
    return Fit(
        cards=tuple(reading.cards()),
        tg=reading.glass_transition(),
        untouched=tuple(reading.untouched()),
        not_kept=tuple(reading.not_kept()),
        odd=tuple(evidence.odd(found.draws)),
        used=tuple(evidence.numbers),
        left_out=evidence.left_out,
        posterior=found,
    )


class _Reading:
    """Two benches of one job, before the trials and after them, compared number by number.

    What the trials say of the press and of the bench besides is not kept: those numbers stay as
    unknown as they were, and the material's numbers are told for each of their values. So a fit
    made on a press that runs 5 K hot, unknown to anyone, stays true for the next one.
    """

    def __init__(self, before: Bench, after: Bench, found: Posterior) -> None:
        self.before, self.after, self.found = before, after, found
        materials = sorted({(row.card, row.lot) for row in before.job.ingredients})
        self.materials = [(before.card(name, lot), lot) for name, lot in materials]
        polymers = [card for card, _ in self.materials if card.role == "polymer"]
        seaweed = [card for card in polymers if card.family == "seaweed"]
        #: The card that keeps how everything hangs together, and what the mixing rule misses.
        self.main = (seaweed or polymers)[0]
        self.kept: set[str] = set()

    def cards(self) -> Iterator[FittedCard]:
        """Every card that the trials changed; the one that the others are tied to comes last."""
        tied: dict[str, Any] = {}
        for card, lot in sorted(self.materials, key=lambda one: one[0] is self.main):
            samples = self._samples(card)
            wanted = self._wanted(card, samples)
            if not wanted:
                continue
            taken = {key: samples[key] for key in wanted}
            # only one card is tied to others: those are drawn by themselves
            group = _group(self._tied(taken, tied), taken) if card is self.main else None
            learnt = tuple(_compared(key, *numbers) for key, numbers in taken.items())
            yield FittedCard(card, lot, learnt, group)
            if not lot:
                loose = [key for key in wanted if not any(key in g.members for g in card.groups)]
                tied |= {f"{card.name}.{key}": _by_rank(taken[key][2]) for key in loose}

    def glass_transition(self) -> tuple[Triple, Triple]:
        """Of the job's blend at its moisture, before and after. [K]"""
        w = float(self.before.job.pellets.moisture or 0.0)
        before, after = (triple(Material(bench).at(w).tg) for bench in (self.before, self.after))
        return before, after

    def untouched(self) -> Iterator[str]:
        """What makers ask for and these trials do not tell."""
        for card, _ in self.materials:
            for key in _ASKED:
                quantity = card.get(key)
                if quantity is not None and not quantity.exact:
                    self.before.of(card, key)
                    column = self.before.columns[quantity.name]
                    if column not in self.kept and not self._taught(column):
                        yield quantity.name

    def not_kept(self) -> list[str]:
        """Columns the trials moved that no card of the maker's holds."""
        moved = (name for name in self.found.columns if self._taught(name, 2.0))
        return sorted(name for name in moved if name not in self.kept)

    def _taught(self, column: str, times: float = 1.0) -> bool:
        narrowed = 1.0 - self.found.ratios.get(column, 1.0) >= times * (1.0 - UNTOUCHED)
        moved = abs(self.found.shifts.get(column, 0.0)) > times * _MOVED
        return narrowed or moved

    def _samples(self, card: Card) -> dict[str, tuple[Quantity, Any, Any]]:
        """The card's numbers that the trials could move, before and after, by key."""
        found = {}
        for key, quantity in card.quantities.items():
            if quantity.exact:
                continue
            before, after = self.before.of(card, key), self.after.of(card, key)
            if self.before.columns[quantity.name] in self.found.columns:
                found[key] = quantity, before, after
        if card is self.main and card.get(_MISFIT) is None:
            quantity = self.before.library.card("melt")[_MISFIT]
            before, after = (b.typical("melt", _MISFIT) for b in (self.before, self.after))
            found[_MISFIT] = quantity, before, after
        return found

    def _wanted(self, card: Card, samples: dict[str, Any]) -> list[str]:
        """Keys that were learned; what is drawn jointly is written jointly."""
        wanted = {key for key, numbers in samples.items() if _changed(*numbers)}
        for group in card.groups:
            if wanted & set(group.members):
                wanted |= set(group.members) & set(samples)
        own = {key: card[key].name for key in wanted if card.get(key) is not None}
        self.kept |= {self.before.columns[name] for name in own.values()}
        self.kept |= {f"melt.{_MISFIT}"} if _MISFIT in wanted else set()
        return [key for key in samples if key in wanted]

    def _tied(self, taken: dict[str, Any], tied: dict[str, Any]) -> dict[str, Any]:
        """Scores of other cards' numbers that these hang on, by name.

        The numbers taken are told for each value of the bench's unknowns, which stay as they were.
        """
        scales = {key: _scaled(numbers[0], numbers[2]) for key, numbers in taken.items()}
        bench = {
            name: self.found.draws.scores(name)
            for name in self.found.columns
            if name.partition(".")[0] in _BENCH_CARDS and name != f"melt.{_MISFIT}"
        }
        shifts = self.found.shifts
        bench = {n: z for n, z in bench.items() if max(_tie(z, scales), abs(shifts[n])) > _TIED}
        fresh = {name: self.before.draws.scores(name) for name in bench}
        if bench:
            z = np.stack(list(bench.values()), axis=1)
            away = np.stack(list(fresh.values()), axis=1) - z
            for key, (scaled, back) in scales.items():
                slope = np.linalg.lstsq(z - z.mean(0), scaled - scaled.mean(), rcond=None)[0]
                quantity, before, _ = taken[key]
                taken[key] = quantity, before, back(scaled + away @ slope)
        return {name: z for name, z in tied.items() if _tie(z, scales) > _TIED} | fresh


def _tie(z: Any, scales: dict[str, Any]) -> float:
    return max((abs(float(np.corrcoef(z, s)[0, 1])) for s, _ in scales.values()), default=0.0)


def _group(far: dict[str, Any], taken: dict[str, Any]) -> Group | None:
    """Correlation of a card's own numbers, and with numbers of other cards, which go first.

    Those of other cards are drawn by themselves: among them none is kept.
    """
    if len(taken) + len(far) < 2:
        return None
    scores = [*far.values(), *(_by_rank(samples) for _, _, samples in taken.values())]
    matrix = np.corrcoef(scores)
    matrix[: len(far), : len(far)] = np.eye(len(far))
    return Group("trials", (*far, *taken), _possible(matrix), "fit of the trials")


def _by_rank(samples: Any) -> Any:
    """Normal scores by rank, (s,). [-]"""
    return normal_strata(samples.size)[samples.argsort(kind="stable").argsort(kind="stable")]


def _scaled(quantity: Quantity, samples: Any) -> tuple[Any, Any]:
    """The samples where their law is straight, and the way back within the card's hard ends."""
    low, high = quantity.floor, quantity.ceiling
    if quantity.factor is None:
        low = low if quantity.low is None else quantity.low
        high = high if quantity.high is None else quantity.high
    if _by_ratio(quantity):
        return np.log(samples), lambda s: np.clip(np.exp(s), low, high)
    return samples, lambda s: np.clip(s, low, high)


def _changed(quantity: Quantity, before: Any, after: Any) -> bool:
    (old, _), (new, _) = _scaled(quantity, before), _scaled(quantity, after)
    ratio = new.std() / max(old.std(), 1e-12)
    return bool(ratio < _WRITTEN or abs(new.mean() - old.mean()) > _SHIFTED * old.std())


def _compared(key: str, quantity: Quantity, before: Any, after: Any) -> Learnt:
    (old, _), (new, _) = _scaled(quantity, before), _scaled(quantity, after)
    ratio = float(new.std() / max(old.std(), 1e-12))
    stated = _stated(quantity, after)
    return Learnt(key, quantity.unit, triple(before), triple(after), ratio, stated)


def _by_ratio(quantity: Quantity) -> bool:
    return quantity.factor is not None or quantity.log


def _stated(quantity: Quantity, samples: Any) -> Quantity:
    """The samples as a card states them, with the likely value and the 90 % interval they have."""
    bare = replace(quantity, u=None, low=None, high=None, factor=None, log=False)
    if quantity.factor is not None:
        ln = np.log(samples)
        factor = max(float(np.exp(_Z90 * ln.std())), 1.001)
        return replace(bare, value=float(np.exp(ln.mean())), factor=factor)
    if quantity.u is not None:
        value, u = float(np.median(samples)), float(samples.std())
        return replace(bare, value=value, u=u, low=quantity.low, high=quantity.high)
    now, log = triple(samples), quantity.log
    to, back = (np.log, np.exp) if log else (np.asarray, np.asarray)
    # a range holds nine tenths of its samples within nine tenths of its width, either side
    low, likely, high = to([now.low, now.likely, now.high])
    low, high = back(likely - (likely - low) / 0.9), back(likely + (high - likely) / 0.9)
    return replace(
        bare,
        value=now.likely,
        low=float(max(low, quantity.low or -np.inf)),
        high=float(min(high, quantity.high or np.inf)),
        log=log,
    )


def _possible(matrix: Any) -> tuple[tuple[float, ...], ...]:
    """The nearest matrix, drawn in toward none at all, that numbers can correlate like."""
    apart = np.eye(len(matrix))
    for keep in np.linspace(1.0, 0.0, 51):
        found = keep * matrix + (1.0 - keep) * apart
        if np.linalg.eigvalsh(found)[0] > 1e-3:
            break
    return tuple(tuple(float(x) for x in row) for row in found)
