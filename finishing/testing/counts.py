"""How many tests passed, failed and were skipped, added up over several runs of pytest."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """The outcome of a run. A test that broke in its set-up or clean-up counts as failed."""

    passed: int = 0
    failed: int = 0
    skipped: int = 0

    def __add__(self, other: Counts) -> Counts:
        return Counts(
            passed=self.passed + other.passed,
            failed=self.failed + other.failed,
            skipped=self.skipped + other.skipped,
        )

    def __str__(self) -> str:
        return f"{self.passed} passed, {self.failed} failed, {self.skipped} skipped"

    def write(self, path: Path) -> None:
        """Leave the counts for the process that started this run."""
        path.write_text(json.dumps(asdict(self)), encoding="utf-8")

    @classmethod
    def read(cls, path: Path) -> Counts | None:
        """The counts that a run left, or None when it ended before it could count."""
        try:
            return cls(**json.loads(path.read_text(encoding="utf-8")))
        except (OSError, ValueError, TypeError):
            return None
