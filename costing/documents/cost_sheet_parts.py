"""The sheets behind a cost sheet's summary: takeoff, coats, mixes, materials, supplies, operations.

Every function adds one sheet and answers the names of the cells that the next one builds on.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from costing.core.system import CostGroup
from costing.snapshots import FrozenStep, Snapshot
from costing.wording import GROUP_WORDS, zones_in_words
from finishing.documents.sheet import Book, Formula, Sheet, Value, Width, ref

_AREA = "#,##0.000000"
_LITRES = "#,##0.000000"
_PLAIN = "#,##0.######"
_COUNT = "#,##0"
_SHARE = "0.00%"


@dataclass(frozen=True, slots=True, kw_only=True)
class Money:
    """How amounts are written: as printed, exact, and with how many decimals."""

    shown: str
    exact: str
    places: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Areas:
    """Cells of the takeoff: area and area over geometry factor, by zones."""

    show: tuple[str, str]
    hidden: tuple[str, str]
    all: str
    all_sprayed: str

    def of(self, zones: tuple[str, ...]) -> tuple[str, str]:
        """Area and sprayed area of an operation's zones."""
        if len(zones) == 2:
            return self.all, self.all_sprayed
        return self.show if zones == ("show",) else self.hidden


def added(cells: Iterable[str]) -> str:
    """Cells added one by one; 0 for none. Explicit, since a lookup by name would trip over names like ``>5``."""
    return "+".join(cells) or "0"


