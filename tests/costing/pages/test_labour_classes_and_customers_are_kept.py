"""Labour classes with their loaded rate, and customers who are found again."""

from __future__ import annotations

import uuid
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Customer, LabourClass
from tests.costing.pages.shop import Browser, Workshop, make_estimate

D = Decimal


def test_wage_and_burden_make_the_loaded_rate(estimator: Client) -> None:
    estimator.post(reverse("labour_class_new"), {"name": "Helper", "wage": "$18.00", "burden": "25", "is_active": "on"})

    made = LabourClass.objects.get()
    assert (made.wage, made.burden) == (D(18), D("0.25"))
    assert "$22.50" in estimator.get(reverse("labour_classes")).text


@pytest.mark.parametrize(
    ("changed", "field", "message"),
    [
        ({"wage": "-1"}, "wage", "This must be 0 or more."),
        ({"wage": "nan"}, "wage", "This must be an ordinary number."),
        ({"wage": "much"}, "wage", "“much” can’t be read as an amount. Write for example 43.50."),
        ({"burden": "400"}, "burden", "This must be between 0 and 300 %."),
        ({"name": "Finisher"}, "name", "There is a labour class of this name already."),
    ],
)
def test_a_labour_class_that_cannot_be(
    estimator: Client, workshop: Workshop, changed: dict[str, str], field: str, message: str
) -> None:
    data = {"name": "Helper", "wage": "18", "burden": "25"} | changed

    response = estimator.post(reverse("labour_class_new"), data)

    assert response.context["form"].errors == {field: [message]}
    assert LabourClass.objects.count() == 1


def test_a_labour_class_is_changed(estimator: Client, workshop: Workshop) -> None:
    here = reverse("labour_class_edit", args=[workshop.labour.pk])
    assert 'value="26.00"' in estimator.get(here).text

    estimator.post(here, {"name": "Finisher", "wage": "27.5", "burden": "30"})

    workshop.labour.refresh_from_db()
    assert (workshop.labour.wage, workshop.labour.burden, workshop.labour.is_active) == (D("27.5"), D("0.3"), False)


def test_the_office_reads_wages_and_does_not_change_them(as_role: Browser, workshop: Workshop) -> None:
    text = as_role("office").get(reverse("labour_classes")).text

    assert "$32.50" in text
    assert reverse("labour_class_edit", args=[workshop.labour.pk]) not in text


def test_a_customer_is_entered_once_though_the_form_comes_twice(estimator: Client) -> None:
    data = {"name": "Invented Joinery", "email": "hello@invented.example", "key": str(uuid.uuid4())}

    first, second = (estimator.post(reverse("customer_new"), data) for _ in range(2))

    assert Customer.objects.get().get_absolute_url() == first.url == second.url


def test_a_wrong_address_is_told(estimator: Client) -> None:
    response = estimator.post(reverse("customer_new"), {"name": "A", "email": "at home", "key": str(uuid.uuid4())})

    assert response.context["form"].errors == {"email": ["Write an e-mail address, for example office@example.com."]}
    assert 'value="at home"' in response.text


def test_customers_are_found_by_any_word(estimator: Client) -> None:
    Customer.objects.create(name="Invented Joinery", address="5 Mill Lane")
    Customer.objects.create(name="Sample Homes")

    text = estimator.get(reverse("customers"), {"words": "mill"}).text

    assert "Invented Joinery" in text
    assert "Sample Homes" not in text


def test_a_customer_s_page_shows_their_estimates_to_those_who_see_costs(as_role: Browser, db: None) -> None:
    estimate = make_estimate()
    assert estimate.customer is not None
    here = estimate.customer.get_absolute_url()

    assert estimate.number in as_role("estimator").get(here).text
    assert estimate.number in as_role("office").get(here).text


def test_a_customer_is_changed(estimator: Client, db: None) -> None:
    customer = Customer.objects.create(name="Old name")

    estimator.post(reverse("customer_edit", args=[customer.pk]), {"name": "New name"})

    customer.refresh_from_db()
    assert customer.name == "New name"
