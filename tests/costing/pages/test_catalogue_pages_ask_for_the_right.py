"""Who may see and who may change the catalogue; the role decides, page by page."""

from __future__ import annotations

import pytest
from django.urls import reverse

from costing.models import Customer
from tests.costing.pages.shop import Browser, Workshop

EVERYONE = {"office", "estimator", "finisher", "owner"}
PRICING = {"estimator", "owner"}
SELLING = {"office", "estimator", "owner"}
PAGES: list[tuple[str, str, set[str]]] = [
    ("setups", "", EVERYONE),
    ("setup", "setup", EVERYONE),
    ("setup_new", "", PRICING),
    ("setup_edit", "setup", PRICING),
    ("labour_classes", "", SELLING),
    ("labour_class_new", "", PRICING),
    ("labour_class_edit", "labour", PRICING),
    ("systems", "", EVERYONE),
    ("system", "system", EVERYONE),
    ("system_new", "", PRICING),
    ("system_edit", "system", PRICING),
    ("system_copy", "system", PRICING),
    ("operation_new", "system", PRICING),
    ("operation_edit", "coat", PRICING),
    ("operation_delete", "coat", PRICING),
    ("customers", "", SELLING),
    ("customer_new", "", SELLING),
    ("customer", "customer", SELLING),
    ("customer_edit", "customer", SELLING),
]


def address(name: str, thing: str, workshop: Workshop) -> str:
    if not thing:
        return reverse(name)
    found = Customer.objects.create(name="Invented") if thing == "customer" else getattr(workshop, thing)
    return reverse(name, args=[found.pk])


@pytest.mark.parametrize(("name", "thing", "allowed"), PAGES, ids=[page[0] for page in PAGES])
def test_each_role_and_a_stranger(as_role: Browser, workshop: Workshop, name: str, thing: str, allowed: set[str]) -> None:
    there = address(name, thing, workshop)

    answers = {role: as_role(role).get(there).status_code for role in (*EVERYONE, "stranger", "nobody")}

    assert answers == dict.fromkeys(allowed, 200) | dict.fromkeys((EVERYONE | {"stranger"}) - allowed, 403) | {"nobody": 302}


@pytest.mark.parametrize(
    ("name", "thing"), [(name, thing) for name, thing, allowed in PAGES if allowed == PRICING] + [("operation_move", "coat")]
)
def test_sending_is_refused_to_those_who_may_not_change(as_role: Browser, workshop: Workshop, name: str, thing: str) -> None:
    there = address(name, thing, workshop)

    for role in ("office", "finisher", "stranger"):
        assert as_role(role).post(there, {}).status_code == 403
    assert workshop.system.operations.count() == 3


def test_moving_needs_a_button_not_a_link(as_role: Browser, workshop: Workshop) -> None:
    assert as_role("estimator").get(reverse("operation_move", args=[workshop.coat.pk])).status_code == 405
