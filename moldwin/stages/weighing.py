"""What a loss on drying says of the moisture, once the glycerol that left with it is taken off."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from moldwin.base.normal import normal_cdf
from moldwin.base.percentiles import Triple, in_words, share, triple
from moldwin.base.remarks import Remark
from moldwin.inputs.weighings import DriedSample, Weighings, read_weighings
from moldwin.stages.bench import Bench, UsedNumber
from moldwin.stages.blend import make_blend
from moldwin.stages.evaporation import Evaporation, Gentler
from moldwin.stages.settling import Settling
from moldwin.stages.weighing_methods import Conditions, MethodMatch, match_method

__all__ = ["Dish", "MoistureReading", "weigh", "weighing_remarks"]

#: Share of the loss that may be glycerol before the reading counts as misread (assumed). [-]
_MISREAD = 0.10
#: A limit that at least this share of samples breaks is worth a word.
_SOME = 0.10
#: A bag is not uniform: this many samples from different places (common practice, no source).
_REPEATS = 3
#: A dish that gains this many steps between two weighings drew water on its way to the scale.
_GAIN = 2.5


@dataclass(frozen=True)
class Dish:
    """One sample of the table.

    Parameters
    ----------
    name : str
        As in the table. [-]
    time : float
        Time in the oven; NaN where not known. [s]
    loss, wet : float
        Mass lost, and the moisture after glycerol is taken off, wet basis. [kg/kg]
    glycerol : float or None
        Likely glycerol in the loss, of the wet mass; None where nobody said if there is any.
        [kg/kg]
    state : str or None
        One of ``settling.STATES``; None for a single dry weighing. [-]
    """

    name: str
    time: float
    loss: float
    wet: float
    glycerol: float | None
    state: str | None


@dataclass(frozen=True)
class MoistureReading:
    """The moisture of a batch from its weighings.

    Parameters
    ----------
    wet, wet_u, wet_band
        Moisture, wet basis: likely, standard uncertainty, 90 % interval. [kg/kg]
    dry, dry_u, dry_band
        The same per dry mass. [kg/kg]
    loss : float
        Mean loss on drying, of the wet mass. [kg/kg]
    glycerol, glycerol_band
        Its likely glycerol part and 90 % interval; None where not known. [kg/kg]
    tail : tuple of float or None
        Mean steady loss at the end and its standard uncertainty, of the wet mass. [1/s]
    tail_fits : bool
        False where the measured tail lies outside what the estimate allows. [-]
    rest : float
        What the curves say is still to dry off, of the wet mass. [kg/kg]
    state : str or None
        The worst state of the curves. [-]
    resolution : float
        Step of the scale. [kg]
    dishes : tuple of Dish
        The samples. [-]
    method : MethodMatch
        The standard it amounts to. [-]
    margins : dict
        Above zero is fine, shape (s,) each. [-]
    remarks, asks, gentler : tuple
        Remarks; what to weigh or say next; cooler ovens, where glycerol is misread. [-]
    used : dict of UsedNumber
        What the answer rests on. [-]
    """

    wet: float
    wet_u: float
    wet_band: Triple
    dry: float
    dry_u: float
    dry_band: Triple
    loss: float
    glycerol: float | None
    glycerol_band: Triple | None
    tail: tuple[float, float] | None
    tail_fits: bool
    rest: float
    state: str | None
    resolution: float
    dishes: tuple[Dish, ...]
    method: MethodMatch
    margins: dict[str, Any]
    remarks: tuple[Remark, ...]
    asks: tuple[str, ...]
    gentler: tuple[Gentler, ...]
    used: dict[str, UsedNumber]


def weigh(bench: Bench, table: Weighings, glycerol: float | None = None) -> MoistureReading:
    """Moisture from weighings, on wet and dry basis.

    Parameters
    ----------
    bench : Bench
        The job (oven, blend, room) and the draws; an empty job knows nothing of them. [-]
    table : Weighings
        Samples, wet and dry. [kg]
    glycerol : float, optional
        Glycerol per dry solids, itself included; left out, the job's blend. [kg/kg]

    Returns
    -------
    MoistureReading
        The likely moisture is the mean loss less the median glycerol; the whole spread of the
        glycerol is in the interval.

    Notes
    -----
    The glycerol part is an estimate from the film of air over the dish. Where a curve shows a
    steady tail, its draws are weighed by how well they agree with it. What is still to dry off
    after the last weighing is not added, but widens the interval upward.
    """
    used: dict[str, UsedNumber] = {}
    settling = Settling(table)
    loading = _loading(bench, glycerol, used)
    if loading is None:
        return _reading(bench, table, settling, None, used)
    evaporation = Evaporation(bench, loading, used)
    fits = settling.tell(evaporation)
    parts = [evaporation.part(sample) for sample in table.samples]
    found = _Glycerol(parts, sum(parts) / len(parts), fits, evaporation.gentler(table.samples))
    return _reading(bench, table, settling, found, used)


def weighing_remarks(bench: Bench) -> list[Remark]:
    """What to beware of in the weighings that a job takes its moisture from.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]

    Returns
    -------
    list of Remark
        Empty where the job gives its moisture as a number.
    """
    path = bench.job.pellets.weighings
    if path is None:
        return []
    return list(weigh(bench, read_weighings(path, bench.job.scale.resolution)).remarks)


@dataclass(frozen=True)
class _Glycerol:
    """Glycerol in each sample's loss and in the mean, shape (s,); how the tail agrees."""

    parts: list[Any]
    mean: Any
    fits_tail: bool
    gentler: tuple[Gentler, ...]


