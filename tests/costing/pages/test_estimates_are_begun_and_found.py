"""An estimate is begun with a customer and systems in order, changed, and found in the list."""

from __future__ import annotations

import uuid
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from costing.models import CoatingSystem, Customer, Estimate, EstimateOption
from finishing.models import Shop
from tests.costing.pages.shop import Workshop, make_estimate


def typed(**changed: Any) -> dict[str, str]:
    data = {"name": "Kitchen, 24 doors", "customer": "", "new_customer": "", "margin": "", "note": "", "key": uuid.uuid4()}
    return {name: str(value) for name, value in (data | changed).items()}


def systems_of(estimate: Estimate) -> list[tuple[int, str]]:
    return list(estimate.options.values_list("position", "system__name"))


@pytest.fixture
def other(workshop: Workshop) -> CoatingSystem:
    return CoatingSystem.objects.create(name="Waterborne")


def test_it_is_begun_with_a_new_customer_and_systems_in_order(
    estimator: Client, workshop: Workshop, other: CoatingSystem
) -> None:
    data = typed(new_customer="Invented Joinery", system_1=other.pk, system_3=workshop.system.pk, margin="35")

    response = estimator.post(reverse("estimate_new"), data)

    made = Estimate.objects.get()
    assert response.url == reverse("takeoff", args=[made.pk])
    assert (str(made.customer), made.margin, str(made.created_by)) == ("Invented Joinery", Decimal("0.35"), "estimator")
    assert systems_of(made) == [(1, "Waterborne"), (2, "Clear satin")]


def test_a_doubled_form_begins_one_estimate_and_one_customer(estimator: Client) -> None:
    data = typed(new_customer="Invented Joinery")
    here = reverse("estimate_new")

    first = estimator.post(here, data)
    Customer.objects.update(name="Renamed meanwhile")
    second = estimator.post(here, data)

    assert first.url == second.url
    assert (Estimate.objects.count(), Customer.objects.count()) == (1, 1)


@pytest.mark.parametrize(
    ("changed", "field", "message"),
    [
        ({"margin": "100"}, "margin", "This must be below 100 %."),
        ({"margin": "-1"}, "margin", "This must be between 0 and 99 %."),
        ({"margin": "NaN"}, "margin", "This must be an ordinary number."),
        ({"name": ""}, "name", "Fill this in."),
        (
            {"new_customer": "invented kitchens"},
            "new_customer",
            "There is a customer of this name: choose it, or add what tells them apart.",
        ),
        ({"system_1": "999"}, "system_1", "Choose one of those listed."),
        ({"key": ""}, "key", "This form is out of date. Reload the page and send it again; nothing was saved."),
    ],
)
def test_what_cannot_be_is_told_at_its_field(estimator: Client, changed: dict[str, str], field: str, message: str) -> None:
    Customer.objects.create(name="Invented Kitchens")

    response = estimator.post(reverse("estimate_new"), typed(note="Still here", **changed))

    assert response.status_code == 422
    assert response.context["form"].errors == {field: [message]}
    assert "Still here" in response.text
    assert not Estimate.objects.exists()


def test_two_customers_and_the_same_system_twice_are_told(estimator: Client, workshop: Workshop) -> None:
    customer = Customer.objects.create(name="Invented Kitchens")
    data = typed(customer=customer.pk, new_customer="Another", system_1=workshop.system.pk, system_2=workshop.system.pk)

    response = estimator.post(reverse("estimate_new"), data)

    assert response.context["form"].errors == {
        "new_customer": ["Choose a customer or give a new name, not both."],
        "system_2": ["This is the first system already: choose another, or none."],
    }


def test_it_is_begun_from_a_customer_s_page(estimator: Client) -> None:
    customer = Customer.objects.create(name="Invented Kitchens")

    page = estimator.get(reverse("estimate_new"), {"customer": customer.pk}).text

    assert f'<option value="{customer.pk}" selected>' in page
    assert estimator.get(reverse("estimate_new"), {"customer": "x; drop"}).status_code == 200


def test_changing_the_order_keeps_the_options(estimator: Client, workshop: Workshop, other: CoatingSystem) -> None:
    estimate = make_estimate()
    kept = EstimateOption.objects.create(estimate=estimate, system=workshop.system, position=1)
    here = reverse("estimate_edit", args=[estimate.pk])
    assert f'<option value="{workshop.system.pk}" selected>' in estimator.get(here).text

    estimator.post(here, typed(system_1=other.pk, system_2=workshop.system.pk))

    assert systems_of(estimate) == [(1, "Waterborne"), (2, "Clear satin")]
    assert estimate.options.get(system=workshop.system).pk == kept.pk
    estimator.post(here, typed())
    assert systems_of(estimate) == []


def test_a_system_no_longer_in_use_stays_where_it_is_priced(estimator: Client, workshop: Workshop) -> None:
    estimate = make_estimate()
    EstimateOption.objects.create(estimate=estimate, system=workshop.system, position=1)
    CoatingSystem.objects.update(is_active=False)

    assert "Clear satin" in estimator.get(reverse("estimate_edit", args=[estimate.pk])).text
    assert "Clear satin" not in estimator.get(reverse("estimate_new")).text


def test_the_shop_s_margin_is_named(estimator: Client) -> None:
    Shop(margin=Decimal("0.42")).save()

    assert "the shop’s own, 42 %" in estimator.get(reverse("estimate_new")).text


@pytest.mark.parametrize("asked", ["joinery", "E-0007", "7", "stairs"])
def test_the_list_finds_by_number_name_and_customer(estimator: Client, asked: str) -> None:
    Estimate.objects.create(pk=7, name="Stairs", customer=Customer.objects.create(name="Invented Joinery"))
    make_estimate(pk=8)

    text = estimator.get(reverse("estimates"), {"words": asked}).text

    assert "E-0007" in text
    assert "E-0008" not in text


def test_the_list_is_narrowed_by_customer_and_survives_nonsense(estimator: Client) -> None:
    first = make_estimate()
    Estimate.objects.create(name="Stairs", customer=Customer.objects.create(name="Invented Joinery"))

    text = estimator.get(reverse("estimates"), {"customer": first.customer_id}).text

    assert "Kitchen refinish" in text
    assert "Stairs" not in text
    for nonsense in ({"customer": "x"}, {"page": "-1"}, {"sort": "nothing"}, {"words": "x" * 300}):
        assert estimator.get(reverse("estimates"), nonsense).status_code == 200


def test_the_list_asks_as_often_for_many_as_for_few(estimator: Client) -> None:
    make_estimate()
    with CaptureQueriesContext(connection) as few:
        estimator.get(reverse("estimates"))
    for _ in range(20):
        make_estimate()
    with CaptureQueriesContext(connection) as many:
        estimator.get(reverse("estimates"))

    assert len(few) == len(many)
