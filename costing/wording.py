"""The words and groupings that pages and documents share. Imports no Django."""

from __future__ import annotations

from collections.abc import Mapping

from costing.core.system import CostGroup

GROUP_WORDS: Mapping[str, str] = {
    CostGroup.FILM: "Film on the work",
    CostGroup.OVERSPRAY: "Overspray",
    CostGroup.RESIDUE: "Residue in cups and vessels",
    CostGroup.HEEL: "Heel left in cans",
    CostGroup.EXPIRY: "Expiry allowance",
    CostGroup.CLEANER: "Cleaners",
    CostGroup.ABRASIVES: "Abrasives",
    CostGroup.DISPOSABLES: "Disposables",
    CostGroup.LABOUR: "Labour",
    CostGroup.BOOTH: "Booth",
    CostGroup.DISPOSAL: "Disposal",
    CostGroup.REWORK: "Rework allowance",
    CostGroup.OVERHEAD: "Overhead",
}

CHART_PARTS: tuple[tuple[str, tuple[CostGroup, ...]], ...] = (
    ("Film on the work", (CostGroup.FILM,)),
    ("Coating lost", (CostGroup.OVERSPRAY, CostGroup.RESIDUE, CostGroup.HEEL, CostGroup.EXPIRY)),
    ("Supplies", (CostGroup.CLEANER, CostGroup.ABRASIVES, CostGroup.DISPOSABLES)),
    ("Labour", (CostGroup.LABOUR,)),
    ("Booth and disposal", (CostGroup.BOOTH, CostGroup.DISPOSAL)),
    ("Rework and overhead", (CostGroup.REWORK, CostGroup.OVERHEAD)),
)
"""The thirteen groups drawn as six parts: more colours could not be told apart."""

LIMIT_NOTE = (
    "The limit was entered by the shop. This program compares two numbers; it does not state compliance. "
    "Your permit and local rules decide."
)


def zones_in_words(zones: frozenset[str] | tuple[str, ...]) -> str:
    """Which pieces an operation is for: show, hidden, or both."""
    return "show and hidden" if len(zones) == 2 else f"{next(iter(zones))} only"
