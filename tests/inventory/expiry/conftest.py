"""The small shop of the places, for the tests of what goes out of date."""

from tests.inventory.places.conftest import (
    apart,
    as_role,
    booth,
    by,
    clear,
    counter,
    finisher,
    fresh_preferences,
    office,
    shelf_a,
    today,
)

__all__ = [
    "apart",
    "as_role",
    "booth",
    "by",
    "clear",
    "counter",
    "finisher",
    "fresh_preferences",
    "office",
    "shelf_a",
    "today",
]
