"""The sheets behind a cost sheet's summary: takeoff, coats, mixes, materials.

Every function adds one sheet and answers the names of the cells that the next one builds on.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from openpyxl.utils import get_column_letter

from costing.core.system import CostGroup
from costing.documents.cost_sheet_units import Measures
from costing.snapshots import FrozenStep, Snapshot
from costing.wording import GROUP_WORDS, zones_in_words
from finishing.documents.sheet import Book, Formula, Sheet, Value, Width, ref

_AREA = "#,##0.000000"
_LITRES = "#,##0.000000"
PLAIN = "#,##0.######"
_COUNT = "#,##0"
_SHARE = "0.00%"
KEEP = "(1-1E-9)"  # a ceiling forgives a relative 1e-9 of noise (costing model, section 4)


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
    pieces: dict[str, str]  # by zone

    def of(self, zones: tuple[str, ...]) -> tuple[str, str]:
        """Area and sprayed area of an operation's zones."""
        if len(zones) == 2:
            return self.all, self.all_sprayed
        return self.show if zones == ("show",) else self.hidden

    def pieces_of(self, zones: tuple[str, ...]) -> str:
        """Pieces of an operation's zones."""
        return f"({added(self.pieces[zone] for zone in zones)})"


def added(cells: Iterable[str]) -> str:
    """Cells added one by one; 0 for none. Explicit, since a lookup by name would trip over names like ``>5``."""
    return "+".join(cells) or "0"


def takeoff(book: Book, snapshot: Snapshot, measures: Measures) -> Areas:
    """The rows with their areas, and the sums by zone."""
    name = "Takeoff"
    sheet = book.sheet(
        name,
        columns=(Width(34), Width(10), Width(9, _COUNT), Width(26), Width(14, _AREA), Width(12, PLAIN), Width(16, _AREA)),
    )
    unit = measures.area
    sheet.header(("Piece", "Zone", "Pieces", "Size", f"Area, {unit}", "Geometry factor", f"Area / factor, {unit}"))
    zones: dict[str, list[int]] = {"show": [], "hidden": []}
    for row in snapshot.takeoff.rows:
        at = sheet.next_row
        area = measures.shown(row.area, "m²")
        over = Formula(f"={ref('E', at)}/{ref('F', at)}")
        sheet.row((row.label, row.zone, row.pieces, row.size, area, row.geometry_factor, over))
        zones[row.zone].append(at)
    cells, pieces = {}, {}
    for zone, rows in zones.items():
        at = sheet.next_row
        number, sum_area, sprayed = (Formula(f"={added(ref(column, row) for row in rows)}") for column in ("C", "E", "G"))
        sheet.total((f"Zone {zone}", None, number, None, sum_area, None, sprayed))
        pieces[zone] = ref("C", at, fixed=True, sheet=name)
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
        pieces=pieces,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatCells:
    """Cells of the coats: the column of each step's coat, the rows of its figures, and the residue of all coats."""

    columns: dict[int, str]  # by the step's position
    rows: dict[str, int]  # by the figure
    residue: str
    booth: str  # minutes in the booth, all coats together

    def of(self, position: int, figure: str) -> str:
        """The cell of a coat's figure, seen from another sheet."""
        return ref(self.columns[position], self.rows[figure], sheet=COATS)


COATS = "Coats"


def coats(book: Book, snapshot: Snapshot, areas: Areas, measures: Measures) -> CoatCells:
    """Costing model, section 4, one column a coat: what is given first, then the formulas."""
    listed = [step for step in snapshot.steps if step.coat is not None]
    sheet = book.sheet(COATS, columns=(Width(28), *(Width(18) for _ in listed)))
    sheet.header(("Coat", *(step.name for step in listed)))
    columns = {step.position: get_column_letter(number) for number, step in enumerate(listed, start=2)}
    rows = {figure: number for number, (figure, *_) in enumerate(_COAT_FIGURES, start=sheet.next_row)}
    values = {step.position: _coat_values(step, areas, columns[step.position], rows, measures) for step in listed}
    names = {"m²": measures.area, "µm": measures.film, "L": measures.volume, "m²/h": f"{measures.area}/h"}
    for figure, words, unit, number_format in _COAT_FIGURES:
        head = f"{words}, {names.get(unit, unit)}" if unit else words
        line = (head, *(values[step.position][figure] for step in listed))
        sheet.row(line, formats=("", *(number_format for _ in listed)))
    residue, booth = (added(ref(column, rows[key], fixed=True, sheet=COATS) for column in columns.values()) for key in _SUMS)
    return CoatCells(columns=columns, rows=rows, residue=f"({residue})", booth=booth)


