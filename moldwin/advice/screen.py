"""Many recipes at once: the main numbers of the one answer, for each row of a table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from moldwin.advice.advise import CONFIDENCE
from moldwin.advice.answer import plain
from moldwin.advice.chosen import choose
from moldwin.advice.screening.between import MADE, UNSURE
from moldwin.advice.screening.lay import COMPUTED, Laid, lay
from moldwin.advice.screening.look import Look, labels_of, window_look
from moldwin.advice.situation import Found, describe, find, moisture_advice, settings
from moldwin.advice.verdict import Verdict, judge_windows
from moldwin.base.draws import DEFAULT_SEED
from moldwin.base.memory import keep_memory
from moldwin.inputs.cards import Library, library_for
from moldwin.inputs.errors import InputError
from moldwin.inputs.job import Job
from moldwin.inputs.read_job import read_job
from moldwin.inputs.recipe_table import check_columns, row_settings
from moldwin.inputs.text_files import printable
from moldwin.stages.bench import Bench
from moldwin.stages.conditioning import condition
from moldwin.window.windows import Setup

__all__ = ["ANSWERS", "SAMPLES", "Screener", "answer_kinds", "lay_between", "screen"]

#: Samples for each recipe; the one answer has eight times as many.
SAMPLES = 256
_TRIPLE = ("low", "likely", "high")
_NUMBER, _FLAG, _TEXT = "float64", "boolean", "string"
_LONGEST_ERROR = 500
#: Columns of draws kept for the next row. A measured moisture has one of its own.
_MOST_DRAWN = 1000

#: Dotted keys of the answer's columns, and what they hold.
ANSWERS: dict[str, str] = {
    **{f"tg_c.{end}": _NUMBER for end in _TRIPLE},
    **{f"barrel.{key}": _NUMBER for key in ("low_c", "best_c", "high_c", "chance")},
    "barrel.open": _FLAG,
    "soak_s": _NUMBER,
    **{f"mold.{key}": _NUMBER for key in ("low_c", "best_c", "high_c")},
    "cooling_s": _NUMBER,
    **{f"shot.charge_g.{end}": _NUMBER for end in _TRIPLE},
    "shot.barrel_fill_pct": _NUMBER,
    **{f"shot.clamp_needed_kn.{end}": _NUMBER for end in _TRIPLE},
    **{f"moisture.{key}_pct": _NUMBER for key in ("now", "target_low", "target_best")},
    "moisture.target_high_pct": _NUMBER,
    "after_conditioning.barrel.chance": _NUMBER,
    "after_conditioning.barrel.open": _FLAG,
    **{f"settings.{key}": _NUMBER for key in ("moisture_pct", "barrel_c", "soak_s")},
    **{f"settings.{key}": _NUMBER for key in ("hold_max_s", "mold_c", "charge_g")},
    "warnings": _TEXT,
    "error": _TEXT,
}


def answer_kinds(between: bool = False) -> dict[str, str]:
    """Columns of the answer and what they hold; two more where some rows are interpolated.

    Parameters
    ----------
    between : bool
        Whether rows may be read from surfaces. [-]

    Returns
    -------
    dict of str to str
        Kind of column, by name. [-]

    Examples
    --------
    >>> sorted(set(answer_kinds(between=True)) - set(answer_kinds()))
    ['made', 'warnings_unsure']
    """
    return {**ANSWERS, UNSURE: _TEXT, MADE: _TEXT} if between else ANSWERS


class Screener:
    """Answers rows that share their columns, the job behind them, and the draws.

    Parameters
    ----------
    columns : sequence of str
        Dotted job keys. [-]
    base : str, pathlib.Path, mapping, Job or None
        The job whose values the columns replace. [-]
    samples, seed : int
        Of the draws. [-]
    confidence : float
        Chance asked of a window. [-]
    target : bool
        Whether to look for the moisture to mold at, too. [-]
    between : Laid, optional
        Surfaces that answer most of the rows; not together with ``target``. [-]

    Raises
    ------
    InputError
        A column is no key of a job, or the base is wrong.
    """

    def __init__(
        self,
        columns: Sequence[str],
        *,
        base: str | Path | Mapping[str, Any] | Job | None = None,
        samples: int = SAMPLES,
        seed: int = DEFAULT_SEED,
        confidence: float = CONFIDENCE,
        target: bool = True,
        between: Laid | None = None,
    ) -> None:
        check_columns(columns)
        if not 0.5 <= confidence <= 0.99:
            raise ValueError(f"confidence must lie in 0.5 to 0.99, got {confidence:g}")
        if samples < 2:
            raise ValueError(f"samples must be at least 2, got {samples}")
        if between is not None and target:
            raise ValueError("between answers the pellets as they are: it needs target=False")
        if between is not None and between.columns != tuple(columns):
            raise ValueError(
                f"between was laid for the columns {', '.join(between.columns)}, in that order;"
                f" got {', '.join(map(str, columns))}"
            )
        self.columns = tuple(columns)
        self._base: Job | Mapping[str, Any] = {} if base is None else read_job(base)
        folder = self._base.folder if isinstance(self._base, Job) else Path()
        self._library: Library = library_for(folder)
        self._samples, self._seed = samples, seed
        self._confidence, self._target = confidence, target
        self._between = between
        self._first: Bench | None = None
        keep_memory()

    @property
    def kinds(self) -> dict[str, str]:
        """Columns of an answer, and what they hold."""
        return answer_kinds(self._between is not None)

    def refused(self, trouble: str) -> dict[str, Any]:
        """The answer of a row that cannot even be read."""
        made = {} if self._between is None else {MADE: COMPUTED}
        return dict.fromkeys(self.kinds) | {"error": trouble} | made

    def answers(self, rows: Sequence[Sequence[Any]]) -> list[dict[str, Any]]:
        """The main numbers of some rows, each as if it came alone."""
        if self._between is None:
            return [self.answer(cells) for cells in rows]
        blank = dict.fromkeys(self.kinds)
        return [blank | found for found in self._between.answers(rows, self.answer)]

    def answer(self, cells: Sequence[Any]) -> dict[str, Any]:
        """The main numbers of one row, by dotted key; ``None`` where there is none.

        What is wrong with a row stands in its ``error``, and nothing else does then.
        """
        found: dict[str, Any] = dict.fromkeys(ANSWERS)
        try:
            return found | self._main_numbers(self.job(cells))
        except InputError as error:
            said = [f"{f.key}: {f.message}" if f.key else f.message for f in error.faults]
            return found | {"error": printable("; ".join(said), _LONGEST_ERROR)}

    def job(self, cells: Sequence[Any]) -> Job:
        """The job of one row; raises ``InputError`` with all that is wrong with it."""
        sets = row_settings(self.columns, cells)
        return read_job(self._base, sets, library=self._library)

    def valid(self, cells: Sequence[Any]) -> bool:
        """Whether a row is a job at all."""
        try:
            self.job(cells)
        except InputError:
            return False
        return True

    def look(self, cells: Sequence[Any]) -> Look | None:
        """What the answer of one row is made of, its pellets as they are; None for a wrong row."""
        try:
            job = self.job(cells)
        except InputError:
            return None
        setup = Setup(self._bench(job), self._confidence)
        now = find(setup, float(job.pellets.moisture or 0.0))
        verdict = judge_windows(setup, now)
        answer = dict.fromkeys(ANSWERS) | _as_they_are(setup, now, verdict)
        chances = now.window.barrel.chances
        return Look(answer, window_look(setup, now), labels_of(answer, verdict), chances)

    def _main_numbers(self, job: Job) -> dict[str, Any]:
        setup = Setup(self._bench(job), self._confidence)
        if self._target:
            return _whole(setup)
        now = find(setup, float(job.pellets.moisture or 0.0))
        return _as_they_are(setup, now, judge_windows(setup, now))

    def _bench(self, job: Job) -> Bench:
        """A bench for each row on the very same draws: no row moves those of another.

        What a column of draws holds follows from its name, so it does not matter to any answer when
        they are thrown away.
        """
        if self._first is None or len(self._first.draws.asked()) > _MOST_DRAWN:
            self._first = Bench(job, seed=self._seed, count=self._samples, library=self._library)
        return self._first.with_job(job)


def screen(
    frame: Any,
    *,
    base: str | Path | Mapping[str, Any] | Job | None = None,
    samples: int = SAMPLES,
    seed: int = DEFAULT_SEED,
    confidence: float = CONFIDENCE,
    target: bool = True,
    between: Laid | None = None,
) -> Any:
    """The main numbers of many recipes: one job a row, dotted job keys as columns.

    Parameters
    ----------
    frame : pandas.DataFrame
        Columns such as ``ingredient.potato-starch.mass_g`` and ``pellets.moisture_pct``, in the
        job's own units; an empty cell leaves what ``base`` says. [as the keys say]
    base : str, pathlib.Path, mapping, Job or None
        A job whose values the columns replace; left out, the columns are all there is. [-]
    samples, seed : int
        Of the draws; the same seed gives the same bytes. [-]
    confidence : float
        Chance asked of a window, 0.5 to 0.99. [-]
    target : bool
        False: say nothing of the moisture to mold at and of conditioning, and be several times as
        fast; warnings and settings are then those of the pellets as they are. [-]
    between : Laid, optional
        What `lay_between` gave for this table or one that it is part of: most rows are then read
        from surfaces, a hundred times as fast, and a column tells which. Needs ``target=False``
        and the columns, base, samples, seed and confidence that it was laid with. [-]

    Returns
    -------
    pandas.DataFrame
        The columns that came, then those of `ANSWERS`, on the same index; ``warnings`` are codes
        parted by blanks. What is wrong with a row stands in its ``error``. [as the keys say]

    Raises
    ------
    InputError
        A column is no key of a job, or the base is wrong.
    ValueError
        A confidence outside 0.5 to 0.99, fewer than 2 samples; surfaces for other columns, or with
        the target.

    Notes
    -----
    Each row is what `moldwin.advise` says with ``count=samples``. It depends on that row alone, to
    the last bit: any data-frame engine may map the function over partitions of a table.

    Examples
    --------
    >>> import pandas as pd
    >>> recipes = pd.DataFrame({"pellets.moisture_pct": [9.0, 120.0]})
    >>> found = screen(recipes, base=read_job(), samples=64)
    >>> found["barrel.open"].tolist()
    [True, <NA>]
    >>> found["error"][1]
    'pellets.moisture_pct: got 120; allowed: 0 to 60 %'
    """
    rows = Screener(
        list(frame.columns),
        base=base,
        samples=samples,
        seed=seed,
        confidence=confidence,
        target=target,
        between=between,
    )
    answers = rows.answers(list(frame.itertuples(index=False, name=None)))
    kinds = rows.kinds
    columns = {name: [answer[name] for answer in answers] for name in kinds}
    found = type(frame)(columns, index=frame.index, dtype="object").astype(kinds)
    return frame.assign(**found) if len(frame.columns) else found


def lay_between(
    frame: Any,
    *,
    base: str | Path | Mapping[str, Any] | Job | None = None,
    samples: int = SAMPLES,
    seed: int = DEFAULT_SEED,
    confidence: float = CONFIDENCE,
) -> Laid:
    """Surfaces through some hundred rows of a table, for `screen` to read the others from.

    Parameters
    ----------
    frame : pandas.DataFrame
        The whole table. [as the keys say]
    base : str, pathlib.Path, mapping, Job or None
        As for `screen`. [-]
    samples, seed : int
        As for `screen`. [-]
    confidence : float
        As for `screen`. [-]

    Returns
    -------
    Laid
        ``reported`` says for each group of rows that differ in numbers alone how far off 160 rows
        are that were worked out to check, and whether the surfaces are used: not where more than
        one in twenty is farther off than asked. [-]

    Raises
    ------
    InputError, ValueError
        As for `screen`.

    Notes
    -----
    Chances at every set point and soak are laid over the logarithms of the numbers, and the window
    is picked from them by the rule of every window. Rows beyond those of the table, and rows of
    small groups, are worked out.
    """
    columns = list(frame.columns)
    rows = Screener(
        columns, base=base, samples=samples, seed=seed, confidence=confidence, target=False
    )
    return lay(
        columns,
        frame.itertuples(index=False, name=None),
        lambda some: [rows.look(cells) for cells in some],
        rows.valid,
        samples=samples,
        confidence=confidence,
        seed=seed,
    )


def _whole(setup: Setup) -> dict[str, Any]:
    """As the one answer: the pellets as they are, the moisture to mold at, and what is advised."""
    looked = choose(setup)
    now, after = looked.now, looked.after
    way = None
    if after is not None:
        states = now.window.state, after.window.state
        way = condition(setup.bench, setup.material, *states)
    verdict = judge_windows(setup, now, after, leads=looked.leads, way=way)
    found = _numbers(setup, now, looked.found, verdict)
    if after is not None:
        there = plain(describe(setup, after, verdict.heat_after))
        found |= _dotted("after_conditioning", there)
    told = moisture_advice(now.window.state.nominal, looked.target, looked.found.window)
    return found | _dotted("moisture", plain(told))


def _as_they_are(setup: Setup, now: Found, verdict: Verdict) -> dict[str, Any]:
    """The pellets as they are alone."""
    found = _numbers(setup, now, now, verdict)
    return found | {"moisture.now_pct": 100.0 * now.window.state.nominal}


def _numbers(setup: Setup, now: Found, advised: Found, verdict: Verdict) -> dict[str, Any]:
    found = _dotted("", plain(describe(setup, now, verdict.heat_now)))
    found |= _dotted("settings", plain(settings(setup, advised, verdict.heat)))
    found["warnings"] = " ".join(dict.fromkeys(remark.code for remark in verdict.said))
    return found


def _dotted(above: str, value: Any) -> dict[str, Any]:
    """Nested keys as dotted ones, those of the answer only."""
    if not isinstance(value, Mapping):
        return {above: value} if above in ANSWERS else {}
    found: dict[str, Any] = {}
    for key, item in value.items():
        found |= _dotted(f"{above}.{key}" if above else str(key), item)
    return found
