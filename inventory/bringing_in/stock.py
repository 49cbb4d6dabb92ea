"""Opening stock as a list: what stood on the shelves on the day a shop began its books.

A lot is known again by its material and its number. What is in the books already is not booked again; where the file says another
amount than came in or is on hand, it is refused, since a count or a reversal is the way to mend that.
"""

from __future__ import annotations

import uuid
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from itertools import groupby
from typing import Any

from django import forms

from finishing import show
from finishing.cells import CellRefusedError
from finishing.columns import Column, Line, NamedList
from finishing.fields import to_step
from finishing.forms import MoneyFormField
from finishing.steps import Progress, Work, chunks
from inventory.bringing_in.cells import Cell, Faults, Quantities, by_field, day, folded, shown, text_of
from inventory.bringing_in.names import Names, enter_places, enter_suppliers
from inventory.bringing_in.plan import Change, Given, Plan, PlannedRow, State
from inventory.choices import PostingKind
from inventory.core.lots import expiry
from inventory.models import Location, Lot, Material, Movement, Pack, Supplier
from inventory.services import ledger
from inventory.services.moves import MOST_CONTAINERS

REFERENCE = "Opening stock"
UNNUMBERED = "OPENING"  # the lot number of what has none on it
WAS_THERE = "It was on the shelf when the books began."

COLUMNS = (
    Column(field="material", name="Material", words="Its code.", example="CLEAR-WB", is_needed=True, also=("material code",)),
    Column(
        field="lot",
        name="Lot",
        words=f"The number on the label. Empty: {UNNUMBERED}. The lot is known again by it, together with the material.",
        example="A-2207",
        also=("lot number",),
    ),
    Column(
        field="quantity",
        name="Quantity",
        words="In the unit the material is kept in, or with its unit: 1 gal.",
        example="7.5",
        is_needed=True,
        also=("on hand",),
    ),
    Column(
        field="unit_cost",
        name="Cost per unit",
        words="Money for one litre, kilogram, piece. Empty: that of the usual pack.",
        example="21.20",
    ),
    Column(field="made_on", name="Made on", words="From the label.", example="2026-02-01", also=("made",)),
    Column(
        field="expires_on",
        name="Expires on",
        words="Empty: reckoned from the day it was made.",
        example="2027-02-01",
        also=("expires",),
    ),
    Column(
        field="place",
        name="Place",
        words="Where it stands. A new name becomes a shelf. Empty: the usual place.",
        example="Shelf 3",
    ),
    Column(field="containers", name="Containers", words="Cans or boxes of this lot. Empty: 1.", example="2"),
    Column(
        field="supplier",
        name="Supplier",
        words="Where it was bought, if known. A new name becomes a supplier.",
        example="",
        width=24,
    ),
)


@dataclass(slots=True)
class _InBooks:
    """What the books hold of one lot number of a material."""

    came: Decimal = Decimal(0)
    left: Decimal = Decimal(0)  # of it, today
    costs: set[Decimal] = field(default_factory=set)
    expiries: set[date | None] = field(default_factory=set)


def rows_out() -> Iterator[tuple[Cell, ...]]:
    """All lots that hold something, as rows of the list."""
    lots = Lot.objects.in_stock().select_related("material", "location", "supplier").order_by("material__code", "number", "pk")
    for lot in lots:
        yield (
            lot.material.code,
            lot.number,
            lot.on_hand,
            lot.unit_cost,
            lot.made_on,
            lot.expires_on,
            lot.place,
            lot.containers,
            lot.supplier.name if lot.supplier else "",
        )


def _key(material: Material, number: str) -> tuple[int, str]:
    return material.pk, folded(number)


def _in_books(materials: set[int]) -> dict[tuple[int, str], _InBooks]:
    """Lots of these materials that came in and stand, by material and number."""
    receipts = Movement.objects.filter(posting__kind=PostingKind.RECEIPT, lot__material__in=materials)
    came = {move.lot_id: (move.quantity, move.pk) for move in receipts}
    undone = set(Movement.objects.filter(reverses__in=[pk for _, pk in came.values()]).values_list("reverses__lot_id", flat=True))
    found: dict[tuple[int, str], _InBooks] = defaultdict(_InBooks)
    for lot in Lot.objects.filter(material__in=materials).select_related("material"):
        if lot.pk in undone:
            continue
        kept = found[_key(lot.material, lot.number)]
        kept.came += came.get(lot.pk, (Decimal(0), 0))[0]
        kept.left += lot.on_hand
        kept.costs.add(lot.unit_cost)
        kept.expiries.add(lot.expires_on)
    return dict(found)


