"""Two estimates are paired line by line, and the differences of the groups are that of the true cost."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from costing.core.beside import Pair, Section, beside, lines_of
from costing.core.result import Estimate
from costing.core.shown import shown_lines
from tests.costing.core.workshop import ABRADE, SYSTEM, reckon

D = Decimal
WHOLE = reckon()
WITHOUT = reckon(replace(SYSTEM, operations=SYSTEM.operations[1:]))
TWICE = reckon(replace(SYSTEM, operations=(ABRADE, *SYSTEM.operations)))


def pairs(one: Estimate, other: Estimate) -> dict[tuple[Section, str], Pair]:
    lines = (lines_of(estimate, shown_lines(estimate), price=D(300)) for estimate in (one, other))
    return {(pair.section, pair.words): pair for pair in beside(*lines)}


def test_an_estimate_beside_itself_has_no_difference():
    found = pairs(WHOLE, WHOLE)
    assert len(found) > 30
    assert {pair.difference for pair in found.values()} == {0}


def test_the_groups_explain_the_difference_of_the_cost():
    found = pairs(WHOLE, WITHOUT)
    groups = sum(pair.difference for (section, _), pair in found.items() if section is Section.GROUPS)
    assert found[Section.WHOLE, "True cost"].difference == groups < 0


def test_a_line_that_only_one_has_is_told_as_missing():
    found = pairs(WHOLE, WITHOUT)
    helper = found[Section.LABOUR, "Helper"]
    assert (helper.one, helper.other, helper.difference) == (20, None, -20)
    back = pairs(WITHOUT, WHOLE)[Section.LABOUR, "Helper"]
    assert (back.one, back.other, back.difference, back.share) == (None, 20, 20, None)


def test_operations_of_one_name_are_paired_in_their_order():
    found = pairs(WHOLE, TWICE)
    assert found[Section.OPERATIONS, "Abrade"].difference == 0
    assert (found[Section.OPERATIONS, "Abrade 2"].one, found[Section.OPERATIONS, "Abrade 2"].other) == (None, 20)


def test_a_material_of_a_mix_and_of_a_supply_line_is_one_line():
    found = pairs(WHOLE, TWICE)
    disc = found[Section.MATERIALS, "Disc"]
    # 2.3 + 4 discs, rounded up once; with a second sanding 2 × 2.3 + 4.
    assert (disc.one, disc.other) == (7, 9)
    assert found[Section.SPENT, "Disc"].difference == D("1.20")
    assert disc.share == D(2) / 7
