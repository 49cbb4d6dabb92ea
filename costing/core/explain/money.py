"""Workings of materials, supplies, labour and the cost groups (costing model, sections 3, 5 and 7). Imports no Django."""

from __future__ import annotations

from decimal import Decimal

from costing.core.checks import to_decimal
from costing.core.explain.uses import material_workings, supply_workings
from costing.core.explain.working import MONEY, MONEY_PER_HOUR, Book, Quantity, q
from costing.core.result import Estimate
from costing.core.shown import shown_lines
from costing.core.system import CostGroup
from costing.core.uses import cleaner_litres, voc_contents

_MATERIAL_GROUPS = (CostGroup.FILM, CostGroup.OVERSPRAY, CostGroup.RESIDUE, CostGroup.HEEL, CostGroup.EXPIRY)
_SUPPLY_GROUPS = (CostGroup.CLEANER, CostGroup.ABRASIVES, CostGroup.DISPOSABLES)
OVERHEAD_SOURCE = "OpenStax, Principles of Accounting, vol. 2, section 4.4"


def cost_workings(book: Book, estimate: Estimate, minor_places: int) -> None:
    """From litres, units and minutes to money: materials, supplies, labour, groups, sums."""
    material_workings(book, estimate)
    supply_workings(book, estimate)
    _labour(book, estimate)
    _litres(book, estimate)
    _voc(book, estimate)
    _material_groups(book, estimate)
    _other_groups(book, estimate)
    _sums(book, estimate, minor_places)


def _labour(book: Book, estimate: Estimate) -> None:
    for use in estimate.labour_uses:
        labour = estimate.rates.labour[use.labour_class]
        prefix = f"labour.{use.labour_class}"
        rate = q("r", f"loaded rate of {labour.name}", labour.loaded_rate, MONEY_PER_HOUR)
        minutes = q("M_c", f"minutes of {labour.name}", use.minutes, "min")
        book.add(
            f"{prefix}.rate",
            rate,
            "wage × (1 + burden)",
            [q("wage", "wage", labour.wage, MONEY_PER_HOUR), q("burden", "burden, share of the wage", labour.burden)],
            section=5,
        )
        book.add(
            f"{prefix}.minutes",
            minutes,
            "Σ(M_o)",
            [
                q("M_o", result.operation.name, result.labour_minutes, "min")
                for result in estimate.operations
                if result.labour_minutes and result.operation.labour_class == use.labour_class
            ],
            section=6,
        )
        cost = q("c", f"cost of {labour.name}", use.cost, MONEY)
        book.add(f"{prefix}.cost", cost, "M_c × r / 60", [minutes, rate], section=5)


def _litres(book: Book, estimate: Estimate) -> None:
    book.add(
        "residue_litres",
        q("V_res", "residue of all coats", estimate.residue_litres, "L"),
        "Σ(V_c)",
        [q("V_c", result.operation.name, result.coat.residue, "L") for result in estimate.operations if result.coat is not None],
        section=4,
    )
    book.add(
        "cleaner_litres",
        q("V_clean", "cleaner used", estimate.cleaner_litres, "L"),
        "Σ(V_c)",
        [q("V_c", use.material.name, cleaner_litres(use), "L") for use in estimate.supply_uses if use.group is CostGroup.CLEANER],
        section=5,
    )


def _voc(book: Book, estimate: Estimate) -> None:
    inputs = [q("R", "recovered share", estimate.rates.voc_recovered)]
    unknown = []
    for facts, litres in voc_contents(estimate.material_uses, estimate.supply_uses):
        if facts.voc is None:
            unknown.append(facts.name)
            continue
        inputs += [q("V", f"{facts.name} drawn", litres, "L"), q("m", f"VOC of {facts.name}", facts.voc, "g/L")]
    book.add(
        "voc_kg",
        q("VOC", "VOC emitted", estimate.voc_kg, "kg"),
        "Σ(V × m) / 1000 × (1 − R)",
        inputs,
        section=7,
        note=f"Left out, VOC content unknown: {', '.join(unknown)}." if unknown else "",
    )


