"""The sheets of work and supplies behind a cost sheet: every line of an operation as amount × driver, live.

A step frozen before its lines were kept stands as reckoned: its minutes and supplies are inputs then.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from costing.core.system import CostGroup, Driver
from costing.documents.cost_sheet_parts import KEEP, PLAIN, Areas, CoatCells, Money, added, totals
from costing.documents.cost_sheet_units import Measures
from costing.snapshots import FrozenStep, FrozenSupplyUse, PlannedMaterial, Snapshot
from costing.wording import GROUP_WORDS, zones_in_words
from finishing.documents.sheet import Book, Formula, Sheet, Value, Width, ref

LINES, OPERATIONS, SUPPLIES = "Lines", "Operations", "Supplies"
_FIRST_STEP = 2  # row of the first operation on its sheet, below the header
_MINUTES = "D"  # column of an operation's minutes


@dataclass(slots=True)
class LineCells:
    """Cells of what the lines come to: minutes by step, and supplies by material, apart for whole units."""

    minutes: dict[int, list[str]] = field(default_factory=dict)
    exact: dict[int, list[str]] = field(default_factory=dict)
    whole: dict[int, list[str]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scene:
    """What a line's driver may stand for."""

    areas: Areas
    coats: CoatCells
    measures: Measures


def is_live(step: FrozenStep) -> bool:
    """True for a step whose lines were frozen with it."""
    return step.time_lines is not None


def lines(book: Book, snapshot: Snapshot, areas: Areas, coat_cells: CoatCells, measures: Measures) -> LineCells:
    """One row a line: amount for each unit of its driver, the driver's number, and what that comes to."""
    sheet = book.sheet(
        LINES,
        columns=(Width(30), Width(34), Width(16, PLAIN), Width(8), Width(24), Width(16, PLAIN), Width(16, PLAIN)),
        landscape=True,
    )
    sheet.header(("Operation", "Line", "Amount for each", "Unit", "Driver", "Number of it", "Comes to"))
    scene = _Scene(areas=areas, coats=coat_cells, measures=measures)
    cells = LineCells()
    for number, step in enumerate(snapshot.steps):
        if not step.performed or not is_live(step):
            continue
        minutes = cells.minutes.setdefault(step.position, [])
        for words, amount, driver in _time_lines(step):
            value = _driver(scene, step, driver, number)
            each, named = _per_driver(amount, driver, measures), _driver_words(driver, measures)
            minutes.append(_line(sheet, step, words, each, "min", driver=named, value=value))
        for supply in step.materials:
            if supply.driver is None or supply.per_driver is None:
                continue
            unit, factor = measures.stock_unit(supply.unit)
            amount = _per_driver(supply.per_driver * factor, supply.driver, measures)
            named, value = _driver_words(supply.driver, measures), _driver(scene, step, supply.driver, number)
            cell = _line(sheet, step, supply.name, amount, unit, driver=named, value=value)
            _where(cells, supply).setdefault(supply.material_id, []).append(cell)
    return cells


def _where(cells: LineCells, supply: PlannedMaterial) -> dict[int, list[str]]:
    return cells.whole if supply.whole_units else cells.exact


def _time_lines(step: FrozenStep) -> Iterator[tuple[str, Decimal, str]]:
    """Words, minutes and driver; a coat's own times first."""
    coat = step.coat
    if coat is not None:
        yield "Spraying", Decimal(1), SPRAYING
        yield "Loading cups", coat.fill_minutes or Decimal(0), Driver.FILL
        yield "Mixing", coat.batch_minutes or Decimal(0), Driver.BATCH
    for line in step.time_lines or ():
        yield line.label or "Work", line.minutes, line.driver


SPRAYING = "minute of spraying"


def _line(sheet: Sheet, step: FrozenStep, words: str, amount: Decimal, unit: str, *, driver: str, value: str) -> str:
    at = sheet.next_row
    comes_to = Formula(f"={ref('C', at)}*{ref('F', at)}")
    sheet.row((step.name, words, amount, unit, driver, Formula(f"={value}"), comes_to))
    return ref("G", at, fixed=True, sheet=LINES)


def _driver_words(driver: str, measures: Measures) -> str:
    """What the line is multiplied by, in the sheet's units."""
    own = {SPRAYING: SPRAYING, Driver.M2: measures.area, Driver.OVERSPRAY_KG: f"{measures.mass} of overspray solids"}
    return own.get(driver) or Driver(driver).words


def _per_driver(amount: Decimal, driver: str, measures: Measures) -> Decimal:
    """An amount per m² or kg as one per the sheet's area or mass."""
    unit = {Driver.M2: "m²", Driver.OVERSPRAY_KG: "kg"}.get(driver)  # type: ignore[call-overload]
    return amount if unit is None else measures.per(amount, unit)


