"""Workings of what is used of each material (costing model, sections 3 to 5). Imports no Django."""

from __future__ import annotations

from decimal import Decimal

from costing.core.drivers import supply_driver_values
from costing.core.explain.working import MONEY, Book, Quantity, q
from costing.core.facts import StockUnit
from costing.core.result import CoatVolumes, Estimate, MaterialUse, SupplyUse
from costing.core.system import SupplyLine

# Each destination of a material: the figure's name, its words, and the coat volume that it is a share of.
_DESTINATIONS = (
    ("film", "V_on", "on the surface"),
    ("overspray", "V_over", "overspray"),
    ("residue", "V_res", "residue"),
)


def material_workings(book: Book, estimate: Estimate) -> None:
    """Litres and money of each coating material, split by where it ended."""
    for use in estimate.material_uses:
        _price(book, use)
        _litres(book, estimate, use)
        _money(book, use)


def _price(book: Book, use: MaterialUse) -> None:
    facts = use.material
    result = q("k", f"price of a litre of {facts.name}", _litre_price(use), "money/L")
    inputs = [q("k_unit", f"price per {facts.unit}", facts.price, f"money/{facts.unit}")]
    if facts.unit is StockUnit.KILOGRAM and facts.density is not None:
        inputs.append(q("ρ", "density", facts.density, "kg/L"))
    expression = "k_unit × ρ" if len(inputs) > 1 else "k_unit"
    book.add(f"material.{facts.key}.litre_price", result, expression, inputs, section=5)


def _litre_price(use: MaterialUse) -> Decimal:
    return use.material.litre_price if use.material.litre_price is not None else Decimal(0)


def _litres(book: Book, estimate: Estimate, use: MaterialUse) -> None:
    name, key = use.material.name, use.material.key
    shares = [
        (result.operation.name, result.coat, part)
        for result in estimate.operations
        if result.coat is not None and result.performed
        for part in result.coat.components
        if part.material == key
    ]
    litres = {
        "film": use.film_litres,
        "overspray": use.overspray_litres,
        "residue": use.residue_litres,
    }
    for figure, symbol, words in _DESTINATIONS:
        inputs: list[Quantity] = []
        for operation, volumes, part in shares:
            inputs += [
                q(symbol, f"{words}, {operation}", _volume(volumes, figure), "L"),
                q("x", f"share of {name} in the mix, {operation}", part.share),
            ]
        result = q("V", f"{name}: {words}", litres[figure], "L")
        book.add(f"material.{key}.{figure}_litres", result, f"Σ({symbol} × x)", inputs, section=5)
    mixed = q("V_i", f"{name} in the mixes", use.mixed_litres, "L")
    heel = q("V_heel", f"{name} left in the cans", use.heel_litres, "L")
    share = q("y", f"yield of a can of {name}", use.material.yield_fraction)
    book.add(f"material.{key}.heel_litres", heel, "V_i × (1 / y − 1)", [mixed, share], section=5)
    drawn = q("D", f"{name} drawn from stock", use.drawn_litres, "L")
    book.add(f"material.{key}.drawn_litres", drawn, "V_i + V_heel", [mixed, heel], section=4)


def _volume(volumes: CoatVolumes, figure: str) -> float:
    return {"film": volumes.on_surface, "overspray": volumes.overspray, "residue": volumes.residue}[figure]


def _money(book: Book, use: MaterialUse) -> None:
    name, key = use.material.name, use.material.key
    price = q("k", f"price of a litre of {name}", _litre_price(use), "money/L")
    rows = (
        ("film", use.film_litres, use.film),
        ("overspray", use.overspray_litres, use.overspray),
        ("residue", use.residue_litres, use.residue),
        ("heel", use.heel_litres, use.heel),
    )
    for figure, litres, cost in rows:
        inputs = [q("V", f"{name}: {figure}", litres, "L"), price]
        book.add(f"material.{key}.{figure}", q("c", f"{name}: {figure}", cost, MONEY), "V × k", inputs, section=5)
    book.add(
        f"material.{key}.expiry",
        q("c_x", f"{name}: expiry", use.expiry, MONEY),
        "Σ(c) × x / (1 − x)",
        [
            *(q("c", f"{name}: {figure}", cost, MONEY) for figure, _, cost in rows),
            q("x", f"expiry allowance of {name}", use.material.expiry_allowance),
        ],
        section=5,
    )


def supply_workings(book: Book, estimate: Estimate) -> None:
    """Quantity and money of each supply."""
    for use in estimate.supply_uses:
        exact, whole = _supply_inputs(estimate, use)
        terms = ["Σ(u × D)"] if exact else []
        terms += ["⌈Σ(u_w × D_w)⌉"] if whole else []
        unit = str(use.material.unit)
        quantity = q("U", f"{use.material.name} needed", use.quantity, unit)
        book.add(
            f"supply.{use.material.key}.quantity",
            quantity,
            " + ".join(terms),
            [*exact, *whole],
            section=3,
            note="Rounded up once, over the whole system." if whole else "",
        )
        book.add(
            f"supply.{use.material.key}.cost",
            q("c", f"cost of {use.material.name}", use.cost, MONEY),
            "U × k",
            [quantity, q("k", f"price per {unit}", use.material.price, f"money/{unit}")],
            section=5,
        )


def _supply_inputs(estimate: Estimate, use: SupplyUse) -> tuple[list[Quantity], list[Quantity]]:
    """Amounts and driver values of the supply's lines: those counted exactly and those counted in whole units."""
    exact: list[Quantity] = []
    whole: list[Quantity] = []
    for result in estimate.operations:
        if not result.performed:
            continue
        values = supply_driver_values(result, estimate.materials)
        for line in result.operation.supply_lines:
            if line.material == use.material.key:
                target = whole if line.whole_units else exact
                target += _line_inputs(line, result.operation.name, str(use.material.unit), values[line.driver])
    return exact, whole


def _line_inputs(line: SupplyLine, operation: str, unit: str, value: float) -> list[Quantity]:
    suffix = "_w" if line.whole_units else ""
    return [
        q(f"u{suffix}", operation, line.amount, f"{unit} per {line.driver.words}"),
        q(f"D{suffix}", f"{line.driver.words}, {operation}", value),
    ]
