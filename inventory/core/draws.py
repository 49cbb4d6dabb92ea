"""How demand is drawn, and from which seed. Pure: no Django, no clock, no numpy."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

LEAST_DRAWS = 2_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Draws:
    """How draws are made."""

    seed: int
    count: int = LEAST_DRAWS
    half_life: float | None = 52.0  # weeks; None: all weeks count alike
    borrowed: float = 8.0  # weeks of the other materials beside one's own

    def __post_init__(self) -> None:
        if self.count < LEAST_DRAWS:
            raise ValueError(f"at least {LEAST_DRAWS} draws are made")
        if self.half_life is not None and not self.half_life > 0:
            raise ValueError("a half-life is more than 0 weeks")
        if not self.borrowed >= 0:
            raise ValueError("0 or more weeks are borrowed")


def seed_from(*parts: object) -> int:
    """A seed that follows from what is drawn for, the same in every run and on every machine.

    >>> seed_from("shop", 7) == seed_from("shop", 7) != seed_from("shop", 8)
    True
    """
    return int.from_bytes(hashlib.sha256("\0".join(map(str, parts)).encode()).digest()[:8], "big")
