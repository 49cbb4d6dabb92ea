"""A quote asks for a deposit with the order, as a share that is frozen with it."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.documents.quote_pdf import quote_pdf
from costing.models import Quote
from costing.services.quoting import QuoteError
from finishing.models import User
from tests.costing.documents.reading import pdf_text
from tests.costing.pricing.door_shop import DoorShop, form_data, set_shop

D = Decimal


def printed(doors: DoorShop, quote: Quote) -> str:
    return " ".join(pdf_text(quote_pdf(quote, doors.shop)).split())


def test_the_shop_s_usual_deposit_is_offered_and_frozen(doors: DoorShop, as_: Callable[[User], Client], estimator: User) -> None:
    set_shop(deposit_share=D("0.3"))
    browser, url = as_(estimator), reverse("quote_new", args=[doors.estimate.pk])
    assert browser.get(url).context["form"]["deposit_share"].value() == "30"
    browser.post(url, form_data(doors, doors.system, deposit_share="40"))
    quote = Quote.objects.get()
    set_shop(deposit_share=D("0.5"))
    assert quote.deposit_share == D("0.4")
    assert "40 % of the total with tax" in browser.get(reverse("quote", args=[quote.pk])).text


def test_the_customer_reads_the_amount(doors: DoorShop) -> None:
    # 374.85 × 0.4 = 149.94
    assert "Deposit with the order: 40 % of the total with tax, €149.94." in printed(doors, doors.quote(deposit_share=D("0.4")))


def test_of_several_options_each_has_its_own(doors: DoorShop) -> None:
    thick = doors.add_system("Thick", dry_film=D(57))
    doors.estimate.options.create(position=2, system=thick)
    quote = doors.quote(doors.system, thick, deposit_share=D("0.4"))
    second = quote.options.get(position=2).total * D("0.4")
    assert f"of the option chosen: 1. €149.94, 2. €{second:.2f}." in printed(doors, quote)


def test_without_a_deposit_nothing_is_said(doors: DoorShop) -> None:
    assert "Deposit" not in printed(doors, doors.quote())


@pytest.mark.parametrize("share", ["-0.1", "1.01"])
def test_a_deposit_is_a_share_of_the_price(doors: DoorShop, share: str) -> None:
    with pytest.raises(QuoteError, match="from 0 to 100 %"):
        doors.quote(deposit_share=D(share))
