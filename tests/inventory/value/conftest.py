"""People, materials and a stock counter for the tests of the stock's value."""

from __future__ import annotations

import pytest

from finishing import show
from tests.inventory.ledger.conftest import clear, counter, finisher, thinner
from tests.inventory.pages.conftest import as_role, office

__all__ = ["as_role", "clear", "counter", "finisher", "fresh_preferences", "office", "thinner"]


@pytest.fixture(autouse=True)
def fresh_preferences() -> None:
    """No test sees units that another test chose."""
    show.use(None)
