"""The usual cautions for work with the materials of a job or a system, each with its public source.

Which cautions apply follows from what the shop entered of its materials: kind, H-codes, flammable category. The words are brief
and never say that something is safe: the safety data sheet, local codes and licensed practice decide.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from costing.snapshots import Snapshot
from inventory.choices import LIQUIDS, MaterialKind
from inventory.models import Material

FLAMMABLE_CODES = frozenset({"H224", "H225", "H226"})
SENSITISING_CODES = frozenset({"H317", "H334"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A hazard in brief: what to do, where that is written, and the materials it is about."""

    title: str
    points: tuple[str, ...]
    source: str
    materials: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """All points as one paragraph."""
        return " ".join(self.points)


def is_flammable(material: Material) -> bool:
    """True when the sheet gives a flammable category or an H-code of a flammable liquid."""
    return bool(material.flammable_category) or bool(FLAMMABLE_CODES.intersection(material.h_code_list))


def is_sensitising_hardener(material: Material) -> bool:
    """True for a hardener that its sheet marks as sensitising skin or airways, as those with isocyanates are."""
    return material.kind == MaterialKind.HARDENER and bool(SENSITISING_CODES.intersection(material.h_code_list))


def leaves_residue(material: Material) -> bool:
    """True for liquids, whose rags and residues can heat up or burn."""
    return material.kind in LIQUIDS


_ISOCYANATE = Caution(
    title="Hardener that can cause lasting allergy",
    points=(
        "Such hardeners often hold isocyanates: sprayed, they can cause asthma and lasting allergy.",
        "Spray with supplied air, gloves, and covered skin and eyes, as the safety data sheet says.",
        "Anyone who has become allergic stays away from the work and from the mixing room.",
    ),
    source="29 CFR 1910.134 (respirators) and 1910.1200 (labels, safety data sheets), from memory.",
)
_FLAMMABLE = Caution(
    title="Flammable liquid",
    points=(
        "Run the exhaust while spraying and until the vapour is gone.",
        "Keep flames, sparks and hot surfaces out of the spraying area and 20 ft (6.1 m) around it.",
        "Ground gun, booth and work, and bond containers when pouring: static can light the vapour.",
        "Keep no more beside the spraying than a day or a shift needs.",
    ),
    source="29 CFR 1910.107(c)(2), read in 8 CCR 5449(b), and (e)(2); exhaust and grounding: 1910.107, 1910.106, from memory.",
)
_RAGS = Caution(
    title="Rags and residue that can catch fire",
    points=(
        "Put rags and residue into a covered metal can at once. Empty it daily or each shift.",
        "Oily rags heat up by themselves. Dried residue of water-based material can burn too.",
    ),
    source="29 CFR 1910.107(g)(3), read in WAC 296-24-37013(3); OSHA memorandum of 14 June 1978.",
)

_RULES: tuple[tuple[Caution, Callable[[Material], bool]], ...] = (
    (_ISOCYANATE, is_sensitising_hardener),
    (_FLAMMABLE, is_flammable),
    (_RAGS, leaves_residue),
)


def cautions_for(materials: Iterable[Material]) -> tuple[Caution, ...]:
    """The cautions that the materials call for, the gravest first, each naming the materials it is about."""
    kept = list({material.pk: material for material in materials}.values())
    found = []
    for caution, applies in _RULES:
        names = tuple(material.name for material in kept if applies(material))
        if names:
            found.append(dataclasses.replace(caution, materials=names))
    return tuple(found)


def cautions_of(snapshot: Snapshot) -> tuple[Caution, ...]:
    """The cautions of a frozen reckoning, from its materials as they are described today: a hazard learnt since counts."""
    return cautions_for(Material.objects.filter(pk__in=[need.material_id for need in snapshot.needs]))