def _material_groups(book: Book, estimate: Estimate) -> None:
    for group in _MATERIAL_GROUPS:
        amounts = [q("c", use.material.name, getattr(use, group.value), MONEY) for use in estimate.material_uses]
        book.add(f"group.{group}", _group(estimate, group), "Σ(c)", amounts, section=5)
    for group in _SUPPLY_GROUPS:
        amounts = [q("c", use.material.name, use.cost, MONEY) for use in estimate.supply_uses if use.group is group]
        book.add(f"group.{group}", _group(estimate, group), "Σ(c)", amounts, section=5)


def _other_groups(book: Book, estimate: Estimate) -> None:
    rates = estimate.rates
    labour = _group(estimate, CostGroup.LABOUR)
    by_class = [q("c", rates.labour[use.labour_class].name, use.cost, MONEY) for use in estimate.labour_uses]
    book.add("group.labour", labour, "Σ(c)", by_class, section=5)
    booth = [
        q("B", "booth time", estimate.booth_minutes, "min"),
        q("r_booth", "booth rate", rates.booth_rate, MONEY_PER_HOUR),
    ]
    book.add("group.booth", _group(estimate, CostGroup.BOOTH), "B × r_booth / 60", booth, section=5)
    disposal = [
        q("V_res", "residue of all coats", estimate.residue_litres, "L"),
        q("V_clean", "cleaner used", estimate.cleaner_litres, "L"),
        q("fee", "disposal fee", rates.disposal_fee, "money/L"),
    ]
    book.add("group.disposal", _group(estimate, CostGroup.DISPOSAL), "(V_res + V_clean) × fee", disposal, section=5)
    above = [
        q("c", group.value, amount, MONEY)
        for group, amount in estimate.groups.items()
        if group not in {CostGroup.REWORK, CostGroup.OVERHEAD}
    ]
    allowance = q("r_rework", "rework allowance", rates.rework_allowance)
    book.add("group.rework", _group(estimate, CostGroup.REWORK), "r_rework × Σ(c)", [allowance, *above], section=5)
    book.add(
        "group.overhead",
        _group(estimate, CostGroup.OVERHEAD),
        "r_over × labour",
        [q("r_over", "overhead rate, share of labour", rates.overhead_rate), q("labour", "labour", labour.value, MONEY)],
        section=5,
        source=OVERHEAD_SOURCE,
    )


def _sums(book: Book, estimate: Estimate, minor_places: int) -> None:
    groups = [q("c", group.value, amount, MONEY) for group, amount in estimate.groups.items()]
    true_cost = q("K", "true cost, unrounded", estimate.true_cost, MONEY)
    book.add("true_cost", true_cost, "Σ(c)", groups, section=5)
    shown = shown_lines(estimate, minor_places)
    lines = [q("c", line.group.value, line.amount, MONEY) for line in shown.lines]
    printed = q("K", "true cost", shown.true_cost, MONEY)
    book.add(
        "shown.true_cost",
        printed,
        "Σ(c)",
        lines,
        section=5,
        note="The sum of the rounded rows, so that it can be checked from the figures printed. Prices start from it.",
    )
    if estimate.takeoff.area:
        area = q("A", "finished area", to_decimal(estimate.takeoff.area), "m²")
        _per_area(book, "cost_per_m2", estimate.cost_per_m2, [true_cost, area])
        _per_area(book, "shown.cost_per_m2", shown.true_cost / to_decimal(estimate.takeoff.area), [printed, area])


def _per_area(book: Book, key: str, amount: Decimal | None, inputs: list[Quantity]) -> None:
    if amount is not None:
        book.add(key, q("K_A", "true cost per m²", amount, "money/m²"), "K / A", inputs, section=5)


def _group(estimate: Estimate, group: CostGroup) -> Quantity:
    return q("G", group.value, estimate.groups[group], MONEY)
