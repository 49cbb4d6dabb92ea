"""VOC: content as applied and emitted mass (costing model, section 7). Imports no Django.

Contents are in g/L. The functions compare nothing with a rule: which limit applies, and on which basis, is for
the shop and its authority to say.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from costing.core.checks import check_number
from costing.core.coat import find_component, mix_of
from costing.core.errors import ContradictionError
from costing.core.facts import MaterialFacts
from costing.core.film import total_parts
from costing.core.result import Estimate

LITRE_OF_WATER = 0.9982  # kg/L at 20 °C (IAPWS-95, rounded)


@dataclass(frozen=True, slots=True, kw_only=True)
class VocPart:
    """One component of a mix as VOC content sees it."""

    parts: float  # by volume, any unit
    voc: float  # m_VOC, g per L of the component
    water_fraction: float = 0.0  # φ_water
    exempt_fraction: float = 0.0  # φ_exempt


def actual_voc(mix: Sequence[VocPart]) -> float:
    """VOC of a mix in g per L of mix, water included: Σ p_i m_VOC,i / Σ p_i.

    Source: 40 CFR 59.104(a)(1), the "material" basis.

    >>> actual_voc((VocPart(parts=4, voc=300), VocPart(parts=1, voc=800)))
    400.0
    """
    return sum(part.parts * part.voc for part in mix) / total_parts([part.parts for part in mix])


def voc_less_water(mix: Sequence[VocPart]) -> float:
    """VOC of a mix in g per L, less water and exempt compounds.

    Σ p_i m_VOC,i / Σ p_i (1 - φ_water,i - φ_exempt,i). Source: 40 CFR 59.104(a)(1), the "coating" basis.
    Raises ContradictionError for a mix of nothing but water and exempt compounds.
    """
    total_parts([part.parts for part in mix])
    counted = sum(part.parts * (1 - part.water_fraction - part.exempt_fraction) for part in mix)
    if counted <= 0:
        raise ContradictionError(
            field="water_fraction",
            value=counted,
            words="mix",
            because="is all water and exempt compounds",
            right="give water and exempt shares that leave something of the volume",
        )
    return sum(part.parts * part.voc for part in mix) / counted


def voc_by_mass(density: float, mass_solids: float, mass_water: float = 0.0, mass_exempt: float = 0.0) -> float:
    """Actual VOC in g/L from mass percentages: (100 - solids - water - exempt) ρ 10, ρ in kg/L.

    Source: 40 CFR 59.104(a)(1), with mass fractions for masses.
    """
    volatile = 100 - mass_solids - mass_water - mass_exempt
    check_number(volatile, "mass_solids", words="share left for VOC", unit="%", least=0, most=100)
    return volatile * density * 10


def water_volume_fraction(density: float, mass_water: float, water_density: float = LITRE_OF_WATER) -> float:
    """Volume fraction of water in a coating of density ρ kg/L from its mass percentage."""
    check_number(water_density, "water_density", unit="kg/L", above=0)
    return mass_water / 100 * density / water_density


def voc_per_litre_of_solids(voc: float, voc_density: float) -> float:
    """VOC in g per L of solids from g per L of coating less water: C / (1 - C/D).

    D is the density of the VOC in g/L. Source: 30 TAC 115.423(1).
    """
    check_number(voc, "voc", words="VOC content", unit="g/L", least=0, below=voc_density)
    return voc / (1 - voc / voc_density)


def voc_per_solids(*, voc_mass: float, solids_litres: float, transfer_efficiency: float = 1.0) -> float:
    """VOC in kg per L of solids, or per L of solids applied where TE is given: (M_o + M_d) / (L_s TE).

    ``voc_mass`` is that of coatings and thinners together, kg. Source: 40 CFR 60.313(c)(1), formula from memory.
    """
    check_number(solids_litres, "solids_litres", words="litres of solids", unit="L", above=0)
    check_number(transfer_efficiency, "transfer_efficiency", above=0, most=1)
    return voc_mass / (solids_litres * transfer_efficiency)


def thinner_to_limit(*, litres: float, voc: float, thinner_voc: float, limit: float) -> float | None:
    """Litres of thinner that bring ``litres`` of a mix from ``voc`` g/L up to ``limit`` g/L.

    (limit - voc) litres / (thinner VOC - limit); 0 where the mix is at the limit or above it, None where
    the thinner never reaches it. Source: Organic Finishing Guidebook 2013, appendix B, table V.
    """
    check_number(litres, "litres", unit="L", least=0)
    if voc >= limit:
        return 0.0
    if thinner_voc <= limit:
        return None
    return (limit - voc) * litres / (thinner_voc - limit)


def emitted_mass(contents: Sequence[tuple[float, float]], recovered: float = 0.0) -> float:
    """Emitted VOC in kg of (drawn litres, actual VOC g/L) pairs, less the recovered fraction."""
    check_number(recovered, "voc_recovered", words="recovered share of VOC", least=0, most=1)
    return sum(litres * voc for litres, voc in contents) / 1000 * (1 - recovered)


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatVoc:
    """VOC content of one coat as applied."""

    operation: str
    actual: float | None  # g/L of mix; None where a component's VOC is unknown
    less_water: float | None  # g/L less water and exempt compounds
    unknown: tuple[str, ...]  # names of the components without a VOC figure


def coat_vocs(estimate: Estimate) -> tuple[CoatVoc, ...]:
    """VOC content as applied of every coat of the estimated system, in order."""
    contents = []
    for operation in estimate.system.coats:
        if operation.coat is None:
            continue
        mix = [(part.parts, find_component(estimate.materials, part.material)) for part in mix_of(operation.coat)]
        unknown = tuple(facts.name for _, facts in mix if facts.voc is None)
        voc_parts = [voc_part(parts, facts) for parts, facts in mix if facts.voc is not None]
        contents.append(
            CoatVoc(
                operation=operation.name,
                actual=None if unknown else actual_voc(voc_parts),
                less_water=None if unknown else voc_less_water(voc_parts),
                unknown=unknown,
            )
        )
    return tuple(contents)


def voc_part(parts: float, facts: MaterialFacts) -> VocPart:
    """A material of known VOC as a part of a mix; unknown VOC counts as 0, so ask first."""
    return VocPart(
        parts=parts,
        voc=facts.voc or 0.0,
        water_fraction=facts.water_fraction,
        exempt_fraction=facts.exempt_fraction,
    )