def plan(named: NamedList, given: Given) -> Work[Plan]:
    """What the list would book."""
    reader = _Reader(named, given)
    read = []
    for part in chunks(named.lines):
        read += [reader.read(line) for line in part]
        yield Progress(words="Checking rows", done=len(read), total=len(named.lines))
    rows = reader.judged(read)
    places, suppliers = reader.places.new(), reader.suppliers.new()
    notes = [f"New places, entered as shelves: {', '.join(places)}. Set their kind and limits under Places."] if places else []
    notes += [f"New suppliers, entered with the usual terms: {', '.join(suppliers)}."] if suppliers else []
    return Plan(rows=tuple(rows), notes=(*named.notes, *notes), more={"places": places, "suppliers": suppliers})


@dataclass(slots=True)
class _Read:
    """A row as read."""

    line: Line
    material: Material | None
    values: dict[str, Any]
    faults: Faults

    @property
    def what(self) -> str:
        """The row in words."""
        name = self.material.name if self.material else self.line.cells["material"] or "?"
        return f"{name}, lot {self.values.get('lot') or UNNUMBERED}"


class _Reader:
    """Goes through the rows with what is in the books."""

    def __init__(self, named: NamedList, given: Given) -> None:
        self.headings, self.given = named.headings, given
        self.materials = {one.code.casefold(): one for one in Material.objects.select_related("usual_location")}
        self.places = Names(Location.objects.values_list("name", flat=True))
        self.suppliers = Names(Supplier.objects.values_list("name", flat=True))
        self.usual = {pack.material_id: to_step(pack.unit_price) for pack in Pack.objects.filter(is_usual=True)}
        self.quantities = Quantities(error_messages={"required": "Write how much is there."})
        self.readers = {
            "lot": text_of(40),
            "unit_cost": by_field(MoneyFormField(required=False)),
            "made_on": day,
            "expires_on": day,
            "place": text_of(60),
            "containers": by_field(forms.IntegerField(required=False, min_value=1, max_value=MOST_CONTAINERS), empty=1),
            "supplier": text_of(120),
        }

    def read(self, line: Line) -> _Read:
        """One row by itself."""
        faults = Faults()
        material = faults.reading(self.headings["material"], lambda: self._material(line.text("material")))
        values: dict[str, Any] = {}
        for name, heading in self.headings.items():
            if name == "quantity" and material is not None:
                values[name] = faults.reading(heading, lambda: self.quantities.read(line.text("quantity"), material.unit))
            elif name in self.readers:
                values[name] = faults.reading(heading, lambda: self.readers[name](line.text(name)))  # noqa: B023 - called at once
        if material is not None and not faults:
            self._complete(values, material, faults)
        return _Read(line=line, material=material, values=values, faults=faults)

    def _material(self, code: str) -> Material:
        if not code:
            raise CellRefusedError("The material’s code is missing.")
        found = self.materials.get(code.casefold())
        if found is None:
            raise CellRefusedError(f"There is no material with the code “{code[:30]}”. Bring the materials in first.")
        return found

    def _complete(self, values: dict[str, Any], material: Material, faults: Faults) -> None:
        """Fill what was left out, and check what no single cell can tell."""
        made, expires = values.get("made_on"), values.get("expires_on")
        values["said_cost"], values["said_expiry"] = values.get("unit_cost"), expires
        if values.get("unit_cost") is None:
            values["unit_cost"] = self.usual.get(material.pk)
        values["expires_on"] = expires or expiry(made_on=made, shelf_life_days=material.shelf_life_days)
        if values["unit_cost"] is None:
            faults.add(
                self.headings.get("unit_cost", ""), f"Give the cost per {material.unit}: {material.name} has no usual pack."
            )
        if made and made > self.given.on:
            faults.add(self.headings["made_on"], f"It can’t have been made on {made}, after {self.given.on}.")
        if made and expires and expires < made:
            faults.add(self.headings["expires_on"], f"It can’t expire before it was made ({made}).")

    def judged(self, read: list[_Read]) -> list[PlannedRow]:
        """All rows together: a lot number may stand in several rows, in several places."""
        held = _in_books({row.material.pk for row in read if row.material})
        groups: dict[tuple[int, str], list[_Read]] = defaultdict(list)
        for row in read:
            if row.material and not row.faults:
                groups[_key(row.material, row.values.get("lot") or UNNUMBERED)].append(row)
        rows = []
        seen: dict[tuple[Any, ...], int] = {}
        for row in read:
            group = groups.get(_key(row.material, row.values.get("lot") or UNNUMBERED), []) if row.material else []
            books = held.get(_key(row.material, row.values.get("lot") or UNNUMBERED)) if row.material else None
            if not row.faults and books is None:
                self._refuse_twin(row, seen)
            if row.faults:
                rows.append(PlannedRow(number=row.line.number, what=row.what, state=State.WRONG, faults=tuple(row.faults)))
            else:
                rows.append(self._new(row) if books is None else self._again(row, group, books))
        return rows

    def _refuse_twin(self, row: _Read, seen: dict[tuple[Any, ...], int]) -> None:
        if row.material is None:
            return
        place = (row.values.get("place") or "").casefold()
        key = (*_key(row.material, row.values.get("lot") or UNNUMBERED), place, row.values["unit_cost"], row.values["expires_on"])
        twin = seen.setdefault(key, row.line.number)
        if twin != row.line.number:
            words = f"Row {twin} is this lot in this place already. Add the two up, or give it another lot number."
            row.faults.add(self.headings.get("lot", self.headings["material"]), words)

    def _again(self, row: _Read, group: list[_Read], books: _InBooks) -> PlannedRow:
        """A lot that is in the books: nothing is booked, and what contradicts the books is told."""
        assert row.material is not None  # noqa: S101 - a row without a material has a fault
        unit, faults = row.material.unit, Faults()
        total = sum((other.values["quantity"] for other in group), Decimal(0))
        if total not in {books.came, books.left}:
            held = f"In the books {shown(books.came)} {unit} came in and {shown(books.left)} {unit} are on hand"
            words = f"{held}; the file says {shown(total)} {unit}."
            faults.add(self.headings["quantity"], f"{words} Mend it by a count, or reverse its receipt first.")
        cost, expires = row.values["said_cost"], row.values["said_expiry"]
        if cost is not None and cost not in books.costs:
            faults.add(
                self.headings["unit_cost"],
                f"In the books it cost {', '.join(map(shown, sorted(books.costs)))}. Reverse its receipt first.",
            )
        if expires is not None and expires not in books.expiries:
            faults.add(self.headings["expires_on"], "In the books it expires on another day. Reverse its receipt first.")
        if faults:
            return PlannedRow(number=row.line.number, what=row.what, state=State.WRONG, faults=tuple(faults))
        return PlannedRow(
            number=row.line.number, what=row.what, state=State.SAME, note="In the books already; it is not booked again."
        )

    def _new(self, row: _Read) -> PlannedRow:
        assert row.material is not None  # noqa: S101 - a row without a material has a fault
        values, material = row.values, row.material
        place = self.places.known(values["place"]) if values.get("place") else material.place
        supplier = self.suppliers.known(values["supplier"]) if values.get("supplier") else ""
        facts = (
            ("quantity", f"{shown(values['quantity'])} {material.unit}"),
            ("unit_cost", shown(values["unit_cost"])),
            ("made_on", _day(values.get("made_on"))),
            ("expires_on", _day(values["expires_on"])),
            ("place", place),
            ("containers", shown(values.get("containers", 1))),
            ("supplier", supplier),
        )
        names = {column.field: column.name for column in COLUMNS}
        changes = tuple(Change(column=self.headings.get(name, names[name]), old="", new=text) for name, text in facts if text)
        expires = values["expires_on"]
        note = "It is past its expiry date, and is booked as such." if expires and expires < self.given.on else ""
        action = (material, values, place, supplier)
        return PlannedRow(number=row.line.number, what=row.what, state=State.NEW, changes=changes, note=note, action=action)


