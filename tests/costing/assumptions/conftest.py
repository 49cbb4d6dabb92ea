"""The people and the shop of these tests."""

from tests.costing.pricing.people import as_, doors, estimator, finisher, mate, office

__all__ = ["as_", "doors", "estimator", "finisher", "mate", "office"]
