"""The shop of the page tests."""

from __future__ import annotations

from tests.inventory.pages.conftest import (
    as_role,
    can,
    clear,
    finisher,
    fresh_preferences,
    liner,
    office,
    shelf,
    supplier,
    today,
    us_shop,
)

__all__ = ["as_role", "can", "clear", "finisher", "fresh_preferences", "liner", "office", "shelf", "supplier", "today", "us_shop"]
