"""Lines that are bought earlier than they have to be, so that an order reaches its supplier's minimum, in words."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from finishing import show
from inventory.core.pulling import Early
from inventory.models import Supplier


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulled:
    """Why a line that is not due stands on the list."""

    supplier: Supplier
    early: Early
    lacked: Decimal  # what the order of the due lines lacked to the supplier's minimum

    @property
    def due(self) -> str:
        """When it would have been due by itself."""
        days = self.early.due_in
        return "today" if days == 0 else "in 1 day" if days == 1 else f"in {days} days"

    @property
    def holding(self) -> str:
        """What having it earlier costs."""
        return show.money(self.early.holding)

    @property
    def words(self) -> str:
        """The reason with its cost."""
        return (
            f"Not due yet: pulled forward because the order lacked {show.money(self.lacked)} to the minimum of "
            f"{show.money(self.supplier.minimum_order)}. It is expected to reach its reorder point {self.due} anyway; "
            f"having it that much earlier costs {self.holding} of holding."
        )

    @property
    def reasons(self) -> tuple[tuple[str, str], ...]:
        """The same number by number."""
        return (
            ("Pulled forward: what the order lacked to the supplier’s minimum", show.money(self.lacked)),
            ("Expected to reach its reorder point", self.due),
            ("Cost of holding it that much earlier", self.holding),
        )
