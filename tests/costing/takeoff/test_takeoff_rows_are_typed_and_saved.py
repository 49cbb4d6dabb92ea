"""Rows are typed as people measure, saved together, changed and removed."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from costing.models import Estimate, TakeoffRow
from costing.services.takeoff import takeoff_of
from finishing.models import Shop
from tests.costing.takeoff.editor import DEFAULTS, EMPTY, sent

D = Decimal


def save(client: Client, estimate: Estimate, data: dict[str, str]) -> list[TakeoffRow]:
    response = client.post(reverse("takeoff", args=[estimate.pk]), data)
    assert response.status_code == 302, response.context["rows"].errors
    estimate.refresh_from_db()
    return list(estimate.rows.all())


def test_it_saves_the_rows_and_shows_their_area(estimator: Client, estimate: Estimate) -> None:
    stored = save(estimator, estimate, sent(estimate, {}, EMPTY, {"label": "Panel", "pieces": "1", "zone": "hidden"}, EMPTY))

    assert [(row.position, row.label, row.zone) for row in stored] == [(1, "Door", "show"), (2, "Panel", "hidden")]
    assert takeoff_of(stored).rows[0].area == pytest.approx(15.320436)
    page = estimator.get(reverse("takeoff", args=[estimate.pk]))
    assert page.context["total"].show_area == pytest.approx(15.320436)
    assert "15.96 m²" in page.text
    assert 'placeholder="= 15.32"' in page.text


def test_sizes_are_typed_with_their_units(estimator: Client, estimate: Estimate) -> None:
    (row,) = save(estimator, estimate, sent(estimate, {"length": "23 1/2 in", "width": "39.7 cm", "thickness": "3/4 in"}))

    assert (row.length, row.width, row.thickness) == (D("596.9"), D(397), D("19.05"))


def test_a_us_shop_types_inches_and_gets_the_same_area(estimator: Client, estimate: Estimate, us_shop: Shop) -> None:
    (row,) = save(estimator, estimate, sent(estimate, {"length": "28 1/4", "width": "15.625", "thickness": "3/4"}))

    metric = TakeoffRow(**DEFAULTS_AS_ROW, length=D("717.55"), width=D("396.875"), thickness=D("19.05"))
    assert takeoff_of([row]).area == takeoff_of([metric]).area
    page = estimator.get(reverse("takeoff", args=[estimate.pk]))
    assert 'value="28 1/4"' in page.text
    assert "ft²" in page.text


DEFAULTS_AS_ROW = {
    "label": "Door",
    "pieces": 24,
    "form": "panel",
    "faces": 2,
    "long_edges": 2,
    "short_edges": 2,
    "profile_factor": D("1.05"),
    "geometry_factor": D(1),
    "zone": "show",
}


def test_areas_and_mouldings_are_rows_too(estimator: Client, estimate: Estimate) -> None:
    area = {"label": "Frame", "form": "area", "length": "", "width": "", "thickness": "", "area": "3.2 m²"}
    moulding = {
        "label": "Crown",
        "form": "moulding",
        "pieces": "4",
        "length": "2400",
        "width": "",
        "thickness": "",
        "girth": "110",
    }

    stored = save(estimator, estimate, sent(estimate, area, moulding))

    assert takeoff_of(stored).area == pytest.approx(3.2 + 1.056)


def test_rows_are_changed_removed_and_added_together(estimator: Client, estimate: Estimate) -> None:
    save(estimator, estimate, sent(estimate, {"label": "A"}, {"label": "B"}, {"label": "C"}))

    stored = save(
        estimator,
        estimate,
        sent(estimate, {"label": "A2"}, {"label": "B", "DELETE": "on"}, {"label": "C"}, {"label": "D"}, stored=3),
    )

    assert [(row.position, row.label) for row in stored] == [(1, "A2"), (2, "C"), (3, "D")]


def test_the_page_asks_as_often_for_many_rows_as_for_few(estimator: Client, estimate: Estimate) -> None:
    counts = []
    for rows in (1, 60):
        TakeoffRow.objects.bulk_create(
            TakeoffRow(estimate=estimate, position=n, label="Frame", pieces=1, form="area", area=D(1)) for n in range(rows)
        )
        with CaptureQueriesContext(connection) as queries:
            estimator.get(reverse("takeoff", args=[estimate.pk]))
        counts.append(len(queries))

    assert counts[0] == counts[1] <= 6


def test_long_takeoffs_come_a_hundred_rows_at_a_time(estimator: Client, estimate: Estimate) -> None:
    stored = [
        TakeoffRow(estimate=estimate, position=n, label=f"Door {n}", pieces=1, length=D(500), width=D(300), thickness=D(0))
        for n in range(1, 251)
    ]
    TakeoffRow.objects.bulk_create(stored)
    first = estimator.get(reverse("takeoff", args=[estimate.pk]))
    last = estimator.get(reverse("takeoff", args=[estimate.pk], query={"from": 200}))

    assert len(first.context["rows"].forms) == 100
    assert len(last.context["rows"].forms) == 55
    assert "Save and show rows 201 to 250" in first.text

    data = sent(estimate, *[{"label": f"Changed {n}"} for n in range(100)], stored=100, start="100", stop="200", go="200")
    response = estimator.post(reverse("takeoff", args=[estimate.pk]), data)

    assert response.url == reverse("takeoff", args=[estimate.pk], query={"from": 200})
    labels = list(estimate.rows.values_list("label", flat=True))
    assert labels[99] == "Door 100"
    assert labels[100:200] == [f"Changed {n}" for n in range(100)]
    assert labels[200] == "Door 201"
    assert list(estimate.rows.values_list("position", flat=True)) == list(range(1, 251))


def test_saving_may_lead_on_to_the_prices(estimator: Client, estimate: Estimate) -> None:
    response = estimator.post(reverse("takeoff", args=[estimate.pk]), sent(estimate, {}, go="estimate"))

    assert response.url == reverse("estimate", args=[estimate.pk])


def test_more_empty_rows_come_without_script_and_nothing_is_saved(estimator: Client, estimate: Estimate) -> None:
    response = estimator.post(reverse("takeoff", args=[estimate.pk]), sent(estimate, {"label": "Typed"}, more="5"))

    assert response.status_code == 200
    assert len(response.context["rows"].forms) == 6
    assert 'value="Typed"' in response.text
    assert not estimate.rows.exists()


def test_the_total_of_what_is_typed_is_told_without_saving(estimator: Client, estimate: Estimate) -> None:
    response = estimator.post(reverse("takeoff_preview", args=[estimate.pk]), sent(estimate, {}, {"length": "abc"}))

    assert "15.32 m²" in response.text
    assert "1 row with something to put right" in " ".join(response.text.split())
    assert not estimate.rows.exists()


def test_every_default_of_the_test_row_is_a_field_of_the_form() -> None:
    from costing.forms.takeoff import TakeoffRowForm

    assert set(DEFAULTS) == set(TakeoffRowForm.base_fields)
