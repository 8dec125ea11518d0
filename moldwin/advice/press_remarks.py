"""Remarks on barrel, steam, filling, mold and shot."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from moldwin.advice.sharing import MANY, SOME, broken, spelled
from moldwin.advice.situation import Found, celsius
from moldwin.base.percentiles import in_words, share
from moldwin.base.remarks import Remark
from moldwin.window import judge
from moldwin.window.windows import Setup

__all__ = ["press_remarks"]

#: The set point wanders; steam is judged this much above it. [K]
_SWING = 10.0


def press_remarks(setup: Setup, found: Found) -> Iterator[Remark]:
    """Everything worth saying about the press at the best setting."""
    for part in (_barrel, _steam, _flow, _mold, _shot):
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
            f"Get the charge out of the heat within {barrel.hold_max / 60:.0f} min: at twice "
            "the soak"
            f" {in_words(held)} have browned.",
            "melting",
            "assumed clock, 10 min at 150 °C within a factor of 3",
        )
    fumes = broken(found, "fumes")
    if fumes >= 0.05:
        yield Remark(
            "fume",
            "stop",
            f"At {celsius(barrel.best):.0f} °C the plasticizer may give off irritating aldehydes"
            f" ({in_words(fumes)}). At any sharp smell: stop, cool, ventilate.",
            "melting",
            "aldehydes from 215 °C, acrolein from 270 °C (PMC5226727, read)",
        )
    scorched = broken(found, "fiber-scorch")
    if scorched >= SOME:
        yield Remark(
            "fiber-scorch",
            "caution",
            f"Fiber turns amber here ({in_words(scorched)}).",
            "melting",
            "flax from 160 °C (Shahzad 2013, read)",
        )
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
    yield from _heater(found)


def _heater(found: Found) -> Iterator[Remark]:
    """Some samples would only work hotter than the heater goes."""
    barrel, stage = found.window.barrel, found.window.barrel_stage
    margins = dict(stage.margins(barrel.grid, np.array([barrel.soak])))
    reached = judge.holds({"heater": margins.pop("heater")[:, 0, 0]})
    works = judge.holds(margins)[:, 0]
    only_hotter = share(works[~reached].any(axis=0) & ~works[reached].any(axis=0))
    if only_hotter >= SOME:
        yield Remark(
            "heater-limit",
            "caution",
            f"{in_words(only_hotter).capitalize()} would work only hotter than the"
            f" {celsius(_hottest(found)):.0f} °C this heater reaches.",
            "melting",
            "the job's heater_max_c",
        )


def _hottest(found: Found) -> float:
    """The hottest set point of the grid that the heater reaches. [K]"""
    stage, grid = found.window.barrel_stage, found.window.barrel.grid
    reached = stage.margins(grid, np.array([found.window.barrel.soak]))["heater"][:, 0, 0] > 0
    return float(grid[reached][-1]) if reached.any() else float(grid[0])


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
        f"Steam starts at {spelled(onset, '°C', offset=-273.15)} for this moisture.{tail}",
        "melting",
        "IAPWS-IF97; activity of the melt with an assumed chi of 0.9 to 1.4",
    )


def _where_pressure_goes(found: Found) -> str:
    """Which section takes most of the pressure."""
    stage, barrel = found.window.barrel_stage, found.window.barrel
    wall = stage.true_temperature(np.array([barrel.best]))
    center = stage.charge_temperature(wall, np.array([barrel.soak]), "center")[0, 0]
    nozzle = float(np.median(stage.flow.nozzle_share(stage.geometry, center, stage.t_mold)))
    if nozzle >= 0.5:
        return f"the nozzle eats {100 * nozzle:.0f} % of what filling takes"
    return f"the part itself takes {100 * (1 - nozzle):.0f} % of what filling takes"


def _flow(setup: Setup, found: Found) -> Iterator[Remark]:
    short = broken(found, "fill")
    if short >= MANY:
        yield Remark(
            "too-stiff-to-fill",
            "caution",
            f"Too stiff to fill at {celsius(found.window.barrel.best):.0f} °C in {in_words(short)}:"
            f" that takes more pressure than reaches the melt; {_where_pressure_goes(found)}.",
            "molding",
            "viscosity pivot derived from Willett 1995, slopes from memory",
        )
    elif short >= SOME:
        yield Remark(
            "short-shot",
            "caution",
            f"A short part is likely in {in_words(short)}. Weigh it: how full it is tells how "
            "stiff the melt"
            " is.",
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


def _shot(setup: Setup, found: Found) -> Iterator[Remark]:
    if not setup.geometry.given:
        return
    bench, shot = setup.bench, found.shot
    if shot.barrel_fill is not None:
        low, high = (bench.typical("press", f"barrel_fill_{end}") for end in ("low", "high"))
        for outside, words in (
            (shot.barrel_fill < low, "small"),
            (shot.barrel_fill > high, "large"),
        ):
            if share(outside) >= MANY:
                yield Remark(
                    "shot-size",
                    "caution" if words == "large" else "info",
                    f"The shot is {words} for this barrel: "
                    f"{100 * np.median(shot.barrel_fill):.0f} % of it."
                    " Between 20 and 80 % meters best.",
                    "shot",
                    "common practice; ISO 294-1 (from memory)",
                )
    clamp = bench.job.press.clamp
    if clamp is not None:
        opens = share(shot.clamp_needed > clamp)
        if opens >= SOME:
            yield Remark(
                "flash",
                "caution",
                f"Full packing may open the mold ({in_words(opens)}): it needs"
                f" {spelled(shot.clamp_needed, 'kN', 1e-3)}, the clamp holds {clamp / 1e3:g} kN.",
                "shot",
                "pressure in the cavity assumed 30 to 80 % of that at the melt",
            )
