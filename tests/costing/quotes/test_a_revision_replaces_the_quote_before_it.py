"""A revision keeps the number, takes the prices of today, and says what changed."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from uuid import uuid4

from django.test import Client
from django.urls import reverse

from costing.choices import QuoteStatus
from costing.models import CoatingSystem, Quote
from costing.services.quoting import changes_since, revise_quote
from finishing.models import User
from tests.costing.pricing.door_shop import TODAY, DoorShop, form_data, set_shop

D = Decimal
Browser = Callable[[User], Client]


def revise(doors: DoorShop, quote: Quote, *systems: CoatingSystem) -> Quote:
    """The next revision."""
    return revise_quote(key=uuid4(), by=doors.by, quote=quote, offer=doors.offer(*systems), on=TODAY())


def test_it_keeps_the_number_and_counts_the_revision(doors: DoorShop) -> None:
    first = doors.quote(sent=True)
    doors.quote()
    second = revise(doors, first)
    third = revise(doors, second)
    assert [quote.label for quote in (first, second, third)] == ["Q-0001", "Q-0001 revision 2", "Q-0001 revision 3"]


def test_the_one_before_it_is_replaced_and_keeps_its_price(doors: DoorShop) -> None:
    first = doors.quote(sent=True)
    set_shop(margin=D("0.5"))
    second = revise(doors, first)
    first.refresh_from_db()
    assert first.status == QuoteStatus.REPLACED
    assert first.options.get().net == D(315)
    assert (second.status, second.options.get().net) == (QuoteStatus.DRAFT, D(375))


def test_a_lapsed_and_a_declined_quote_can_be_revised(doors: DoorShop) -> None:
    lapsed = doors.lapsed(doors.quote(sent=True))
    assert revise(doors, lapsed).revision == 2
    declined = doors.quote(sent=True)
    Quote.objects.filter(pk=declined.pk).update(status=QuoteStatus.DECLINED)
    assert revise(doors, declined).revision == 2


def test_it_says_what_became_of_each_option(doors: DoorShop) -> None:
    second, third = doors.add_system("Second"), doors.add_system("Third", dry_film=D(120))
    for position, system in enumerate((second, third), start=2):
        doors.estimate.options.create(position=position, system=system)
    first = doors.quote(doors.system, second)
    set_shop(price_step=D(100))
    changes = changes_since(revise(doors, first, doors.system, third))
    assert [(change.label, change.before, change.after, change.difference) for change in changes] == [
        ("Clear finish", D(315), D(400), D(85)),
        ("Third", None, D(600), None),
        ("Second", D(315), None, None),
    ]
    assert changes_since(first) == ()


def test_its_page_shows_the_change_and_the_way_back(doors: DoorShop, as_: Browser, estimator: User) -> None:
    first, browser = doors.quote(sent=True), as_(estimator)
    form = browser.get(reverse("quote_revise", args=[first.pk])).text
    assert "Revise Q-0001" in form
    set_shop(minimum_charge=D(400))
    data = form_data(doors, doors.system)
    page = browser.post(reverse("quote_revise", args=[first.pk]), data, follow=True).text
    for words in ("Q-0001 revision 2", "What this revision changed", "€315.00", "€400.00", "+€85.00"):
        assert words in page
    assert f'href="{reverse("quote", args=[first.pk])}"' in page
    assert "Replaced by a revision" in browser.get(reverse("quote", args=[first.pk])).text
