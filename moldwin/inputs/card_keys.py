"""Every key a card may hold: its unit, what it means, and the bounds beyond which it is a slip."""

from __future__ import annotations

from typing import NamedTuple

__all__ = [
    "BENCH_KEYS",
    "COMPOSITION_KEYS",
    "FAMILIES",
    "FITNESS",
    "FITTED_FIELDS",
    "FITTED_MAY",
    "HUMIDITY_FACTS",
    "MATERIAL_KEYS",
    "MOLD_KEYS",
    "QUANTITY_FIELDS",
    "ROLES",
    "Key",
]


class Key(NamedTuple):
    """What one key of a card means.

    The bounds are not likely values: they catch degrees Celsius given as kelvin, percent given as
    a share, and lost powers of ten.
    """

    unit: str
    what: str
    low: float
    high: float


ROLES = (
    "polymer",
    "plasticizer",
    "water",
    "fiber",
    "additive",
    "comparator",
    "humidity-source",
    "mold",
    "bench",
)
FAMILIES = (
    "starch",
    "alginate",
    "seaweed",
    "galactan",
    "cellulose",
    "polyol",
    "water",
    "fiber",
    "protein",
    "acid",
    "salt",
    "fat",
    "mold",
    "bench",
)
FITNESS = ("kitchen", "gloves", "not-offered")

#: Facts a humidity source states in words, and their type.
HUMIDITY_FACTS: dict[str, type] = {
    "fitness": str,
    "oxidizer": bool,
    "formula": str,
    "safety": str,
    "buy": str,
    "never_with": str,
}

#: What a fit notes on the card it made, and its type.
FITTED_FIELDS: dict[str, type] = {
    "date": str,
    "lot": str,
    "behind": str,
    "data": str,
    "trials": int,
    # ids of all trials that the card knows of, its own and those of the card it started from
    "counted": str,
}
#: What cards of an older moldwin do not note.
FITTED_MAY = ("counted",)

#: Fields one value may carry, and their type (float stands for any finite number).
QUANTITY_FIELDS: dict[str, type] = {
    "value": float,
    "unit": str,
    "u": float,
    "factor": float,
    "low": float,
    "high": float,
    "log": bool,
    "u_from": str,
    "printed": str,
    "conditions": str,
    "source": str,
    "where": str,
    "status": str,
    "alternatives": list,
}

