"""Days that move with today: fixtures count them from it."""

from __future__ import annotations

from datetime import date, timedelta


def from_today(offset: int | None, today: date) -> date | None:
    """``-30`` is thirty days ago; ``None`` stays ``None``."""
    return None if offset is None else today + timedelta(days=offset)
