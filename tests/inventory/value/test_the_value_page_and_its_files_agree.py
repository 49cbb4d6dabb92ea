"""The stock value as page, PDF and spreadsheet: one figure, for those who may see costs."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Location, Lot, Material
from tests.costing.documents.reading import pdf_text, recalculated, rows_by_label
from tests.inventory.ledger.counter import Counter, today

pytestmark = pytest.mark.django_db

PAGES = ("stock_value", "stock_value_pdf", "stock_value_xlsx")


@pytest.fixture
def lots(counter: Counter, clear: Material, thinner: Material) -> list[Lot]:
    """0.335 + 0.335 + 10.05 on the shelf five days ago: rounded one by one a cent too much; one lot is gone today."""
    booth, odd = Location.objects.create(name="Booth"), Location.objects.create(name="=1+1 *")
    made = [
        counter.receive(clear, "0.5", cost="0.67", number="C-1", on=today(-9), location=booth),
        counter.receive(clear, "0.5", cost="0.67", number="C-2", on=today(-9), location=odd),
        counter.receive(thinner, "3", cost="3.35", number="=T-3", on=today(-9)),
    ]
    counter.issue(thinner, "3", lot=made[2], on=today(-4))
    return made


def asked(client: Client, name: str, days: int | str) -> str:
    on = days if isinstance(days, str) else today(days).isoformat()
    return client.get(f"{reverse(name)}?on={on}").text


def test_the_page_shows_the_day_that_was_asked_for(office: Client, lots: list[Lot]) -> None:
    then, now = asked(office, "stock_value", -5), office.get(reverse("stock_value")).text
    assert "$10.72" in then
    assert "=T-3" in then
    assert "Rounding of single values" in then
    assert "$0.67" in now
    assert "=T-3" not in now


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("typed", ["31 June", "2999-01-01", "1875-01-01"])
def test_a_day_that_cannot_be_is_refused_at_its_field(office: Client, lots: list[Lot], name: str, typed: str) -> None:
    answer = office.get(f"{reverse(name)}?on={typed}")
    assert answer.status_code == 422
    assert "field-error" in answer.text
    assert typed in answer.text


def test_a_day_before_the_first_delivery_is_worth_nothing(office: Client, lots: list[Lot]) -> None:
    assert "Nothing was in stock on that day." in asked(office, "stock_value", -20)
    assert b"%PDF" in office.get(f"{reverse('stock_value_pdf')}?on={today(-20)}").content


def test_an_empty_shop_is_told_what_comes_first(office: Client) -> None:
    assert "Nothing has moved yet" in office.get(reverse("stock_value")).text


@pytest.mark.parametrize("name", PAGES)
def test_only_those_who_may_see_costs_look(as_role: Callable[[str], Client], name: str) -> None:
    for role, status in (("finisher", 403), ("office", 200), ("estimator", 200), ("owner", 200)):
        assert as_role(role).get(reverse(name)).status_code == status, role


def test_the_pdf_adds_up_to_the_page(office: Client, lots: list[Lot]) -> None:
    text = " ".join(pdf_text(office.get(f"{reverse('stock_value_pdf')}?on={today(-5)}").content).split())
    for words in ("$10.72", "C-1", "=T-3", "Booth", "No place noted", "Coating 2 $0.67", "Rounding of single values"):
        assert words in text, words


def test_the_cost_has_the_decimals_that_quantity_and_value_need(office: Client, counter: Counter, clear: Material) -> None:
    counter.receive(clear, "100", cost="0.304", number="C-1")
    counter.receive(clear, "2", cost="21.2", number="C-2")
    for told in (
        asked(office, "stock_value", 0),
        " ".join(pdf_text(office.get(f"{reverse('stock_value_pdf')}?on={today(0)}").content).split()),
    ):
        for words in ("$0.304 per L", "$30.40", "$21.20 per L", "$42.40"):
            assert words in told, words


@pytest.mark.libreoffice
def test_the_spreadsheet_recalculates_to_the_page(office: Client, lots: list[Lot], soffice: Path, tmp_path: Path) -> None:
    data = office.get(f"{reverse('stock_value_xlsx')}?on={today(-5)}").content
    book = recalculated(soffice, data, tmp_path)
    assert rows_by_label(book, "By lot")["Total"][-1] == pytest.approx(10.72, abs=1e-9)
    kinds, places = rows_by_label(book, "By kind"), rows_by_label(book, "By place")
    assert kinds["Coating"] == (2, pytest.approx(0.67))
    assert kinds["Total"] == places["Total"] == (3, pytest.approx(10.72))
    assert places["=1+1 *"] == (1, pytest.approx(0.335))  # neither a formula nor a pattern
    assert {row[1] for row in book["By lot"].iter_rows(values_only=True)} >= {"C-1", "=T-3"}
    assert Decimal(str(places["No place noted"][1])) == Decimal("10.05")
