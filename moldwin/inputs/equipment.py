"""Press, mold and part as the stages see them: SI and kelvin, ``None`` where nothing was given."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

__all__ = ["Mold", "Part", "Press", "SolidSpec"]


@dataclass(frozen=True)
class Press:
    """The heated press.

    Parameters
    ----------
    plunger_diameter, barrel_diameter, spreader_diameter : float, optional
        Plunger; barrel, which is the plunger's where not given; spreader (torpedo). [m]
    force : float, optional
        Force on the plunger. [N]
    melt_pressure : float, optional
        Pressure under the plunger. [Pa]
    lever_force, lever_ratio : float, optional
        Hand force [N] and how many times the lever multiplies it [-].
    gauge_pressure : float, optional
        Oil pressure of a jack. [Pa]
    jack_piston_diameter : float, optional
        Piston of that jack. [m]
    barrel_capacity : float, optional
        Volume the barrel takes. [m³]
    nozzle_diameter, nozzle_length : float, optional
        Bore of the nozzle. [m]
    heater_max : float, optional
        Highest temperature the heater reaches. [K]
    heater_u : float, optional
        Standard uncertainty of the set point, a difference. [K]
    sealed_nozzle : bool, optional
        Whether the nozzle is shut while the charge soaks. [-]
    clamp : float, optional
        Force that holds the mold shut. [N]

    Examples
    --------
    >>> round(Press(lever_force=250.0, lever_ratio=12.0).ram_force)
    3000
    """

    plunger_diameter: float | None = None
    barrel_diameter: float | None = None
    spreader_diameter: float | None = None
    force: float | None = None
    melt_pressure: float | None = None
    lever_force: float | None = None
    lever_ratio: float | None = None
    gauge_pressure: float | None = None
    jack_piston_diameter: float | None = None
    barrel_capacity: float | None = None
    nozzle_diameter: float | None = None
    nozzle_length: float | None = None
    heater_max: float | None = None
    heater_u: float | None = None
    sealed_nozzle: bool | None = None
    clamp: float | None = None

    @property
    def ram_force(self) -> float | None:
        """Force on the plunger in N, from whichever way it was given; ``None`` where none was."""
        if self.force is not None:
            return self.force
        if self.melt_pressure is not None and self.plunger_diameter is not None:
            return self.melt_pressure * _disc_area(self.plunger_diameter)
        if self.lever_force is not None and self.lever_ratio is not None:
            return self.lever_force * self.lever_ratio
        if self.gauge_pressure is not None and self.jack_piston_diameter is not None:
            return self.gauge_pressure * _disc_area(self.jack_piston_diameter)
        return None

    @property
    def packing_pressure(self) -> float | None:
        """Pressure under the plunger in Pa before friction takes its share, or ``None``."""
        if self.melt_pressure is not None and self.force is None:
            return self.melt_pressure
        if self.ram_force is None or self.plunger_diameter is None:
            return None
        return self.ram_force / _disc_area(self.plunger_diameter)


@dataclass(frozen=True)
class Mold:
    """The mold.

    Parameters
    ----------
    material : str, optional
        What it is made of. [-]
    temperature, temperature_max : float, optional
        Where it is held; how hot it can be held. [K]
    gate_thickness : float, optional
        Thinnest place of the gate. [m]
    cavities : int
        Parts a shot. [-]
    runner_volume : float, optional
        Sprue and runners. [m³]
    runner_diameter, runner_length : float, optional
        Bore of the runner to one cavity, and its way there. [m]
    runner_area : float, optional
        Their shadow on the parting plane, where it is known; left out, not counted. [m²]
    """

    material: str | None = None
    temperature: float | None = None
    temperature_max: float | None = None
    gate_thickness: float | None = None
    cavities: int = 1
    runner_volume: float | None = None
    runner_diameter: float | None = None
    runner_length: float | None = None
    runner_area: float | None = None


@dataclass(frozen=True)
class SolidSpec:
    """One simple solid of the part; which sizes are given depends on the shape.

    Parameters
    ----------
    shape : str
        ``"plate"``, ``"box"``, ``"disc"``, ``"rod"``, ``"tube"``, ``"sphere"``, ``"cone"``,
        ``"dome"``. [-]
    length, width, height, thickness : float, optional
        Straight sizes. [m]
    diameter, outer_diameter, inner_diameter, tip_diameter : float, optional
        Round sizes; a cone without ``tip_diameter`` ends in a point. [m]
    narrow_width : float, optional
        Bottom of a trapezoid, as runners have it. [m]
    count : int
        How many of them. [-]
    subtract : bool
        Taken away (a hole) instead of added. [-]

    Examples
    --------
    >>> SolidSpec("disc", diameter=0.05, thickness=0.002).sizes()
    {'thickness': 0.002, 'diameter': 0.05}
    """

    shape: str
    length: float | None = None
    width: float | None = None
    height: float | None = None
    thickness: float | None = None
    diameter: float | None = None
    outer_diameter: float | None = None
    inner_diameter: float | None = None
    tip_diameter: float | None = None
    narrow_width: float | None = None
    count: int = 1
    subtract: bool = False

    def sizes(self) -> dict[str, float]:
        """The sizes that were given, in m, by name without unit."""
        others = ("shape", "count", "subtract")
        return {k: v for k, v in vars(self).items() if k not in others and v is not None}


@dataclass(frozen=True)
class Part:
    """What is molded: a named specimen, a mesh, or a sum of simple solids.

    Parameters
    ----------
    specimen : str, optional
        Name of a standard specimen. [-]
    mesh : pathlib.Path, optional
        File of a closed surface. [-]
    mesh_unit : str, optional
        Unit of the mesh: ``"mm"``, ``"cm"``, ``"m"`` or ``"in"``. [-]
    flow_length, wall : float, optional
        Longest way from the gate; wall thickness: they override the geometry's own. [m]
    solids : tuple of SolidSpec
        Simple solids, added and taken away. [-]
    clamp_axis : str
        Axis of the mesh along which the clamp holds. [-]
    gate_x, gate_y, gate_z : float, optional
        Where the melt enters the mesh; left out, the worst place. [m]
    """

    specimen: str | None = None
    mesh: Path | None = None
    mesh_unit: str | None = None
    flow_length: float | None = None
    wall: float | None = None
    solids: tuple[SolidSpec, ...] = ()
    clamp_axis: str = "z"
    gate_x: float | None = None
    gate_y: float | None = None
    gate_z: float | None = None

    @property
    def gate(self) -> tuple[float, float, float] | None:
        """Where the melt enters the mesh, None where nobody said. [m]"""
        if self.gate_x is None or self.gate_y is None or self.gate_z is None:
            return None
        return self.gate_x, self.gate_y, self.gate_z

    @property
    def given(self) -> bool:
        """True where the part's geometry is described at all."""
        return bool(self.specimen or self.mesh or self.solids)


def _disc_area(diameter: float) -> float:
    return math.pi / 4 * diameter**2
