"""What a pellet is to the water in it: its shape, how it binds water and lets it pass."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

__all__ = ["DenseStarch", "ExponentialDiffusivity", "Pellet"]

#: Surface over volume, in half-thicknesses or radii.
_DIMENSION = {"slab": 1.0, "cylinder": 2.0, "sphere": 3.0}


@dataclass(frozen=True)
class ExponentialDiffusivity:
    """Diffusivity that grows by a constant factor per unit of moisture.

    ``d`` exp(``growth`` (x' - ``x``)) at moisture x'.

    Parameters
    ----------
    d : float or array, shape (...)
        Diffusivity at moisture ``x``. [m2/s]
    growth : float or array, shape (...)
        Of its logarithm, per unit of moisture, dry basis; 0 is a constant diffusivity. [kg/kg]
    x : float or array, shape (...), optional
        Moisture where ``d`` holds, dry basis. [kg/kg]

    Examples
    --------
    Ten times faster at 0.15 than at 0.05:

    >>> law = ExponentialDiffusivity(1e-12, 23.03, 0.05)
    """

    d: Any
    growth: Any
    x: Any = 0.0


@dataclass(frozen=True)
class DenseStarch:
    """Diffusivity of ``dense_starch_diffusivity``, times a factor.

    Parameters
    ----------
    t : float or array, shape (...)
        Temperature. [K]
    factor : float or array, shape (...), optional
        What the material differs by; a factor 10 either way for plasticized starch (assumed). [-]

    Examples
    --------
    >>> DenseStarch(298.15).factor
    1.0
    """

    t: Any
    factor: Any = 1.0


@dataclass(frozen=True)
class Pellet:
    """One pellet, flake or bar, or as many different ones as there are sets.

    Parameters
    ----------
    shape : str
        ``"slab"`` (both faces open), ``"cylinder"`` (long), ``"sphere"`` or
        ``"finite-cylinder"``. [-]
    half : float or array, shape (...)
        Half the thickness, or the radius. [m]
    density : float or array, shape (...)
        Dry solids per volume of pellet. [kg/m3]
    diffusivity : float, array, law or callable
        Of water: constant, `ExponentialDiffusivity`, `DenseStarch`, or a function of moisture
        (dry basis) that is called once with shape (nodes, ...). [m2/s]
    activity : callable
        Water activity at a moisture, dry basis, rising; called with shapes (...) and
        (nodes, ...). [-]
    aspect : float, optional
        Half the length over the radius; for the finite cylinder only. [-]

    Examples
    --------
    >>> pellet = Pellet("sphere", 1.5e-3, 1300.0, 2e-12, lambda x: x / 0.2)
    """

    shape: str
    half: Any
    density: Any
    diffusivity: Any
    activity: Callable[[Any], Any]
    aspect: float | None = None

    @property
    def area(self) -> Any:
        """Open surface per mass of dry solids, shape (...). [m2/kg]"""
        if self.aspect is not None:
            return (2.0 + 1.0 / self.aspect) / (self.half * self.density)
        return _DIMENSION[self.shape] / (self.half * self.density)
