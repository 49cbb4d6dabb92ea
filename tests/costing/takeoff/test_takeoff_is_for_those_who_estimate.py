"""Estimator and owner work on takeoffs; others are refused and somebody who is not signed in is asked to."""

from __future__ import annotations

import pytest
from django.urls import reverse

from costing.models import Estimate
from tests.costing.pages.shop import Browser

PAGES = ("takeoff", "takeoff_paste", "takeoff_upload", "estimate_edit")


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize(
    ("role", "status"),
    [("estimator", 200), ("owner", 200), ("office", 403), ("finisher", 403), ("stranger", 403), ("nobody", 302)],
)
def test_pages_of_an_estimate(as_role: Browser, estimate: Estimate, page: str, role: str, status: int) -> None:
    assert as_role(role).get(reverse(page, args=[estimate.pk])).status_code == status


@pytest.mark.parametrize("page", ["takeoff", "takeoff_preview", "takeoff_paste", "takeoff_upload", "estimate_edit"])
@pytest.mark.parametrize("role", ["office", "finisher", "stranger"])
def test_sending_is_refused_too(as_role: Browser, estimate: Estimate, page: str, role: str) -> None:
    assert as_role(role).post(reverse(page, args=[estimate.pk]), {}).status_code == 403


@pytest.mark.parametrize(
    ("role", "status"), [("estimator", 200), ("owner", 200), ("office", 200), ("finisher", 403), ("nobody", 302)]
)
def test_the_list_is_for_those_who_see_costs(as_role: Browser, role: str, status: int) -> None:
    assert as_role(role).get(reverse("estimates")).status_code == status


@pytest.mark.parametrize(("role", "status"), [("estimator", 200), ("office", 403), ("finisher", 403), ("nobody", 302)])
def test_beginning_an_estimate_and_the_template(as_role: Browser, role: str, status: int) -> None:
    client = as_role(role)

    assert client.get(reverse("estimate_new")).status_code == status
    assert client.get(reverse("takeoff_template")).status_code == status


def test_an_estimate_that_does_not_exist_is_not_found(as_role: Browser) -> None:
    assert as_role("estimator").get(reverse("takeoff", args=[999])).status_code == 404
