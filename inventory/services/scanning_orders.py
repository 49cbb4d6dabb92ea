"""From a scanned code to the line of an order that it answers: which lot of it, which days, how many packs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from finishing.show import quantity
from inventory.core.gs1 import Scan, ScanForm, ScanProblem, read_scan
from inventory.models import Pack, PurchaseOrderLine
from inventory.selectors_orders import Standing
from inventory.services.scanning import (
    about_count,
    about_days,
    about_measure,
    about_no_pack,
    about_rest,
    amount_on_label,
    find_pack,
    packs_in,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class OnOrder:
    """What a code means for an order. Empty or None: it says nothing about that."""

    gtin: str  # 14 digits, when the code is about an article
    pack: Pack | None
    line: PurchaseOrderLine | None  # of the order, when its pack has the GTIN
    packs: int | None  # to count; None also when the label names another amount than the pack holds
    lot_number: str
    made_on: date | None
    expires_on: date | None
    notes: tuple[str, ...]

    @property
    def is_unknown_article(self) -> bool:
        """The code names an article that no pack here has."""
        return bool(self.gtin) and self.pack is None

    @property
    def refusal(self) -> str:
        """Why nothing is filled in: the article is known, and the order did not ask for it. Empty otherwise."""
        if self.pack is None or self.line is not None:
            return ""
        return (
            f"{self.pack.material.name}, {self.pack.description}, is not on this order. Receive it without the order, "
            "or correct the GTIN on the pack if it stands on the wrong one."
        )


def understand_for(text: str, *, awaited: Sequence[Standing], today: date) -> OnOrder | ScanProblem:
    """Read a code and find the order line whose pack has its GTIN; refused in words when it can't be read. One query."""
    scan = read_scan(text, today=today)
    if isinstance(scan, ScanProblem):
        return scan
    lines = {standing.line.pack_id: standing.line for standing in awaited}
    pack = find_pack(scan, awaited=lines)
    line = lines.get(pack.pk) if pack else None
    is_unclear = scan.form is ScanForm.UNCLEAR
    return OnOrder(
        gtin="" if is_unclear and pack is None else scan.gtin,
        pack=pack,
        line=line,
        packs=None if pack is None or amount_on_label(scan, pack) else packs_in(scan, pack),
        lot_number="" if is_unclear and pack else scan.lot,
        made_on=scan.made_on or scan.packed_on,
        expires_on=scan.expires_on or scan.best_before,
        notes=tuple(_notes(scan, pack, today)),
    )


def _notes(scan: Scan, pack: Pack | None, today: date) -> Iterator[str]:
    if pack is None:
        yield from about_no_pack(scan)
    yield from about_count(scan, pack)
    if pack is not None:
        yield from about_measure(scan, pack)
        label = amount_on_label(scan, pack)
        if label:
            usual = quantity(pack.content, pack.material.stock_unit)
            yield (
                f"The label says {label}; the order counts packs of {usual}, so no packs are filled in. "
                "Count them if they hold that, or receive this one without the order."
            )
    yield from about_days(scan, pack, today)
    yield from about_rest(scan, pack, today)
