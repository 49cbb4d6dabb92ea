"""A size comes back as it was typed while it still reads as what is stored; a US shop sees fractions of an inch."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.core.takeoff_reading import read_takeoff
from costing.models import Estimate, TakeoffRow
from costing.services.inputs import size_in_words
from costing.services.takeoff import row_from
from finishing import show
from finishing.models import Shop
from finishing.units import UnitSystem, inch_fraction
from tests.costing.takeoff.editor import sent

D = Decimal
INCHES = {"length": "28 1/8 in", "width": "15 5/8 in", "thickness": "3/4 in"}
NAMES = ("length", "width", "thickness")


def shown(client: Client, estimate: Estimate) -> list[str]:
    """The first row's sizes as the page shows them."""
    form = client.get(reverse("takeoff", args=[estimate.pk])).context["rows"].forms[0]
    return [str(form[name].value()) for name in NAMES]


def save(client: Client, estimate: Estimate, **sizes: str) -> TakeoffRow:
    stored = estimate.rows.count()
    answer = client.post(reverse("takeoff", args=[estimate.pk]), sent(estimate, sizes, stored=stored))
    assert answer.status_code == 302
    estimate.refresh_from_db()
    return estimate.rows.get()


def test_fractions_typed_in_a_metric_shop_stay(estimator: Client, estimate: Estimate) -> None:
    row = save(estimator, estimate, **INCHES)
    assert (row.length, row.thickness) == (D("714.375"), D("19.05"))
    assert shown(estimator, estimate) == list(INCHES.values())
    again = save(estimator, estimate, **INCHES)
    assert (again.length, again.typed) == (row.length, INCHES)


def test_plain_sizes_need_no_words_of_their_own(estimator: Client, estimate: Estimate) -> None:
    assert save(estimator, estimate, length="715", width="397", thickness="19").typed == {}


def test_words_that_no_longer_fit_give_way_to_what_is_stored(estimator: Client, estimate: Estimate) -> None:
    save(estimator, estimate, **INCHES)
    estimate.rows.update(length=D(700))
    assert shown(estimator, estimate)[:2] == ["700", "15 5/8 in"]


def test_bare_words_of_another_unit_are_not_shown_in_this_one(estimator: Client, estimate: Estimate, us_shop: Shop) -> None:
    row = save(estimator, estimate, length="28.125", width="15 10/16", thickness="3/4")
    assert shown(estimator, estimate) == ["28.125", "15 10/16", "3/4"]
    us_shop.unit_system = UnitSystem.METRIC
    us_shop.save()
    show.use(None)
    assert shown(estimator, estimate) == ["714.375", "396.875", "19.05"]
    assert row.length == D("714.375")


def test_a_us_shop_sees_millimetres_that_are_64ths_as_fractions(estimator: Client, estimate: Estimate, us_shop: Shop) -> None:
    row = save(estimator, estimate, length="596.9 mm", width="8 in", thickness="3/4")
    TakeoffRow.objects.filter(pk=row.pk).update(typed={})
    assert shown(estimator, estimate) == ["23 1/2", "8", "3/4"]
    row.refresh_from_db()
    assert size_in_words(row) == "23 1/2 × 8 × 3/4 in"
    row.length = D(715)
    assert size_in_words(row) == "28.15 × 8 × 3/4 in"
    assert show.length(D("19.05")) == "3/4 in"


def test_a_pasted_list_keeps_its_inches(estimator: Client, estimate: Estimate) -> None:
    grid = [["Piece", "Qty", "Length (in)", "Width", "Thickness"], ["Door", "2", "28 1/8", "15 5/8 in", "19"]]
    row = row_from(read_takeoff(grid).rows[0])
    row.estimate, row.position = estimate, 1
    row.save()
    assert shown(estimator, estimate) == ["28 1/8 in", "15 5/8 in", "19"]


@pytest.mark.parametrize(
    ("millimetres", "inches"),
    [("0", "0"), ("25.4", "1"), ("0.396875", "1/64"), ("12.7", "1/2"), ("606.425", "23 7/8"), ("715", None), ("-25.4", None)],
)
def test_whole_64ths_have_a_fraction(millimetres: str, inches: str | None) -> None:
    assert inch_fraction(D(millimetres)) == inches
