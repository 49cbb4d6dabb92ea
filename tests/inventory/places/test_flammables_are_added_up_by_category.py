"""``flammables``: litres by category against the limits entered; what cannot be counted is named, never guessed."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.core.flammables import Held, flammables, litres_of
from tests.strategies import quantities

D = Decimal


def held(name: str, litres: str | None, category: int | None) -> Held:
    return Held(name=name, litres=None if litres is None else D(litres), category=category)


def test_categories_1_to_3_share_a_limit_and_all_four_share_another() -> None:
    liquids = [held("a", "5", 1), held("b", "10", 2), held("c", "20", 3), held("d", "40", 4), held("e", "5", 3)]
    found = flammables(liquids, limit_1_to_3=D(30), limit_all=D(100))
    assert found.by_category == {1: 5, 2: 10, 3: 25, 4: 40}
    assert (found.strict.litres, found.strict.over) == (40, 10)
    assert (found.all.litres, found.all.over) == (80, 0)
    assert found.is_over


def test_the_limit_itself_is_not_over_it() -> None:
    found = flammables([held("a", "30", 3)], limit_1_to_3=D(30), limit_all=D(30))
    assert not found.is_over
    assert flammables([held("a", "30.001", 4)], limit_1_to_3=D(30), limit_all=D(30)).is_over


def test_twelve_pails_of_5_gal_are_not_more_than_60_gal() -> None:
    """Each is kept as 18.927059 L, rounded up, and the limit as 227.124707 L, rounded down."""
    pails = [held(f"{number}", "18.927059", 2) for number in range(12)]
    assert not flammables(pails, limit_1_to_3=D("227.124707"), limit_all=None).is_over


def test_without_a_limit_nothing_is_over() -> None:
    found = flammables([held("a", "9999", 1)], limit_1_to_3=None, limit_all=None)
    assert (found.strict.over, found.all.over, found.is_over) == (0, 0, False)


def test_what_is_not_flammable_counts_nowhere_and_what_nobody_has_entered_is_named() -> None:
    liquids = [
        held("water", "9", 0),
        held("unread", "9", None),
        held("unread", "3", None),
        held("by weight", None, 3),
        held("dry", None, 0),
    ]
    found = flammables(liquids, limit_1_to_3=None, limit_all=None)
    assert (found.all.litres, found.unknown, found.unmeasured) == (0, ("unread",), ("by weight",))


@pytest.mark.parametrize(
    ("quantity", "unit", "density", "litres"),
    [("5", "L", "0.8", "5"), ("4.35", "kg", "0.87", "5"), ("4", "kg", None, None), ("4", "pcs", "1", None)],
)
def test_volume_comes_from_litres_or_from_weight_and_density(
    quantity: str, unit: str, density: str | None, litres: str | None
) -> None:
    expected = None if litres is None else D(litres)
    assert litres_of(D(quantity), unit=unit, density=None if density is None else D(density)) == expected


@pytest.mark.parametrize(
    ("litres", "category", "words"), [("1", 5, "no category 5"), ("-1", 2, "can’t fill"), ("NaN", 2, "fill")]
)
def test_what_cannot_be_is_refused(litres: str, category: int, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        held("x", litres, category)


@settings(deadline=None)
@given(st.lists(st.tuples(quantities(), st.sampled_from([0, 1, 2, 3, 4, None]))))
def test_every_litre_is_counted_once(rows: list[tuple[Decimal, int | None]]) -> None:
    liquids = [Held(name=f"{place}", litres=litres, category=of) for place, (litres, of) in enumerate(rows)]
    found = flammables(liquids, limit_1_to_3=None, limit_all=None)
    assert found.all.litres == sum(litres for litres, of in rows if of)
    assert found.strict.litres == found.all.litres - found.by_category[4]
    assert len(found.unknown) == sum(of is None for _, of in rows)
