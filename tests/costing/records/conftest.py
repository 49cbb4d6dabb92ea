"""The people and the shop of the tests of jobs."""

from tests.costing.jobs.conftest import as_, estimator, finisher, job, mate, office, owner, shop, stocked, stranger

__all__ = ["as_", "estimator", "finisher", "job", "mate", "office", "owner", "shop", "stocked", "stranger"]
