"""The runner: the round channel in the mold that brings the melt to the part."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.physics.flow import power_law_tube
from moldwin.physics.heat import tube_heat_loss
from moldwin.stages.bench import Bench
from moldwin.stages.shot import Geometry

__all__ = ["Runner", "runner_to"]

#: Nobody mills a runner for a hand press narrower or wider (common practice, no source). [m]
_NARROWEST, _WIDEST = 3e-3, 8e-3


@dataclass(frozen=True)
class Runner:
    """The melt's way to one of ``cavities``, a round channel; one number each or shape (s,). [m]

    The first half of the way is shared, as a sprue is; then each cavity has its own.
    """

    bore: Any
    length: Any
    cavities: int

    @property
    def volume(self) -> Any:
        """Melt in all of it. [m³]"""
        return np.pi / 4.0 * self.bore**2 * self.length * _ways(self.cavities)

    def pressure(self, n: Any, flow: Any) -> Any:
        """Pressure drop over consistency at the flow [m³/s] of a whole shot; ``n`` is the index."""
        shared = power_law_tube(1.0, n, flow, self.bore / 2.0, self.length)
        # split, the flow is so much slower: the n-th power of that is its pressure
        return shared * (1.0 + float(self.cavities) ** -n) / 2.0

    def heat_loss(self, diffusivity: Any, contact: Any, flow: Any) -> Any:
        """Share of its heat that melt has lost to the mold when it leaves the runner. [-]

        At a diffusivity [m²/s], a contact over the melt's conductivity [1/m] and the flow of a
        whole shot [m³/s].
        """
        fourier = diffusivity * self.volume / flow / self.bore**2
        return tube_heat_loss(fourier, contact * self.bore)


def runner_to(bench: Bench, geometry: Geometry) -> Runner | None:
    """The runner of a mold; ``None`` where the job gives no volume for it.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    geometry : Geometry
        The part. [SI]

    Returns
    -------
    Runner or None
        What the job leaves out of bore and length follows from the volume; where it gives
        neither, the bore is typical for the wall. [SI]
    """
    if not geometry.runner_volume:
        return None
    mold, cavities = bench.job.mold, geometry.cavities
    section_times_length = geometry.runner_volume / _ways(cavities)
    bore, length = mold.runner_diameter, mold.runner_length
    if bore is None and length is not None:
        bore = np.sqrt(section_times_length / length / (np.pi / 4.0))
    if bore is None:
        wider = geometry.thickest + bench.typical("mold", "runner_over_wall")
        bore = np.clip(wider, _NARROWEST, _WIDEST)
    if length is None:
        length = section_times_length / (np.pi / 4.0 * bore**2)
    return Runner(bore, length, cavities)


def _ways(cavities: int) -> float:
    """Length of all channels over that of the way to one cavity. [-]"""
    return (1.0 + cavities) / 2.0
