"""What a list would change, row by row; and what an upload is given besides its rows."""

from __future__ import annotations

import enum
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any
from uuid import UUID

from finishing.models import User
from inventory.models import Supplier

LOOK = "Look here"  # a note that begins so asks for a look of its own before the list is applied


class State(enum.StrEnum):
    """What becomes of a row."""

    NEW = "new"
    CHANGED = "changed"
    SAME = "same"
    UNKNOWN = "unknown"  # told and left out: a price list names more than the shop buys
    WRONG = "wrong"


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A field that would be filled or changed; ``old`` is empty for a new row."""

    column: str
    old: str
    new: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """What is wrong in a cell, and what would be right; no column where it is the whole row."""

    column: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedRow:
    """One row of the file and what it would do. ``action`` is for the one who writes and is not shown."""

    number: int
    what: str
    state: State
    changes: tuple[Change, ...] = ()
    faults: tuple[Fault, ...] = ()
    note: str = ""
    action: Any = None

    @property
    def is_striking(self) -> bool:
        """Whether the row is marked to be looked at."""
        return self.note.startswith(LOOK)

    def as_json(self) -> list[Any]:
        """As it is kept."""
        changes = [[one.column, one.old, one.new] for one in self.changes]
        return [self.number, self.what, self.state.value, changes, [[one.column, one.words] for one in self.faults], self.note]

    @classmethod
    def from_json(cls, kept: Sequence[Any]) -> PlannedRow:
        """As it was kept."""
        number, what, state, changes, faults, note = kept
        return cls(
            number=number,
            what=what,
            state=State(state),
            changes=tuple(Change(column=column, old=old, new=new) for column, old, new in changes),
            faults=tuple(Fault(column=column, words=words) for column, words in faults),
            note=note,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """All rows, and what to know about the list as a whole."""

    rows: tuple[PlannedRow, ...]
    notes: tuple[str, ...] = ()
    more: dict[str, Any] = field(default_factory=dict)  # what the writer needs besides the rows

    def counts(self) -> dict[str, int]:
        """Rows by state."""
        found = Counter(row.state.value for row in self.rows)
        return {state.value: found[state.value] for state in State}

    def to_do(self, *states: State) -> list[PlannedRow]:
        """The rows in these states."""
        return [row for row in self.rows if row.state in states]

    def as_json(self) -> dict[str, Any]:
        """As it is kept. Two plans that would do the same are equal in this form."""
        return {"rows": [row.as_json() for row in self.rows], "notes": list(self.notes)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What an upload says besides its rows."""

    by: User
    on: date  # from which prices hold, or of which the stock is
    file_name: str
    key: UUID
    supplier: Supplier | None = None

    @property
    def words(self) -> str:
        """Why something changed, for its history."""
        return f"From {self.file_name}"[:100]
