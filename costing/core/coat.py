"""One coat: films, litres, fills and batches (costing model, section 4). Imports no Django."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from costing.core.checks import ceiling
from costing.core.errors import MissingFactError, WrongUseError
from costing.core.facts import MaterialFacts, MaterialKind, StockUnit
from costing.core.film import mix_volume_solids, wet_film
from costing.core.result import CoatVolumes, ComponentVolume
from costing.core.system import Coat, Component
from costing.core.takeoff import ZoneTotal

FILM_KINDS = frozenset({MaterialKind.COATING, MaterialKind.HARDENER, MaterialKind.THINNER})


def mix_of(coat: Coat) -> tuple[Component, ...]:
    """The coat's mix as it is sprayed: its components and, where it is thinned, T % of their sum as thinner."""
    if not coat.thinning or coat.thinner is None:
        return coat.components
    base = sum(component.parts for component in coat.components)
    return (*coat.components, Component(material=coat.thinner, parts=base * coat.thinning / 100))


def find_material(materials: Mapping[str, MaterialFacts], key: str) -> MaterialFacts:
    """The facts of a material; raises MissingFactError when the estimate was given none."""
    try:
        return materials[key]
    except KeyError:
        raise MissingFactError(
            field="material", about=key, words="price", right="choose a material that has a price and technical data"
        ) from None


def find_component(materials: Mapping[str, MaterialFacts], key: str) -> MaterialFacts:
    """The facts of a material that goes into a mix; raises when it is none or cannot be priced by volume."""
    facts = find_material(materials, key)
    if facts.kind not in FILM_KINDS:
        raise WrongUseError(
            field="material", about=facts.name, because="cannot be mixed", right="choose a coating, a hardener or a thinner"
        )
    if facts.litre_price is None:
        if facts.unit is StockUnit.KILOGRAM:
            raise MissingFactError(
                field="density",
                about=facts.name,
                right="enter it in kg/L, a mix by volume needs it for a material stocked by mass",
            )
        raise WrongUseError(
            field="unit", about=facts.name, because="is not stocked by volume or mass", right="stock it in L or kg"
        )
    return facts


def coat_volumes(coat: Coat, total: ZoneTotal, materials: Mapping[str, MaterialFacts]) -> CoatVolumes:
    """All volumes of one coat on the area of its zones (costing model, section 4).

    Raises MissingFactError when a dry film is stated and the volume solids of a component are unknown.
    The model's worked example, 15.320 436 m² at 110 µm wet and TE 0.65, mixes 2.792 689 L.
    """
    setup = coat.setup
    mix = mix_of(coat)
    facts = [find_component(materials, part.material) for part in mix]
    solids = _volume_solids(coat, facts)
    wet = coat.wet_film if coat.wet_film is not None else _wet_film(coat.dry_film or 0.0, coat.thinning, facts, solids)
    on_surface = total.area * wet / 1000
    sprayed = total.sprayed_area * wet / (1000 * setup.transfer_efficiency)
    spray_minutes = 60 * total.area / setup.spray_rate
    batches = fills = 0
    if total.area > 0:
        batches = 1 if coat.pot_life is None else max(1, ceiling(spray_minutes / coat.pot_life))
        fills = batches * ceiling(sprayed / batches / (setup.cup_capacity - setup.residue_per_fill))
    residue = fills * setup.residue_per_fill + batches * setup.residue_per_batch
    mixed = sprayed + residue
    parts = sum(part.parts for part in mix)
    components = tuple(
        ComponentVolume(
            material=part.material,
            parts=part.parts,
            share=part.parts / parts,
            mixed=mixed * part.parts / parts,
            drawn=mixed * part.parts / parts / fact.yield_fraction,
        )
        for part, fact in zip(mix, facts, strict=True)
    )
    return CoatVolumes(
        area=total.area,
        sprayed_area=total.sprayed_area,
        volume_solids=solids,
        wet_film=wet,
        on_surface=on_surface,
        sprayed=sprayed,
        overspray=sprayed - on_surface,
        batches=batches,
        fills=fills,
        residue=residue,
        mixed=mixed,
        spray_minutes=spray_minutes,
        overspray_solids=_solids_in(sprayed - on_surface, components, facts),
        components=components,
    )


def _volume_solids(coat: Coat, facts: Sequence[MaterialFacts]) -> float | None:
    """NV of the mix before thinning, or None where a component's volume solids are unknown."""
    parts = [part.parts for part in coat.components]
    known = [fact.volume_solids for fact in facts[: len(parts)] if fact.volume_solids is not None]
    return mix_volume_solids(parts, known) if len(known) == len(parts) else None


def _wet_film(dry: float, thinning: float, facts: Sequence[MaterialFacts], solids: float | None) -> float:
    """The wet film that a stated dry film asks for."""
    if solids is None:
        unknown = next(fact for fact in facts if fact.volume_solids is None)
        raise MissingFactError(
            field="volume_solids",
            about=unknown.name,
            right="enter them from the technical data sheet, or give the coat's wet film instead of its dry film",
            words="volume solids",
        )
    if solids == 0:
        raise WrongUseError(
            field="dry_film",
            about=facts[0].name,
            because="leaves no film, its volume solids are 0 %",
            right="give the coat's wet film instead",
            words="mix of",
        )
    return wet_film(dry, solids, thinning)


def _solids_in(litres: float, components: Sequence[ComponentVolume], facts: Sequence[MaterialFacts]) -> float | None:
    """Dry solids in kg of so many litres of the mix, or None where a density or mass solids are unknown."""
    mass = 0.0
    for component, fact in zip(components, facts, strict=True):
        if fact.mass_solids == 0:
            continue
        if fact.density is None or fact.mass_solids is None:
            return None
        mass += litres * component.share * fact.density * fact.mass_solids / 100
    return mass
