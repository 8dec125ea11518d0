"""One shot of the blind press, from the settings on the page to a verdict with its reasons.

The press was written from published ranges and textbook laws, without a look at the advisor's own
laws and cards, and was frozen before the advisor was asked.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from tests.blind_press import fill as filling
from tests.blind_press import laws
from tests.blind_press.charge import room_pressure, soak
from tests.blind_press.hidden import Truth
from tests.blind_press.part import after_a_week, foam_starts, opened
from tests.second_press.known import Known
from tests.second_press.press import BARREL, MOLD, ROOM, Settings

#: Everything that spoils a part.
REASONS = (*BARREL, *MOLD, *ROOM, "fused")
#: A part is called full from this share on.
_FULL = 0.98


def ample_charge_g(known: Known, truth: Truth) -> Any:
    """A charge with 15 % to spare: what a maker who errs on the safe side loads. [g]"""
    return 1.15e3 * filling.needed_volume(known) * laws.density(truth, 0.1, 400.0)


def shoot(known: Known, truth: Truth, settings: Settings) -> dict[str, Any]:
    """Press once per entry; True under each reason that spoils the part."""
    off = truth.moisture_off + np.where(settings.conditioned, truth.reaching_off, 0.0)
    jar_w = np.clip(settings.moisture_pct / 100.0 + off, 0.005, 0.4)
    soaked = soak(known, truth, jar_w, settings.barrel_c, settings.soak_s)
    mold = np.minimum(settings.mold_c, known.mold_max_c) + truth.mold_off + 273.15
    filled = filling.fill(known, truth, soaked, mold, settings.charge_g / 1e3)
    flowed = filled.share >= _FULL
    little = filled.charge_share < _FULL
    steam = laws.melt_activity(truth, soaked.w_water) * laws.saturation_pressure(filled.t_in)
    over = steam > truth.bubbles_start * room_pressure(known)
    foams = filled.t_in > foam_starts(truth, soaked)
    return {
        "short": ~flowed & ~little,
        "little-charge": little,
        "lumps": soaked.unmelted > truth.lumps_borne,
        "browned": soaked.browned > truth.brown_borne,
        "spat": ~known.sealed & over & foams,
        "bubbles": flowed & foams & (steam > truth.packs * filled.pressure),
        **opened(known, truth, soaked, filled, mold, settings.cooling_s),
        **after_a_week(known, truth, soaked, jar_w),
    }
