"""The whole breakdown of one system as its page shows it, in the shop's units."""

from __future__ import annotations

from decimal import Decimal
from math import floor

from costing.core.buying import PackFacts, purchases
from costing.core.calendar import DAY, LaidOut
from costing.core.checks import to_decimal
from costing.core.result import MaterialUse, OperationResult, SupplyUse
from costing.services.estimating import PricedOption
from costing.tables.pricing import FixedTable, Row, plain_table
from costing.wording import GROUP_WORDS, zones_in_words
from finishing import show
from inventory.shown import per_unit

_FIGURE, _TEXT = True, False


def breakdown_table(option: PricedOption) -> FixedTable:
    """The groups of one system with money, share and money per area."""
    area, cost = to_decimal(option.result.takeoff.area), option.shown.true_cost
    rows: list[Row] = [
        {
            "group": GROUP_WORDS[line.group],
            "amount": show.money(line.amount),
            "share": show.percent(line.amount / cost) if cost else show.NOTHING,
            "per_area": show.per_area(line.amount / area) if area else show.NOTHING,
        }
        for line in option.shown.lines
    ]
    total = {
        "group": "True cost",
        "amount": show.money(cost),
        "share": show.percent(Decimal(1)) if cost else show.NOTHING,
        "per_area": show.per_area(option.shown.cost_per_m2),
    }
    columns = (
        ("group", "Cost group", _TEXT),
        ("amount", "Money", _FIGURE),
        ("share", "Share", _FIGURE),
        ("per_area", "Per area", _FIGURE),
    )
    return plain_table(columns, rows, caption="True cost by group", prefix="breakdown-", total=total, hide_caption=True)


def price_table(option: PricedOption, tax_name: str) -> FixedTable:
    """From true cost to the total with tax."""
    price = option.price
    terms = price.terms
    step = f"rounded up to {show.money(terms.price_step)}" if terms.price_step else "rounded to the smallest coin"
    rows = [
        {"step": "True cost", "how": "sum of the groups as shown", "amount": show.money(price.cost)},
        {"step": "Price", "how": f"{terms.basis.value} {show.percent(terms.rate)}", "amount": show.money(price.calculated)},
        {
            "step": "After the minimum charge",
            "how": f"at least {show.money(terms.minimum_charge)}",
            "amount": show.money(price.after_minimum),
        },
        {"step": "Price before tax", "how": step, "amount": show.money(price.net)},
        {"step": tax_name, "how": show.percent(terms.tax_rate, 2), "amount": show.money(price.tax)},
    ]
    total = {"step": "Price with tax", "how": "", "amount": show.money(price.total)}
    columns = (("step", "Step", _TEXT), ("how", "How", _TEXT), ("amount", "Money", _FIGURE))
    return plain_table(columns, rows, caption="From cost to price", prefix="price-", total=total, hide_caption=True)


def operations_table(option: PricedOption) -> FixedTable:
    """Each operation with its area, pieces and time."""
    rates = option.result.rates.labour
    rows = [
        {
            "number": number,
            "name": done.operation.name,
            "kind": done.operation.kind.value,
            "zones": zones_in_words(done.operation.zones),
            "area": show.area(done.area),
            "pieces": show.number(done.pieces, 0),
            "labour": show.minutes(done.labour_minutes) if done.performed else "left out",
            "class": rates[done.operation.labour_class].name if done.operation.labour_class in rates else show.NOTHING,
            "booth": show.minutes(done.booth_minutes) if done.coat else show.NOTHING,
        }
        for number, done in enumerate(option.result.operations, start=1)
    ]
    columns = (
        ("number", "No.", _FIGURE),
        ("name", "Operation", _TEXT),
        ("kind", "Kind", _TEXT),
        ("zones", "Zones", _TEXT),
        ("area", "Area", _FIGURE),
        ("pieces", "Pieces", _FIGURE),
        ("labour", "Labour", _FIGURE),
        ("class", "Labour class", _TEXT),
        ("booth", "In the booth", _FIGURE),
    )
    return plain_table(
        columns, rows, caption="Operations", prefix="operations-", empty="This system has no operations yet.", hide_caption=True
    )