_SUMS = ("residue", "booth")


_COAT_FIGURES = (
    ("zones", "Zones", "", ""),
    ("area", "Area", "m²", _AREA),
    ("aimed", "Area / geometry factor", "m²", _AREA),
    ("film", "Wet film", "µm", PLAIN),
    ("efficiency", "Transfer efficiency", "", PLAIN),
    ("cup", "Cup", "L", PLAIN),
    ("per_fill", "Residue per fill", "L", PLAIN),
    ("per_batch", "Residue per batch", "L", PLAIN),
    ("rate", "Spraying rate", "m²/h", PLAIN),
    ("pot_life", "Pot life", "min", PLAIN),
    ("fill_minutes", "Loading a cup", "min", PLAIN),
    ("flash", "Flash-off", "min", PLAIN),
    ("on_work", "On the work", "L", _LITRES),
    ("sprayed", "Sprayed", "L", _LITRES),
    ("overspray", "Overspray", "L", _LITRES),
    ("minutes", "Spraying", "min", PLAIN),
    ("batches", "Batches", "", _COUNT),
    ("fills", "Fills", "", _COUNT),
    ("residue", "Residue", "L", _LITRES),
    ("mixed", "Mixed", "L", _LITRES),
    ("booth", "In the booth", "min", PLAIN),
)


