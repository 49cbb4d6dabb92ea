"""Workings of a coat: film, litres, fills, batches, VOC (costing model, sections 2, 4 and 7). Imports no Django."""

from __future__ import annotations

from costing.core.coat import find_component
from costing.core.explain.working import Book, Quantity, q
from costing.core.facts import MaterialFacts
from costing.core.result import CoatVolumes, Estimate, OperationResult
from costing.core.system import Coat
from costing.core.voc import actual_voc, voc_less_water, voc_part

FILM_SOURCE = "MIL-HDBK-1110 (UFC 3-190-06), 2.1.5"
VOC_SOURCE = "40 CFR 59.104(a)(1)"


def coat_workings(book: Book, estimate: Estimate, position: int, result: OperationResult) -> None:
    """All workings of the coat of operation ``position``; nothing for an operation without a coat."""
    coat, volumes = result.operation.coat, result.coat
    if coat is None or volumes is None:
        return
    prefix = f"coat.{position}"
    facts = [find_component(estimate.materials, component.material) for component in volumes.components]
    _film(book, prefix, coat, volumes, facts)
    _spray(book, prefix, estimate, result, coat, volumes)
    if result.performed:
        _fills(book, prefix, coat, volumes)
    _mix(book, prefix, coat, volumes, facts)
    _solids(book, prefix, volumes, facts)
    _voc(book, prefix, volumes, facts)


def _film(book: Book, prefix: str, coat: Coat, volumes: CoatVolumes, facts: list[MaterialFacts]) -> None:
    base = list(zip(volumes.components, facts, strict=True))[: len(coat.components)]
    solids = [(part, fact, fact.volume_solids) for part, fact in base if fact.volume_solids is not None]
    if volumes.volume_solids is not None:
        inputs: list[Quantity] = []
        for part, fact, share in solids:
            inputs += [q("p", f"parts of {fact.name}", part.parts), q("NV_i", f"volume solids of {fact.name}", share, "%")]
        book.add(
            f"{prefix}.volume_solids",
            q("NV", "volume solids of the mix before thinning", volumes.volume_solids, "%"),
            "Σ(p × NV_i) / Σ(p)",
            inputs,
            section=2,
            note="Volumes are taken as additive.",
        )
    wet = q("w", "wet film", volumes.wet_film, "µm")
    if coat.dry_film is not None and volumes.volume_solids is not None:
        inputs = [
            q("d", "dry film", coat.dry_film, "µm"),
            q("T", "thinning", coat.thinning, "%"),
            q("NV", "volume solids of the mix before thinning", volumes.volume_solids, "%"),
        ]
        book.add(f"{prefix}.wet_film", wet, "d × (100 + T) / NV", inputs, section=2, source=FILM_SOURCE)
    else:
        inputs = [q("w_given", "wet film as the coat states it", volumes.wet_film, "µm")]
        book.add(f"{prefix}.wet_film", wet, "w_given", inputs, section=2)


def _spray(book: Book, prefix: str, estimate: Estimate, result: OperationResult, coat: Coat, volumes: CoatVolumes) -> None:
    film = q("w", "wet film", volumes.wet_film, "µm")
    aimed = q("A_g", "area over geometry factor", volumes.sprayed_area, "m²")
    rows: list[Quantity] = []
    for number, row in enumerate(estimate.takeoff.rows):
        if row.zone in result.operation.zones:
            name = row.label or f"row {number + 1}"
            rows += [q("a", name, row.area, "m²"), q("g", f"geometry factor of {name}", row.geometry_factor)]
    book.add(f"{prefix}.sprayed_area", aimed, "Σ(a / g)", rows, section=4)
    area = q("A_o", "area of the coat's zones", volumes.area, "m²")
    on_surface = q("V_on", "on the surface", volumes.on_surface, "L")
    book.add(f"{prefix}.on_surface", on_surface, "A_o × w / 1000", [area, film], section=4, note="One µm on one m² is one mL.")
    efficiency = q("TE", f"transfer efficiency of {coat.setup.name or 'the spray setup'}", coat.setup.transfer_efficiency)
    sprayed = q("V_spray", "sprayed", volumes.sprayed, "L")
    book.add(f"{prefix}.sprayed", sprayed, "A_g × w / (1000 × TE)", [aimed, film, efficiency], section=4)
    overspray = q("V_over", "overspray", volumes.overspray, "L")
    book.add(f"{prefix}.overspray", overspray, "V_spray − V_on", [sprayed, on_surface], section=4)
    minutes = q("t", "spraying time", volumes.spray_minutes, "min")
    rate = q("R", "spray rate", coat.setup.spray_rate, "m²/h")
    book.add(f"{prefix}.spray_minutes", minutes, "60 × A_o / R", [area, rate], section=4)