def _loading(bench: Bench, glycerol: float | None, used: dict[str, UsedNumber]) -> Any:
    """Glycerol per dry solids, shape (s,); None where nobody said. [kg/kg]"""
    if glycerol is not None:
        used["glycerol"] = UsedNumber("glycerol", glycerol, "kg/kg", "measured", "as given")
        return np.full(bench.count, glycerol)
    if not bench.job.ingredients:
        return None
    found = np.broadcast_to(make_blend(bench).dry_share_of("glycerol"), (bench.count,))
    likely = float(np.median(found))
    used["glycerol"] = UsedNumber("glycerol", likely, "kg/kg", "derived", "recipe of the job")
    return found


def _reading(
    bench: Bench,
    table: Weighings,
    settling: Settling,
    glycerol: _Glycerol | None,
    used: dict[str, UsedNumber],
) -> MoistureReading:
    loss, rest = table.moisture, settling.rest
    part = np.zeros(bench.count) if glycerol is None else glycerol.mean
    dishes = _dishes(table, settling, glycerol)
    u = _weighing_u(table, dishes)
    to_come = rest * normal_cdf(bench.draws.scores("weighings.rest"))
    error = u * bench.draws.scores("weighings.reading")
    samples = np.clip(loss + error + to_come - part, 0.0, 0.999)
    wet = max(loss - float(np.median(part)), 0.0)
    wet_u = math.sqrt(u**2 + float(part.std()) ** 2 + rest**2 / 3.0)
    margin = _MISREAD - part / max(loss, 1e-9)
    remarks = [*_glycerol_remark(loss, part, margin), *_glycol_remark(bench, loss)]
    return MoistureReading(
        wet=wet,
        wet_u=wet_u,
        wet_band=triple(samples),
        dry=wet / (1.0 - wet),
        dry_u=wet_u / (1.0 - wet) ** 2,
        dry_band=triple(samples / (1.0 - samples)),
        loss=loss,
        glycerol=None if glycerol is None else float(np.median(part)),
        glycerol_band=None if glycerol is None else triple(part),
        tail=settling.tail,
        tail_fits=glycerol is None or glycerol.fits_tail,
        rest=rest,
        state=settling.state,
        resolution=table.resolution,
        dishes=dishes,
        method=match_method(_conditions(bench, table, settling, glycerol)),
        margins={} if glycerol is None else {"glycerol-read-as-water": margin},
        remarks=tuple(remarks),
        asks=tuple(_asks(bench, table, settling, glycerol)),
        gentler=glycerol.gentler if glycerol and remarks else (),
        used=used,
    )


