"""Check values of the correlations: each has to give back what its own source prints.

They show that a formula was typed and summed rightly. They do not show that it describes a blend.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from moldwin.advice.evidence.row import CONSTANT, EvidenceRow, Subject, checked
from moldwin.advice.evidence.tables import half_last_digit, number, published
from moldwin.physics import (
    brine,
    composites,
    glass,
    humidity,
    melt_water,
    mixing,
    sorption,
    vapor,
)

__all__ = [
    "air_pressure",
    "component_properties",
    "fiber_rule",
    "glass_rules",
    "glycerol_baths",
    "glycerol_factor",
    "glycerol_vapor",
    "glycerol_vapor_elsewhere",
    "melt_law",
    "salt_humidity",
    "salt_solution",
    "water_beside_glycerol",
    "water_vapor",
    "wood_moisture",
]

_ZERO_C = 273.15
_ROOM = 298.15

_PSAT = Subject("water vapor pressure", CONSTANT, "Pa", "if97.csv", by_factor=True)
_BOILING = Subject("water boiling temperature", CONSTANT, "K", "if97.csv")
_PSAT_95 = Subject("water vapor pressure, IAPWS-95", CONSTANT, "MPa", "vdi_glycerol.csv", True)
_GLYCEROL = Subject("glycerol vapor pressure", CONSTANT, "Pa", "cammenga1977.csv")
_OTHER_FIT = Subject("glycerol vapor, other fit", CONSTANT, "Pa", "vdi_glycerol.csv", True)
_AIR = Subject("standard air pressure", CONSTANT, "Pa", "iso2533.csv")
_SALT = Subject("humidity over salts", CONSTANT, "%", "greenspan1977.csv")
_BATH = Subject("water activity of glycerol", CONSTANT, "-", "zhang2022.csv")
_BATH_BACK = Subject("water activity of glycerol", CONSTANT, "-", "sorption_points.csv")
_RULE = Subject("mixing rules for Tg", CONSTANT, "K", "glass_anchors.csv")
_MELT = Subject("water activity of a melt", CONSTANT, "-", "flory_huggins.csv")
_FACTOR = Subject("glycerol factor on sorption", CONSTANT, "-", "enrione2007.csv")
_BRINE = Subject("water activity of brine", CONSTANT, "-", "robinson1959.csv")
_WOOD = Subject("moisture of wood", CONSTANT, "kg/kg", "wood_handbook.csv")
_FIBER = Subject("stiffness rule for fiber", CONSTANT, "GPa", "fiber.csv")
_COMPONENTS = {
    "rho": Subject("density of components", CONSTANT, "kg/m3", "choi_okos1986.csv"),
    "cp": Subject("heat capacity of components", CONSTANT, "kJ/kg/K", "choi_okos1986.csv"),
    "k": Subject("conductivity of components", CONSTANT, "W/m/K", "choi_okos1986.csv"),
}

_BATH_MISSES = {
    "0.20": "up to 30 % of glycerol we follow Norrish, the table follows Zhang",
    "0.80": "the formula gives 0.4985, which the table rounds to 0.499",
}
_SATURATED = "near saturation Pitzer's law, with constants from memory, is 0.0006 low"

#: IF97 is built to follow IAPWS-95 this closely, as its release says. [-]
_FOLLOWS = 2.5e-4
#: Half of the 90 % interval of a standard uncertainty of 2 %. [-]
_TWO_PERCENT = 1.6448536 * 0.02
#: The same polynomial summed in another order. [-]
_ROUNDING = 1e-12


def water_vapor() -> Iterator[EvidenceRow]:
    """Verification values of IF97, both ways."""
    for row in published("if97.csv"):
        t, p = number(row, "t_k"), number(row, "p_pa")
        if row["quantity"] == "pressure":
            ours, half = vapor.water_saturation_pressure(t), half_last_digit(row["p_pa"])
            yield checked(_PSAT, row, f"{t:g} K", ours, p, half)
        else:
            back, half = vapor.water_saturation_temperature(p), half_last_digit(row["t_k"])
            yield checked(_BOILING, row, f"{p:g} Pa", back, t, half)


def water_beside_glycerol() -> Iterator[EvidenceRow]:
    """Another formulation for water, which IF97 follows."""
    for row in published("vdi_glycerol.csv"):
        ours = vapor.water_saturation_pressure(number(row, "t_c") + _ZERO_C) / 1e6
        value = number(row, "water_mpa")
        note = "IF97 is built to follow IAPWS-95 within 0.025 %: that is the tolerance"
        row = {**row, "source": row["water_source"]}
        yield checked(_PSAT_95, row, f"{row['t_c']} °C", ours, value, _FOLLOWS * value, note=note)


def glycerol_vapor() -> Iterator[EvidenceRow]:
    """The equation worked out by hand."""
    for row in published("cammenga1977.csv"):
        ours = vapor.glycerol_vapor_pressure(number(row, "t_c") + _ZERO_C)
        half = half_last_digit(row["p_pa"])
        yield checked(_GLYCEROL, row, f"{row['t_c']} °C", ours, number(row, "p_pa"), half)


def glycerol_vapor_elsewhere() -> Iterator[EvidenceRow]:
    """Another correlation for glycerol, within the uncertainty that ours states."""
    for row in published("vdi_glycerol.csv"):
        ours = float(vapor.glycerol_vapor_pressure(number(row, "t_c") + _ZERO_C))
        note = "ours states 2 % as one standard uncertainty, chosen with these in view"
        yield checked(
            _OTHER_FIT,
            row,
            f"{row['t_c']} °C",
            ours,
            number(row, "glycerol_pa"),
            _TWO_PERCENT * ours,
            note=note,
            used_for_fit=True,
        )


def air_pressure() -> Iterator[EvidenceRow]:
    """Standard atmosphere by altitude."""
    for row in published("iso2533.csv"):
        ours = vapor.standard_air_pressure(number(row, "altitude_m"), check=False)
        half = half_last_digit(row["p_pa"])
        yield checked(_AIR, row, f"{row['altitude_m']} m", ours, number(row, "p_pa"), half)


def salt_humidity() -> Iterator[EvidenceRow]:
    """Greenspan's table, which stands for his polynomials by its own word."""
    for row in published("greenspan1977.csv"):
        t = number(row, "t_c") + _ZERO_C
        ours = 100.0 * humidity.salt_water_activity(row["salt"], t, check=False)
        value, digit = number(row, "rh_pct"), 2.0 * half_last_digit(row["rh_pct"])
        note = "the table cuts its last digit instead of rounding it: a whole one is allowed"
        what = f"{row['salt']}, {row['t_c']} °C"
        yield checked(_SALT, row, what, ours, value, digit, note=note)


