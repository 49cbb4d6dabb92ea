"""A kind of piece is described by its sizes, explained with a drawing, and added to the takeoff."""

from __future__ import annotations

from decimal import Decimal
from uuid import uuid4
from xml.etree import ElementTree

import pytest
from django.test import Client
from django.urls import reverse

from costing.core.pieces import SIZES, Template
from costing.models import Estimate
from costing.services.takeoff import takeoff_of
from finishing.models import Shop
from tests.costing.pages.shop import Browser

D = Decimal
SHAKER = {"length": "715", "width": "397", "thickness": "19", "frame": "57", "recess": "6"}


def sent(estimate: Estimate, template: str = "shaker-door", **values: str) -> dict[str, str]:
    seen = estimate.takeoff_key
    state = {"key": str(uuid4()), "seen": str(seen) if seen else "", "template": template, "label": "Door", "pieces": "24"}
    return {**state, **(SHAKER if template == "shaker-door" else {}), **values}


def url(estimate: Estimate) -> str:
    return reverse("takeoff_piece", args=[estimate.pk])


@pytest.mark.parametrize("template", Template)
def test_every_kind_can_be_opened_and_added(estimator: Client, estimate: Estimate, template: Template) -> None:
    page = estimator.get(url(estimate), {"template": template.value})
    assert page.status_code == 200
    assert reverse("piece_drawing", args=[template.value]) in page.text
    assert page.text.count("<details") == len(page.context["piece"].workings)
    usual = {size.key: f"{size.usual:g}" for size in SIZES[template]}
    answer = estimator.post(url(estimate), sent(estimate, template.value, **usual, add="1"))
    assert answer.status_code == 302
    row = estimate.rows.get()
    piece = page.context["piece"]
    assert (row.pieces, row.form, row.zone) == (24, piece.form, piece.zone.value)
    assert row.geometry_factor == D(f"{piece.geometry_factor:.4f}")
    assert takeoff_of([row]).area > 0


def test_the_row_holds_what_was_worked_out(estimator: Client, estimate: Estimate) -> None:
    estimator.post(url(estimate), sent(estimate, add="1"))
    row = estimate.rows.get()
    assert (row.label, row.length, row.profile_factor, row.geometry_factor) == ("Door", D(715), D("1.0374"), D(1))


def test_working_it_out_saves_nothing(estimator: Client, estimate: Estimate) -> None:
    page = estimator.post(url(estimate), sent(estimate, recess="12"))
    assert page.status_code == 200
    assert page.context["piece"].profile_factor == pytest.approx(1.074743, abs=1e-6)
    assert not estimate.rows.exists()


def test_inches_are_read_where_the_shop_reads_them(estimator: Client, estimate: Estimate, us_shop: Shop) -> None:
    sizes = {"length": "28 1/8", "width": "15 5/8", "thickness": "3/4", "frame": "2 1/4", "recess": "1/4"}
    estimator.post(url(estimate), sent(estimate, add="1", **sizes))
    row = estimate.rows.get()
    assert (row.length, row.thickness) == (D("714.375"), D("19.05"))
    # 1 + 69.5 × 1/4 / (28 1/8 × 15 5/8)
    assert row.profile_factor == D("1.0395")


def test_the_same_form_sent_twice_adds_one_row(estimator: Client, estimate: Estimate) -> None:
    data = sent(estimate, add="1")
    estimator.post(url(estimate), data)
    assert estimator.post(url(estimate), data).status_code == 302
    assert estimate.rows.count() == 1


def test_a_page_that_is_out_of_date_adds_nothing(estimator: Client, estimate: Estimate) -> None:
    stale = sent(estimate, add="1")
    estimator.post(url(estimate), sent(estimate, add="1"))
    answer = estimator.post(url(estimate), stale)
    assert answer.status_code == 422
    assert "The rows were changed since this page was opened" in answer.text
    assert estimate.rows.count() == 1


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"frame": "200"}, "leaves no panel"),
        ({"length": ""}, "Fill this in."),
        ({"length": "0"}, "above 0 mm"),
        ({"recess": "x"}, "can&#x27;t be read"),
        ({"pieces": "0"}, "1 or more"),
    ],
)
def test_sizes_that_make_no_piece_are_refused_at_their_field(
    estimator: Client, estimate: Estimate, change: dict[str, str], words: str
) -> None:
    answer = estimator.post(url(estimate), sent(estimate, add="1", **change))
    assert answer.status_code == 422
    assert words in answer.text
    (field,) = change
    assert field in answer.context["form"].errors
    assert not estimate.rows.exists()


@pytest.mark.parametrize("template", Template)
def test_the_drawing_carries_the_letters_of_the_formulas(estimator: Client, template: Template) -> None:
    answer = estimator.get(reverse("piece_drawing", args=[template.value]))
    assert answer["Content-Type"] == "image/svg+xml"
    words = "".join(ElementTree.fromstring(answer.content).itertext())  # noqa: S314 - drawn by the program itself
    letters = {"shaker-door": "r", "five-piece-panel": "b", "face-frame": "s", "carcass-interior": "D", "moulding": "girth"}
    assert letters.get(template.value, "L") in words


def test_what_is_no_kind_of_piece_is_not_found(estimator: Client, estimate: Estimate) -> None:
    assert estimator.get(url(estimate), {"template": "spaceship"}).status_code == 404
    assert estimator.get(reverse("piece_drawing", args=["spaceship"])).status_code == 404
    assert estimator.get(reverse("piece_drawing", args=["shaker-door"]), {"frame": "400"}).status_code == 404


def test_pieces_are_for_those_who_estimate(as_role: Browser, estimate: Estimate) -> None:
    assert as_role("finisher").get(url(estimate)).status_code == 403
    assert as_role("finisher").get(reverse("piece_drawing", args=["shaker-door"])).status_code == 403
