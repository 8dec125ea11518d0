"""What a trial shows, told by the very margins that ``advise`` judges a setting by.

`foresee` works one setting out for every sample, `log_likelihood` holds what was seen against it,
and `simulate` makes an outcome of one sample up: the same law three times, scatter and slips
included.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from moldwin.learn import outcome_laws as laws
from moldwin.learn.setting_blocks import Blocks, Worked, in_chunks
from moldwin.learn.trials import Trial
from moldwin.stages.bench import Bench
from moldwin.stages.room import room_temperature
from moldwin.window.windows import Setup

__all__ = [
    "Foreseen",
    "Foresight",
    "Seen",
    "Setting",
    "field_log_likelihoods",
    "foresee",
    "log_likelihood",
    "seen_of",
    "setting_of",
    "simulate",
]

_ZERO_C = 273.15
_CARD = "trial"


@dataclass(frozen=True)
class Setting:
    """What one trial is run at.

    Parameters
    ----------
    moisture : float
        Of the pellets as read, wet basis. [kg/kg]
    barrel : float
        Set point. [K]
    soak : float
        Time in the hot barrel. [s]
    mold : float, optional
        Mold temperature; None for the best there is at this moisture. [K]
    force : float, optional
        On the plunger; None for the job's. [N]
    cooling : float, optional
        Until the mold was opened; None for long enough. [s]
    """

    moisture: float
    barrel: float
    soak: float
    mold: float | None = None
    force: float | None = None
    cooling: float | None = None


@dataclass(frozen=True)
class Seen:
    """What came out of one trial; None, or an empty text, says nothing.

    Parameters
    ----------
    filled, stuck, cracked, warped, lumps : bool, optional
        Yes or no. [-]
    fill : float, optional
        Share of the part that filled. [-]
    part : float, optional
        Mass of the part. [kg]
    color : float, optional
        On `moldwin.learn.trials.COLOR_SCALE`. [-]
    bubbles : str
        ``"none"``, ``"some"``, ``"skin"``, ``"heart"``, ``"all"`` or empty. [-]
    bend_radius : float, optional
        Tightest bend the part took whole. [m]
    """

    filled: bool | None = None
    fill: float | None = None
    part: float | None = None
    color: float | None = None
    bubbles: str = ""
    stuck: bool | None = None
    cracked: bool | None = None
    warped: bool | None = None
    lumps: bool | None = None
    bend_radius: float | None = None


@dataclass(frozen=True)
class Foreseen:
    """One setting, worked out for every sample; arrays of shape (s,).

    Parameters
    ----------
    setting : Setting
        The setting, its mold filled in. [SI]
    barrel, mold, part : dict of str to array
        Margins as ``advise`` judges them; above zero is fine. [each its own]
    flow_index : array
        Power-law index of the melt. [-]
    above_tg : array
        Room temperature over the part's glass transition. [K]
    before : array
        Nozzle and gate as so many lengths of the part. [-]
    full_mass : array
        Of one full part. [kg]
    brittle_offset : array
        So far below its transition a part breaks without bending. [K]
    core : array
        The core's margin to its steam as the mold opens, in standard deviations. [-]
    wall : float
        Thickness that is bent. [m]
    numbers : dict of str to array or float
        Scatter, lapses and scales of the bench card ``trial``. [each its own]
    """

    setting: Setting
    barrel: dict[str, Any]
    mold: dict[str, Any]
    part: dict[str, Any]
    flow_index: Any
    before: Any
    full_mass: Any
    above_tg: Any
    brittle_offset: Any
    core: Any
    wall: float
    numbers: dict[str, Any] = field(repr=False)

    @property
    def margins(self) -> dict[str, Any]:
        """Every margin of barrel, mold and part."""
        return {**self.barrel, **self.mold, **self.part}


class Foresight:
    """A job made ready once, to foresee many of its settings.

    Parameters
    ----------
    setup : Setup or Bench
        The job and its draws. [-]
    """

    def __init__(self, setup: Setup | Bench) -> None:
        self.setup = setup if isinstance(setup, Setup) else Setup(setup)
        self.bench = self.setup.bench
        card = self.bench.library.card(_CARD)
        self._numbers = {key: self._number(card, key) for key in card.quantities}
        self._blocks: dict[tuple[Any, ...], Blocks] = {}

    def at(self, setting: Setting, *, short: bool = True) -> Foreseen:
        """Margins and numbers of one setting.

        ``before`` and ``full_mass`` only where a short part may be told.
        """
        return self.at_each([setting], [short])[0]

    def at_each(self, settings: Sequence[Setting], short: Sequence[bool]) -> list[Foreseen]:
        """The same of many at once, in their order."""
        found: dict[int, Foreseen] = {}
        for chunk in in_chunks(settings, short, self.setup):
            rows_short = max(sum(short[i] for i in block) for block in chunk)
            # the shorter blocks repeat their last
            rows = range(max(map(len, chunk)))
            table = [[settings[block[min(t, len(block) - 1)]] for block in chunk] for t in rows]
            worked = self._ready(table[0]).at(table, rows_short)
            for b, block in enumerate(chunk):
                for t, i in enumerate(block):
                    found[i] = self._foreseen(settings[i], worked, t, b)
        return [found[i] for i in range(len(settings))]

    def _ready(self, firsts: Sequence[Setting]) -> Blocks:
        keys = tuple((setting.moisture, setting.force) for setting in firsts)
        if keys not in self._blocks:
            self._blocks[keys] = Blocks(self.setup, keys)
        return self._blocks[keys]

    def _foreseen(self, setting: Setting, worked: Worked, row: int, block: int) -> Foreseen:
        blocks, mold = worked.blocks, worked.mold_margins_of(row, block)
        which = blocks.which(block)
        return Foreseen(
            setting=replace(setting, mold=worked.molds[row][block]),
            barrel=worked.barrel_margins_of(row, block),
            mold=mold,
            part={name: value[which] for name, value in blocks.part.items()},
            flow_index=blocks.barrel.flow.n[which],
            before=worked.before_of(row, block),
            full_mass=worked.full_mass_of(row, block),
            above_tg=room_temperature(self.bench) - blocks.state.tg[which],
            brittle_offset=self.bench.typical("part", "brittle_offset"),
            core=self._core(setting, worked, row, block, mold),
            wall=self.setup.geometry.thickest,
            numbers=self._numbers,
        )

    def _core(self, setting: Setting, worked: Worked, row: int, block: int, mold: Any) -> Any:
        if setting.cooling is None:
            return mold["steam-at-ejection"] / self._numbers["core_scatter"]
        needed = np.clip(worked.core_cooling_of(row, block), 1e-3, 1e9)
        return np.log(max(setting.cooling, 1e-3) / needed) / self._numbers["core_time_scatter"]

    def _number(self, card: Any, key: str) -> Any:
        samples = self.bench.of(card, key)
        return float(samples[0]) if card[key].exact else samples


def foresee(setup: Setup | Bench, setting: Setting) -> Foreseen:
    """Margins and numbers of one trial, from the functions that ``advise`` uses.

    Parameters
    ----------
    setup : Setup or Bench
        The job and its draws. [-]
    setting : Setting
        What the trial is run at. [SI]

    Returns
    -------
    Foreseen
        Arrays of shape (s,). [SI]
    """
    return Foresight(setup).at(setting)


def log_likelihood(foreseen: Foreseen, seen: Seen) -> Any:
    """How well each sample explains what was seen.

    Parameters
    ----------
    foreseen : Foreseen
        The setting, for every sample. [SI]
    seen : Seen
        What came out. [SI]

    Returns
    -------
    array, shape (s,)
        Natural logarithm of the likelihood; 0 where nothing was noted. [-]
    """
    found = np.zeros(len(foreseen.flow_index))
    for log, _ in field_log_likelihoods(foreseen, seen).values():
        found = found + log
    return found


def field_log_likelihoods(foreseen: Foreseen, seen: Seen) -> dict[str, tuple[Any, Any]]:
    """By what was noted: ln of the likelihood, and the chance that a slip stands behind it, (s,).

    Parameters
    ----------
    foreseen : Foreseen
        The setting, for every sample. [SI]
    seen : Seen
        What came out. [SI]

    Returns
    -------
    dict of str to tuple of array
        Only the fields that were noted; filled, share and mass are one. [-]
    """
    told = {
        "fill": laws.fill(foreseen, seen),
        "color": laws.color(foreseen, seen),
        "bubbles": laws.bubbles(foreseen, seen),
        "stuck": laws.stuck(foreseen, seen),
        "cracked": laws.cracked(foreseen, seen),
        "warped": laws.warped(foreseen, seen),
        "lumps": laws.lumps(foreseen, seen),
        "bend": laws.bend(foreseen, seen),
    }
    return {name: laws.with_lapse(*law) for name, law in told.items() if law is not None}


def simulate(foreseen: Foreseen, index: int, rng: np.random.Generator) -> Seen:
    """One outcome, were a sample the truth.

    Parameters
    ----------
    foreseen : Foreseen
        The setting, for every sample. [SI]
    index : int
        Which sample. [-]
    rng : numpy.random.Generator
        Of the scatter. [-]

    Returns
    -------
    Seen
        Everything a maker could note. [SI]
    """
    return Seen(**laws.outcome(foreseen, index, rng))


def setting_of(trial: Trial) -> Setting | None:
    """What a trial was run at; None where moisture, barrel or soak was not noted. [SI]

    Moisture left out is the job's; a soak or barrel left out cannot be guessed.
    """
    moisture = trial.moisture_pct
    if moisture is None:
        moisture = trial.then.tables.get("pellets", {}).get("moisture_pct")
    if trial.barrel_c is None or trial.soak_s is None or moisture is None:
        return None
    return Setting(
        moisture=moisture / 100.0,
        barrel=trial.barrel_c + _ZERO_C,
        soak=trial.soak_s,
        mold=None if trial.mold_c is None else trial.mold_c + _ZERO_C,
        force=None if trial.force_kn is None else 1e3 * trial.force_kn,
        cooling=trial.cooling_s,
    )


def seen_of(trial: Trial) -> Seen:
    """What came out of a trial. [SI]"""
    return Seen(
        filled=trial.filled,
        fill=None if trial.fill_pct is None else trial.fill_pct / 100.0,
        part=None if trial.part_g is None else trial.part_g / 1e3,
        color=trial.color,
        bubbles=trial.bubbles,
        stuck=trial.stuck,
        cracked=trial.cracked,
        warped=trial.warped,
        lumps=trial.lumps,
        bend_radius=None if trial.bend_radius_mm is None else trial.bend_radius_mm / 1e3,
    )