def glycerol_baths() -> Iterator[EvidenceRow]:
    """Glycerol and water, by mass fraction and back from the water they hold."""
    for row in published("zhang2022.csv"):
        ours = humidity.glycerol_water_activity(number(row, "w_glycerol"), _ROOM)
        what = f"{row['w_glycerol']} glycerol by mass"
        value, half = number(row, "aw"), half_last_digit(row["aw"])
        miss = _BATH_MISSES.get(row["w_glycerol"], "")
        yield checked(_BATH, row, what, ours, value, half, known_miss=miss)
    for row in published("sorption_points.csv"):
        if row["material"].startswith("glycerol,"):
            ours = humidity.glycerol_water_activity(1.0 / (1.0 + number(row, "x")), _ROOM)
            what = f"{row['x']} water per glycerol"
            half = 0.005  # printed to whole percent, whatever zeros the cell has lost
            yield checked(_BATH_BACK, row, what, ours, number(row, "aw"), half)


def glass_rules() -> Iterator[EvidenceRow]:
    """Each mixing rule worked out by hand."""
    for row in published("glass_anchors.csv"):
        cells = [row[name] for name in ("w", "tg_k", "weight") if row[name]]
        ours = getattr(glass, row["rule"])(*([float(x) for x in cell.split()] for cell in cells))
        value = number(row, "expected") + (_ZERO_C if row["unit"] == "°C" else 0.0)
        what = f"{row['rule']}, w {row['w']}"
        yield checked(_RULE, row, what, ours, value, half_last_digit(row["expected"]))


