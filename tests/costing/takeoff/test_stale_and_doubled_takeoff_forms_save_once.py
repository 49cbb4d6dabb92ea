"""The same form twice saves its rows once; a form older than the rows is told so and saves nothing."""

from __future__ import annotations

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Estimate, TakeoffRow
from costing.services.takeoff import TooManyRowsError, put_rows
from tests.costing.takeoff.editor import sent

STALE = "The rows were changed since this page was opened, and nothing was saved now."


def test_a_doubled_form_adds_its_rows_once(estimator: Client, estimate: Estimate) -> None:
    data = sent(estimate, {"label": "A"}, {"label": "B"})
    here = reverse("takeoff", args=[estimate.pk])

    first, second = estimator.post(here, data), estimator.post(here, data)

    assert (first.status_code, second.status_code) == (302, 302)
    assert list(estimate.rows.values_list("label", flat=True)) == ["A", "B"]


def test_an_older_form_is_told_and_keeps_what_was_typed(estimator: Client, estimate: Estimate) -> None:
    old = sent(estimate, {"label": "From the old page"})
    here = reverse("takeoff", args=[estimate.pk])
    estimator.post(here, sent(estimate, {"label": "Saved in between"}))

    response = estimator.post(here, old)

    assert response.status_code == 422
    assert STALE in response.text
    assert 'value="From the old page"' in response.text
    assert list(estimate.rows.values_list("label", flat=True)) == ["Saved in between"]


@pytest.mark.parametrize("key", ["", "not-a-key"])
def test_a_form_without_its_key_is_out_of_date(estimator: Client, estimate: Estimate, key: str) -> None:
    response = estimator.post(reverse("takeoff", args=[estimate.pk]), sent(estimate, {}) | {"key": key})

    assert response.status_code == 422
    assert "This form is out of date. Reload the page and send it again; nothing was saved." in response.text
    assert not estimate.rows.exists()


def test_a_takeoff_does_not_grow_past_its_limit(estimate: Estimate) -> None:
    rows = [TakeoffRow(label="x", pieces=1, form="area", area=1) for _ in range(2001)]

    with pytest.raises(TooManyRowsError, match="That would make 2001 rows"):
        put_rows(estimate=estimate, rows=rows, start=0, stop=0, key=uuid.uuid4(), seen=None)
    assert not estimate.rows.exists()


@pytest.mark.parametrize(("start", "stop"), [("5", "0"), ("0", "7"), ("9", "9")])
def test_a_form_for_rows_that_are_not_there_is_told(estimator: Client, estimate: Estimate, start: str, stop: str) -> None:
    response = estimator.post(reverse("takeoff", args=[estimate.pk]), sent(estimate, {}, start=start, stop=stop))

    assert response.status_code == 422
    assert STALE in response.text
    assert not estimate.rows.exists()
