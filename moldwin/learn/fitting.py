"""Cards fitted to the maker's trials and weighings: what each number was, what it is now.

The posterior over all draws is read back as numbers of cards: of the material, by card and lot, and
of the bench. What no data touch is said.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from moldwin.base.draws import DEFAULT_SEED, Draws
from moldwin.base.percentiles import Triple, triple
from moldwin.inputs.cards import Library, counted_by, knows_only, library_for
from moldwin.inputs.fitted_cards import fitted_name, is_fitted
from moldwin.inputs.humidity_weighings import HumidityWeighings
from moldwin.inputs.jar_weighings import JarWeighings
from moldwin.inputs.job import Job
from moldwin.learn.evidence import Evidence, Odd, trial_evidence
from moldwin.learn.fitted_numbers import (
    FittedCard,
    fitted_cards,
    main_card,
    names_looked_at,
)
from moldwin.learn.jar_lesson import jar_target, learn_from_jar
from moldwin.learn.native import native_share
from moldwin.learn.posterior import UNTOUCHED, Posterior, posterior
from moldwin.learn.stating import Learnt
from moldwin.learn.trials import Trial, short_ids
from moldwin.learn.weighed import Lesson
from moldwin.stages.bench import Bench
from moldwin.stages.isotherm_reading import IsothermReading, read_isotherm, with_isotherm
from moldwin.stages.jar_plan import plan_jar
from moldwin.stages.jar_stage import JarStage
from moldwin.stages.state import Material

__all__ = ["Fit", "FittedCard", "Learnt", "Weighings", "fit_trials"]

DEFAULT_COUNT = 1024
#: A middle that moved by this much of the prior's spread counts as learned too.
_MOVED = 0.35
#: What a maker asks of a fit, by the ending of the name; said where the data do not touch it.
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
#: Of a room nobody measured. [K]
_ROOM_T = 294.15
_ISOTHERM = (".xm", ".c", ".k")


@dataclass(frozen=True)
class Weighings:
    """Tables beside the trials.

    Parameters
    ----------
    humidity : HumidityWeighings, optional
        One material over several humidities. [SI]
    humidity_card : str
        Which; empty for the job's seaweed, or else its first polymer. [-]
    jar : JarWeighings, optional
        The job's pellets on their way in their jar. [SI]
    jar_source, jar_to : str, float, optional
        What stands in the jar, and the moisture it is to lead to, wet basis [kg/kg]; left out,
        those that ``moldwin condition`` chooses.
    """

    humidity: HumidityWeighings | None = None
    humidity_card: str = ""
    jar: JarWeighings | None = None
    jar_source: str | None = None
    jar_to: float | None = None


@dataclass(frozen=True)
class Fit:
    """What trials and weighings of one material teach.

    Parameters
    ----------
    cards : tuple of FittedCard
        Of which something was learned: bench first, the main polymer last. [-]
    tg : tuple of Triple
        Glass transition at the job's moisture, before and after. [K]
    native : tuple of Triple, optional
        The seaweed's own plasticizer, as glycerol per dry mass, before and after. [kg/kg]
    untouched : tuple of str
        Numbers the data say nothing of. [-]
    not_kept : tuple of str
        What they say of this very job, such as its moisture, which no card keeps. [-]
    odd : tuple of Odd
        Notes that are rather slips. [-]
    used, left_out : tuple of int
        Numbers of trials. [-]
    ids, others : tuple of str, frozenset of str
        Short ids of those used, and of trials that the cards it started from may know of. [-]
    posterior : Posterior, optional
        Draws that know of the trials; None without any. [-]
    isotherm : IsothermReading, optional
        What the humidity weighings say. [SI]
    jar : Lesson, optional
        What the jar's weighings say. [SI]
    weighed : tuple of FittedCard
        The cards by the weighings alone: what a later fit starts from. [-]
    looked_at : tuple of str
        Names of the cards' files that a fit could write. [-]
    doubts : tuple of str
        What to beware of. [-]
    data, weighings : str
        What was used, in words; the tables alone. [-]
    """

    cards: tuple[FittedCard, ...]
    tg: tuple[Triple, Triple]
    native: tuple[Triple, Triple] | None
    untouched: tuple[str, ...]
    not_kept: tuple[str, ...]
    odd: tuple[Odd, ...]
    used: tuple[int, ...]
    left_out: tuple[int, ...]
    ids: tuple[str, ...]
    others: frozenset[str]
    posterior: Posterior | None
    isotherm: IsothermReading | None
    jar: Lesson[JarStage] | None
    weighed: tuple[FittedCard, ...]
    looked_at: tuple[str, ...]
    doubts: tuple[str, ...]
    data: str
    weighings: str


def fit_trials(
    job: Job,
    trials: Sequence[Trial],
    folder: str | Path,
    weighings: Weighings | None = None,
    *,
    others: Sequence[Trial] = (),
    seed: int = DEFAULT_SEED,
    count: int = DEFAULT_COUNT,
    told: Callable[[float], None] | None = None,
) -> Fit | None:
    """Fit the cards of a job's material to its trials and weighings.

    Parameters
    ----------
    job : Job
        Whose cards are to be fitted. [SI]
    trials : sequence of Trial
        Of this material. [-]
    folder : str or pathlib.Path
        The book's. [-]
    weighings : Weighings, optional
        Tables beside the trials. [SI]
    others : sequence of Trial
        Those in the book that are of another lot or recipe. [-]
    seed, count : int
        Of the draws. [-]
    told : callable, optional
        Hears how far the fit has come, 0 to 1. [-]

    Returns
    -------
    Fit or None
        None where no trial says anything and nothing was weighed.

    Raises
    ------
    InputError
        Weighings that cannot be of this material, or of these pellets.

    Notes
    -----
    The fit starts from the cards behind any earlier fit, so that no trial counts twice, and sees
    all trials at once. Cards that know of ``others`` alone, such as what another lot taught of the
    press, are started from as they are. Weighings come first and make a card of their own, the
    isotherm by its fit, then the jar by the linear update of ``moldwin condition``; trials and
    later fits start from it, so a table is given once.
    """
    weighings = weighings or Weighings()
    prior, of_others = Draws(seed, count), short_ids(others)
    library = library_for(job.folder, fits="behind", others=of_others)
    before = Evidence([job], [], library).bench(0, prior)  # the job as it is now, bend test apart
    weighed = _weighed(_untaught(job, prior) if of_others else before, weighings)
    for one in weighed.cards:
        library = library.with_card(one.name, one.as_card())
    evidence = trial_evidence(trials, folder, library)
    if not len(evidence) and not weighed.told:
        return None
    draws, found = prior, None
    if len(evidence):
        found = posterior(prior, evidence.columns(prior), evidence.logs, told)
        draws = found.draws
    moved = set(() if found is None else found.columns)
    after = Evidence([job], [], library).bench(0, draws)
    cards = fitted_cards(before, after, moved, _origin(found, weighed))
    kept = {_column_name(one, learnt.key, before) for one in cards for learnt in one.learnt}
    taught = _taught(prior, draws, moved)
    looked_at = names_looked_at(before, moved)
    numbers = set(evidence.numbers)
    ids = tuple(short_ids(trial for trial in trials if trial.number in numbers))
    shares = native_share(before), native_share(after)
    return Fit(
        cards=cards,
        tg=(_glass_transition(before), _glass_transition(after)),
        native=None if shares[0] is None else (triple(shares[0]), triple(shares[1])),
        untouched=tuple(_untouched(before, kept | taught)),
        not_kept=tuple(sorted(c for c in taught - kept if not _of_a_card(c, looked_at))),
        odd=tuple(evidence.odd(found.draws)) if found is not None else (),
        used=tuple(evidence.numbers),
        left_out=evidence.left_out,
        ids=ids,
        others=frozenset(of_others),
        posterior=found,
        isotherm=weighed.isotherm,
        jar=weighed.jar,
        weighed=weighed.cards,
        looked_at=looked_at,
        doubts=(
            *_twice(weighed.cards, weighings),
            *_of_others(library_for(job.folder), looked_at, ids, of_others),
        ),
        data=" and ".join(filter(None, [_count(len(evidence)), _tables(weighings)])),
        weighings=_tables(weighings),
    )


@dataclass(frozen=True)
class _Weighed:
    """What the tables say, and the cards that hold it."""

    cards: tuple[FittedCard, ...]
    isotherm: IsothermReading | None
    jar: Lesson[JarStage] | None

    @property
    def told(self) -> bool:
        return self.isotherm is not None or self.jar is not None


def _weighed(before: Bench, weighings: Weighings) -> _Weighed:
    """Cards by the weighings alone."""
    reading, after = _isotherm(before, weighings)
    lesson = _jar_lesson(after, weighings)
    columns: set[str] = set()
    if lesson is not None:
        after, columns = lesson.stage.bench, set(lesson.columns)
    if reading is None and lesson is None:
        return _Weighed((), None, None)
    return _Weighed(fitted_cards(before, after, columns, _table_of), reading, lesson)


def _isotherm(before: Bench, weighings: Weighings) -> tuple[IsothermReading | None, Bench]:
    """The isotherm as weighed, and the bench with it in its place."""
    if weighings.humidity is None:
        return None, before
    job = before.job
    name = weighings.humidity_card or main_card(before).name
    lot = next((row.lot for row in job.ingredients if row.card == name), "")
    t = _ROOM_T if job.room.temperature is None else job.room.temperature
    heat_factor = before.library.card("jar")["sorption_heat_factor"]
    reading = read_isotherm(before.card(name, lot), weighings.humidity, t, heat_factor)
    library = before.library.with_card(fitted_name(name, lot), with_isotherm(reading))
    return reading, Evidence([job], [], library).bench(0, before.draws)


def _jar_lesson(bench: Bench, weighings: Weighings) -> Lesson[JarStage] | None:
    """What the jar says, its source and target as the maker has them."""
    if weighings.jar is None:
        return None
    target, _ = jar_target(bench.job, weighings.jar_to, bench.draws.seed)
    stage = JarStage(bench, Material(bench), float(bench.job.pellets.moisture or 0.0))
    plan = plan_jar(stage, target, source=weighings.jar_source)
    return learn_from_jar(stage, plan, target, weighings.jar)


def _untaught(job: Job, prior: Draws) -> Bench:
    """On cards that know of no trial at all: what was weighed stays when trials are fitted anew."""
    return Evidence([job], [], library_for(job.folder, fits="behind")).bench(0, prior)


def _glass_transition(bench: Bench) -> Triple:
    """Of the job's blend at its moisture. [K]"""
    return triple(Material(bench).at(float(bench.job.pellets.moisture or 0.0)).tg)


