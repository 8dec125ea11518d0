"""The law behind each remark and each limit, in words and symbols, and the numbers it takes."""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["LAWS", "LAW_OF", "Law"]


class Law(NamedTuple):
    """When a limit holds, and by what the numbers that go into it end."""

    title: str
    says: str
    takes: tuple[str, ...] = ()


_TG = (".tg_dry", ".k_water", ".k_starch", ".tg_misfit")
_WATER = ("pellets.moisture",)
_WARMING = (
    "press.wall_transfer",
    "press.loose_diffusivity",
    "press.loose_conductivity",
    "press.heater_error",
    "melt.heat_capacity_factor",
)
_FORCE = ("press.force", "press.force_share", "press.loose_fill_share", "press.cushion_share")
_ISOTHERM = (
    ".xm",
    ".c",
    ".k",
    ".uptake_relative",
    "jar.isotherm_factor",
    "jar.sorption_heat_factor",
)
_ROOM = ("room.temperature", "room.humidity")
_STIFF = (".glass_modulus", ".rubber_modulus", "mold.modulus_drop")

#: The laws by name. Fine means: the limit holds for that sample.
LAWS: dict[str, Law] = {
    "glass": Law(
        "Glass transition",
        "Tg = sum(k w Tg) / sum(k w) over polymer, plasticizer and water, each with its weight k"
        " (1 for a polymer), plus what this rule misses (Gordon and Taylor 1952). Many of the laws"
        " below start from it.",
        (*_TG, *_WATER, ".dissolved_share", "blend.softening_moisture"),
    ),
    "weld": Law(
        "Pellets weld",
        "Fine while the middle of the charge is warmer than Tg + weld_offset. The middle follows"
        " the barrel wall by its heat transfer and the heat conduction of loose pellets.",
        ("press.weld_offset", *_WARMING),
    ),
    "fill": Law(
        "The melt fills the mold",
        "Fine while force / plunger area, times what passes pellets that are not molten yet, is"
        " above the pressure that nozzle, runner, gate and part take. The melt is a power law:"
        " eta = K rate^(n-1), with ln K = ln melt_viscosity + flow_activation (1/T - 1/433 K)"
        " - flow_water (w_water - 0.15) - flow_plasticizer w_plasticizer - (n-1) ln 100; solids"
        " thicken it, and below Tg + 50 K it stiffens as WLF says.",
        (
            ".melt_viscosity",
            ".flow_activation",
            ".flow_water",
            ".flow_plasticizer",
            ".flow_index",
            "melt.solids_packing",
            *_FORCE,
            "press.plunger_diameter",
            "press.nozzle_diameter",
            "press.nozzle_length",
            "press.entrance_radii",
            "press.flow_time_longest",
            "mold.runner_over_wall",
        ),
    ),
    "freeze": Law(
        "The melt stays warm while it fills, and while its core cools",
        "Fine while the mean temperature of the melt stays above Tg + weld_offset until the mold is"
        " full; where a gate is described, while its middle does so until the core is below its"
        " steam onset.",
        (
            "press.weld_offset",
            "press.flow_time_longest",
            "mold.steam_margin",
            "melt.heat_capacity_factor",
        ),
    ),
    "granules": Law(
        "Uncooked granules melt",
        "1/Tm = 1/Tm0 + R/dH (Vu/V1) (f - chi f^2), f the volume share of water (Flory). Fine while"
        " the middle of the charge is warmer than Tm.",
        (".melting_dry", ".melting_heat"),
    ),
    "browning": Law(
        "Browning clock",
        "t_limit = browning_limit exp(browning_activation / R (1/T - 1/423 K)). Fine while the time"
        " that the skin of the charge is hot, handling included, times earlier passes and the"
        " effect of acid, is below t_limit; the heater's swing counts.",
        (
            ".browning_limit",
            ".browning_activation",
            ".browning_speedup",
            "press.handling_time",
            "press.heater_error",
            "press.heater_swing",
            "press.heater_period",
        ),
    ),
    "scorch": Law(
        "Fiber",
        "Fine while the barrel wall is colder than scorch_t of every fiber.",
        (".scorch_t", "press.heater_error"),
    ),
    "fumes": Law(
        "Fumes",
        "Fine while the barrel wall is colder than fume_t of every plasticizer, less fume_margin.",
        (".fume_t", "press.fume_margin", "press.heater_error"),
    ),
    "steam": Law(
        "Steam",
        "Steam starts where a_water(T) psat(T) passes the pressure of the air; psat by IAPWS-IF97,"
        " a_water of the melt by Flory and Huggins with chi1. Shut and packed it is held down while"
        " a_water psat is below the air's pressure + packing_share x the pressure at the melt.",
        ("melt.chi1", "press.packing_share", "room.altitude", *_WATER, *_FORCE),
    ),
    "heater": Law(
        "Heater",
        "Fine while the set point is not above heater_max.",
        ("press.heater_max",),
    ),
    "fuse": Law(
        "Pellets stay apart in the bag",
        "Fine while T_room - Tg is below fuse_offset.",
        ("part.fuse_offset", "room.temperature"),
    ),
    "sticky": Law(
        "Pellets and part do not stick",
        "Fine while T_room - Tg is below stick_offset.",
        ("part.stick_offset", *_ROOM),
    ),
    "soft": Law(
        "The part keeps its shape, in the mold and in its room",
        "The modulus falls from glass_modulus to rubber_modulus over modulus_drop about Tg. Fine"
        " while it is above soft_modulus in the room, and above eject_modulus in the mold.",
        (*_STIFF, "part.soft_modulus", "mold.eject_modulus", "room.temperature"),
    ),
    "drying-cracks": Law(
        "The part does not warp or crack as it dries",
        "Fine while w_molded - w_room is below drying_drop sqrt(3 mm / wall).",
        ("part.drying_drop", *_ISOTHERM, "room.humidity"),
    ),
    "mold-growth": Law(
        "No mold grows",
        "Fine while the water activity, by the isotherm, or the humidity of the room is below"
        " mold_growth_aw.",
        ("room.mold_growth_aw", *_ISOTHERM, "room.humidity"),
    ),
    "hot-core": Law(
        "The core cools",
        "Fine while the time until the core is steam_margin below its steam onset, by conduction in"
        " the part and its mold, is below cooling_longest.",
        (
            "mold.cooling_longest",
            "mold.steam_margin",
            "melt.heat_capacity_factor",
            "melt.conductivity",
            "mold.contact",
        ),
    ),
    "brittle": Law(
        "The part bends",
        "Fine while Tg - T_room, and in dry air up to embrittling_most more for a little"
        " plasticizer, is below brittle_offset.",
        (
            "part.brittle_offset",
            "use.embrittling_most",
            "use.stiffening_aw",
            ".antiplasticization_share",
            *_ROOM,
        ),
    ),
    "condensation": Law(
        "The mold stays dry",
        "Fine while the mold is warmer than the dew point of the room + dew_margin.",
        ("mold.dew_margin", *_ROOM),
    ),
    "separation": Law(
        "Plasticizer stays in the blend",
        "Fine while plasticizer / dry polymer is below phase_separation_share: each plasticizer's"
        " own, by its share of them.",
        (".phase_separation_share",),
    ),
    "antiplasticization": Law(
        "A little plasticizer stiffens",
        "Said where plasticizer / dry polymer is below antiplasticization_share (each plasticizer's"
        " own, by its share of them), in a room drier than stiffening_aw.",
        (".antiplasticization_share", "use.stiffening_aw", "room.humidity"),
    ),
    "crosslinked": Law(
        "Calcium binds alginate",
        "Said where more than half of the alginate is bound.",
        (".crosslink_share",),
    ),
    "salt": Law(
        "Salt",
        "Said where ash x soluble_salt_share, x rinse_left if it was washed, is above 2 % of the"
        " dry mass.",
        (".composition.ash", ".soluble_salt_share", ".rinse_left"),
    ),
    "protein": Law(
        "Protein",
        "Said from 15 % protein in the dry mass on; a stop from 30 %.",
        (".composition.protein",),
    ),
    "unmeasured": Law(
        "Nobody measured it",
        "Said where 5 % or more of what melts has a dry glass transition that is only assumed.",
        (".tg_dry",),
    ),
    "extrapolated": Law(
        "Beyond what is published",
        "Said where samples lie outside the range that a law was fitted to; computed all the same.",
        _WATER,
    ),
    "clamp": Law(
        "The mold stays shut",
        "Fine while projected area x cavities x packing_share x the pressure at the melt is below"
        " the clamp's force.",
        ("press.packing_share", *_FORCE),
    ),
    "shot": Law(
        "The charge suits the barrel",
        "(shot + cushion + nozzle) / barrel's volume, held against 20 to 80 %.",
        ("press.barrel_fill_low", "press.barrel_fill_high", "press.cushion_share"),
    ),
    "oven": Law(
        "Glycerol leaves with the water",
        "What an oven takes from a sample is water and glycerol; the glycerol is taken off by its"
        " vapor pressure.",
        _WATER,
    ),
    "rule": Law("Rules of the workshop", "No number stands behind these: they always hold."),
}