def coats_table(option: PricedOption) -> FixedTable:
    """Film, litres, fills and batches of every coat."""
    rows = [_coat_row(done) for done in option.result.operations if done.coat is not None]
    columns = (
        ("name", "Coat", _TEXT),
        ("film", "Wet film", _FIGURE),
        ("on", "On the surface", _FIGURE),
        ("over", "Overspray", _FIGURE),
        ("residue", "Residue", _FIGURE),
        ("mixed", "Mixed", _FIGURE),
        ("fills", "Fills", _FIGURE),
        ("batches", "Batches", _FIGURE),
        ("minutes", "Spraying", _FIGURE),
    )
    return plain_table(columns, rows, caption="Volumes of each coat", prefix="coats-", empty="This system has no coats.")


def _coat_row(done: OperationResult) -> Row:
    coat = done.coat
    if coat is None:
        return {}
    return {
        "name": done.operation.name,
        "film": show.film(coat.wet_film),
        "on": show.volume(coat.on_surface),
        "over": show.volume(coat.overspray),
        "residue": show.volume(coat.residue),
        "mixed": show.volume(coat.mixed),
        "fills": coat.fills,
        "batches": coat.batches,
        "minutes": show.minutes(coat.spray_minutes),
    }


def mixes_table(option: PricedOption) -> FixedTable:
    """What each coat is mixed from and what leaves the stock for it."""
    materials = option.result.materials
    rows = [
        {
            "coat": done.operation.name,
            "material": materials[part.material].name,
            "parts": show.number(part.parts, 4),
            "mixed": show.volume(part.mixed),
            "drawn": show.volume(part.drawn),
        }
        for done in option.result.operations
        if done.coat is not None
        for part in done.coat.components
    ]
    columns = (
        ("coat", "Coat", _TEXT),
        ("material", "Material", _TEXT),
        ("parts", "Parts", _FIGURE),
        ("mixed", "In the mix", _FIGURE),
        ("drawn", "From stock", _FIGURE),
    )
    return plain_table(columns, rows, caption="Mixes", prefix="mixes-", empty="Nothing is mixed.")


def materials_table(option: PricedOption) -> FixedTable:
    """Where each coating material ends, in litres, and its cost."""
    rows = [_material_row(use, option) for use in option.result.material_uses]
    columns = (
        ("material", "Material", _TEXT),
        ("film", "On the work", _FIGURE),
        ("over", "Overspray", _FIGURE),
        ("residue", "Residue", _FIGURE),
        ("heel", "Heel", _FIGURE),
        ("drawn", "From stock", _FIGURE),
        ("price", "Price", _FIGURE),
        ("expiry", "Expiry", _FIGURE),
        ("cost", "Cost", _FIGURE),
    )
    return plain_table(columns, rows, caption="Coating materials", prefix="materials-", empty="No coating is used.")


def _material_row(use: MaterialUse, option: PricedOption) -> Row:
    return {
        "material": use.material.name,
        "film": show.volume(use.film_litres),
        "over": show.volume(use.overspray_litres),
        "residue": show.volume(use.residue_litres),
        "heel": show.volume(use.heel_litres),
        "drawn": show.volume(use.drawn_litres),
        "price": per_unit(use.material.price, option.inputs.materials[int(use.material.key)]),
        "expiry": show.percent(use.material.expiry_allowance),
        "cost": show.money(use.cost),
    }


def supplies_table(option: PricedOption) -> FixedTable:
    """Each supply: what the lines add up to, what is charged, and its cost."""
    rows = [_supply_row(use, option) for use in option.result.supply_uses]
    columns = (
        ("material", "Supply", _TEXT),
        ("group", "Cost group", _TEXT),
        ("needed", "Lines add up to", _FIGURE),
        ("charged", "Charged", _FIGURE),
        ("price", "Price", _FIGURE),
        ("cost", "Cost", _FIGURE),
    )
    return plain_table(columns, rows, caption="Supplies", prefix="supplies-", empty="No supplies are used.")


def _supply_row(use: SupplyUse, option: PricedOption) -> Row:
    unit = use.material.unit.value
    return {
        "material": use.material.name,
        "group": GROUP_WORDS[use.group],
        "needed": show.quantity(to_decimal(use.needed), unit),
        "charged": show.quantity(to_decimal(use.quantity), unit),
        "price": per_unit(use.material.price, option.inputs.materials[int(use.material.key)]),
        "cost": show.money(use.cost),
    }


