"""Variances of material, labour and variable overhead against the worked examples of an open textbook."""

from __future__ import annotations

from decimal import Decimal

import pytest

from costing.core.actual import Variance, variance
from tests.references.sources import Check, Known, Reference, check

D = Decimal
BOOK = "OpenStax, Principles of Accounting, vol. 2: Managerial Accounting"
MATERIAL, LABOUR, OVERHEAD = (f"{BOOK}, section {section}" for section in ("8.2", "8.3", "8.4"))


def of(standard: tuple[str, str], actual: tuple[str, str]) -> Variance:
    """Quantity and price as estimated; quantity and cost as they were."""
    return variance(
        name="",
        unit="",
        standard_quantity=D(standard[0]),
        standard_price=D(standard[1]),
        actual_quantity=D(actual[0]),
        actual_cost=D(actual[1]),
    )


CANDY_BOX = of((".25", "7"), (".50", "4.50"))
BIGLOW_MATERIAL = of(("88000", ".85"), ("89000", "74760"))
ILLINOIS = of(("51450", "6.20"), ("52000", "325520"))
CANDY_LABOUR = of((".10", "8"), (".20", "1.90"))
BIGLOW_LABOUR = of(("16500", "35"), ("16000", "565600"))
VARIABLE_OVERHEAD = of(("2000", "2"), ("2500", "7000"))
SLIP = f"{LABOUR}; a caption there prints 11,900 unfavourable, its own boxes give it as favourable"
_W = {
    "candy": ".50 at 9 against .25 at 7",
    "biglow-m": "11,000 units of 8 oz at .85; 89,000 oz for 74,760",
    "illinois": "8,575 units of 6 yd at 6.20; 52,000 yd for 325,520",
    "candy-l": ".20 h at 9.50 against .10 h at 8",
    "biglow-l": "11,000 x 1.5 h at 35; 16,000 h for 565,600",
    "overhead": "2,000 h for 4,000 budgeted; 2,500 h for 7,000",
}

CHECKS: tuple[Check, ...] = (
    check("VA1", f"price variance, {_W['candy']}", 1.00, 0, MATERIAL, Known.READ, lambda: CANDY_BOX.price),
    check("VA2", f"quantity variance, {_W['candy']}", 1.75, 0, MATERIAL, Known.READ, lambda: CANDY_BOX.quantity),
    check("VA3", f"both, {_W['candy']}", 2.75, 0, MATERIAL, Known.READ, lambda: CANDY_BOX.total),
    check("VA4", f"price variance, {_W['biglow-m']}", -890, 0, MATERIAL, Known.READ, lambda: BIGLOW_MATERIAL.price),
    check("VA5", f"quantity variance, {_W['biglow-m']}", 850, 0, MATERIAL, Known.READ, lambda: BIGLOW_MATERIAL.quantity),
    check("VA6", f"both, {_W['biglow-m']}", -40, 0, MATERIAL, Known.READ, lambda: BIGLOW_MATERIAL.total),
    check("VA7", f"price variance, {_W['illinois']}", 3120, 0, MATERIAL, Known.RELATION, lambda: ILLINOIS.price),
    check("VA8", f"quantity variance, {_W['illinois']}", 3410, 0, MATERIAL, Known.RELATION, lambda: ILLINOIS.quantity),
    check("VL1", f"rate variance, {_W['candy-l']}", 0.30, 1e-12, LABOUR, Known.READ, lambda: CANDY_LABOUR.price),
    check("VL2", f"efficiency variance, {_W['candy-l']}", 0.80, 1e-12, LABOUR, Known.READ, lambda: CANDY_LABOUR.quantity),
    check("VL3", f"rate variance, {_W['biglow-l']}", 5600, 0, LABOUR, Known.READ, lambda: BIGLOW_LABOUR.price),
    check("VL4", f"efficiency variance, {_W['biglow-l']}", -17500, 0, LABOUR, Known.READ, lambda: BIGLOW_LABOUR.quantity),
    check("VL5", f"both, {_W['biglow-l']}", -11900, 0, SLIP, Known.READ, lambda: BIGLOW_LABOUR.total),
    check("VO1", f"rate variance, {_W['overhead']}", 2000, 0, OVERHEAD, Known.READ, lambda: VARIABLE_OVERHEAD.price),
    check("VO2", f"efficiency variance, {_W['overhead']}", 1000, 0, OVERHEAD, Known.READ, lambda: VARIABLE_OVERHEAD.quantity),
)
REFERENCES: tuple[Reference, ...] = tuple(entry.reference for entry in CHECKS)


@pytest.mark.parametrize("entry", CHECKS, ids=[entry.reference.id for entry in CHECKS])
def test_it_agrees_with_what_is_published(entry: Check) -> None:
    entry.run()
