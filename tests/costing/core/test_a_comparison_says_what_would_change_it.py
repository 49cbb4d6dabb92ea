"""Prices, transfer efficiency and wages a little off: what the systems cost then, and how far the answer holds."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing.core.compare import Candidate
from costing.core.facts import LabourClass, MaterialKind, Rates
from costing.core.sensitivity import Lever, changed, sensitivities, turnings
from costing.core.system import Driver, Operation, OperationKind, SupplyLine, System, TimeLine
from tests.costing.core.workshop import RATES, SHELF, SYSTEM, TEN_SQUARE_METRES, facts, materials

D = Decimal
HOURLY = Rates(labour={"hand": LabourClass(key="hand", name="Hand", wage=D(60))})
CLEAR = Candidate(key="clear", system=SYSTEM, materials=SHELF, rates=RATES, packs={})


def plain(key: str, *, labour: float, stuff: float) -> Candidate:
    """So much labour and so much material for each m², in money."""
    work = Operation(
        name="Work",
        kind=OperationKind.OTHER,
        labour_class="hand",
        time_lines=(TimeLine(minutes=labour, driver=Driver.M2),),
        supply_lines=(SupplyLine(material="stuff", amount=stuff / 10, driver=Driver.M2),),
    )
    shelf = materials(facts("stuff", MaterialKind.OTHER))
    return Candidate(key=key, system=System(name=key, operations=(work,)), materials=shelf, rates=HOURLY, packs={})


BY_HAND = plain("by hand", labour=8, stuff=1)
BOUGHT = plain("bought", labour=1, stuff=9)


def test_every_lever_moves_the_cost_of_its_own_share():
    rows = {(row.lever, row.factor): row for row in sensitivities([BY_HAND, BOUGHT], TEN_SQUARE_METRES)}
    assert rows[None, D(1)].per_m2 == {"by hand": D(9), "bought": D(10)}
    assert rows[Lever.LABOUR, D("1.1")].per_m2 == {"by hand": D("9.8"), "bought": D("10.1")}
    assert rows[Lever.PRICE, D("0.9")].per_m2 == {"by hand": D("8.9"), "bought": D("9.1")}
    assert rows[Lever.EFFICIENCY, D("0.9")].per_m2 == {"by hand": D(9), "bought": D(10)}
    assert len(rows) == 7


def test_wages_turn_the_answer_where_both_cost_the_same():
    # 8 f + 1 = f + 9 at f = 8/7.
    found = {turning.lever: turning for turning in turnings([BY_HAND, BOUGHT], TEN_SQUARE_METRES)}
    assert found[Lever.LABOUR].factor == pytest.approx(D(8) / 7, abs=D("0.001"))
    assert found[Lever.LABOUR].rival is BOUGHT
    assert found[Lever.LABOUR].of_all


def test_the_price_of_the_cheapest_alone_turns_the_answer():
    # 8 + f = 10 at f = 2, the end of the range; the next cheaper one turns it at 8 + f = 9.5.
    nearer = plain("nearer", labour=1, stuff=8.5)
    found = {turning.lever: turning for turning in turnings([BY_HAND, BOUGHT, nearer], TEN_SQUARE_METRES)}
    assert found[Lever.PRICE].factor == pytest.approx(D("1.5"), abs=D("0.001"))
    assert found[Lever.PRICE].rival is nearer
    assert not found[Lever.PRICE].of_all


def test_what_no_move_turns_is_said():
    found = {turning.lever: turning for turning in turnings([BY_HAND, BOUGHT], TEN_SQUARE_METRES)}
    assert found[Lever.EFFICIENCY].factor is None
    assert found[Lever.EFFICIENCY].rival is None


def test_one_system_alone_has_nothing_to_lose():
    assert turnings([BY_HAND], TEN_SQUARE_METRES) == ()


def test_a_poorer_transfer_sprays_more_and_a_better_one_stops_at_all_of_it():
    setup = changed(CLEAR, Lever.EFFICIENCY, D("0.9")).system.coats[0].coat.setup
    assert setup.transfer_efficiency == pytest.approx(0.45)
    setup = changed(CLEAR, Lever.EFFICIENCY, D(3)).system.coats[0].coat.setup
    assert setup.transfer_efficiency == 1


def test_a_dearer_coating_loses_to_an_equal_one():
    twin = replace(CLEAR, key="twin")
    found = {turning.lever: turning for turning in turnings([CLEAR, twin], TEN_SQUARE_METRES)}
    assert found[Lever.PRICE].factor < D("1.001")
    assert found[Lever.PRICE].rival is twin
