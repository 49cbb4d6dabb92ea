"""Packs and prices as a list: known again by GTIN or by supplier and supplier's code, else by what they are called."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from django import forms
from simple_history.utils import bulk_create_with_history

from finishing.cells import CellRefusedError
from finishing.columns import Column, Line, NamedList
from finishing.forms import MoneyFormField
from finishing.steps import Progress, Work, chunks
from finishing.units import plain_number
from inventory.bringing_in.cells import (
    CONTENTS,
    Cell,
    Faults,
    Quantities,
    Read,
    by_field,
    folded,
    is_as_shown,
    said,
    shown,
    text_of,
    yes_or_no,
)
from inventory.bringing_in.names import Names, enter_suppliers
from inventory.bringing_in.plan import Change, Given, Plan, PlannedRow, State
from inventory.choices import PriceSource
from inventory.core.gs1 import is_gtin
from inventory.models import Material, Pack, Supplier
from inventory.services.prices import NewPrice, set_prices

COLUMNS = (
    Column(field="material", name="Material", words="Its code.", example="CLEAR-WB", is_needed=True, also=("material code",)),
    Column(
        field="supplier",
        name="Supplier",
        words="A new name becomes a supplier.",
        example="Hill Coatings",
        is_needed=True,
        width=24,
    ),
    Column(
        field="supplier_code",
        name="Supplier’s code",
        words="The pack is known again by it, together with the supplier.",
        example="HC-105",
        also=("supplier code", "suppliers code"),
    ),
    Column(field="gtin", name="GTIN", words="The bar code’s number; the pack is known again by it.", example="", width=17),
    Column(field="description", name="Description", words="Empty: what is in it.", example="5 L can", also=("pack",), width=18),
    Column(
        field="content",
        name="Content",
        words="In the unit the material is kept in, or with its unit: 1 gal, box of 50.",
        example="5",
        is_needed=True,
    ),
    Column(field="price", name="Price", words="For one pack, without tax.", example="106.00", is_needed=True),
    Column(field="minimum_packs", name="At least, packs", words="Empty: 1.", example="1"),
    Column(field="is_usual", name="Usual pack", words="yes for the one that you usually buy. Empty: no.", example="yes"),
    Column(field="is_active", name="On sale", words="yes or no. Empty: yes.", example="yes"),
)
_OUT: Mapping[str, Callable[[Pack], Cell]] = {
    "material": lambda pack: pack.material.code,
    "supplier": lambda pack: pack.supplier.name,
    "supplier_code": lambda pack: pack.supplier_code,
    "gtin": lambda pack: pack.gtin,
    "description": lambda pack: pack.description,
    "content": lambda pack: pack.content,
    "price": lambda pack: pack.price,
    "minimum_packs": lambda pack: pack.minimum_packs,
    "is_usual": lambda pack: said(pack.is_usual),
    "is_active": lambda pack: said(pack.is_active),
}
_NEEDED_PRICE = "Write the price, for example 43.50."


def rows_out() -> Iterator[tuple[Cell, ...]]:
    """All packs as rows of the list."""
    for pack in Pack.objects.select_related("material", "supplier").order_by("material__code", "supplier__name", "pk"):
        yield tuple(out(pack) for out in _OUT.values())


def read_gtin(text: str) -> str:
    """A GTIN with the right check digit, or nothing; blanks between its digits are forgiven."""
    digits = text.replace(" ", "")
    if digits and not is_gtin(digits):
        words = f"“{text[:20]}” is no GTIN: it has 8, 12, 13 or 14 digits, and the last one must fit."
        raise CellRefusedError(f"{words} Format the column as text.")
    return digits


def _readers() -> dict[str, Read]:
    at_least = forms.IntegerField(required=False, min_value=1, max_value=32_000)
    return {
        "supplier": text_of(120, needed="The supplier is missing."),
        "supplier_code": text_of(60),
        "gtin": read_gtin,
        "description": text_of(60),
        "price": by_field(MoneyFormField(error_messages={"required": _NEEDED_PRICE})),
        "minimum_packs": by_field(at_least, empty=1),
        "is_usual": yes_or_no(empty=False),
        "is_active": yes_or_no(empty=True),
    }


class Books:
    """Packs by everything that a row may know them by."""

    def __init__(self) -> None:
        self.by_gtin: dict[str, Pack] = {}
        self.by_code: dict[tuple[str, str], list[Pack]] = defaultdict(list)
        self.by_name: dict[tuple[int, str, str], list[Pack]] = defaultdict(list)
        self.usual: dict[int, Pack] = {}
        for pack in Pack.objects.select_related("material", "supplier").order_by("pk"):
            supplier = folded(pack.supplier.name)
            if pack.gtin:
                self.by_gtin[pack.gtin.zfill(14)] = pack
            if pack.supplier_code:
                self.by_code[supplier, folded(pack.supplier_code)].append(pack)
            self.by_name[pack.material_id, supplier, folded(pack.description)].append(pack)
            if pack.is_usual:
                self.usual[pack.material_id] = pack

    def find(self, values: Mapping[str, Any], material: Material) -> Pack | None:
        """The pack that a row means. Raises ``CellRefusedError`` where several, or another's, could be meant."""
        supplier, code = folded(values["supplier"]), folded(values.get("supplier_code") or "")
        gtin = (values.get("gtin") or "").zfill(14)
        found = (
            self.by_gtin.get(gtin)
            or self._by_code(supplier, code, values, material)
            or self._by_name(supplier, code, values, material)
        )
        if found is None:
            return None
        if found.material_id != material.pk:
            raise CellRefusedError(f"This is a pack of {found.material.code} in the books. A pack can’t go to another material.")
        if folded(found.supplier.name) != supplier:
            raise CellRefusedError(f"This GTIN belongs to a pack of {found.supplier.name} in the books.")
        return found

    def _by_code(self, supplier: str, code: str, values: Mapping[str, Any], material: Material) -> Pack | None:
        if not code:
            return None
        packs = self.by_code.get((supplier, code), [])
        if len(packs) > 1:
            packs = _narrowed([pack for pack in packs if pack.material_id == material.pk], values)
            if len(packs) != 1:
                raise CellRefusedError("Several packs have this code in the books. Give the GTIN, or mend one of them there.")
        return packs[0] if packs else None

    def _by_name(self, supplier: str, code: str, values: Mapping[str, Any], material: Material) -> Pack | None:
        packs = self.by_name.get((material.pk, supplier, folded(values.get("description") or "")), [])
        if code:  # a pack that has a code of its own is another one
            packs = [pack for pack in packs if not pack.supplier_code]
        return next(iter(_narrowed(packs, values)), None)


