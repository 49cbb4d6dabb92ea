"""Things that a list names: known ones in any case of letters, and those that are new."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from inventory.bringing_in.cells import folded
from inventory.bringing_in.plan import Given
from inventory.models import Location, Supplier


class Names:
    """Names in the books, and names that a list brings."""

    def __init__(self, known: Iterable[str]) -> None:
        self._known = {folded(name): name for name in known}
        self._new: dict[str, str] = {}

    def known(self, name: str) -> str:
        """The name as the books write it; a name that is not there is noted as new and kept as it came first."""
        key = folded(name)
        return self._known.get(key) or self._new.setdefault(key, name)

    def new(self) -> list[str]:
        """The names that came new, in their order."""
        return list(self._new.values())


def enter_places(names: Iterable[str], given: Given) -> dict[str, Location]:
    """All places by name, with those entered that are new."""
    for name in names:
        _enter(Location(name=name), given)
    return {place.name: place for place in Location.objects.all()}


def enter_suppliers(names: Iterable[str], given: Given) -> dict[str, Supplier]:
    """All suppliers by name, with those entered that are new."""
    for name in names:
        _enter(Supplier(name=name), given)
    return {supplier.name: supplier for supplier in Supplier.objects.all()}


def _enter(fresh: Any, given: Given) -> None:
    fresh._history_user, fresh._change_reason = given.by, given.words
    fresh.save()