def melt_law() -> Iterator[EvidenceRow]:
    """Flory-Huggins with the assumed interaction, worked out by hand."""
    for row in published("flory_huggins.csv"):
        fractions = melt_water.volume_fractions(number(row, "w_water"), number(row, "w_glycerol"))
        ours = melt_water.flory_huggins_activity(*fractions, number(row, "chi1"), check=False)
        what = f"water {row['w_water']}, glycerol {row['w_glycerol']}, chi1 {row['chi1']}"
        yield checked(_MELT, row, what, ours, number(row, "aw"), half_last_digit(row["aw"]))


def glycerol_factor() -> Iterator[EvidenceRow]:
    """The two printed factors, through which the line is drawn."""
    for row in published("enrione2007.csv"):
        ours, half = (
            sorption.glycerol_interaction(number(row, "share")),
            half_last_digit(row["factor"]),
        )
        what = f"glycerol share {row['share']}"
        yield checked(_FACTOR, row, what, ours, number(row, "factor"), half, used_for_fit=True)


def salt_solution() -> Iterator[EvidenceRow]:
    """Tabulated activities of NaCl solutions: the activity at which the water held is the same."""
    aw = np.linspace(0.75, 0.98, 2301)
    held = brine.salt_water(aw)
    for row in published("robinson1959.csv"):
        ours = np.interp(1.0 / (number(row, "molality") * 0.05844277), held, aw)
        what = f"{row['molality']} mol/kg"
        value, half = number(row, "aw"), half_last_digit(row["aw"])
        miss = _SATURATED if row["molality"] == "6" else ""
        yield checked(_BRINE, row, what, ours, value, half, known_miss=miss)


def wood_moisture() -> Iterator[EvidenceRow]:
    """The handbook's table, which its own equation gives."""
    for row in published("wood_handbook.csv"):
        t = number(row, "t_c") + _ZERO_C
        ours = sorption.hailwood_horrobin(number(row, "aw"), t, check=False)
        half = 0.0005  # printed to a tenth of a percent, whatever zeros the cell has lost
        yield checked(_WOOD, row, f"aw {row['aw']}", ours, number(row, "x"), half * 1.000001)


def component_properties() -> Iterator[EvidenceRow]:
    """The printed polynomials at 25 °C: the constants stand in two places, and agree."""
    models = {"rho": mixing.density, "cp": mixing.heat_capacity, "k": mixing.conductivity}
    for row in published("choi_okos1986.csv"):
        c0, c1, c2 = (number(row, name) for name in ("c0", "c1", "c2"))
        value = c0 + c1 * 25.0 + c2 * 25.0**2
        unit = 1e3 if row["property"] == "cp" else 1.0
        ours = models[row["property"]](row["component"], _ROOM) / unit
        subject, what = _COMPONENTS[row["property"]], f"{row['component']}, 25 °C"
        yield checked(subject, row, what, ours, value, _ROUNDING * value, used_for_fit=True)


def fiber_rule() -> Iterator[EvidenceRow]:
    """Halpin and Tsai's rule worked out by hand."""
    for row in published("fiber.csv"):
        if row["rule"] != "halpin_tsai":
            continue
        moduli = (number(row, "fiber_modulus_gpa"), number(row, "matrix_modulus_gpa"))
        ours = composites.halpin_tsai(*moduli, number(row, "phi"), number(row, "zeta"))
        what = f"fiber {row['phi']} by volume, shape factor {row['zeta']}"
        yield checked(_FIBER, row, what, ours, number(row, "low"), half_last_digit(row["low"]))