def _narrowed(packs: list[Pack], values: Mapping[str, Any]) -> list[Pack]:
    """Of packs that are alike, those with the row's description and content where there are such."""
    for name in ("description", "content"):
        if len(packs) > 1:
            packs = [pack for pack in packs if _same(getattr(pack, name), values.get(name))] or packs
    return packs


def _same(kept: Any, said_now: Any) -> bool:
    return folded(kept) == folded(said_now) if isinstance(kept, str) else bool(kept == said_now)


def plan(named: NamedList, given: Given) -> Work[Plan]:
    """What the list would change among the packs."""
    del given
    reader = _Reader(named)
    rows = []
    for part in chunks(named.lines):
        rows += [reader.planned(line) for line in part]
        yield Progress(words="Checking rows", done=len(rows), total=len(named.lines))
    suppliers = reader.suppliers.new()
    notes = [f"New suppliers, entered with the usual terms: {', '.join(suppliers)}."] if suppliers else []
    return Plan(rows=tuple(rows), notes=(*named.notes, *notes), more={"suppliers": suppliers})


class _Reader:
    """Goes through the rows with what is in the books."""

    def __init__(self, named: NamedList) -> None:
        self.headings, self.books = named.headings, Books()
        self.materials = {one.code.casefold(): one for one in Material.objects.all()}
        self.suppliers = Names(Supplier.objects.values_list("name", flat=True))
        self.readers = _readers()
        self.contents = Quantities(CONTENTS[0], **CONTENTS[1])
        self.seen: dict[tuple[Any, ...], int] = {}
        self.usual: dict[int, int] = {}

    def planned(self, line: Line) -> PlannedRow:
        """One row."""
        faults = Faults()
        material = faults.reading(self.headings["material"], lambda: self._material(line.text("material")))
        if material is None:
            self._values(line, None, faults)  # what is wrong in the other cells is told as well
            return self._wrong(line, line.cells["material"], faults)
        values = self._values(line, material, faults)
        what = f"{material.name}, {values.get('description') or '?'}"
        if faults:
            return self._wrong(line, what, faults)
        at = self.headings.get("gtin" if values.get("gtin") else "supplier_code", self.headings["material"])
        old = faults.reading(at, lambda: self.books.find(values, material))
        if not faults:
            self._check(line, values, material, old, at, faults)
        if faults:
            return self._wrong(line, what, faults)
        return self._compared(line, what, values, material, old)

    @staticmethod
    def _wrong(line: Line, what: str, faults: Faults) -> PlannedRow:
        return PlannedRow(number=line.number, what=what or "?", state=State.WRONG, faults=tuple(faults))

    def _material(self, code: str) -> Material:
        if not code:
            raise CellRefusedError("The material’s code is missing.")
        found = self.materials.get(code.casefold())
        if found is None:
            raise CellRefusedError(f"There is no material with the code “{code[:30]}”. Bring the materials in first.")
        return found

    def _values(self, line: Line, material: Material | None, faults: Faults) -> dict[str, Any]:
        values: dict[str, Any] = {}
        for name, heading in self.headings.items():
            if name == "material" or (name == "content" and material is None):
                continue
            if name == "content" and material is not None:
                unit = material.unit
                read: Read = lambda text: self.contents.read(text, unit)  # noqa: B023, E731 - called at once
            else:
                read = self.readers[name]
            values[name] = faults.reading(heading, lambda: self._known(name, line, read))  # noqa: B023 - called at once
        if values.get("supplier"):
            values["supplier"] = self.suppliers.known(values["supplier"])
        if material is not None and not values.get("description") and values.get("content"):
            values["description"] = f"{plain_number(values['content'])} {material.unit}"
        return values

    def _known(self, name: str, line: Line, read: Read) -> Any:
        """A cell; a GTIN that a pack in the books has is good as it is."""
        text = line.text(name)
        held = self.books.by_gtin.get(text.zfill(14)) if name == "gtin" and text else None
        return held.gtin if held else read(text)

    def _check(self, line: Line, values: dict[str, Any], material: Material, old: Pack | None, at: str, faults: Faults) -> None:
        """What no single cell can tell."""
        for key in self._keys(values, material, old):
            twin = self.seen.setdefault(key, line.number)
            if twin != line.number:
                faults.add(at, f"Row {twin} is this pack already. Keep one of them.")
                return
        if not values.get("is_usual"):
            return
        twin = self.usual.setdefault(material.pk, line.number)
        if twin != line.number:
            faults.add(self.headings["is_usual"], f"Row {twin} is the usual pack of {material.name} already. There is one only.")
        if not values.get("is_active", old.is_active if old else True):
            faults.add(self.headings["is_usual"], "A pack that is not on sale can’t be the one you usually buy.")

    @staticmethod
    def _keys(values: dict[str, Any], material: Material, old: Pack | None) -> list[tuple[Any, ...]]:
        if old is not None:
            return [("pack", old.pk)]
        gtin, code = values.get("gtin"), values.get("supplier_code")
        keys: list[tuple[Any, ...]] = [("gtin", gtin.zfill(14))] if gtin else []
        if code:
            keys.append(("code", folded(values["supplier"]), folded(code), material.pk))
        if not keys:
            keys.append(("name", folded(values["supplier"]), material.pk, folded(values["description"])))
        return keys

    def _compared(self, line: Line, what: str, values: dict[str, Any], material: Material, old: Pack | None) -> PlannedRow:
        changes, changed = [], {}
        for name, value in values.items():
            before = "" if old is None else shown(_OUT[name](old))
            after = said(value) if isinstance(value, bool) else shown(value)
            heading = self.headings.get(name, "Description")
            if old is not None and (is_as_shown(line.cells.get(name, ""), _OUT[name](old)) or after == before):
                continue
            if old is not None and name == "description" and name not in self.headings:
                continue
            changed[name] = value
            changes += [Change(column=heading, old=before, new=after)] if after != before else []
        former = self.books.usual.get(material.pk)
        note = f"“{former}” stops being the usual pack." if former and former != old and changed.get("is_usual") else ""
        state = State.NEW if old is None else State.CHANGED if changes else State.SAME
        action = (old, material, changed)
        return PlannedRow(number=line.number, what=what, state=state, changes=tuple(changes), note=note, action=action)