def _day(value: date | None) -> str:
    """A day as people read it here, not as the file writes it."""
    return show.day(value) if value else ""


def write(plan: Plan, given: Given) -> Work[None]:
    """Book it through the ledger: one receipt for each supplier and each few hundred lots; the caller holds the transaction."""
    places, suppliers = enter_places(plan.more["places"], given), enter_suppliers(plan.more["suppliers"], given)
    rows = sorted(plan.to_do(State.NEW), key=lambda row: (str(row.action[3]), row.number))
    done = 0
    for supplier, mine in groupby(rows, key=lambda row: str(row.action[3])):
        for part in chunks(list(mine)):
            ledger.receive(
                key=uuid.uuid5(given.key, str(part[0].number)),
                by=given.by,
                on=given.on,
                supplier=suppliers.get(supplier),
                reference=f"{REFERENCE}, {given.file_name}"[:120],
                lines=[_receipt_line(row, places) for row in part],
                accept_expired_reason=WAS_THERE,
            )
            done += len(part)
            yield Progress(words="Booking lots", done=done, total=len(rows))


def _receipt_line(row: PlannedRow, places: dict[str, Location]) -> ledger.ReceiptLine:
    material, values, place, _ = row.action
    return ledger.ReceiptLine(
        material=material,
        quantity=values["quantity"],
        unit_cost=values["unit_cost"],
        lot_number=values.get("lot") or UNNUMBERED,
        made_on=values.get("made_on"),
        expires_on=values["expires_on"],
        location=places.get(place),
        containers=values.get("containers", 1),
    )