def takeoff(book: Book, snapshot: Snapshot) -> Areas:
    """The rows with their areas, and the sums by zone."""
    name = "Takeoff"
    sheet = book.sheet(
        name,
        columns=(Width(34), Width(10), Width(9, _COUNT), Width(26), Width(14, _AREA), Width(12, _PLAIN), Width(16, _AREA)),
    )
    sheet.header(("Piece", "Zone", "Pieces", "Size", "Area, m²", "Geometry factor", "Area / factor, m²"))
    zones: dict[str, list[int]] = {"show": [], "hidden": []}
    for row in snapshot.takeoff.rows:
        at = sheet.next_row
        sheet.row(
            (row.label, row.zone, row.pieces, row.size, row.area, row.geometry_factor, Formula(f"={ref('E', at)}/{ref('F', at)}"))
        )
        zones[row.zone].append(at)
    cells = {}
    for zone, rows in zones.items():
        at = sheet.next_row
        area, sprayed = (added(ref(column, row) for row in rows) for column in ("E", "G"))
        sheet.total((f"Zone {zone}", None, None, None, Formula(f"={area}"), None, Formula(f"={sprayed}")))
        cells[zone] = (ref("E", at, fixed=True, sheet=name), ref("G", at, fixed=True, sheet=name))
    at = sheet.next_row
    both = (f"={ref(column, at - 2)}+{ref(column, at - 1)}" for column in ("E", "G"))
    area_formula, sprayed_formula = both
    sheet.total(("All", None, None, None, Formula(area_formula), None, Formula(sprayed_formula)))
    return Areas(
        show=cells["show"],
        hidden=cells["hidden"],
        all=ref("E", at, fixed=True, sheet=name),
        all_sprayed=ref("G", at, fixed=True, sheet=name),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatRows:
    """Cells of the coats: row of each step's coat, and the residue of all of them."""

    rows: dict[int, int]  # by the step's position
    residue: str


_COAT_HEADS = (
    "Coat", "Zones", "Area, m²", "Area / factor, m²", "Wet film, µm", "Transfer efficiency", "Cup, L", "Residue per fill, L",
    "Residue per batch, L", "Spraying, m²/h", "Pot life, min", "On the work, L", "Sprayed, L", "Overspray, L", "Spraying, min",
    "Batches", "Fills", "Residue, L", "Mixed, L",
)  # fmt: skip
_COAT_FORMATS = (
    "", "", _AREA, _AREA, _PLAIN, _PLAIN, _PLAIN, _PLAIN, _PLAIN, _PLAIN, _PLAIN, _LITRES, _LITRES, _LITRES, _PLAIN,
    _COUNT, _COUNT, _LITRES, _LITRES,
)  # fmt: skip


def coats(book: Book, snapshot: Snapshot, areas: Areas) -> CoatRows:
    """Costing model, section 4, one row a coat: inputs up to the pot life, then formulas."""
    name = "Coats"
    widths = [Width(30 if head == "Coat" else 17, number) for head, number in zip(_COAT_HEADS, _COAT_FORMATS, strict=True)]
    sheet = book.sheet(name, columns=widths, landscape=True)
    sheet.header(_COAT_HEADS)
    rows = {}
    for step in snapshot.steps:
        if step.coat is not None:
            rows[step.position] = sheet.row(_coat_row(step, areas, sheet.next_row))
    residue = added(ref("R", row, fixed=True, sheet=name) for row in rows.values())
    return CoatRows(rows=rows, residue=f"({residue})")


def _coat_row(step: FrozenStep, areas: Areas, at: int) -> tuple[Value, ...]:
    coat = step.coat
    if coat is None:
        raise ValueError(f"the step {step.name!r} is no coat")
    area, sprayed = areas.of(step.zones)
    c, f, g, h, i, j, k, m, o, p, q, r = (ref(letter, at) for letter in "CFGHIJKMOPQR")
    film = ref("E", at)
    return (
        step.name,
        zones_in_words(step.zones),
        Formula(f"={area}"),
        Formula(f"={sprayed}"),
        coat.wet_film,
        coat.transfer_efficiency,
        coat.cup_capacity,
        coat.residue_per_fill,
        coat.residue_per_batch,
        coat.spray_rate,
        coat.pot_life,
        Formula(f"={c}*{film}/1000"),
        Formula(f"={ref('D', at)}*{film}/(1000*{f})"),
        Formula(f"={m}-{ref('L', at)}"),
        Formula(f"=60*{c}/{j}"),
        # A ceiling forgives a relative 1e-9 of noise (costing model, section 4).
        Formula(f'=IF({c}=0,0,IF({k}="",1,MAX(1,ROUNDUP({o}/{k}*(1-1E-9),0))))'),
        Formula(f"=IF({c}=0,0,{p}*ROUNDUP({m}/{p}/({g}-{h})*(1-1E-9),0))"),
        Formula(f"={q}*{h}+{p}*{i}"),
        Formula(f"={m}+{r}"),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class MixCells:
    """Where one component of one coat stands in the mixes: film, overspray, residue and heel in litres."""

    film: str
    overspray: str
    residue: str
    heel: str


def mixes(book: Book, snapshot: Snapshot, coat_rows: CoatRows) -> dict[int, list[MixCells]]:
    """Each coat's components by their parts; the cells of every material, by its id."""
    name = "Mixes"
    widths = (Width(30), Width(34), *(Width(14, number) for number in (_PLAIN, _PLAIN, *(_LITRES,) * 4, _PLAIN, *(_LITRES,) * 2)))
    sheet = book.sheet(name, columns=widths, landscape=True)
    sheet.header(
        ("Coat", "Material", "Parts", "Share", "On the work, L", "Overspray, L", "Residue, L", "Mixed, L", "Yield",
         "From stock, L", "Heel, L")
    )  # fmt: skip
    yields = {material.id: material.yield_fraction for material in snapshot.materials}
    found: dict[int, list[MixCells]] = {}
    for step in snapshot.steps:
        if step.coat is None:
            continue
        first, last = sheet.next_row, sheet.next_row + len(step.coat.components) - 1
        for part in step.coat.components:
            at = sheet.next_row
            sheet.row(
                (step.name, part.name, part.parts, *_mix_formulas(at, coat_rows.rows[step.position], first, last),
                 yields[part.material_id], Formula(f"={ref('H', at)}/{ref('I', at)}"), Formula(f"={ref('J', at)}-{ref('H', at)}"))
            )  # fmt: skip
            cells = (ref(column, at, fixed=True, sheet=name) for column in "EFGK")
            film, overspray, residue, heel = cells
            found.setdefault(part.material_id, []).append(MixCells(film=film, overspray=overspray, residue=residue, heel=heel))
    return found


def _mix_formulas(at: int, coat_row: int, first: int, last: int) -> tuple[Formula, ...]:
    """Share of the mix, and that share of film, overspray and residue and their sum."""
    share = ref("D", at)
    whole = f"SUM({ref('C', first)}:{ref('C', last)})"
    litres = tuple(Formula(f"={ref(column, coat_row, sheet='Coats')}*{share}") for column in ("L", "N", "R"))
    return (Formula(f"={ref('C', at)}/{whole}"), *litres, Formula(f"=SUM({ref('E', at)}:{ref('G', at)})"))


def materials(book: Book, snapshot: Snapshot, mix_cells: dict[int, list[MixCells]], money: Money) -> dict[str, str]:
    """Litres and money of each coating material; the cells of the five material groups."""
    name = "Materials"
    widths = (Width(34), *(Width(14, _LITRES) for _ in range(4)), Width(14, money.exact), Width(10, _SHARE),
              *(Width(15, money.exact) for _ in range(5)))  # fmt: skip
    sheet = book.sheet(name, columns=widths, landscape=True)
    kinds = ("film", "overspray", "residue", "heel")
    sheet.header(
        ("Material", *(f"{words}, L" for words in ("On the work", "Overspray", "Residue", "Heel")), "Price per L", "Expiry",
         *(GROUP_WORDS[group] for group in _MATERIAL_GROUPS))
    )  # fmt: skip
    first = sheet.next_row
    for use in snapshot.material_uses:
        at = sheet.next_row
        cells = mix_cells.get(use.material_id, [])
        litres = tuple(Formula(f"={added(getattr(cell, kind) for cell in cells)}") for kind in kinds)
        price, share = ref("F", at), ref("G", at)
        costs = tuple(Formula(f"={ref(column, at)}*{price}") for column in "BCDE")
        expiry = Formula(f"=SUM({ref('H', at)}:{ref('K', at)})*{share}/(1-{share})")
        sheet.row((use.name, *litres, use.litre_price, use.expiry_allowance, *costs, expiry))
    return _totals(sheet, name, first, dict(zip(_MATERIAL_GROUPS, "HIJKL", strict=True)), before=7)


_MATERIAL_GROUPS = (CostGroup.FILM, CostGroup.OVERSPRAY, CostGroup.RESIDUE, CostGroup.HEEL, CostGroup.EXPIRY)


def _totals(sheet: Sheet, name: str, first: int, columns: dict[CostGroup, str], *, before: int) -> dict[str, str]:
    """A row of sums below the rows; its cells by group."""
    at, last = sheet.next_row, sheet.next_row - 1
    sums = (
        Formula(f"=SUM({ref(column, first)}:{ref(column, last)})") if last >= first else Formula("=0")
        for column in columns.values()
    )
    sheet.total(("Sum", *(None,) * (before - 1), *sums))
    return {group: ref(column, at, fixed=True, sheet=name) for group, column in columns.items()}


def supplies(book: Book, snapshot: Snapshot, money: Money) -> dict[str, str]:
    """Quantity times price of each supply; the sums of the three supply groups."""
    name = "Supplies"
    sheet = book.sheet(
        name, columns=(Width(34), Width(16), Width(14, _PLAIN), Width(8), Width(14, money.exact), Width(15, money.exact))
    )
    sheet.header(("Supply", "Cost group", "Charged", "Unit", "Price per unit", "Cost"))
    rows: dict[str, list[str]] = {group: [] for group in (CostGroup.CLEANER, CostGroup.ABRASIVES, CostGroup.DISPOSABLES)}
    for use in snapshot.supply_uses:
        at = sheet.next_row
        cost = Formula(f"={ref('C', at)}*{ref('E', at)}")
        sheet.row((use.name, GROUP_WORDS[use.group], use.quantity, use.unit, use.price, cost))
        rows[use.group].append(ref("F", at))
    cells = {}
    for group, costs in rows.items():
        at = sheet.total((GROUP_WORDS[group], None, None, None, None, Formula(f"={added(costs)}")))
        cells[group] = ref("F", at, fixed=True, sheet=name)
    return cells


def labour(book: Book, snapshot: Snapshot, money: Money) -> dict[str, str]:
    """Minutes of each operation at the loaded rate of its class; the cell of their sum."""
    name = "Operations"
    rates: dict[str, Decimal] = {entry.name: entry.loaded_rate for entry in snapshot.labour}
    sheet = book.sheet(
        name,
        columns=(
            Width(34),
            Width(18),
            Width(14, _AREA),
            Width(14, _PLAIN),
            Width(22),
            Width(16, money.exact),
            Width(16, money.exact),
        ),
    )
    sheet.header(("Operation", "Zones", "Area, m²", "Labour, min", "Labour class", "Loaded rate per hour", "Cost"))
    first = sheet.next_row
    for step in snapshot.steps:
        at = sheet.next_row
        cost = Formula(f"={ref('D', at)}*{ref('F', at)}/60")
        rate = rates.get(step.labour_class, Decimal(0))
        sheet.row((step.name, zones_in_words(step.zones), step.area, step.labour_minutes, step.labour_class, rate, cost))
    return _totals(sheet, name, first, {CostGroup.LABOUR: "G"}, before=6)