def write(plan: Plan, given: Given) -> Work[None]:
    """Write what was planned; the caller holds the transaction. Prices go through the history of prices."""
    suppliers = enter_suppliers(plan.more["suppliers"], given)
    rows = plan.to_do(State.NEW, State.CHANGED)
    _end_usual(rows, given)
    # Packs that stop being the usual one go first: a material has one at most at any moment.
    changed = sorted(plan.to_do(State.CHANGED), key=lambda row: bool(row.action[2].get("is_usual")))
    done = 0
    for part in chunks(changed):
        for row in part:
            _change(row, given)
        _set_prices([(row.action[0], row.action[2]["price"]) for row in part if "price" in row.action[2]], given)
        done += len(part)
        yield Progress(words="Writing packs", done=done, total=len(rows))
    for part in chunks(plan.to_do(State.NEW)):
        packs = [
            Pack(**{**row.action[2], "supplier": suppliers[row.action[2]["supplier"]], "material": row.action[1]}) for row in part
        ]
        kept = bulk_create_with_history(packs, Pack, default_user=given.by, default_change_reason=given.words)
        _set_prices([(pack, pack.price) for pack in kept], given)
        done += len(part)
        yield Progress(words="Writing packs", done=done, total=len(rows))


def _end_usual(rows: list[PlannedRow], given: Given) -> None:
    new = {row.action[1].pk: row.action[0] for row in rows if row.action[2].get("is_usual")}
    for former in Pack.objects.filter(material__in=list(new), is_usual=True):
        if former != new[former.material_id]:
            former.is_usual = False
            _save(former, ["is_usual"], given)


def _change(row: PlannedRow, given: Given) -> None:
    pack, _, values = row.action
    fields = [name for name in values if name not in {"price", "supplier"}]
    for name in fields:
        setattr(pack, name, values[name])
    if fields:
        _save(pack, fields, given)


def _save(pack: Pack, fields: list[str], given: Given) -> None:
    pack._history_user, pack._change_reason = given.by, given.words  # type: ignore[attr-defined]
    pack.save(update_fields=fields)


def _set_prices(prices: list[tuple[Pack, Decimal]], given: Given) -> None:
    new = [NewPrice(pack=pack, price=price) for pack, price in prices]
    set_prices(prices=new, valid_from=given.on, source=PriceSource.ENTERED, by=given.by, note=given.words)