def _taught(prior: Draws, draws: Draws, columns: set[str]) -> set[str]:
    """Columns that the data narrowed or moved."""
    found = set()
    for name in columns:
        old, new = prior.scores(name), draws.scores(name)
        ratio, shift = new.std() / old.std(), new.mean() - old.mean()
        if ratio <= UNTOUCHED or abs(shift) > _MOVED:
            found.add(name)
    return found


def _untouched(before: Bench, told: set[str]) -> Iterator[str]:
    """What makers ask for and these data do not tell."""
    rows = before.job.ingredients
    for card in [before.card(*one) for one in sorted({(row.card, row.lot) for row in rows})]:
        for key in _ASKED:
            quantity = card.get(key)
            if quantity is not None and not quantity.exact:
                before.of(card, key)
                if before.columns[quantity.name] not in told:
                    yield quantity.name


def _of_a_card(column: str, names: Sequence[str]) -> bool:
    """Whether a fit could keep this number, had it been learned well enough."""
    owner = column.partition(".")[0]
    return " = " not in column and (owner in names or owner == "starch")


def _column_name(one: FittedCard, key: str, bench: Bench) -> str:
    quantity = one.card.get(key)
    name = f"melt.{key}" if quantity is None else quantity.name
    return bench.columns.get(name, name)