def _driver(scene: _Scene, step: FrozenStep, driver: str, number: int) -> str:
    """What a driver stands for in a step, as a formula; nothing of a coat that finds no area."""
    coats = scene.coats
    if step.coat is None:
        values = {Driver.BATCH: "0", Driver.FILL: "0", Driver.OVERSPRAY_KG: "0"}
    else:
        solids = scene.measures.per(step.coat.solids_per_litre or Decimal(0), "L") * scene.measures.shown(Decimal(1), "kg")
        values = {
            Driver.BATCH: coats.of(step.position, "batches"),
            Driver.FILL: coats.of(step.position, "fills"),
            Driver.OVERSPRAY_KG: f"{coats.of(step.position, 'overspray')}*{float(solids)!r}",
        }
    if driver == SPRAYING:
        return coats.of(step.position, "minutes")
    if driver in values:
        return values[Driver(driver)]
    plain = {
        Driver.OPERATION: "1",
        Driver.M2: scene.areas.of(step.zones)[0],
        Driver.PIECE: scene.areas.pieces_of(step.zones),
        Driver.LABOUR_HOUR: f"{ref(_MINUTES, _FIRST_STEP + number, sheet=OPERATIONS)}/60",
    }[Driver(driver)]
    return plain if step.coat is None else f"IF({coats.of(step.position, 'area')}=0,0,{plain})"


def operations(
    book: Book, snapshot: Snapshot, areas: Areas, line_cells: LineCells, measures: Measures, money: Money
) -> dict[str, str]:
    """Minutes of each operation at the loaded rate of its class; the cell of their sum."""
    rates: dict[str, Decimal] = {entry.name: entry.loaded_rate for entry in snapshot.labour}
    formats = ("", "", "#,##0.000000", PLAIN, "", money.exact, money.exact)
    widths = (34, 18, 14, 14, 22, 16, 16)
    sheet = book.sheet(OPERATIONS, columns=[Width(width, number) for width, number in zip(widths, formats, strict=True)])
    sheet.header(("Operation", "Zones", f"Area, {measures.area}", "Labour, min", "Labour class", "Loaded rate per hour", "Cost"))
    first = sheet.next_row
    for step in snapshot.steps:
        at = sheet.next_row
        minutes: Value = step.labour_minutes
        if step.performed and is_live(step):
            minutes = Formula(f"={added(line_cells.minutes.get(step.position, []))}")
        cost = Formula(f"={ref(_MINUTES, at)}*{ref('F', at)}/60")
        rate = rates.get(step.labour_class, Decimal(0))
        area = Formula(f"={areas.of(step.zones)[0]}")
        sheet.row((step.name, zones_in_words(step.zones), area, minutes, step.labour_class, rate, cost))
    return totals(sheet, OPERATIONS, first, {CostGroup.LABOUR: "G"}, before=6)


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyCells:
    """The sums of the three supply groups, and the volume of cleaning liquid, as formulas."""

    groups: dict[str, str]
    cleaner: str


def supplies(book: Book, snapshot: Snapshot, line_cells: LineCells, measures: Measures, money: Money) -> SupplyCells:
    """Quantity times price of each supply; what its lines count in whole units is rounded up once."""
    sheet = book.sheet(
        SUPPLIES,
        columns=(
            Width(34),
            Width(16),
            Width(16, PLAIN),
            Width(14, PLAIN),
            Width(8),
            Width(14, money.exact),
            Width(15, money.exact),
        ),
    )
    sheet.header(("Supply", "Cost group", "Lines add up to", "Charged", "Unit", "Price per unit", "Cost"))
    rows: dict[str, list[str]] = {group: [] for group in (CostGroup.CLEANER, CostGroup.ABRASIVES, CostGroup.DISPOSABLES)}
    liquids = []
    live = all(is_live(step) for step in snapshot.steps)
    for use in snapshot.supply_uses:
        at = sheet.next_row
        unit, factor = measures.stock_unit(use.unit)
        needed, charged = _quantities(use, line_cells, factor, live=live)
        cost = Formula(f"={ref('D', at)}*{ref('F', at)}")
        sheet.row((use.name, GROUP_WORDS[use.group], needed, charged, unit, use.price / factor, cost))
        rows[use.group].append(ref("G", at))
        if use.group == CostGroup.CLEANER and (volume := _volume(snapshot, use, measures)):
            liquids.append(f"{ref('D', at, fixed=True, sheet=SUPPLIES)}*{float(volume / factor)!r}")
    cells = {}
    for group, costs in rows.items():
        at = sheet.total((GROUP_WORDS[group], None, None, None, None, None, Formula(f"={added(costs)}")))
        cells[group] = ref("G", at, fixed=True, sheet=SUPPLIES)
    return SupplyCells(groups=cells, cleaner=added(liquids))


def _quantities(use: FrozenSupplyUse, line_cells: LineCells, factor: Decimal, *, live: bool) -> tuple[Value, Value]:
    exact: Sequence[str] = line_cells.exact.get(use.material_id, ())
    whole: Sequence[str] = line_cells.whole.get(use.material_id, ())
    if not live or not (exact or whole):
        return use.needed * factor, use.quantity * factor
    # Whole units are units of stock: a shop that reads other units opens no other cans.
    units = f"({added(whole)})/{float(factor)!r}"
    opened = f"ROUNDUP({units}*{KEEP},0)*{float(factor)!r}" if factor != 1 else f"ROUNDUP(({added(whole)})*{KEEP},0)"
    return Formula(f"={added([*exact, *whole])}"), Formula(f"={added(exact)}+{opened}")


def _volume(snapshot: Snapshot, use: FrozenSupplyUse, measures: Measures) -> Decimal:
    """The sheet's volume in one stock unit of a cleaning liquid; 0 for wipes and the like."""
    if use.unit == "L":
        return measures.shown(Decimal(1), "L")
    density = next((material.density for material in snapshot.materials if material.id == use.material_id), None)
    return measures.shown(1 / density, "L") if use.unit == "kg" and density else Decimal(0)
