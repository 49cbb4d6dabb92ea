"""The form of a check against the outside world: what is expected, where it is published, and how that is known."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum


class Known(StrEnum):
    """How the expected value is known."""

    READ = "read"  # in the document itself
    REPRINT = "read in a reprint"  # or in a summary, or in a state's counterpart of a federal rule
    EXACT = "computed from exact definitions"
    RELATION = "computed from a published relation"  # own arithmetic from stated inputs
    MEMORY = "from memory"  # not read again
    PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """One published value. A test module lists its own as ``REFERENCES``."""

    id: str
    quantity: str  # what is checked, with its inputs
    expected: float | Decimal
    tolerance: float  # absolute, in the unit of the expected value; 0 is exact
    source: str  # document, section, and what it prints
    known: Known

    def __post_init__(self) -> None:
        if not self.id.strip() or not self.source.strip():
            raise ValueError("a reference needs an id and a source")
        if not self.tolerance >= 0:
            raise ValueError("a tolerance is 0 or more")

    def confirms(self, value: float | Decimal) -> bool:
        """Whether a computed value agrees with the published one."""
        return abs(float(value) - float(self.expected)) <= self.tolerance


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A published value and the program's own way to it."""

    reference: Reference
    compute: Callable[[], float | Decimal]

    def run(self) -> None:
        """Fail with the source at hand when the program disagrees with it."""
        value = self.compute()
        reference = self.reference
        assert reference.confirms(value), (
            f"{reference.id}, {reference.quantity}: {value} instead of {reference.expected} ± {reference.tolerance} "
            f"({reference.source}; {reference.known})"
        )


def check(
    id: str,  # noqa: A002 (the word that a table of references uses)
    quantity: str,
    expected: float | Decimal,
    tolerance: float,
    source: str,
    known: Known,
    compute: Callable[[], float | Decimal],
) -> Check:
    """One line of a table of checks."""
    reference = Reference(id=id, quantity=quantity, expected=expected, tolerance=tolerance, source=source, known=known)
    return Check(reference=reference, compute=compute)