def bought_table(option: PricedOption) -> FixedTable:
    """What the shop would buy for this job if its shelf were empty, beside what the job uses."""
    packs = {str(pk): PackFacts(content=pack.content, price=pack.price) for pk, pack in option.inputs.packs.items()}
    found = purchases(option.result.needs, packs)
    rows = [
        {
            "material": one.need.material.name,
            "used": show.quantity(one.need.quantity, one.need.unit.value),
            "packs": f"{one.packs} × {show.quantity(one.pack.content, one.need.unit.value)}",
            "outlay": show.money(one.outlay),
            "used_value": show.money(one.used_value),
            "left": show.quantity(one.left, one.need.unit.value),
            "left_value": show.money(one.left_value),
        }
        for one in found
    ]
    total = {
        "material": "Together",
        "outlay": show.money(sum((one.outlay for one in found), Decimal(0))),
        "used_value": show.money(sum((one.used_value for one in found), Decimal(0))),
        "left_value": show.money(sum((one.left_value for one in found), Decimal(0))),
    }
    columns = (
        ("material", "Material", _TEXT),
        ("used", "Used", _FIGURE),
        ("packs", "Packs", _FIGURE),
        ("outlay", "Bought for", _FIGURE),
        ("used_value", "Used of it", _FIGURE),
        ("left", "Left over", _FIGURE),
        ("left_value", "Worth", _FIGURE),
    )
    return plain_table(
        columns, rows, caption="Bought and used", prefix="bought-", empty="Nothing is bought.", total=total, hide_caption=True
    )


def labour_table(option: PricedOption) -> FixedTable:
    """Each labour class with its time, rate and cost."""
    classes = option.result.rates.labour
    rows = [
        {
            "class": classes[use.labour_class].name,
            "time": show.minutes(use.minutes),
            "rate": f"{show.money(classes[use.labour_class].loaded_rate)}/h",
            "cost": show.money(use.cost),
        }
        for use in option.result.labour_uses
    ]
    columns = (
        ("class", "Labour class", _TEXT),
        ("time", "Time", _FIGURE),
        ("rate", "Loaded rate", _FIGURE),
        ("cost", "Cost", _FIGURE),
    )
    return plain_table(columns, rows, caption="Labour", prefix="labour-", empty="No labour is priced.", hide_caption=True)


def schedule_table(laid: LaidOut) -> FixedTable:
    """How long each operation holds the work: by the people on it, and by drying; and when it ends."""
    rows = [
        {
            "name": one.step.operation,
            "crew": one.step.crew,
            "work": show.minutes(one.step.working_minutes),
            "waits": show.minutes(one.step.waiting_minutes) if one.step.waiting_minutes else show.NOTHING,
            "begins": _moment(laid, one.start),
            "ends": _moment(laid, one.end),
        }
        for one in laid.steps
    ]
    total = {
        "name": "Elapsed",
        "work": show.minutes(sum(one.step.working_minutes for one in laid.steps)),
        "waits": show.minutes(sum(one.step.waiting_minutes for one in laid.steps)),
        "ends": _moment(laid, laid.end),
    }
    columns = (
        ("name", "Operation", _TEXT),
        ("crew", "People", _FIGURE),
        ("work", "Work", _FIGURE),
        ("waits", "Drying", _FIGURE),
        ("begins", "Begins", _FIGURE),
        ("ends", "Dry or done", _FIGURE),
    )
    return plain_table(
        columns,
        rows,
        caption="Elapsed time by operation",
        prefix="schedule-",
        empty="Nothing is done.",
        total=total,
        hide_caption=True,
    )


def _moment(laid: LaidOut, minutes: float) -> str:
    """A moment of the schedule: ``day 2, 1 h 30 min`` after work began that day, or ``night after day 2``."""
    day = floor(minutes / DAY + 1e-9)
    within = minutes - day * DAY
    if within > laid.hours_a_day * 60 + 0.5:
        return f"night after day {day + 1}"
    return f"day {day + 1}, {show.minutes(max(within, 0.0))}"