#: The law behind each code of a remark and each name of a limit.
LAW_OF: dict[str, str] = {
    "acid-browning": "browning",
    "antiplasticization": "antiplasticization",
    "brittle": "brittle",
    "browning": "browning",
    "condensation": "condensation",
    "crosslinked": "crosslinked",
    "degradation": "browning",
    "drying-cracks": "drying-cracks",
    "dust": "rule",
    "extrapolated": "extrapolated",
    "fiber-scorch": "scorch",
    "fill": "fill",
    "flash": "clamp",
    "freeze-off": "freeze",
    "fume": "fumes",
    "fumes": "fumes",
    "glycerol-read-as-water": "oven",
    "granules": "granules",
    "granules-unmelted": "granules",
    "heater": "heater",
    "heater-limit": "heater",
    "held-too-long": "browning",
    "hot-core": "hot-core",
    "hot-metal": "rule",
    "mold-growth": "mold-growth",
    "not-polysaccharide": "protein",
    "oxidizer": "rule",
    "pellets-fuse": "fuse",
    "phase-separation": "separation",
    "salt-corrosion": "salt",
    "short-shot": "fill",
    "shot-size": "shot",
    "soft-part": "soft",
    "steam": "steam",
    "sticky": "sticky",
    "too-stiff-to-fill": "fill",
    "unmeasured-material": "unmeasured",
    "weld": "weld",
}
