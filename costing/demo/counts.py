"""Counts in the invented shop: one that was posted, one that was given up, and one that is half entered."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from costing.demo.stock import demo_key
from finishing.models import User
from inventory.counts import lines_of, reckon
from inventory.models import Location, StockCount
from inventory.services.count_posting import post_count
from inventory.services.counting import Entry, cancel_count, enter_lines, note_find, open_count

ROLL_GONE = "One roll went to the installers and was not booked."


def load_counts(people: Mapping[str, User]) -> None:
    """Count three places of the demo shop."""
    finisher, office = people["finisher"], people["office"]
    drawer = _open(finisher, "Drawer 3", is_blind=False)
    _enter(finisher, drawer, {"HSM-44": Decimal(-50)})
    lines = lines_of(drawer)
    reasons = {line.pk: ROLL_GONE for line in lines if line.lot.number == "HSM-44"}
    post_count(key=demo_key("count posted"), by=office, count=drawer, seen=reckon(lines).fingerprint, reasons=reasons)
    shelf = _open(finisher, "Paint shelf A", is_blind=True)
    cancel_count(count=shelf, by=office, reason="A delivery came in the middle. To be counted anew.")
    cabinet = _open(finisher, "Flammables cabinet", is_blind=True)
    _enter(finisher, cabinet, {"NYH-118": Decimal("-0.2")}, left_out=3)
    note_find(
        count=cabinet,
        by=finisher,
        number="NYH-140",
        material=None,
        amount="1 can of 1 L, sealed",
        note="Stood behind the thinner.",
    )


def _open(by: User, place: str, *, is_blind: bool) -> StockCount:
    location = Location.objects.get(name=place)
    return open_count(key=demo_key(f"count {place}"), by=by, location=location, is_blind=is_blind)


def _enter(by: User, count: StockCount, off: Mapping[str, Decimal], *, left_out: int = 0) -> None:
    """Find what the books say, but for lots that are ``off``; the last ``left_out`` lots stay uncounted."""
    lines = lines_of(count)
    found = lines[: len(lines) - left_out]
    entries = [Entry(line=line.pk, counted=line.book + off.get(line.lot.number, Decimal(0))) for line in found]
    enter_lines(count=count, by=by, entries=entries)
