"""``manage.py bench --quick`` runs every part, prints a ratio for each, and leaves nothing behind."""

from __future__ import annotations

import math
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]
PARTS = (
    "Estimate, ",
    "Estimate with its takeoff checked",
    "Comparison of ",
    "Risk, ",
    "Issue of ",
    "Delivery of ",
    "Quote of ",
    "Spreadsheet of ",
    "Reorder list, ",
    "Normal reorder points",
    "Recall of ",
    "Stock value of ",
    "300 materials ",
    "5 logs that waited on a tablet",
    "Actual cost of a job with ",
    "Learning over ",
    "Page lots",
)
LINE = re.compile(r"^(?P<name>.+?)  +(?P<ours>[\d.,]+)  +(?P<baseline>[\d.,]+)  +(?P<unit>\S+)  +(?P<ratio>[\d.,]+)  ")


pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> tuple[subprocess.CompletedProcess[str], Path]:
    """The quick run as a person starts it, with a shop's database named that does not exist."""
    folder = tmp_path_factory.mktemp("bench")
    (folder / "temporary").mkdir()
    surroundings = {
        **os.environ,
        "FINISH_LEDGER_NO_BOOTSTRAP": "1",
        "FINISH_LEDGER_DATA_DIR": str(folder / "data"),
        "DATABASE_URL": f"sqlite:///{(folder / 'shop.sqlite3').as_posix()}",
        "TMPDIR": str(folder / "temporary"),
        "TEMP": str(folder / "temporary"),
    }
    done = subprocess.run(
        [sys.executable, "manage.py", "bench", "--quick"], cwd=ROOT, env=surroundings, capture_output=True, text=True, check=False
    )
    return done, folder


def test_every_part_prints_a_finite_ratio(run: tuple[subprocess.CompletedProcess[str], Path]) -> None:
    done, _ = run
    assert done.returncode == 0, done.stderr
    found = [match for line in done.stdout.splitlines() if (match := LINE.match(line))]
    for part in PARTS:
        lines = [match for match in found if match["name"].startswith(part)]
        assert lines, f"no line for {part!r} in:\n{done.stdout}"
        for match in lines:
            figures = [float(match[figure].replace(",", "")) for figure in ("ours", "baseline", "ratio")]
            assert all(math.isfinite(figure) and figure > 0 for figure in figures)


def test_each_step_is_told_apart_from_the_table(run: tuple[subprocess.CompletedProcess[str], Path]) -> None:
    done, _ = run
    for part in ("estimates", "postings", "deliveries", "quote", "sheet", "recall", "value", "imports", "pages"):
        assert f"bench: {part}" in done.stderr
    assert "bench:" not in done.stdout


def test_the_shops_database_is_not_opened_and_nothing_is_left_behind(
    run: tuple[subprocess.CompletedProcess[str], Path],
) -> None:
    done, folder = run
    assert done.returncode == 0, done.stderr
    assert not (folder / "shop.sqlite3").exists()
    assert not list((folder / "temporary").iterdir())
