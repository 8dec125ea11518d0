"""Remarks on barrel, steam, filling, mold and shot."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from moldwin.advice.sharing import MANY, SOME, broken, spelled
from moldwin.advice.situation import Found, celsius
from moldwin.advice.stop_remarks import core_remarks, shot_remarks
from moldwin.base.percentiles import in_words, share
from moldwin.base.remarks import Remark
from moldwin.window import judge
from moldwin.window.edges import at_best_soak, best_index, unbroken
from moldwin.window.windows import FUMES_STOP, Setup

__all__ = ["press_remarks"]

#: The set point wanders; steam is judged this much above it. [K]
_SWING = 10.0


def press_remarks(setup: Setup, found: Found) -> Iterator[Remark]:
    """Everything worth saying about the press at the best setting."""
    for part in (_barrel, _steam, _flow, _mold, core_remarks, shot_remarks):
        yield from part(setup, found)


def _barrel(setup: Setup, found: Found) -> Iterator[Remark]:
    barrel = found.window.barrel
    browned = broken(found, "browning")
    if browned >= SOME:
        yield Remark(
            "degradation",
            "caution",
            f"Browning and chain scission: {in_words(browned)} are past their limit after"
            f" {barrel.soak / 60:.0f} min at {celsius(barrel.best):.0f} °C.",
            "melting",
            "assumed clock, 10 min at 150 °C within a factor of 3",
        )
    stage = found.window.barrel_stage
    wall = stage.true_temperature(np.array([barrel.best]))
    held = share(stage.browning_dose(wall, np.array([[2.0 * barrel.soak]])) > 1.0)
    if held >= SOME:
        yield Remark(
            "held-too-long",
            "caution",
            f"Get the charge out of the heat within {barrel.hold_max / 60:.0f} min of loading it: "
            f"at twice the soak {in_words(held)} have browned.",
            "melting",
            "assumed clock, 10 min at 150 °C within a factor of 3",
        )
    fumes = broken(found, "fumes")
    if fumes >= FUMES_STOP:
        yield Remark(
            "fume",
            "stop",
            f"At {celsius(barrel.best):.0f} °C the plasticizer may give off irritating aldehydes"
            f" ({in_words(fumes)}). At any sharp smell: stop, cool, ventilate.",
            "melting",
            "aldehydes from 215 °C, acrolein from 270 °C (PMC5226727, read)",
        )
    yield from _scorch(found)
    granules = broken(found, "granules")
    if granules >= SOME:
        yield Remark(
            "granules-unmelted",
            "caution",
            f"Uncooked starch granules stay whole ({in_words(granules)}): a ram does not shear "
            "them open."
            " Cook the blend to a gel first.",
            "melting",
            "Flory diluent law; parameters from memory",
        )
    yield from _heater(setup, found)


def _scorch(found: Found) -> Iterator[Remark]:
    """Fiber that scorches at the hot end of the window, or at the least bad setting."""
    barrel = found.window.barrel
    hottest = barrel.best if barrel.high is None else barrel.high
    margins = found.window.barrel_stage.margins(np.array([hottest]), np.array([barrel.soak]))
    scorched = share(margins["fiber-scorch"] < 0) if "fiber-scorch" in margins else 0.0
    if scorched >= SOME:
        yield Remark(
            "fiber-scorch",
            "caution",
            f"Fiber turns amber toward {celsius(hottest):.0f} °C ({in_words(scorched)}).",
            "melting",
            "flax from 160 °C (Shahzad 2013, read)",
        )


def _heater(setup: Setup, found: Found) -> Iterator[Remark]:
    """Some samples would only work hotter than the heater goes, at whatever soak."""
    at, margins = setup.coarse_margins(found.window.barrel_stage)
    others = {name: margin for name, margin in margins.items() if name != "heater"}
    works = judge.holds(others).any(axis=1)
    reached = judge.holds({"heater": margins["heater"]})[:, 0, 0]
    only_hotter = share(works[~reached].any(axis=0) & ~works[reached].any(axis=0))
    if only_hotter >= SOME:
        yield Remark(
            "heater-limit",
            "caution",
            f"{in_words(only_hotter).capitalize()} would work only hotter than the"
            f" {celsius(setup.hottest):.0f} °C this heater reaches."
            f" {_needed(setup, at, judge.chance(others))}",
            "melting",
            "the job's heater_max_c",
        )


def _needed(setup: Setup, at: Any, cells: Any) -> str:
    """What the barrel would need, the heater aside: chances (t, k) at set points (t,) [K]."""
    chances, _ = at_best_soak(cells)
    best = best_index(chances)
    ends = unbroken(at, chances, best, setup.confidence)
    if ends is None:
        best_c, chance = celsius(at[best]), 100 * chances[best]
        return f"The best chance lies at about {best_c:.0f} °C, {chance:.0f} %."
    asked = f"{100 * setup.confidence:.0f} %"
    if ends[0] <= setup.hottest:
        return f"The best chance lies at about {celsius(at[best]):.0f} °C."
    return f"The {asked} asked for need {celsius(ends[0]):.0f} to {celsius(ends[1]):.0f} °C."


def _steam(setup: Setup, found: Found) -> Iterator[Remark]:
    stage, barrel = found.window.barrel_stage, found.window.barrel
    onset = stage.onset()
    wall = stage.true_temperature(np.array([barrel.best]))[0, 0] + _SWING
    part = share((wall > onset) & (wall > stage.t_weld))
    if part < SOME:
        return
    tail = (
        " Above that keep the nozzle shut and the charge packed; never lift the ram, open or "
        "refill."
        if stage.sealed
        else " The nozzle is not sealed: stay below that, or seal it."
    )
    yield Remark(
        "steam",
        "caution",
        f"Steam starts at {spelled(onset, '°C', offset=-273.15)}.{tail}",
        "melting",
        "IAPWS-IF97; activity of the melt with an assumed chi of 0.9 to 1.4",
    )


def _where_pressure_goes(found: Found) -> str:
    """Every section with its share of the pressure, the one that takes most first."""
    stage, barrel = found.window.barrel_stage, found.window.barrel
    shares = stage.pressure_shares(np.array([barrel.best]), np.array([barrel.soak]))
    middle = {name: float(np.median(share)) for name, share in shares.items()}
    most, *others = sorted(middle, key=lambda name: -middle[name])
    takes = "the part itself takes" if most == "part" else f"the {most} eats"
    rest = ", ".join(f"the {name} {100 * middle[name]:.0f} %" for name in others)
    return f"{takes} {100 * middle[most]:.0f} % of the pressure, {rest}"


def _flow(setup: Setup, found: Found) -> Iterator[Remark]:
    short = broken(found, "fill")
    if short >= MANY:
        yield Remark(
            "too-stiff-to-fill",
            "caution",
            f"Too stiff to fill in {in_words(short)}, even at"
            f" {celsius(found.window.barrel.best):.0f} °C: that takes more pressure than reaches"
            f" the melt; {_where_pressure_goes(found)}.",
            "molding",
            "viscosity pivot derived from Willett 1995, slopes from memory",
        )
    elif short >= SOME:
        yield Remark(
            "short-shot",
            "caution",
            f"A short part is likely in {in_words(short)}: weigh it, how full it is tells how"
            f" stiff the melt is; {_where_pressure_goes(found)}.",
            "molding",
            "viscosity pivot derived from Willett 1995, slopes from memory",
        )
    barrel = found.window.barrel
    frozen = share(found.window.barrel_stage.freezing_margin(barrel.best, barrel.soak) < 0)
    if frozen >= SOME:
        yield Remark(
            "freeze-off",
            "caution",
            f"The melt may stiffen against the mold before it is full ({in_words(frozen)}): "
            "warm the mold,"
            " push without a pause.",
            "molding",
            "heat lost in a slab; welding offset assumed",
        )
    yield from _gate(found)


def _gate(found: Found) -> Iterator[Remark]:
    """A gate that freezes before the core is cool lets go of the pressure that holds its steam."""
    window = found.window
    wall = window.barrel_stage.true_temperature(np.array([window.barrel.best]))[0, 0]
    frozen = window.cavity.gate_freezing(wall, window.mold.best)
    if frozen is None:
        return
    early = frozen < window.cooling_core
    if share(early) >= SOME:
        yield Remark(
            "freeze-off",
            "caution",
            f"The gate may freeze after {float(np.median(frozen[early])):.0f} s, before the core is"
            f" below its steam onset ({in_words(share(early))}): nothing packs it from then on, and"
            " bubbles can grow inside. A thicker gate or a warmer mold.",
            "molding",
            "cooling of a slit; welding offset assumed",
        )


def _mold(setup: Setup, found: Found) -> Iterator[Remark]:
    broken = found.window.mold.broken
    if broken["condensation"] >= SOME:
        yield Remark(
            "condensation",
            "caution",
            "The mold is near the dew point of the room: warm it or it gets wet.",
            "molding",
            "dew point by IAPWS-IF97",
        )
    soft = broken["soft-at-ejection"]
    if soft >= 0.2:
        yield Remark(
            "sticky",
            "caution",
            f"The part may still be too soft to push out of a mold this warm "
            f"({in_words(soft)}): cool the"
            " mold before you open it, or use a mold that comes apart.",
            "molding",
            "ejection modulus 3 to 30 MPa, assumed",
        )