MATERIAL_KEYS: dict[str, Key] = {
    "tg_dry": Key("K", "glass transition without water", 100.0, 700.0),
    "tg_misfit": Key("K", "what the mixing rule misses for this material", -80.0, 80.0),
    "k_water": Key("1", "weight of water in this polymer's mixing rule", 0.5, 20.0),
    "k_starch": Key("1", "weight of this plasticizer in starch's mixing rule", 0.3, 20.0),
    "moisture": Key("kg/kg", "water in it as sold, of the whole", 0.0, 0.99),
    "xm": Key("kg/kg", "monolayer water of the isotherm, of dry mass", 0.005, 0.5),
    "c": Key("1", "GAB constant C of the isotherm", 0.1, 500.0),
    "k": Key("1", "GAB constant K of the isotherm", 0.3, 1.1),
    "isotherm_t": Key("K", "temperature at which the isotherm was taken", 260.0, 380.0),
    "desorption_extra": Key("1", "water held more when dried down, as a share", -0.5, 1.0),
    "uptake_relative": Key("1", "water taken up per gram, glycerol being 1", 0.0, 3.0),
    "melt_viscosity": Key(
        "Pa.s", "melt viscosity at 100 1/s, 160 C, 15 % water, no plasticizer", 1.0, 1e6
    ),
    "flow_index": Key("1", "power-law index of the melt", 0.05, 1.0),
    "flow_activation": Key("K", "how fast the melt thins with heat, E/R", 500.0, 20000.0),
    "flow_water": Key("1", "how fast the melt thins with water", 0.0, 60.0),
    "flow_plasticizer": Key("1", "how fast the melt thins with plasticizer", 0.0, 60.0),
    "browning_limit": Key("s", "time at 150 C until quality suffers", 1.0, 1e5),
    "browning_activation": Key("J/mol", "how fast browning speeds up with heat", 3e4, 3e5),
    "browning_speedup": Key("1", "times faster browning with this added", 1.0, 100.0),
    "melting_dry": Key("K", "melting of dry granules", 350.0, 600.0),
    "melting_heat": Key("J/mol", "melting heat of the repeat unit", 5e3, 2e5),
    "gelatinization_peak": Key("K", "gelatinizes fastest, in much water", 313.15, 383.15),
    "diffusivity_factor": Key("1", "water diffusion against dense pasta-like starch", 1e-3, 1e3),
    "glass_modulus": Key("Pa", "stiffness as a glass", 1e7, 1e11),
    "rubber_modulus": Key("Pa", "stiffness as a rubber", 1e4, 1e10),
    "scorch_t": Key("K", "temperature from which it scorches", 373.15, 673.15),
    "fume_t": Key("K", "temperature from which it gives harmful vapor", 323.15, 673.15),
    "density": Key("kg/m3", "density of the dry material itself", 300.0, 5000.0),
    "molar_mass": Key("kg/mol", "molar mass", 0.001, 5.0),
    "dissolved_share": Key("1", "share of the gel that melts after cooking in water", 0.0, 1.0),
    "mannitol_dissolved_share": Key("1", "share of the mannitol not crystallized", 0.0, 1.0),
    "soluble_salt_share": Key("1", "share of the ash that is soluble salt", 0.0, 1.0),
    "rinse_left": Key("1", "share of the soluble salt left after rinsing", 0.0, 1.0),
    "phase_separation_share": Key("kg/kg", "per dry polymer, above which it separates", 0.0, 2.0),
    "antiplasticization_share": Key("kg/kg", "per dry polymer, below which it stiffens", 0.0, 1.0),
    "crosslink_share": Key("kg/kg", "per alginate, above which it no longer melts", 0.0, 1.0),
    "longest_useful": Key("1", "largest share of the blend in which it still helps", 0.0, 1.0),
    "fiber_modulus": Key("Pa", "stiffness of a single fiber along itself", 1e8, 1e12),
    "fiber_strength": Key("Pa", "strength of a single fiber along itself", 1e6, 1e10),
    "fiber_length": Key("m", "length of a fiber in the part", 1e-6, 0.1),
    "fiber_diameter": Key("m", "diameter of a fiber in the part", 1e-7, 1e-3),
}

COMPOSITION_KEYS: dict[str, Key] = {
    "starch": Key("kg/kg", "starch, of dry mass", 0.0, 1.0),
    "alginate": Key("kg/kg", "alginate, of dry mass", 0.0, 1.0),
    "fucoidan": Key("kg/kg", "fucoidan, of dry mass", 0.0, 1.0),
    "laminarin": Key("kg/kg", "laminarin, of dry mass", 0.0, 1.0),
    "galactan": Key("kg/kg", "agar or carrageenan, of dry mass", 0.0, 1.0),
    "cellulose": Key("kg/kg", "cellulose, of dry mass", 0.0, 1.0),
    "fiber": Key("kg/kg", "plant fiber, of dry mass", 0.0, 1.0),
    "protein": Key("kg/kg", "protein, of dry mass", 0.0, 1.0),
    "ash": Key("kg/kg", "ash, of dry mass", 0.0, 1.0),
    "mannitol": Key("kg/kg", "mannitol, of dry mass", 0.0, 1.0),
    "fat": Key("kg/kg", "fat or wax, of dry mass", 0.0, 1.0),
    "acid": Key("kg/kg", "acid, of dry mass", 0.0, 1.0),
    "water": Key("kg/kg", "water, of the mass as sold", 0.0, 0.99),
}

#: What a mold is made of.
MOLD_KEYS: dict[str, Key] = {
    "conductivity": Key("W/m/K", "how well it leads heat", 0.01, 500.0),
    "volumetric_heat": Key("J/m3/K", "heat it takes up, by volume", 1e5, 1e7),
    "temperature_max": Key("K", "hottest it may be", 293.15, 1273.15),
}

