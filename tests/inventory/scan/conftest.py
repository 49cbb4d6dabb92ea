"""The shop of the page tests, with a pack whose code is known."""

from __future__ import annotations

from decimal import Decimal

import pytest

from inventory.models import Material, Pack, Supplier
from tests.inventory.pages.conftest import as_role, can, clear, finisher, fresh_preferences, liner, office, supplier, today

__all__ = ["as_role", "can", "clear", "finisher", "fresh_preferences", "liner", "office", "supplier", "today"]

GTIN = "09506000134352"


@pytest.fixture
def coded(can: Pack) -> Pack:
    """The 5 L can, with its GTIN as the 13 digits below the bars."""
    can.gtin = GTIN[1:]
    can.save()
    return can


@pytest.fixture
def box(liner: Material, supplier: Supplier) -> Pack:
    """A box of 50 liners with a GTIN of its own."""
    return Pack.objects.create(
        material=liner, supplier=supplier, description="box of 50", content=Decimal(50), price=Decimal(31), gtin="036000241457"
    )
