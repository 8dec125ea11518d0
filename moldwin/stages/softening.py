"""The glass transition of the blend at any moisture, and what one bend test teaches about it."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics.glass import gordon_taylor
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend, make_blend

__all__ = ["ICE_FROM", "glass_transition", "prepare_blend", "tg_misfit"]

#: Water in the amorphous phase above which ice forms on cooling (Slade & Levine, read).
ICE_FROM = 0.27

#: Standard uncertainty of a warm-bend test as a reading of the DSC transition (assumed). [K]
_BEND_TEST_U = 9.0
#: Standard uncertainty of the moisture of the strip (assumed). [kg/kg]
_STRIP_MOISTURE_U = 0.005


def glass_transition(bench: Bench, blend: Blend, w_water: Any) -> Any:
    """Glass transition of the amorphous phase (Gordon-Taylor over all that is in it).

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    blend : Blend
        Dry shares per sample. [kg/kg]
    w_water : array, shape (..., s)
        Water of the whole, wet basis. [kg/kg]

    Returns
    -------
    array, shape (..., s)
        Glass transition, with the law's own misfit in it. [K]

    Notes
    -----
    Above ``ICE_FROM`` water in the phase the number is an extrapolation: what is seen there is the
    freeze-concentrated phase near -5 °C.
    """
    w_phase = blend.water_in_phase(np.asarray(w_water, dtype=float))
    dry = 1.0 - w_phase
    amorphous = np.maximum(blend.amorphous, 1e-12)
    shares, tgs, weights = [w_phase], [], []
    water = bench.library.card("water")
    tgs.append(bench.of(water, "tg_dry"))
    weights.append(blend.mean_over_polymers(bench, "k_water"))
    for entry in blend.polymers:
        shares.append(dry * entry.share / amorphous)
        tgs.append(bench.of(entry.card, "tg_dry"))
        weights.append(np.ones(bench.count))
    for entry in blend.plasticizers:
        shares.append(dry * entry.share / amorphous)
        tgs.append(bench.of(entry.card, "tg_dry"))
        weights.append(bench.of(entry.card, "k_starch"))
    # where nothing at all is left to melt, the first polymer stands for what would
    shares[1] = np.where(blend.amorphous < 1e-9, dry, shares[1])
    # ingredients first in memory: sums over them are twenty times quicker
    w, tg, k = (np.moveaxis(np.stack(of), 0, -1) for of in (shares, tgs, weights))
    mixed = gordon_taylor(np.clip(w, 0.0, 1.0), tg, k)
    return mixed + tg_misfit(bench, blend)


def tg_misfit(bench: Bench, blend: Blend) -> Any:
    """What the mixing rule misses: a fitted polymer's own, else that of all blends, (s,). [K]"""
    for entry in blend.polymers:
        if entry.card.get("tg_misfit") is not None:
            return bench.of(entry.card, "tg_misfit")
    return bench.typical("melt", "tg_misfit")


def prepare_blend(bench: Bench) -> Blend:
    """The blend, after the draws have heard of the job's softening measurement, if it has one.

    Parameters
    ----------
    bench : Bench
        The job; its draws are replaced by shifted ones where a bend test is given. [-]

    Returns
    -------
    Blend
        Dry shares per sample. [kg/kg]
    """
    blend = make_blend(bench)
    test = bench.job.blend
    if test.softening is None or test.softening_moisture is None:
        return blend
    w = bench.given(
        "blend.softening_moisture", test.softening_moisture, "kg/kg", u=_STRIP_MOISTURE_U
    )
    predicted = glass_transition(bench, blend, np.clip(w, 1e-4, 0.6))
    u = test.softening_u if test.softening_u is not None else _BEND_TEST_U
    bench.draws = bench.draws.copy()
    bench.draws.shift(bench.columns.values(), predicted, test.softening, u)
    bench.forget()
    return make_blend(bench)
