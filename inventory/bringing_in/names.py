"""Things that a list names: known ones in any case of letters, and those that are new."""

from __future__ import annotations

from collections.abc import Iterable


class Names:
    """Names in the books, and names that a list brings."""

    def __init__(self, known: Iterable[str]) -> None:
        self._known = {name.casefold(): name for name in known}
        self._new: dict[str, str] = {}

    def known(self, name: str) -> str:
        """The name as the books write it; a name that is not there is noted as new and kept as it came first."""
        key = name.casefold()
        return self._known.get(key) or self._new.setdefault(key, name)

    def new(self) -> list[str]:
        """The names that came new, in their order."""
        return list(self._new.values())
