"""A supplier's price list: packs known by supplier's code or GTIN, old price beside new; what is not bought there is told."""

from __future__ import annotations

from collections import defaultdict
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from finishing.cells import CellRefusedError
from finishing.columns import Column, Line, NamedList
from finishing.forms import MoneyFormField
from finishing.steps import Progress, Work, chunks
from inventory.bringing_in.cells import Faults, by_field, folded, shown
from inventory.bringing_in.packs import read_gtin
from inventory.bringing_in.plan import LOOK, Change, Given, Plan, PlannedRow, State
from inventory.choices import PriceSource
from inventory.models import Pack, PackPrice
from inventory.services.prices import NewPrice, prices_on, set_prices

NOTABLE = Decimal(25)  # percent up or down from which a change is marked: a slip of the pack or of the decimal point
MOST_NAMED = 10

COLUMNS = (
    Column(
        field="supplier_code",
        name="Supplier’s code",
        words="As the supplier’s list gives it. This or the GTIN.",
        example="HC-105",
        also=("supplier code", "suppliers code", "code", "item", "item number", "article", "article number"),
        width=18,
    ),
    Column(field="gtin", name="GTIN", words="The bar code’s number.", example="", also=("ean", "upc", "barcode"), width=17),
    Column(
        field="price",
        name="Price",
        words="For one pack, without tax.",
        example="108.50",
        is_needed=True,
        also=("new price", "net price"),
    ),
    Column(
        field="description",
        name="Description",
        words="For you to read; it changes nothing.",
        example="Clear coat, 5 L",
        also=("name", "text"),
        width=30,
    ),
)


def plan(named: NamedList, given: Given) -> Work[Plan]:
    """What the list would change among the prices of one supplier."""
    reader = _Reader(named, given)
    rows = []
    for part in chunks(named.lines):
        rows += [reader.planned(line) for line in part]
        yield Progress(words="Checking rows", done=len(rows), total=len(named.lines))
    missing = [pack for pack in reader.packs if pack.pk not in reader.seen]
    notes = []
    if missing:
        some = ", ".join(f"{pack.material.name} ({pack})" for pack in missing[:MOST_NAMED])
        more = f" and {len(missing) - MOST_NAMED} more" if len(missing) > MOST_NAMED else ""
        notes = [f"Packs on sale that the list does not name, left as they are: {some}{more}."]
    return Plan(rows=tuple(rows), notes=(*named.notes, *notes))


class _Reader:
    """Goes through the rows with what is bought from the supplier."""

    def __init__(self, named: NamedList, given: Given) -> None:
        self.headings, self.given = named.headings, given
        packs = Pack.objects.filter(supplier=given.supplier).select_related("material").order_by("pk")
        self.packs = [pack for pack in packs if pack.is_active]
        self.by_gtin = {pack.gtin.zfill(14): pack for pack in packs if pack.gtin}
        self.by_code: dict[str, list[Pack]] = defaultdict(list)
        for pack in packs:
            if pack.supplier_code:
                self.by_code[folded(pack.supplier_code)].append(pack)
        self.known = prices_on(packs, given.on)
        later = PackPrice.objects.filter(pack__supplier=given.supplier, valid_from__gt=given.on)
        self.later = set(later.values_list("pack_id", flat=True))
        self.price = by_field(MoneyFormField(error_messages={"required": "Write the price, for example 43.50."}))
        self.seen: dict[int, int] = {}

    def planned(self, line: Line) -> PlannedRow:
        """One row."""
        faults = Faults()
        texts = {name: faults.reading(at, lambda: line.text(name)) or "" for name, at in self.headings.items()}  # noqa: B023
        what = texts.get("description") or texts.get("supplier_code") or texts.get("gtin") or "?"
        pack = faults.reading(self._at(texts), lambda: self._pack(texts))
        price = faults.reading(self.headings["price"], lambda: self.price(line.text("price")))
        if pack is not None and (twin := self.seen.setdefault(pack.pk, line.number)) != line.number:
            faults.add(self._at(texts), f"Row {twin} is this pack already. Keep one of them.")
        if faults:
            return PlannedRow(number=line.number, what=what, state=State.WRONG, faults=tuple(faults))
        if pack is None:
            words = "No pack of this supplier has this code or GTIN. It is left out."
            return PlannedRow(number=line.number, what=what, state=State.UNKNOWN, note=words)
        return self._compared(line.number, pack, price)

    def _at(self, texts: dict[str, Any]) -> str:
        """The column by which the row is known."""
        return self.headings.get("gtin" if texts.get("gtin") else "supplier_code", "")

    def _pack(self, texts: dict[str, str]) -> Pack | None:
        gtin, code = texts.get("gtin", ""), texts.get("supplier_code", "")
        if not gtin and not code:
            raise CellRefusedError("Give the supplier’s code or the GTIN.")
        found = self.by_gtin.get(gtin.replace(" ", "").zfill(14)) if gtin else None
        if gtin and found is None:
            read_gtin(gtin)
        by_code = self.by_code.get(folded(code), []) if code else []
        if found is None and len(by_code) > 1:
            raise CellRefusedError(f"{len(by_code)} packs have this code in the books. Give the GTIN, or mend one of them there.")
        if found is not None and by_code and found not in by_code:
            raise CellRefusedError(f"The GTIN is of {found.material.name} ({found}), the code of another pack. Mend one of them.")
        return found or next(iter(by_code), None)

    def _compared(self, number: int, pack: Pack, price: Decimal) -> PlannedRow:
        old, what = self.known[pack.pk], f"{pack.material.name}, {pack}"
        if old == price:
            return PlannedRow(number=number, what=what, state=State.SAME)
        notes, new = [], _price(price)
        if old:
            percent = (100 * (price - old) / old).quantize(Decimal("0.1"), rounding=ROUND_HALF_UP)
            new = f"{new} ({percent:+} %)"
            notes += [f"{LOOK}: is it the same pack?"] if abs(percent) >= NOTABLE else []
        changes = (Change(column="Price", old="" if old is None else _price(old), new=new),)
        notes += ["A later price is known; this one goes into the history only."] if pack.pk in self.later else []
        note = " ".join(notes)
        return PlannedRow(number=number, what=what, state=State.CHANGED, changes=changes, note=note, action=(pack, price))


def _price(value: Decimal) -> str:
    """A price with its cents."""
    return f"{value:.2f}" if value == round(value, 2) else shown(value)


def write(plan: Plan, given: Given) -> Work[None]:
    """Set the new prices, with their history; the caller holds the transaction."""
    rows = plan.to_do(State.CHANGED)
    done = 0
    for part in chunks(rows):
        prices = [NewPrice(pack=row.action[0], price=row.action[1]) for row in part]
        set_prices(prices=prices, valid_from=given.on, source=PriceSource.PRICE_LIST, by=given.by, note=given.words)
        done += len(part)
        yield Progress(words="Setting prices", done=done, total=len(rows))
