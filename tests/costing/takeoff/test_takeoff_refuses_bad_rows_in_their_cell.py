"""A slip in a row is told in its cell; nothing is saved and everything typed is still there."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Estimate
from finishing.models import Shop
from tests.costing.takeoff.editor import sent

MOULDING = {"form": "moulding", "width": "", "thickness": ""}


def refused(client: Client, estimate: Estimate, *lines: dict[str, str]) -> Any:
    response = client.post(reverse("takeoff", args=[estimate.pk]), sent(estimate, {"label": "Good row"}, *lines))
    assert response.status_code == 422
    assert not estimate.rows.exists()
    return response


@pytest.mark.parametrize(
    ("line", "field", "message"),
    [
        ({"length": "50 m"}, "length", "This must be 10000 mm or less."),
        ({"length": "-3"}, "length", "This must be above 0 mm."),
        ({"length": "0"}, "length", "This must be above 0 mm."),
        ({"length": "NaN"}, "length", "“NaN” can't be read as a length. Write for example 715, 71.5 cm, 24 in or 3/4 in."),
        ({"length": "abc"}, "length", "“abc” can't be read as a length. Write for example 715, 71.5 cm, 24 in or 3/4 in."),
        ({"length": "2 L"}, "length", "“L” is a volume; this needs a length. Write for example 715, 71.5 cm, 24 in or 3/4 in."),
        ({"length": "9" * 50}, "length", "This number is far too large to be meant."),
        ({"length": ""}, "length", "Give the length: this row is stated as L × W × T."),
        ({"thickness": "600"}, "thickness", "This must be 500 mm or less."),
        ({"girth": "50"}, "girth", "Empty this, or state the row another way: L × W × T has no girth."),
        ({**MOULDING, "girth": ""}, "girth", "Give the girth: this row is stated as L × girth."),
        ({**MOULDING, "girth": "3 m"}, "girth", "This must be 2000 mm or less."),
        ({"form": "area"}, "area", "Give the area: this row is stated as area."),
        ({"pieces": "two"}, "pieces", "Write a whole number, for example 24."),
        ({"pieces": "0"}, "pieces", "This must be 1 or more."),
        ({"pieces": "-1"}, "pieces", "This must be 1 or more."),
        ({"pieces": "2.5"}, "pieces", "Write a whole number, for example 24."),
        ({"pieces": ""}, "pieces", "Fill this in."),
        ({"pieces": "100001"}, "pieces", "This must be 100000 or less."),
        ({"label": ""}, "label", "Fill this in."),
        ({"profile_factor": "0.9"}, "profile_factor", "This must be 1 or more."),
        ({"profile_factor": "inf"}, "profile_factor", "“inf” can’t be read as a number. Write for example 1.05."),
        ({"geometry_factor": "1.2"}, "geometry_factor", "This must be 1 or less."),
        ({"geometry_factor": "0"}, "geometry_factor", "This must be 0.05 or more."),
        ({"zone": "roof"}, "zone", "Choose one of those listed."),
    ],
)
def test_it_tells_what_would_be_right(
    estimator: Client, estimate: Estimate, line: dict[str, str], field: str, message: str
) -> None:
    response = refused(estimator, estimate, line)

    form = response.context["rows"].forms[1]
    assert form.errors[field] == [message]
    assert message in response.text.replace("&#x27;", "'")
    typed = next(iter(line.values()))
    assert f'value="{typed}"' in response.text or field == "area" or field == "zone" or not typed
    assert "Good row" in response.text


def test_a_row_that_leaves_nothing_to_finish_is_told_at_its_faces(estimator: Client, estimate: Estimate) -> None:
    response = refused(estimator, estimate, {"faces": "0", "thickness": "0"})

    assert "leave nothing to finish" in response.context["rows"].forms[1].errors["faces"][0]


def test_a_us_shop_is_told_in_inches(estimator: Client, estimate: Estimate, us_shop: Shop) -> None:
    response = refused(estimator, estimate, {"length": "50 m", "width": "15", "thickness": "3/4"})

    assert response.context["rows"].forms[1].errors["length"] == ["This must be 393.701 in or less."]


def test_a_form_without_its_row_count_is_refused(estimator: Client, estimate: Estimate) -> None:
    data = sent(estimate, {})
    del data["rows-TOTAL_FORMS"]

    response = estimator.post(reverse("takeoff", args=[estimate.pk]), data)

    assert response.status_code == 422
    assert not estimate.rows.exists()
