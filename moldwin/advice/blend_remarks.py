"""Remarks on the blend, on what is unknown about it, and on its life in the room."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from moldwin.advice.sharing import MANY, PRACTICE, SOME
from moldwin.advice.situation import Found
from moldwin.base.percentiles import in_words, share
from moldwin.base.remarks import Remark
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend
from moldwin.stages.browning import acid_speedup
from moldwin.stages.fiber import cut_length, longest_fiber
from moldwin.stages.loading import loading, separates, stiffens_in_room
from moldwin.stages.moisture import AW_TOP
from moldwin.stages.room import room_humidity
from moldwin.stages.service import settled_margins
from moldwin.stages.softening import ICE_FROM
from moldwin.window import judge
from moldwin.window.windows import Setup

__all__ = ["blend_remarks", "moisture_remarks", "protein_remarks"]

#: Plasticizer of the dry mass up to which the interaction of isotherms is published. [kg/kg]
_INTERACTION_TOP = 0.20
#: Protein of the dry solids from which the polysaccharide laws mislead, and do not hold (assumed).
_PROTEIN = (0.15, 0.30)
#: Polymer without a published glass transition matters from this share of the polymer (assumed).
_UNMEASURED = 0.05

_MOISTURE_WORDS = {
    "pellets-fuse": (
        "pellets-fuse",
        "Pellets may fuse in the jar: they are far above their glass transition at room "
        "temperature",
    ),
    "sticky": ("sticky", "Pellets and part may be sticky at room temperature"),
    "mold-growth": (
        "mold-growth",
        "Damp enough for mold to grow if kept: use within two days, or keep cold",
    ),
    "brittle": ("brittle", "The part may be brittle: it is far below its glass transition"),
}
_GROWTH = "water activity 0.65 to 0.80, assumed; storage at 0.65 is safe (Abdullah 2000, read)"

#: What the part does in its room, and from which share of samples that is worth a word.
_SETTLED = (
    ("sticky", "gets sticky", SOME),
    ("soft-part", "gets too soft to keep its shape", MANY),
)
#: Wax and baking soda of the dry mass from which they are worth a word (read; assumed).
_WAX, _SODA = 0.10, 0.005


def blend_remarks(setup: Setup, found: Found) -> Iterator[Remark]:
    """Everything worth saying about the material itself."""
    for part in (_blend, _additives, _material, _moisture, _room):
        yield from part(setup, found)


def moisture_remarks(setup: Setup, found: Found) -> Iterator[Remark]:
    """What one moisture does to stored pellets and to the reach of the laws."""
    yield from _extrapolated(setup, found.window.state)
    yield from _moisture(setup, found)


def protein_remarks(bench: Bench, blend: Blend) -> Iterator[Remark]:
    """Whether so much of the blend is protein that the laws of polysaccharides do not hold."""
    protein = np.broadcast_to(blend.protein, (bench.count,))
    if share(protein > _PROTEIN[1]) >= MANY:
        yield Remark(
            "not-polysaccharide",
            "stop",
            f"About {100 * np.median(protein):.0f} % of the dry mass is protein. Proteins "
            "crosslink when hot"
            " and want a cool barrel and a hot mold: nothing here holds for them.",
            "blend",
            "pea protein molded at 50 °C barrel, 130 °C mold (read); limit assumed",
        )
    elif share(protein > _PROTEIN[0]) >= SOME:
        yield Remark(
            "not-polysaccharide",
            "caution",
            "A good part of the dry mass may be protein, which sets when hot and flows worse "
            "with time.",
            "blend",
            "limit assumed",
        )


def _blend(setup: Setup, found: Found) -> Iterator[Remark]:
    bench, blend = setup.bench, setup.material.blend
    yield from protein_remarks(bench, blend)
    if blend.plasticizers:
        there, apart = np.median(loading(bench, blend)), share(separates(bench, blend))
        if apart >= SOME:
            yield Remark(
                "phase-separation",
                "caution",
                f"{100 * there:.0f} g plasticizer per 100 g dry polymer: some may"
                f" separate and sweat out ({in_words(apart)}); the glass transition is then that of"
                " the stiffer phase.",
                "blend",
                "glycerol: Bergo 2006-2010 (from memory); others assumed",
            )
        if share(stiffens_in_room(bench, blend)) >= MANY:
            yield Remark(
                "antiplasticization",
                "info",
                "This little plasticizer in a dry room can make the part stiffer and more brittle,"
                " although it softens at a lower temperature.",
                "blend",
                "Shimazu; Chang 2006; Myllärinen 2002 (from memory)",
            )
    if share(np.asarray(blend.crosslinked) > MANY) >= SOME:
        yield Remark(
            "crosslinked",
            "caution",
            "Calcium holds most of the alginate together: it will not melt again. Leave the "
            "calcium out of"
            " the pot and dip the finished part instead.",
            "blend",
            "from memory",
        )
    acid = np.broadcast_to(acid_speedup(bench, blend), (bench.count,))
    if share(acid > 1.2) >= MANY:
        yield Remark(
            "acid-browning",
            "caution",
            f"The acid browns the blend about {np.median(acid):.1f} times sooner and cuts the "
            "starch shorter.",
            "blend",
            "from memory; factor assumed",
        )
    salt = np.broadcast_to(blend.salt, (bench.count,))
    if share(salt > 0.02) >= SOME:
        yield Remark(
            "salt-corrosion",
            "info",
            f"About {100 * np.median(salt):.0f} % of the dry mass is soluble salt, which rusts"
            " steel: rinse and dry mold and barrel the same day.",
            "blend",
            PRACTICE,
        )


def _additives(setup: Setup, found: Found) -> Iterator[Remark]:
    """What kitchens add and no law here reckons with."""
    blend, count = setup.material.blend, (setup.bench.count,)
    wax = np.broadcast_to(blend.dry_share_of("beeswax"), count)
    if share(wax > _WAX) >= SOME:
        yield Remark(
            "phase-separation",
            "caution",
            f"Wax is {100 * np.median(wax):.0f} % of the dry mass: from about 10 % on it no longer"
            " softens the blend but lies in it as drops, weakens it and sweats out.",
            "blend",
            "wax above 10 % stops plasticizing (read)",
        )
    yield from _long_fiber(setup)
    soda = np.broadcast_to(blend.dry_share_of("baking-soda"), count)
    if share(soda > _SODA) >= SOME:
        yield Remark(
            "extrapolated",
            "caution",
            f"Baking soda, {100 * np.median(soda):.1f} % of the dry mass, gives off gas when hot:"
            " the part foams and the nozzle spits. Nothing here reckons with that gas.",
            "blend",
            "gives off carbon dioxide from about 80 °C (from memory); limit assumed",
        )


def _long_fiber(setup: Setup) -> Iterator[Remark]:
    """Fiber that the job says is cut longer than what passes into the part."""
    bench = setup.bench
    longest, passage = longest_fiber(bench, setup.geometry)
    for entry in setup.material.blend.fibrous:
        cut = cut_length(bench, entry.card.name)
        if cut is None or share(longest < cut) < MANY:
            continue
        yield Remark(
            "short-shot",
            "caution",
            f"{entry.card.title} cut to {1e3 * cut:.2g} mm may bridge the {passage}, which lets"
            f" about {1e3 * np.median(longest):.1f} mm pass"
            f" ({in_words(share(longest < cut))}): cut it shorter.",
            "molding",
            f"half of the narrowest passage, a factor of 2 either way; {PRACTICE}",
        )


def _room(setup: Setup, found: Found) -> Iterator[Remark]:
    """What becomes of the part once it has settled in its room, however it was molded."""
    bench, material, room_w = setup.bench, setup.material, setup.room_w
    grows = share(room_humidity(bench) > bench.typical("room", "mold_growth_aw"))
    humidity = 100.0 * np.median(room_humidity(bench))
    if grows >= SOME:
        yield Remark(
            "mold-growth",
            "caution",
            f"A room at {humidity:.0f} % humidity is damp enough for mold to grow on the part"
            f" ({in_words(grows)}).",
            "service",
            _GROWTH,
        )
    settled = replace(
        found.window.state, w_water=room_w, tg=material.glass_transition(room_w), nominal=np.nan
    )
    margins = settled_margins(bench, material.blend, settled)
    for name, words, enough in _SETTLED:
        part = 1.0 - float(judge.chance({name: margins[name]}))
        if part >= enough:
            water = 100.0 * np.median(room_w)
            yield Remark(
                "sticky",
                "caution",
                f"In its room the part comes to about {water:.0f} % water and {words}"
                f" ({in_words(part)}).",
                "service",
                "limit assumed",
            )
            return


def _material(setup: Setup, found: Found) -> Iterator[Remark]:
    blend, state = setup.material.blend, found.window.state
    total = np.maximum(blend.polymer, 1e-12)
    unknown = sum(
        (e.share for e in blend.polymers if e.card["tg_dry"].status == "assumed"),
        start=np.zeros(setup.bench.count),
    )
    if share(unknown / total > _UNMEASURED) >= SOME:
        names = sorted(
            {e.card.title for e in blend.polymers if e.card["tg_dry"].status == "assumed"}
        )
        yield Remark(
            "unmeasured-material",
            "caution",
            f"No glass transition is published for {' and '.join(names)}, about"
            f" {100 * np.median(unknown / total):.0f} % of what melts: a wide guess stands in until"
            " you bend a strip (blend.softening_c).",
            "blend",
            "none published",
        )
    yield from _extrapolated(setup, state)


def _extrapolated(setup: Setup, state: Any) -> Iterator[Remark]:
    blend = setup.material.blend
    plasticizer = np.broadcast_to(blend.plasticizer, (setup.bench.count,))
    checks = (
        (
            state.phase_water > ICE_FROM,
            "more water than the glass transition law reaches (ice forms above 27 % of the melt)",
            "Slade & Levine (read)",
        ),
        (
            state.w_water > setup.material.isotherm.highest_moisture(),
            f"wetter than the isotherms go (water activity {AW_TOP})",
            "isotherms as published",
        ),
        (
            plasticizer > _INTERACTION_TOP,
            "more plasticizer than the published moisture factor covers (20 % of the dry mass)",
            "Enrione 2007 (read)",
        ),
    )
    for outside, words, source in checks:
        part = share(outside)
        if part > SOME or np.median(outside) > MANY:
            yield Remark(
                "extrapolated",
                "info",
                f"Extrapolated ({in_words(part)}): {words}.",
                "moisture",
                source,
            )


def _moisture(setup: Setup, found: Found) -> Iterator[Remark]:
    for name, (code, words) in _MOISTURE_WORDS.items():
        part = 1.0 - float(judge.chance({name: found.window.moisture_margins[name]}))
        if part >= SOME:
            source = _GROWTH if name == "mold-growth" else "limit assumed"
            yield Remark(code, "caution", f"{words} ({in_words(part)}).", "service", source)
