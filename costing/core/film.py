"""Films, solids, spreading rates and mixing ratios (costing model, section 2). Imports no Django.

Volumes are taken as additive on mixing. None of this holds above the critical pigment volume concentration,
where a dry film has pores.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from costing.core.checks import check_number, to_decimal
from costing.core.errors import ContradictionError, EmptyMixError


def mix_volume_solids(parts: Sequence[float], volume_solids: Sequence[float]) -> float:
    """Volume solids in % of a mix of parts by volume: NV = Σ p_i NV_i / Σ p_i. A thinner counts with 0.

    Raises EmptyMixError when there are no parts.

    >>> round(mix_volume_solids((10, 1), (34, 60)), 4)
    36.3636
    """
    mean = sum(p * nv for p, nv in zip(parts, volume_solids, strict=True)) / total_parts(parts)
    return min(mean, max(volume_solids))  # rounding may lift the mean of equals above them, and above 100 %


def total_parts(parts: Sequence[float]) -> float:
    """Σ p_i of a mix; raises EmptyMixError when nothing is in it."""
    total = sum(parts)
    if not total > 0:
        raise EmptyMixError(field="parts", value=tuple(parts), words="mix", because="has no parts", right="give parts above 0")
    return total


def thinned_volume_solids(volume_solids: float, thinning: float) -> float:
    """Volume solids in % after adding T parts of thinner to 100 parts: NV 100 / (100 + T).

    >>> round(thinned_volume_solids(48, 10), 3)
    43.636
    """
    _check_thinning(thinning)
    return volume_solids * 100 / (100 + thinning)


def wet_film(dry_film: float, volume_solids: float, thinning: float = 0.0) -> float:
    """Wet film in µm that dries to ``dry_film`` µm: w = d (100 + T) / NV, NV of the mix before thinning.

    Source: MIL-HDBK-1110 (UFC 3-190-06), 2.1.5.

    >>> wet_film(30, 32, 10)
    103.125
    """
    _check_solids(volume_solids)
    _check_thinning(thinning)
    return dry_film * (100 + thinning) / volume_solids


def dry_film(wet_film: float, volume_solids: float, thinning: float = 0.0) -> float:
    """Dry film in µm that a wet film of ``wet_film`` µm leaves: d = w NV / (100 + T).

    Source: MIL-HDBK-1110 (UFC 3-190-06), 2.1.5.

    >>> round(dry_film(200, 35), 9)
    70.0
    """
    _check_thinning(thinning)
    return wet_film * volume_solids / (100 + thinning)


def spreading_rate(volume_solids: float, dry_film: float, transfer_efficiency: float = 1.0) -> float:
    """Area in m² that a litre covers at a dry film in µm: 10 NV / d, times TE for the practical rate.

    Source: ISO 3233-3 (theoretical spreading rate).

    >>> spreading_rate(65, 125)
    5.2
    """
    check_number(dry_film, "dry_film", unit="µm", above=0)
    check_number(transfer_efficiency, "transfer_efficiency", above=0, most=1)
    return 10 * volume_solids / dry_film * transfer_efficiency


def implied_transfer_efficiency(*, area: float, litres: float, volume_solids: float, dry_film: float) -> float:
    """Transfer efficiency that a year's area in m² and litres used amount to at an assumed dry film in µm.

    It charges every loss to the gun, residue and heel too, so it is lower than what a test panel gives.
    """
    check_number(litres, "litres", unit="L", above=0)
    return area / litres / spreading_rate(volume_solids, dry_film)


def film_cost_per_m2(
    price_per_litre: Decimal, volume_solids: float, dry_film: float, transfer_efficiency: float = 1.0
) -> Decimal:
    """Money per m² for the film alone: price per litre over the spreading rate.

    The dearer can may be the cheaper film, which is why it is worth knowing.
    """
    _check_solids(volume_solids)
    return price_per_litre / to_decimal(spreading_rate(volume_solids, dry_film, transfer_efficiency))


def volume_solids_by_mass(density: float, mass_solids: float, solvent_density: float) -> float:
    """Volume solids in % of a coating of known density and mass solids: 100 - ρ (100 - NV_mass) / ρ_solvent.

    Densities in kg/L. Source: ISO 3233-3, from memory.

    >>> round(volume_solids_by_mass(0.95, 28, 0.86), 3)
    20.465
    """
    check_number(solvent_density, "solvent_density", unit="kg/L", above=0)
    solids = 100 - density * (100 - mass_solids) / solvent_density
    if solids < 0:
        raise ContradictionError(
            field="mass_solids",
            value=mass_solids,
            words="mass solids",
            because=f"of {mass_solids:g} % leave no room beside the solvent",
            right="mend the mass solids or one of the densities",
        )
    return solids


def solids_density(density: float, mass_solids: float, volume_solids: float) -> float:
    """Density of the dry film in kg/L: ρ NV_mass / NV_volume.

    >>> round(solids_density(0.95, 28, 20.465), 3)
    1.3
    """
    _check_solids(volume_solids)
    return density * mass_solids / volume_solids


def solids_mass(area: float, dry_film: float, solids_density: float) -> float:
    """Mass in kg of a dry film in µm on an area in m²; one µm on one m² is one mL."""
    return area * dry_film * solids_density / 1000


def dry_film_by_mass(*, mass: float, density: float, volume_solids: float, area: float) -> float:
    """Dry film in µm when ``mass`` kg of liquid ended on ``area`` m²: how a test panel is weighed."""
    check_number(density, "density", unit="kg/L", above=0)
    check_number(area, "area", unit="m²", above=0)
    return dry_film(mass / density * 1000 / area, volume_solids)


def split_by_parts(total: float, parts: Sequence[float]) -> tuple[float, ...]:
    """A total split by parts, in the total's own unit.

    >>> split_by_parts(2.5, (4, 1))
    (2.0, 0.5)
    """
    whole = total_parts(parts)
    return tuple(total * part / whole for part in parts)


def parts_by_mass(parts: Sequence[float], densities: Sequence[float]) -> tuple[float, ...]:
    """Parts by volume as parts by mass, for weighing a mix: p_i ρ_i."""
    return tuple(part * density for part, density in zip(parts, densities, strict=True))


def parts_by_volume(parts: Sequence[float], densities: Sequence[float]) -> tuple[float, ...]:
    """Parts by mass as parts by volume, for a sheet that states the ratio by mass: p_i / ρ_i."""
    for density in densities:
        check_number(density, "density", unit="kg/L", above=0)
    return tuple(part / density for part, density in zip(parts, densities, strict=True))


def _check_solids(volume_solids: float) -> None:
    check_number(volume_solids, "volume_solids", unit="%", above=0, most=100)


def _check_thinning(thinning: float) -> None:
    check_number(thinning, "thinning", unit="%", least=0)