def _table_of(column: str) -> str:
    return "humidity weighings" if column.endswith(_ISOTHERM) else "jar weighings"


def _origin(found: Posterior | None, weighed: _Weighed) -> Callable[[str], str]:
    """From the name of a column to the data that told it most."""
    keys = tuple(f".{learnt.key}" for one in weighed.cards for learnt in one.learnt)

    def origin(column: str) -> str:
        by_trials = found is not None and found.touched(column)
        return _table_of(column) if column.endswith(keys) and not by_trials else "trials"

    return origin


def _twice(cards: Sequence[FittedCard], weighings: Weighings) -> Iterator[str]:
    """Tables of the same name that the cards hold already."""
    known = " ".join(str(one.card.facts["fitted"]["data"]) for one in cards if is_fitted(one.card))
    if weighings.jar is not None and _told(weighings.jar.file) in known:
        yield (
            f"the cards hold {_told(weighings.jar.file)} already: give new ones only, for the same "
            "ones counted twice look surer than they are"
        )


def _of_others(
    library: Library, names: Sequence[str], used: Sequence[str], others: Collection[str]
) -> Iterator[str]:
    """What is kept of the bench knows of trials, by id, that this fit could not start from."""
    for name in names:
        card = library.card(name) if name in library.names() else None
        if card is None or card.role != "bench" or knows_only(card, others):
            continue
        if set(counted_by(card)) - set(used):
            yield (
                "what is kept of press and bench was learned from other trials too, and this fit "
                "cannot start from it without counting some twice, or some that were taken back: "
                "--write puts this fit in its place, and the older cards stay in cards/old"
            )
            return


def _count(trials: int) -> str:
    return f"{trials} trial" + "s" * (trials != 1) if trials else ""


def _tables(weighings: Weighings) -> str:
    """The tables, in words."""
    given = (weighings.humidity, weighings.jar)
    return " and ".join(_told(table.file) for table in given if table is not None)


def _told(file: str) -> str:
    return f"weighings in {Path(file).name}"
