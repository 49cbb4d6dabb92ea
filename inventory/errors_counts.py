"""What a count refuses, in words a person can act on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from inventory.errors import StockError

if TYPE_CHECKING:
    from inventory.models import Lot, StockCount


class CountClosedError(StockError):
    """A count that was posted or cancelled takes no more entries."""

    def __init__(self, count: StockCount) -> None:
        super().__init__(f"{count.label} is {count.get_status_display().lower()} and can’t be changed.")
        self.count = count


class NothingToCountError(StockError):
    """No lot with stock is where the count would look."""


class LotBusyError(StockError):
    """A lot that another open count counts already."""

    def __init__(self, lot: Lot, count: StockCount, *, lots: int = 1) -> None:
        more = f" and {lots - 1} more" if lots > 1 else ""
        super().__init__(f"Lot {lot.number}{more} is being counted on {count.label}. Post or cancel that count first.")
        self.lot = lot
        self.count = count


class LotNotAddableError(StockError):
    """A lot that does not belong on the count as it stands in the books."""

    def __init__(self, lot: Lot, why: str) -> None:
        super().__init__(why, field="number")
        self.lot = lot


class MomentError(StockError):
    """A moment of counting that can't be: before the count was opened, or still to come."""

    def __init__(self, message: str) -> None:
        super().__init__(message, field="counted_at")


class StaleCountError(StockError):
    """The lines changed since the differences were shown."""

    def __init__(self) -> None:
        super().__init__("A line, or what the books say of it, changed since this page was shown. Look at the figures again.")


class LinesError(StockError):
    """Lines that can't be taken as they are; ``lines`` has the words for each line's number."""

    def __init__(self, lines: Mapping[int, str]) -> None:
        super().__init__(next(iter(lines.values())) if len(lines) == 1 else f"{len(lines)} lines need a look.")
        self.lines = dict(lines)