def _dishes(table: Weighings, settling: Settling, glycerol: _Glycerol | None) -> tuple[Dish, ...]:
    rows = []
    for number, sample in enumerate(table.samples):
        part = None if glycerol is None else float(np.median(glycerol.parts[number]))
        wet = max(sample.moisture - (part or 0.0), 0.0)
        state = settling.states[number]
        rows.append(Dish(sample.name, sample.time, sample.moisture, wet, part, state))
    return tuple(rows)


def _weighing_u(table: Weighings, dishes: Sequence[Dish]) -> float:
    """Scale, or spread of the repeats once their glycerol is off: the larger. [kg/kg]"""
    n = len(dishes)
    scale = math.sqrt(sum(s.moisture_u(table.resolution) ** 2 for s in table.samples)) / n
    if n == 1:
        return scale
    return max(scale, float(np.std([dish.wet for dish in dishes], ddof=1)) / math.sqrt(n))


def _glycerol_remark(loss: float, part: Any, margin: Any) -> Iterator[Remark]:
    broken = share(margin < 0.0)
    if broken < _SOME:
        return
    band = triple(100.0 * part)
    yield Remark(
        "glycerol-read-as-water",
        "caution",
        f"Of the {100.0 * loss:.1f} % lost in the oven about {band.likely:.1f} are likely "
        f"glycerol, not water ({band.low:.1f} to {band.high:.1f}): more than a tenth of the loss "
        f"in {in_words(broken)}.",
        "moisture",
        "vapor pressure Cammenga 1977 (abstract read); air film, activity and limit assumed",
    )


def _glycol_remark(bench: Bench, loss: float) -> Iterator[Remark]:
    if not any(row.card == "propylene-glycol" for row in bench.job.ingredients):
        return
    held = make_blend(bench).dry_share_of("propylene-glycol") * (1.0 - loss)
    if share(held > _MISREAD * loss) >= _SOME:
        yield Remark(
            "glycerol-read-as-water",
            "caution",
            "Propylene glycol evaporates far faster than glycerol and reads as water just so; it "
            "is not taken off here. Dry a sample over a desiccant instead.",
            "moisture",
            "from memory; limit assumed",
        )


def _conditions(
    bench: Bench, table: Weighings, settling: Settling, glycerol: _Glycerol | None
) -> Conditions:
    cards = [bench.library.card(row.card) for row in bench.job.ingredients]
    solids = [card for card in cards if card.role != "water"]
    nets = [sample.net for sample in table.samples]
    times = [sample.time for sample in table.samples if not math.isnan(sample.time)]
    return Conditions(
        temperature=bench.job.oven.temperature,
        time=max(times, default=bench.job.oven.time),
        constant=settling.constant,
        lightest=min(nets),
        heaviest=max(nets),
        repeats=len(nets),
        starch_only=all(card.family == "starch" for card in solids) if solids else None,
        fiber_only=all(card.role == "fiber" for card in solids) if solids else None,
        glycerol=None if glycerol is None else bool(np.median(glycerol.mean) > 0.0),
    )


def _asks(
    bench: Bench, table: Weighings, settling: Settling, glycerol: _Glycerol | None
) -> Iterator[str]:
    """What to weigh or say next, the weightiest first."""
    n = len(table.samples)
    if settling.state == "falling":
        yield "leave the samples in until two weighings agree: the mass is still falling"
    if glycerol is None:
        yield (
            "say how much glycerol is in it (--glycerol-g-per-100g-dry, 0 for none, or --job): it "
            "evaporates in the oven and reads as water"
        )
    elif bench.job.oven.temperature is None and np.any(glycerol.mean > 0.0):
        yield "give the oven's temperature (--oven-c): the glycerol part hangs on it"
    if n < _REPEATS:
        more = _REPEATS - n
        yield (
            f"weigh {more} more sample{'s' * (more > 1)} from other places of the bag: pellets "
            f"are not alike, and {n} cannot show it"
        )
    if settling.state is None:
        yield "put the dry samples back for half as long again and weigh: has the mass settled?"
    if any(_gained(sample, table.resolution) for sample in table.samples):
        yield "let dry samples cool in a closed jar: some gained mass between two weighings"


def _gained(sample: DriedSample, step: float) -> bool:
    masses = [gross for _, gross in sample.curve]
    return any(later - earlier > _GAIN * step for earlier, later in pairwise(masses))
