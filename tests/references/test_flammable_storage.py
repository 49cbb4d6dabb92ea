"""What the rules on flammables cabinets print, against the limits that a new cabinet comes with and how a place is weighed."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest

from finishing.units import UnitSystem
from inventory.core.flammables import CABINET_SOURCE, OPEN_SOURCE, Held, flammables
from inventory.forms.places import LIMITS, cabinet_limits
from tests.references.sources import Check, Known, check

FEDERAL = (
    "29 CFR 1910.106(d)(3)(i): not more than 60 gal (227.1 L) of Category 1, 2 or 3, "
    "nor more than 120 gal (454.2 L) of Category 4"
)
CALIFORNIA = "8 CCR 5533(a): 120 gallons in all, of which 60 gallons of Category 1, 2 or 3"
GALLON = "NIST Handbook 44, appendix C: a US gallon is 231 cubic inches, 3.785411784 L"
STRICT, ALL = LIMITS
GAL = Decimal("3.785411784")


def limit(name: str, units: UnitSystem) -> Callable[[], Decimal]:
    return lambda: cabinet_limits(units)[name]


def over(*held: tuple[int, str]) -> Callable[[], int]:
    """1 when a cabinet with the limits of the rule, in gallons, holds more than it may by category."""

    def compute() -> int:
        limits = cabinet_limits(UnitSystem.US)
        liquids = [Held(name=f"liquid {place}", litres=Decimal(gal) * GAL, category=of) for place, (of, gal) in enumerate(held)]
        return int(flammables(liquids, limit_1_to_3=limits[STRICT], limit_all=limits[ALL]).is_over)

    return compute


CHECKS = [
    check("F01a", "cabinet, categories 1 to 3, L as printed", 227.1, 0, FEDERAL, Known.REPRINT, limit(STRICT, UnitSystem.METRIC)),
    check("F01b", "cabinet, category 4, L as printed", 454.2, 0, FEDERAL, Known.REPRINT, limit(ALL, UnitSystem.METRIC)),
    check(
        "F02a",
        "60 US gal in L, the limit in a shop that reads US units",
        60 * GAL,
        0.000001,
        f"{FEDERAL}; {GALLON}",
        Known.EXACT,
        limit(STRICT, UnitSystem.US),
    ),
    check("F02b", "120 US gal in L", 120 * GAL, 0.000001, f"{FEDERAL}; {GALLON}", Known.EXACT, limit(ALL, UnitSystem.US)),
    *(
        check(f"F03-{name}", f"{held} gal by category against the limits (1: over)", expected, 0, source, known, over(*held))
        for name, held, expected, source, known in (
            ("60-of-3", ((3, "60"),), 0, FEDERAL, Known.REPRINT),
            ("61-of-3", ((3, "61"),), 1, FEDERAL, Known.REPRINT),
            ("mixed-1-to-3", ((1, "20"), (2, "20"), (3, "21")), 1, FEDERAL, Known.REPRINT),
            ("120-of-4", ((4, "120"),), 0, FEDERAL, Known.REPRINT),
            ("121-of-4", ((4, "121"),), 1, FEDERAL, Known.REPRINT),
            ("60-and-60", ((2, "60"), (4, "60")), 0, CALIFORNIA, Known.READ),
            ("60-and-61", ((2, "60"), (4, "61")), 1, CALIFORNIA, Known.READ),
        )
    ),
]
REFERENCES = [entry.reference for entry in CHECKS]


@pytest.mark.parametrize("entry", CHECKS, ids=[entry.reference.id for entry in CHECKS])
def test_it_agrees_with_what_is_published(entry: Check) -> None:
    entry.run()


@pytest.mark.parametrize(("gallons", "litres"), [("60", "227.1"), ("120", "454.2"), ("25", "94.6")])
def test_the_litres_beside_printed_gallons_are_those_gallons(gallons: str, litres: str) -> None:
    """Computed from the gallon of NIST Handbook 44: the rule's own litres are rounded to one decimal, and so is 94.6 here."""
    assert round(Decimal(gallons) * GAL, 1) == Decimal(litres)
    assert f"{gallons} gal ({litres} L)" in CABINET_SOURCE + OPEN_SOURCE


def test_the_page_names_the_rule_and_how_it_is_known() -> None:
    assert "29 CFR 1910.106(d)(3)(i), read in a reprint" in CABINET_SOURCE
    for figure in ("60 gal (227.1 L)", "120 gal (454.2 L)", "8 CCR 5533(a)"):
        assert figure in CABINET_SOURCE