def _coat_values(step: FrozenStep, areas: Areas, column: str, rows: dict[str, int], measures: Measures) -> dict[str, Value]:
    """What stands in a coat's column, by figure."""
    coat = step.coat
    if coat is None:
        raise ValueError(f"the step {step.name!r} is no coat")
    area, aimed = areas.of(step.zones)
    c = {figure: ref(column, row) for figure, row in rows.items()}
    by_pot_life = f"MAX(1,ROUNDUP({c['minutes']}/{c['pot_life']}*{KEEP},0))"
    per_batch = f"ROUNDUP({c['sprayed']}/{c['batches']}/({c['cup']}-{c['per_fill']})*{KEEP},0)"
    volume = measures.volume_of_film
    booth: Value = step.booth_minutes
    if coat.fill_minutes is not None:
        booth = Formula(f"=IF({c['area']}=0,0,{c['minutes']}+{c['fill_minutes']}*{c['fills']}+{c['flash']})")
    return {
        "zones": zones_in_words(step.zones),
        "area": Formula(f"={area}"),
        "aimed": Formula(f"={aimed}"),
        "film": measures.shown(coat.wet_film, "µm"),
        "efficiency": coat.transfer_efficiency,
        "cup": measures.shown(coat.cup_capacity, "L"),
        "per_fill": measures.shown(coat.residue_per_fill, "L"),
        "per_batch": measures.shown(coat.residue_per_batch, "L"),
        "rate": measures.shown(coat.spray_rate, "m²"),
        "pot_life": coat.pot_life,
        "fill_minutes": coat.fill_minutes,
        "flash": coat.flash_minutes,
        "booth": booth,
        "on_work": Formula(f"={c['area']}*{c['film']}{volume}"),
        "sprayed": Formula(f"={c['aimed']}*{c['film']}{volume}/{c['efficiency']}"),
        "overspray": Formula(f"={c['sprayed']}-{c['on_work']}"),
        "minutes": Formula(f"=60*{c['area']}/{c['rate']}"),
        "batches": Formula(f'=IF({c["area"]}=0,0,IF({c["pot_life"]}="",1,{by_pot_life}))'),
        "fills": Formula(f"=IF({c['area']}=0,0,{c['batches']}*{per_batch})"),
        "residue": Formula(f"={c['fills']}*{c['per_fill']}+{c['batches']}*{c['per_batch']}"),
        "mixed": Formula(f"={c['sprayed']}+{c['residue']}"),
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class MixCells:
    """Where one component of one coat stands in the mixes: film, overspray, residue and heel in litres."""

    film: str
    overspray: str
    residue: str
    heel: str


def mixes(book: Book, snapshot: Snapshot, coat_cells: CoatCells, measures: Measures) -> dict[int, list[MixCells]]:
    """Each coat's components by their parts; the cells of every material, by its id."""
    name, unit = "Mixes", measures.volume
    widths = (Width(30), Width(34), *(Width(14, number) for number in (PLAIN, PLAIN, *(_LITRES,) * 4, PLAIN, *(_LITRES,) * 2)))
    sheet = book.sheet(name, columns=widths, landscape=True)
    sheet.header(
        ("Coat", "Material", "Parts", "Share", f"On the work, {unit}", f"Overspray, {unit}", f"Residue, {unit}",
         f"Mixed, {unit}", "Yield", f"From stock, {unit}", f"Heel, {unit}")
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
                (step.name, part.name, part.parts, *_mix_formulas(at, coat_cells, step.position, first, last),
                 yields[part.material_id], Formula(f"={ref('H', at)}/{ref('I', at)}"), Formula(f"={ref('J', at)}-{ref('H', at)}"))
            )  # fmt: skip
            cells = (ref(column, at, fixed=True, sheet=name) for column in "EFGK")
            film, overspray, residue, heel = cells
            found.setdefault(part.material_id, []).append(MixCells(film=film, overspray=overspray, residue=residue, heel=heel))
    return found


def _mix_formulas(at: int, coat_cells: CoatCells, position: int, first: int, last: int) -> tuple[Formula, ...]:
    """Share of the mix, and that share of film, overspray and residue and their sum."""
    share = ref("D", at)
    whole = f"SUM({ref('C', first)}:{ref('C', last)})"
    litres = tuple(Formula(f"={coat_cells.of(position, figure)}*{share}") for figure in ("on_work", "overspray", "residue"))
    return (Formula(f"={ref('C', at)}/{whole}"), *litres, Formula(f"=SUM({ref('E', at)}:{ref('G', at)})"))


def materials(
    book: Book, snapshot: Snapshot, mix_cells: dict[int, list[MixCells]], measures: Measures, money: Money
) -> dict[str, str]:
    """Litres and money of each coating material; the cells of the five material groups."""
    name, unit = "Materials", measures.volume
    widths = (Width(34), *(Width(14, _LITRES) for _ in range(4)), Width(14, money.exact), Width(10, _SHARE),
              *(Width(15, money.exact) for _ in range(5)))  # fmt: skip
    sheet = book.sheet(name, columns=widths, landscape=True)
    kinds = ("film", "overspray", "residue", "heel")
    litres = (f"{words}, {unit}" for words in ("On the work", "Overspray", "Residue", "Heel"))
    sheet.header(("Material", *litres, f"Price per {unit}", "Expiry", *(GROUP_WORDS[group] for group in _MATERIAL_GROUPS)))
    first = sheet.next_row
    for use in snapshot.material_uses:
        at = sheet.next_row
        cells = mix_cells.get(use.material_id, [])
        volumes = tuple(Formula(f"={added(getattr(cell, kind) for cell in cells)}") for kind in kinds)
        price, share = ref("F", at), ref("G", at)
        costs = tuple(Formula(f"={ref(column, at)}*{price}") for column in "BCDE")
        expiry = Formula(f"=SUM({ref('H', at)}:{ref('K', at)})*{share}/(1-{share})")
        sheet.row((use.name, *volumes, measures.per(use.litre_price, "L"), use.expiry_allowance, *costs, expiry))
    return totals(sheet, name, first, dict(zip(_MATERIAL_GROUPS, "HIJKL", strict=True)), before=7)


_MATERIAL_GROUPS = (CostGroup.FILM, CostGroup.OVERSPRAY, CostGroup.RESIDUE, CostGroup.HEEL, CostGroup.EXPIRY)


def totals(sheet: Sheet, name: str, first: int, columns: dict[CostGroup, str], *, before: int) -> dict[str, str]:
    """A row of sums below the rows; its cells by group."""
    at, last = sheet.next_row, sheet.next_row - 1
    sums = (
        Formula(f"=SUM({ref(column, first)}:{ref(column, last)})") if last >= first else Formula("=0")
        for column in columns.values()
    )
    sheet.total(("Sum", *(None,) * (before - 1), *sums))
    return {group: ref(column, at, fixed=True, sheet=name) for group, column in columns.items()}
