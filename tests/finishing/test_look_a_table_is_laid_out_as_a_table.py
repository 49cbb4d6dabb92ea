"""No class of a table is one that a style lays out as a grid or in a row: its columns would no longer stand under their heads."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
TABLE = re.compile(r"<table\b[^>]*\bclass=\"([^\"]*)\"")


def laid_out_otherwise() -> set[str]:
    """Classes whose own rule sets a grid or a row."""
    style = re.sub(r"/\*.*?\*/", "", (ROOT / "finishing/static/finishing/house.css").read_text(encoding="utf-8"), flags=re.DOTALL)
    rules = [(names, body) for names, body in RULE.findall(style) if re.search(r"display:\s*(grid|flex)", body)]
    alone = [re.fullmatch(r"\.([\w-]+)", name.strip()) for names, _ in rules for name in names.split(",")]
    return {found[1] for found in alone if found}


def classes_of_tables() -> dict[str, str]:
    """Each class that a table of a template has, and where."""
    found = {}
    for path in sorted((ROOT / "templates").rglob("*.html")):
        for names in TABLE.findall(path.read_text(encoding="utf-8")):
            found.update(dict.fromkeys(names.split(), str(path.relative_to(ROOT))))
    return found


def test_no_table_has_a_class_that_is_laid_out_otherwise() -> None:
    grids, tables = laid_out_otherwise(), classes_of_tables()
    assert "board" in grids, "the job board is laid out as a grid"
    assert "expiry-weeks" in tables
    assert {name: where for name, where in tables.items() if name in grids} == {}