BENCH_KEYS: dict[str, dict[str, Key]] = {
    "press": {
        "heater_error": Key("K", "true barrel minus set point", -60.0, 60.0),
        "heater_swing": Key("K", "how far the wall swings either way", 0.0, 50.0),
        "heater_period": Key("s", "of one swing of the wall", 0.1, 1e4),
        "fume_margin": Key("K", "kept below where plasticizer fumes", 0.0, 100.0),
        "force_share": Key("1", "share of the pressure that passes the cold plug", 0.01, 1.0),
        "weld_offset": Key("K", "above Tg at which pellets weld", 0.0, 150.0),
        "loose_diffusivity": Key("m2/s", "how fast heat enters loose pellets", 1e-9, 1e-6),
        "loose_conductivity": Key("W/m/K", "conductivity of a loose bed of pellets", 0.01, 1.0),
        "wall_transfer": Key("W/m2/K", "heat transfer from the barrel wall", 10.0, 1e5),
        "handling_time": Key("s", "between soak and full pressure", 0.0, 3600.0),
        "flow_time_longest": Key("s", "longest that anyone leans on the ram", 0.1, 3600.0),
        "patience_soak": Key("s", "longest soak anyone waits for", 10.0, 1e5),
        "cushion_share": Key("1", "extra charge left before the ram", 0.0, 1.0),
        "loose_fill_share": Key("1", "solid share of a loose fill of pellets", 0.1, 0.9),
        "compacted_share": Key("1", "solid share of cold pellets after a stroke", 0.1, 1.0),
        "barrel_fill_low": Key("1", "smallest useful fill of the barrel", 0.0, 1.0),
        "barrel_fill_high": Key("1", "largest useful fill of the barrel", 0.0, 1.0),
        "melt_density_factor": Key("1", "true melt density over the mixing rule's", 0.5, 1.5),
        "nozzle_diameter": Key("m", "bore of the nozzle", 2e-4, 0.05),
        "nozzle_length": Key("m", "length of the bore", 2e-4, 0.5),
        "entrance_radii": Key("1", "entrance loss of the nozzle, in radii of its bore", 0.0, 50.0),
        "heater_max": Key("K", "hottest the heater goes", 323.15, 723.15),
        "force": Key("N", "force on the plunger", 1.0, 1e7),
        "plunger_diameter": Key("m", "diameter of the plunger", 1e-3, 0.5),
        "packing_share": Key("1", "share of the filling pressure held while packed", 0.0, 1.0),
    },
    "mold": {
        "contact": Key("W/m2/K", "heat transfer from melt to mold", 10.0, 1e5),
        "eject_modulus": Key("Pa", "stiffness a part needs to come out whole", 1e4, 1e10),
        "modulus_drop": Key("K", "width of the softening about Tg", 1.0, 200.0),
        "steam_margin": Key("K", "core below steam onset at opening", 0.0, 50.0),
        "cooling_longest": Key("s", "longest cooling anyone waits for", 1.0, 1e5),
        "temperature_max": Key("K", "hottest useful mold", 273.15, 523.15),
        "wall": Key("m", "mold material behind the part", 1e-4, 1.0),
        "gate_length": Key("m", "length of the gate along the flow", 1e-5, 0.1),
        "gate_aspect": Key("1", "width of the gate over its thickness", 0.5, 100.0),
        "runner_over_wall": Key("m", "how much wider than the wall its runner is", -0.01, 0.05),
        "dew_margin": Key("K", "mold above the room's dew point", 0.0, 30.0),
    },
    "jar": {
        "slurry_area": Key("m2", "open surface of the humidity source", 1e-5, 1.0),
        "air_gap": Key("m", "still air between source and pellets", 1e-4, 2.0),
        "bed_area": Key("m2", "area of the pellet bed", 1e-5, 1.0),
        "convection": Key("1", "transport against still air", 0.5, 100.0),
        "voids": Key("1", "what the voids of a bed pass over free air", 0.01, 1.0),
        "isotherm_factor": Key("1", "true equilibrium water over the mixing rule's", 0.3, 3.0),
        "sorption_heat_factor": Key("1", "true net heat of sorption over the curve's", 0.25, 4.0),
        "series_factor": Key("1", "correction on the jar's resistance", 0.05, 20.0),
        "source_depth_kg": Key("kg", "mass of the humidity source", 1e-3, 100.0),
    },
    "part": {
        "drying_drop": Key("kg/kg", "drop of moisture a 3 mm part bears", 0.0, 0.6),
        "brittle_offset": Key("K", "use this far below Tg is brittle", 0.0, 300.0),
        "fuse_offset": Key("K", "above Tg at which pellets fuse in the bag", 0.0, 200.0),
        "stick_offset": Key("K", "above Tg at which the surface sticks", 0.0, 200.0),
        "soft_modulus": Key("Pa", "stiffness below which a part is too soft", 1e4, 1e10),
        "thickness": Key("m", "wall of the part when none is given", 1e-4, 0.1),
        "cooling_contraction": Key("1", "linear shrinkage on cooling", 0.0, 0.1),
        "strength_at_10_mpa": Key("Pa", "strength of a part with a modulus of 10 MPa", 1e5, 1e8),
        "interface_shear": Key("Pa", "shear stress that fiber and matrix hold", 1e4, 1e9),
        "fiber_orientation": Key("1", "share of the fibers' strength along a pull", 0.05, 1.0),
        "fiber_left": Key("1", "length of a fiber in the part over that as cut", 0.01, 1.0),
        "fiber_passage": Key("1", "longest fiber over the narrowest passage", 0.05, 10.0),
    },
    "room": {
        "temperature": Key("K", "of the room", 253.15, 323.15),
        "humidity": Key("1", "relative humidity of the room", 0.0, 1.0),
        "altitude": Key("m", "above the sea", -500.0, 6000.0),
        "mold_growth_aw": Key("1", "water activity above which mold may grow", 0.4, 1.0),
    },
    "pot": {
        "water_per_dry": Key("kg/kg", "water in the pot per dry ingredients", 0.5, 50.0),
        "cook_t": Key("K", "of the gel as it is cooked", 313.15, 403.15),
        "cook_time": Key("s", "time on the heat", 60.0, 86400.0),
        "surface_shape": Key("1", "open surface over volume to the two thirds", 0.3, 20.0),
        "film": Key("m/s", "how fast vapor leaves that surface, with its lid", 1e-5, 0.1),
        "heat": Key("W", "most heat that goes into steam", 1.0, 1e4),
        "pan_loss": Key("1", "share of the gel left in pot and on tools", 0.0, 0.9),
        "trim_loss": Key("1", "share of the dry sheet lost as trimmings and dust", 0.0, 0.9),
        "gelatinization_peak": Key("K", "of a starch whose card has none", 313.15, 383.15),
        "onset_before_peak": Key("K", "from first swelling to the peak", 0.0, 30.0),
        "end_after_peak": Key("K", "from the peak to the last granules", 0.0, 40.0),
        "plasticizer_shift": Key("K", "rise of the peak per share of the liquid", 0.0, 200.0),
        "water_whole": Key("kg/kg", "water per dry polymer in which all granules go", 0.5, 5.0),
        "water_none": Key("kg/kg", "water per dry polymer below which none go", 0.0, 2.0),
        "aim_flexible": Key("K", "room above Tg where a part bends", -50.0, 100.0),
        "aim_firm": Key("K", "room above Tg where a part is firm", -150.0, 50.0),
    },
    "use": {
        "humidity_low": Key("1", "driest air a part lives in", 0.0, 1.0),
        "humidity_high": Key("1", "dampest air a part lives in", 0.0, 1.0),
        "temperature_low": Key("K", "coldest air a part lives in", 213.15, 423.15),
        "temperature_high": Key("K", "warmest air a part lives in", 213.15, 423.15),
        "time": Key("s", "until the part is judged", 3600.0, 6e8),
        "air_layer": Key("m", "still air round a part", 1e-4, 0.1),
        "crystal_slowing": Key("1", "rate of crystallization in a dry part", 0.001, 1.0),
        "stiffening_aw": Key("1", "water activity at which antiplasticization ends", 0.3, 1.0),
        "stiffening_most": Key("1", "times stiffer a glass gets by it", 1.0, 5.0),
        "embrittling_most": Key("K", "as if so much colder, by it", 0.0, 100.0),
        "ageing_per_decade": Key("K", "as if so much colder, per decade of ageing", 0.0, 50.0),
        "crystal_time": Key("s", "time constant of crystals 40 K above Tg", 3600.0, 1e9),
        "crystal_gain": Key("1", "crystalline share of the starch still to come", 0.0, 1.0),
        "crystal_growth": Key("1", "ln of the stiffness per crystalline share", 0.0, 50.0),
    },
    "trial": {
        "lot_widening": Key("1", "times wider a fit of one lot holds for another", 1.0, 10.0),
        "lapse": Key("1", "share of outcomes noted wrongly or due to something else", 0.0, 0.5),
        "lapse_other": Key("1", "the same for bubbles, sticking and cracks", 0.0, 0.5),
        "fill_scatter": Key("1", "from trial to trial, of ln of the pressure needed", 0.01, 3.0),
        "fill_reading": Key("1", "how well a filled share is read", 0.001, 0.3),
        "mass_scatter": Key("1", "of a full part's mass, as a share", 0.001, 0.3),
        "color_eye": Key("1", "browning dose where honey turns to toffee", 0.05, 20.0),
        "color_step": Key(
            "1", "times more browning dose from one color step to the next", 1.1, 20.0
        ),
        "color_scatter": Key("1", "of a color as read, in ln of the dose", 0.01, 3.0),
        "steam_scatter": Key("1", "of where foam begins, in ln of the steam pressure", 0.01, 3.0),
        "core_scatter": Key("K", "of the core's temperature where blisters begin", 0.1, 100.0),
        "core_time_scatter": Key("1", "of the time a core takes to cool, in its ln", 0.01, 3.0),
        "stick_scatter": Key("K", "of the temperature from which a part sticks", 0.1, 100.0),
        "crack_scatter": Key("kg/kg", "of the drop of moisture that cracks", 0.001, 0.3),
        "brittle_scatter": Key("K", "of where a part turns brittle", 0.1, 100.0),
        "browned_sticks": Key("1", "share of browned parts that stick", 0.0, 1.0),
        "weld_scatter": Key(
            "K", "scatter of where pellets weld, from charge to charge", 0.1, 100.0
        ),
        "brittle_cracks": Key("1", "share of brittle parts that crack by themselves", 0.0, 1.0),
        "bend_brittle": Key("1", "strain at break where a part turns brittle", 1e-3, 0.5),
        "bend_at_tg": Key("1", "strain at break at the glass transition", 0.01, 5.0),
        "bend_scatter": Key("1", "of a strain at break, in its ln", 0.01, 3.0),
        "bend_reading": Key("m", "bend radius below which a part is folded flat", 1e-5, 0.05),
    },
    "sheet": {
        "film": Key("m/s", "vapor transfer over a wet sheet in a room", 1e-4, 0.2),
        "fan_factor": Key("1", "times faster with a fan", 1.0, 50.0),
        "cover_share": Key("1", "share that passes a cloth over the sheet", 0.01, 1.0),
        "radiation": Key("W/m2/K", "heat by radiation", 0.0, 20.0),
        "underside": Key("1", "heat through the plate over that from above", 0.0, 1.0),
        "free_diffusivity": Key("1", "water in the wet gel against water itself", 1e-3, 10.0),
        "spread": Key("m", "wet thickness when none is given", 5e-5, 0.1),
        "gel_modulus": Key("Pa", "stiffness of a gel with a tenth solids", 10.0, 1e7),
        "gel_toughness": Key("J/m2", "tearing energy of such a gel", 0.01, 1e4),
        "leather_toughness": Key("J/m2", "tearing energy of a leathery sheet", 1.0, 1e6),
        "glass_toughness": Key("J/m2", "tearing energy of a glassy sheet", 1.0, 1e6),
        "crack_shape": Key("1", "geometry of the crack that runs first", 0.5, 10.0),
        "stress_kept": Key("1", "share of hindered shrinkage left as stress", 0.0, 1.0),
        "relaxation": Key("1", "power of time with which stress creeps away", 0.0, 0.3),
        "adhesion": Key("J/m2", "energy that parts sheet and plate", 0.01, 1e4),
        "mold_time": Key("s", "until mold shows on a wet sheet", 3600.0, 1e8),
        "tear_scatter": Key("1", "from sheet to sheet, of ln of the spread", 0.01, 3.0),
    },
    "melt": {
        "chi1": Key("1", "Flory-Huggins interaction at no water", 0.0, 3.0),
        "conductivity": Key("W/m/K", "heat conductivity of the melt", 0.01, 2.0),
        "heat_capacity_factor": Key("1", "true heat capacity over the mixing rule's", 0.3, 3.0),
        "solids_packing": Key("1", "volume share at which solids jam", 0.2, 0.9),
        "expansion": Key("1/K", "volume expansion of the melt", 0.0, 5e-3),
        "compressibility": Key("1/Pa", "volume lost by the melt under pressure", 0.0, 1e-8),
        "tg_misfit": Key("K", "what the mixing rule misses", -60.0, 60.0),
        "tg_prime": Key("K", "glass transition where ice forms", 200.0, 280.0),
    },
}
