"""What the stock ledger refuses, in words a person can act on.

Each error names the form field it belongs to and carries the facts, so that a form shows ``str(error)`` at
``error.field`` (and, in a document of several lines, at line ``error.line``) and a program reads the parts.
Quantities are in the material's stock unit.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from inventory.models import Lot, Material, Posting


def amount(value: Decimal) -> str:
    """A number without the zeros behind it.

    >>> amount(Decimal("2.500000")), amount(Decimal("40.000000"))
    ('2.5', '40')
    """
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


class StockError(ValueError):
    """Something that the ledger can't do. ``line`` is the place, from 0, of the line it belongs to, if any."""

    line: int | None = None

    def __init__(self, message: str, *, field: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.field = field

    def __str__(self) -> str:
        return self.message


class QuantityError(StockError):
    """A quantity or a cost that can't be posted: not a number, 0, below 0, or absurd."""

    def __init__(self, message: str, *, value: object, field: str = "quantity") -> None:
        super().__init__(message, field=field)
        self.value = value


class DayError(StockError):
    """A day that can't be: in the future, or before the lot was there."""

    def __init__(self, message: str, *, on: date, field: str = "on") -> None:
        super().__init__(message, field=field)
        self.on = on


class TextError(StockError):
    """A text that is missing, too long, or can't be stored."""


class NotEnoughStockError(StockError):
    """More was wanted than is usable (or, for a named lot, than is in it)."""

    def __init__(
        self,
        material: Material,
        wanted: Decimal,
        usable: Decimal,
        *,
        unusable: Decimal = Decimal(0),
        lot: Lot | None = None,
    ) -> None:
        self.lot = lot
        self.material = material
        self.wanted = wanted
        self.usable = usable
        self.unusable = unusable
        unit = material.stock_unit
        message = f"Only {amount(usable)} {unit} of {material.name} can be used; {amount(wanted)} {unit} is wanted."
        if lot is not None:
            message = f"Lot {lot.number} holds {amount(usable)} {unit}; {amount(wanted)} {unit} is wanted."
        elif not usable:
            message = f"No {material.name} can be used; {amount(wanted)} {unit} is wanted."
        if unusable:
            message += f" Another {amount(unusable)} {unit} is expired or in quarantine."
        super().__init__(message, field="quantity")


class LotNotUsableError(StockError):
    """A lot that is expired or in quarantine, and nobody said why it is used all the same."""

    def __init__(self, lot: Lot, why: str, *, field: str = "lot") -> None:
        super().__init__(f"Lot {lot.number} {why}.", field=field)
        self.lot = lot
        self.why = why


class LotStateError(StockError):
    """Opening, setting aside or freeing a lot that is in that state already."""

    def __init__(self, lot: Lot, why: str) -> None:
        super().__init__(f"Lot {lot.number} {why}.", field="lot")
        self.lot = lot
        self.why = why


class PlaceError(StockError):
    """A place to which a lot can't be moved: it stands there, it holds nothing, or the place is out of use."""

    def __init__(self, message: str, *, field: str = "to_location") -> None:
        super().__init__(message, field=field)


class ReturnTooLargeError(StockError):
    """More would come back to a lot than was issued from it."""

    def __init__(self, lot: Lot, wanted: Decimal, issued: Decimal, *, field: str = "quantity") -> None:
        unit = lot.material.stock_unit
        super().__init__(
            f"Only {amount(issued)} {unit} of lot {lot.number} is out; {amount(wanted)} {unit} can’t come back.",
            field=field,
        )
        self.lot = lot
        self.wanted = wanted
        self.issued = issued


class WrongMaterialError(StockError):
    """A lot or a booking of another material than the line's."""


class AlreadyReversedError(StockError):
    """A posting can be reversed once."""

    def __init__(self, posting: Posting) -> None:
        super().__init__(f"{posting} has been reversed already.", field="posting")
        self.posting = posting


class NotReversibleError(StockError):
    """A posting that can't be taken back: what it brought is gone, or something was built upon it."""

    def __init__(self, posting: Posting, why: str) -> None:
        super().__init__(f"{posting} can’t be reversed: {why}.", field="posting")
        self.posting = posting
        self.why = why


class KeyUsedError(StockError):
    """The submission's key belongs to another person, another action, or other figures."""

    def __init__(self, why: str) -> None:
        super().__init__(f"{why} Open the form again and post it from there.", field="key")
        self.why = why
