"""Many recipes at once: the main numbers of the one answer, for each row of a table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from moldwin.advice.advise import CONFIDENCE
from moldwin.advice.answer import plain
from moldwin.advice.chosen import choose
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

__all__ = ["ANSWERS", "SAMPLES", "Screener", "screen"]

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
    ) -> None:
        check_columns(columns)
        if not 0.5 <= confidence <= 0.99:
            raise ValueError(f"confidence must lie in 0.5 to 0.99, got {confidence:g}")
        if samples < 2:
            raise ValueError(f"samples must be at least 2, got {samples}")
        self.columns = tuple(columns)
        self._base: Job | Mapping[str, Any] = {} if base is None else read_job(base)
        folder = self._base.folder if isinstance(self._base, Job) else Path()
        self._library: Library = library_for(folder)
        self._samples, self._seed = samples, seed
        self._confidence, self._target = confidence, target
        self._first: Bench | None = None
        keep_memory()

    def answer(self, cells: Sequence[Any]) -> dict[str, Any]:
        """The main numbers of one row, by dotted key; ``None`` where there is none.

        What is wrong with a row stands in its ``error``, and nothing else does then.
        """
        found: dict[str, Any] = dict.fromkeys(ANSWERS)
        try:
            sets = row_settings(self.columns, cells)
            job = read_job(self._base, sets, library=self._library)
            return found | self._main_numbers(job)
        except InputError as error:
            said = [f"{f.key}: {f.message}" if f.key else f.message for f in error.faults]
            return found | {"error": printable("; ".join(said), _LONGEST_ERROR)}

    def _main_numbers(self, job: Job) -> dict[str, Any]:
        setup = Setup(self._bench(job), self._confidence)
        if self._target:
            return _whole(setup)
        return _as_they_are(setup)

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
        A confidence outside 0.5 to 0.99, fewer than 2 samples.

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
    )
    answers = [rows.answer(cells) for cells in frame.itertuples(index=False, name=None)]
    columns = {name: [answer[name] for answer in answers] for name in ANSWERS}
    found = type(frame)(columns, index=frame.index, dtype="object").astype(ANSWERS)
    return frame.assign(**found) if len(frame.columns) else found


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


def _as_they_are(setup: Setup) -> dict[str, Any]:
    """The pellets as they are alone."""
    moisture = float(setup.bench.job.pellets.moisture or 0.0)
    now = find(setup, moisture)
    found = _numbers(setup, now, now, judge_windows(setup, now))
    return found | {"moisture.now_pct": 100.0 * moisture}


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
