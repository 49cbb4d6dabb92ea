"""The lists that can be brought in, each with its columns, its plan and its writer."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from finishing.columns import Column, NamedList
from finishing.steps import Work
from finishing.uploads import Limits
from inventory.bringing_in import materials, packs, price_list, stock
from inventory.bringing_in.cells import Cell
from inventory.bringing_in.plan import Given, Plan
from inventory.choices import ListKind

MOST_ROWS = 10_000
MOST_COLUMNS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class BroughtList:
    """One kind of list."""

    kind: ListKind
    what: str  # in a word that follows “the”
    words: str  # what it is for
    again: str  # by what a row is known again
    columns: tuple[Column, ...]
    plan: Callable[[NamedList, Given], Work[Plan]]
    write: Callable[[Plan, Given], Work[None]]
    rows_out: Callable[[], Iterator[tuple[Cell, ...]]] | None  # None: it does not go out this way
    file_name: str

    @property
    def title(self) -> str:
        """The name of the list."""
        return self.kind.label

    @property
    def sheet(self) -> str:
        """The sheet of a workbook in which the list stands."""
        return self.title.replace("’", "")

    def limits(self, most_bytes: int) -> Limits:
        """How large a file may be."""
        return Limits(
            what=self.what,
            most_bytes=most_bytes,
            most_rows=MOST_ROWS,
            most_columns=MOST_COLUMNS,
            sheet=self.sheet,
            guards_text=True,
        )


LISTS: Mapping[ListKind, BroughtList] = {
    one.kind: one
    for one in (
        BroughtList(
            kind=ListKind.MATERIALS,
            what="list of materials",
            words="Coatings, hardeners, supplies: with technical data from their data sheets.",
            again="by its code",
            columns=materials.COLUMNS,
            plan=materials.plan,
            write=materials.write,
            rows_out=materials.rows_out,
            file_name="materials",
        ),
        BroughtList(
            kind=ListKind.PACKS,
            what="list of packs",
            words="What you buy materials in, from whom, and at what price.",
            again="by its GTIN, or by supplier and supplier’s code, or else by what it is called",
            columns=packs.COLUMNS,
            plan=packs.plan,
            write=packs.write,
            rows_out=packs.rows_out,
            file_name="packs",
        ),
        BroughtList(
            kind=ListKind.STOCK,
            what="list of opening stock",
            words="What stood on the shelves when your books began, lot by lot. It is booked as a receipt.",
            again="by its material and lot number",
            columns=stock.COLUMNS,
            plan=stock.plan,
            write=stock.write,
            rows_out=stock.rows_out,
            file_name="stock",
        ),
        BroughtList(
            kind=ListKind.PRICES,
            what="price list",
            words="New prices of one supplier, matched by supplier’s code or GTIN.",
            again="by its GTIN or supplier’s code",
            columns=price_list.COLUMNS,
            plan=price_list.plan,
            write=price_list.write,
            rows_out=None,
            file_name="price-list",
        ),
    )
}
