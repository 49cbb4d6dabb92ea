"""The test runner: ``python3 manage.py test`` is pytest, on SQLite and where one is found on PostgreSQL too."""

from __future__ import annotations

from finishing.testing.runner import PytestRunner

__all__ = ["PytestRunner"]
