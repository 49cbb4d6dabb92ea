"""The cheapest whole packs, against brute force and an integer program."""

from __future__ import annotations

import itertools
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.stats import norm

from inventory.core.packs import Costs, PackOffer, PriceBreak, cheapest_packs, choose_packs

D = Decimal
offers = st.lists(
    st.builds(
        PackOffer,
        key=st.integers(1, 99),
        supplier=st.just(1),
        content=st.sampled_from([D("0.25"), D("0.5"), D(1), D("2.5"), D(5)]),
        price=st.integers(1, 300).map(D),
        minimum=st.integers(1, 3),
    ),
    min_size=1,
    max_size=3,
)


def brute_force(packs: list[PackOffer], need: Decimal, cap: Decimal | None) -> tuple[Decimal, Decimal]:
    """(above the cap, cost) of the best of all combinations, by trying each."""
    ranges = [[0, *range(pack.minimum, max(int(need / pack.content) + 2, pack.minimum + 1))] for pack in packs]
    best = None
    for counts in itertools.product(*ranges):
        quantity = sum((pack.content * count for pack, count in zip(packs, counts, strict=True)), D(0))
        if quantity < need:
            continue
        above = max(D(0), quantity - cap) if cap is not None else D(0)
        cost = sum((pack.price * count for pack, count in zip(packs, counts, strict=True)), D(0))
        best = min(best or (above, cost), (above, cost))
    assert best is not None
    return best


@settings(max_examples=150, deadline=None)
@given(offers, st.sampled_from([D("0.1"), D("0.6"), D("3.1"), D("4.6"), D("9.5")]), st.sampled_from([None, D(1), D(5), D(10)]))
def test_no_combination_is_cheaper(packs: list[PackOffer], need: Decimal, cap: Decimal | None) -> None:
    choice = cheapest_packs(packs, need=need, cap=cap)
    assert choice is not None
    assert choice.quantity >= need
    assert all(line.count >= line.pack.minimum for line in choice.lines)
    assert choice.cost == sum(line.cost for line in choice.lines)
    above = max(D(0), choice.quantity - cap) if cap is not None else D(0)
    assert (above, choice.cost) == brute_force(packs, need, cap)


rich_offers = st.lists(
    st.builds(
        PackOffer,
        key=st.integers(1, 99),
        supplier=st.integers(1, 2),
        content=st.sampled_from([D("0.5"), D(1), D(2), D(5)]),
        price=st.integers(5, 60).map(D),
        minimum=st.integers(1, 3),
        breaks=st.lists(st.tuples(st.integers(2, 6), st.integers(1, 60)), max_size=2, unique_by=lambda step: step[0]).map(
            lambda steps: tuple(PriceBreak(packs=packs, price=D(price)) for packs, price in sorted(steps))
        ),
    ),
    min_size=1,
    max_size=3,
    unique_by=lambda pack: pack.key,
)
all_costs = st.builds(
    Costs,
    delivery=st.fixed_dictionaries({1: st.integers(0, 30).map(D), 2: st.integers(0, 30).map(D)}),
    holding_rate=st.sampled_from([0.0, 0.3]),
    weekly=st.sampled_from([0.0, 0.4, 2.0]),
    deviation=st.sampled_from([0.0, 0.5]),
    usable=st.sampled_from([0.0, 3.0]),
    fresh_weeks=st.sampled_from([None, 4.0, 10.0]),
)


def cost_of(counts: dict[PackOffer, int], costs: Costs) -> tuple[float, float]:
    """Quantity and whole cost of a purchase, from the formulas in floats."""
    quantity = purchase = 0.0
    for pack, count in counts.items():
        price = float(pack.price)
        for step in pack.breaks:
            price = float(step.price) if count >= step.packs else price
        quantity, purchase = quantity + float(pack.content) * count, purchase + price * count
    years = min(quantity / costs.weekly * 7 / 365, 1.0) if costs.weekly else 1.0
    spoils = 0.0
    if costs.fresh_weeks is not None:
        mean, spread = costs.weekly * costs.fresh_weeks, costs.deviation * costs.fresh_weeks**0.5

        def left(stock: float) -> float:
            if not spread:
                return max(stock - mean, 0)
            z = (stock - mean) / spread
            return float(spread * (norm.pdf(z) + z * norm.cdf(z)))

        spoils = min(left(costs.usable + quantity) - left(costs.usable), quantity)
    [supplier] = {pack.supplier for pack in counts}
    delivery = float(costs.delivery.get(supplier, 0))
    return quantity, purchase + delivery + purchase * costs.holding_rate * years / 2 + purchase * spoils / quantity