def _fills(book: Book, prefix: str, coat: Coat, volumes: CoatVolumes) -> None:
    batches = q("b", "batches", float(volumes.batches))
    if coat.pot_life is None:
        book.add(f"{prefix}.batches", batches, "1", [], section=4, note="One batch: the mix has no pot life.")
    else:
        inputs = [
            q("t", "spraying time", volumes.spray_minutes, "min"),
            q("P", "usable pot life", coat.pot_life, "min"),
        ]
        book.add(f"{prefix}.batches", batches, "max(1, ⌈t / P⌉)", inputs, section=4)
    inputs = [
        batches,
        q("V_spray", "sprayed", volumes.sprayed, "L"),
        q("C", "cup capacity", coat.setup.cup_capacity, "L"),
        q("r_f", "residue per fill", coat.setup.residue_per_fill, "L"),
    ]
    fills = q("q", "fills", float(volumes.fills))
    book.add(f"{prefix}.fills", fills, "b × ⌈(V_spray / b) / (C − r_f)⌉", inputs, section=4)


def _mix(book: Book, prefix: str, coat: Coat, volumes: CoatVolumes, facts: list[MaterialFacts]) -> None:
    residue = q("V_res", "residue", volumes.residue, "L")
    inputs = [
        q("q", "fills", float(volumes.fills)),
        q("r_f", "residue per fill", coat.setup.residue_per_fill, "L"),
        q("b", "batches", float(volumes.batches)),
        q("r_b", "residue per batch", coat.setup.residue_per_batch, "L"),
    ]
    book.add(f"{prefix}.residue", residue, "q × r_f + b × r_b", inputs, section=4)
    mixed = q("V_mix", "mixed", volumes.mixed, "L")
    book.add(f"{prefix}.mixed", mixed, "V_spray + V_res", [q("V_spray", "sprayed", volumes.sprayed, "L"), residue], section=4)
    parts = [q("p", f"parts of {fact.name}", part.parts) for part, fact in zip(volumes.components, facts, strict=True)]
    for number, (part, fact) in enumerate(zip(volumes.components, facts, strict=True)):
        own = q("V_i", f"{fact.name} in the mix", part.mixed, "L")
        book.add(
            f"{prefix}.component.{number}.mixed",
            own,
            "V_mix × p_i / Σ(p)",
            [mixed, q("p_i", f"its parts, {fact.name}", part.parts), *parts],
            section=4,
        )
        book.add(
            f"{prefix}.component.{number}.drawn",
            q("D_i", f"{fact.name} drawn from stock", part.drawn, "L"),
            "V_i / y",
            [own, q("y", f"yield of a can of {fact.name}", fact.yield_fraction)],
            section=4,
        )


def _solids(book: Book, prefix: str, volumes: CoatVolumes, facts: list[MaterialFacts]) -> None:
    if volumes.overspray_solids is None:
        return
    inputs = [q("V_over", "overspray", volumes.overspray, "L")]
    for part, fact in zip(volumes.components, facts, strict=True):
        solids = fact.mass_solids or 0.0
        inputs += [
            q("x", f"share of {fact.name} in the mix", part.share),
            q("ρ", f"density of {fact.name}", (fact.density or 0.0) if solids else 0.0, "kg/L"),
            q("s", f"mass solids of {fact.name}", solids, "%"),
        ]
    book.add(
        f"{prefix}.overspray_solids",
        q("m_over", "dry solids that missed the work", volumes.overspray_solids, "kg"),
        "V_over × Σ(x × ρ × s / 100)",
        inputs,
        section=4,
    )


def _voc(book: Book, prefix: str, volumes: CoatVolumes, facts: list[MaterialFacts]) -> None:
    if any(fact.voc is None for fact in facts):
        return
    mix = [voc_part(part.parts, fact) for part, fact in zip(volumes.components, facts, strict=True)]
    actual: list[Quantity] = []
    less_water: list[Quantity] = []
    for part, fact in zip(mix, facts, strict=True):
        shared = [q("p", f"parts of {fact.name}", part.parts), q("m", f"VOC of {fact.name}", part.voc, "g/L")]
        actual += shared
        less_water += [
            *shared,
            q("φ_w", f"water in {fact.name}, by volume", part.water_fraction),
            q("φ_e", f"exempt compounds in {fact.name}, by volume", part.exempt_fraction),
        ]
    book.add(
        f"{prefix}.voc_actual",
        q("VOC_a", "VOC content as applied", actual_voc(mix), "g/L"),
        "Σ(p × m) / Σ(p)",
        actual,
        section=7,
        source=VOC_SOURCE,
    )
    if any(part.water_fraction + part.exempt_fraction < 1 for part in mix):
        book.add(
            f"{prefix}.voc_less_water",
            q("VOC_w", "VOC content as applied, less water and exempt compounds", voc_less_water(mix), "g/L"),
            "Σ(p × m) / Σ(p × (1 − φ_w − φ_e))",
            less_water,
            section=7,
            source=VOC_SOURCE,
            note="Compare it with the limit that applies to you; this program cannot tell which one does.",
        )