@settings(max_examples=200, deadline=None)
@given(rich_offers, st.sampled_from([D("0.4"), D(2), D("4.5"), D(7)]), st.sampled_from([None, D(3), D(8)]), all_costs)
def test_no_combination_costs_less_in_all(packs: list[PackOffer], need: Decimal, cap: Decimal | None, costs: Costs) -> None:
    """Every combination of every supplier, with price breaks, minimums, delivery, holding and expected expiry."""
    best = None
    for supplier in {pack.supplier for pack in packs}:
        mine = [pack for pack in packs if pack.supplier == supplier]
        most = [max(int(need / pack.content) + 2, pack.minimum + 1, *(step.packs + 1 for step in pack.breaks)) for pack in mine]
        for counts in itertools.product(*([0, *range(pack.minimum, top + 1)] for pack, top in zip(mine, most, strict=True))):
            taken = {pack: count for pack, count in zip(mine, counts, strict=True) if count}
            if taken and (quantity := sum(float(pack.content) * count for pack, count in taken.items())) >= float(need):
                above = max(quantity - float(cap), 0.0) if cap is not None else 0.0
                found = (above, cost_of(taken, costs)[1])
                best = found if best is None else min(best, found)
    choice = cheapest_packs(packs, need=need, cap=cap, costs=costs)
    assert choice is not None
    assert best is not None
    above = max(float(choice.quantity - cap), 0.0) if cap is not None else 0.0
    assert above == best[0]
    assert float(choice.total) == pytest.approx(best[1], abs=1e-4)


def test_every_supplier_is_told_with_his_best() -> None:
    one, two = PackOffer(key=1, supplier=1, content=D(5), price=D(50)), PackOffer(key=2, supplier=2, content=D(1), price=D(9))
    found = choose_packs([one, two], need=D(3))
    assert [(choice.supplier, choice.cost) for choice in found] == [(2, 27), (1, 50)]


@pytest.mark.parametrize(
    ("breaks", "reason"), [(((1, 5),), "2 packs or more"), (((3, -1),), "0 or more"), (((5, 2), (3, 4)), "rising")]
)
def test_nonsense_price_breaks_are_refused(breaks: tuple[tuple[int, int], ...], reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        PackOffer(
            key=1,
            supplier=1,
            content=D(1),
            price=D(9),
            breaks=tuple(PriceBreak(packs=packs, price=D(price)) for packs, price in breaks),
        )


@pytest.mark.parametrize(("need", "cost"), [("9.5", 450), ("3.1", 174), ("4.6", 225), ("0.6", 52), ("37.3", None)])
def test_an_integer_program_finds_the_same_cost(need: str, cost: int | None) -> None:
    contents, prices = ["0.25", "1", "5"], [18, 52, 225]
    packs = [
        PackOffer(key=i, supplier=1, content=D(content), price=D(price))
        for i, (content, price) in enumerate(zip(contents, prices, strict=True))
    ]
    program = milp(
        c=np.array(prices, float),
        constraints=LinearConstraint(np.array([[float(c) for c in contents]]), lb=float(need)),
        integrality=np.ones(3),
        bounds=Bounds(0, np.inf),
    )
    choice = cheapest_packs(packs, need=D(need))
    assert choice is not None
    assert float(choice.cost) == pytest.approx(program.fun)
    if cost is not None:
        assert choice.cost == cost


def test_one_pail_beats_five_cans_and_loses_when_it_would_spoil() -> None:
    can = PackOffer(key=1, supplier=1, content=D(5), price=D(225))
    pail = PackOffer(key=2, supplier=1, content=D(20), price=D(760))
    assert [line.pack.key for line in cheapest_packs([can, pail], need=D(18)).lines] == [2]  # type: ignore[union-attr]
    assert [line.pack.key for line in cheapest_packs([can, pail], need=D(8), cap=D(12)).lines] == [1]  # type: ignore[union-attr]


def test_packs_of_two_suppliers_are_not_mixed() -> None:
    small = PackOffer(key=1, supplier=1, content=D(1), price=D(10))
    big = PackOffer(key=2, supplier=2, content=D(5), price=D(60))
    choice = cheapest_packs([small, big], need=D("5.5"))
    assert choice is not None
    assert {line.pack.supplier for line in choice.lines} == {1}


def test_nothing_is_bought_without_need_or_offer() -> None:
    assert cheapest_packs([], need=D(1)) is None
    assert cheapest_packs([PackOffer(key=1, supplier=1, content=D(1), price=D(1))], need=D(0)) is None


@pytest.mark.parametrize(
    ("content", "price", "minimum", "reason"),
    [
        ("0", "1", 1, "more than 0"),
        ("-1", "1", 1, "more than 0"),
        ("NaN", "1", 1, "more than 0"),
        ("1", "-1", 1, "0 or more"),
        ("1", "1", 0, "one pack"),
    ],
)
def test_a_nonsense_pack_is_refused(content: str, price: str, minimum: int, reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        PackOffer(key=1, supplier=1, content=D(content), price=D(price), minimum=minimum)
