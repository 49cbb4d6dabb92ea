"""Extras stand beside the total with their own tax, are frozen with the quote, and are taken or left at acceptance."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook

from costing.documents.quote_pdf import quote_pdf
from costing.documents.quote_xlsx import quote_xlsx
from costing.models import Job, Quote
from costing.services.extras import ExtraChoice, agreed_total
from costing.services.jobs import accept_quote
from costing.services.quoting import QuoteError, changes_since, revise_quote
from costing.services.work_errors import WorkError
from finishing.models import User
from tests.costing.documents.reading import pdf_text
from tests.costing.pricing.door_shop import TODAY, DoorShop, form_data, set_shop

D = Decimal
Browser = Callable[[User], Client]
HINGES = ExtraChoice(name="New hinges", net=D("45.03"))
BUMPERS = ExtraChoice(name="Door bumpers", net=D("12.00"))


def printed(doors: DoorShop, quote: Quote) -> str:
    return " ".join(pdf_text(quote_pdf(quote, doors.shop)).split())


def accept(quote: Quote, by: User, *names: str) -> Job:
    extras = list(quote.extras.filter(name__in=names))
    today, option = TODAY(), quote.options.get()
    return accept_quote(key=uuid4(), by=by, quote=quote, option=option, extras=extras, starts_on=today, today=today)


def test_tax_is_reckoned_on_each_extra_and_the_option_keeps_its_price(doors: DoorShop) -> None:
    quote = doors.quote(extras=(HINGES,))
    extra = quote.extras.get()
    # 45.03 × 0.19 = 8.5557
    assert (quote.tax_rate, extra.net, extra.tax, extra.total) == (D("0.19"), D("45.03"), D("8.56"), D("53.59"))
    assert quote.options.get().total == doors.quote().options.get().total


def test_they_stay_when_the_shop_s_tax_changes(doors: DoorShop) -> None:
    quote = doors.quote(extras=(HINGES,))
    set_shop(tax_rate=D("0.25"))
    assert "€53.59" in printed(doors, Quote.objects.get(pk=quote.pk))


def test_the_customer_s_documents_show_them_beside_the_total(doors: DoorShop) -> None:
    quote = doors.quote(extras=(HINGES, BUMPERS))
    text = printed(doors, quote)
    assert "Optional extras Not in the prices above." in text
    assert "New hinges [ ] €45.03 €8.56 €53.59" in text
    sheet = load_workbook(io.BytesIO(quote_xlsx(quote, doors.shop)))["Quote"]
    row = next(row for row in sheet.iter_rows() if row[0].value == "New hinges")
    number = row[0].row
    assert row[3].value == 45.03
    assert str(row[4].value).startswith(f"=ROUND(D{number}*")
    assert row[5].value == f"=D{number}+E{number}"


def test_a_quote_without_extras_does_not_speak_of_them(doors: DoorShop) -> None:
    assert "extra" not in printed(doors, doors.quote(deposit_share=D("0.4"))).lower()


def test_what_is_taken_is_told_at_acceptance(doors: DoorShop, estimator: User) -> None:
    quote = doors.quote(sent=True, extras=(HINGES, BUMPERS))
    job = accept(quote, estimator, "New hinges")
    accepted = Quote.objects.get(pk=quote.pk)
    assert [(extra.name, extra.chosen) for extra in accepted.extras.all()] == [("New hinges", True), ("Door bumpers", False)]
    assert agreed_total(accepted, job.quote_option.total) == job.quote_option.total + D("53.59")
    text = printed(doors, accepted)
    assert "New hinges yes" in text
    assert "Door bumpers no" in text


def test_an_extra_of_another_quote_is_refused_and_nothing_is_made(doors: DoorShop, estimator: User) -> None:
    other, quote = doors.quote(sent=True, extras=(HINGES,)), doors.quote(sent=True)
    with pytest.raises(WorkError, match="does not offer every one"):
        accept_quote(
            key=uuid4(),
            by=estimator,
            quote=quote,
            option=quote.options.get(),
            extras=list(other.extras.all()),
            starts_on=TODAY(),
            today=TODAY(),
        )
    assert not Job.objects.exists()


def test_a_revision_says_what_changed_in_the_extras(doors: DoorShop, estimator: User) -> None:
    first = doors.quote(extras=(HINGES, BUMPERS))
    dearer = ExtraChoice(name="New hinges", net=D("50"))
    second = revise_quote(key=uuid4(), by=estimator, quote=first, offer=doors.offer(extras=(dearer,)), on=TODAY())
    told = {change.label: (change.before, change.after) for change in changes_since(second)}
    assert told["Extra: New hinges"] == (D("45.03"), D("50"))
    assert told["Extra: Door bumpers"] == (D("12"), None)
    assert first.extras.get(name="New hinges").net == D("45.03")


def test_the_estimator_writes_them_and_the_customer_s_choice_is_ticked(doors: DoorShop, as_: Browser, estimator: User) -> None:
    browser = as_(estimator)
    sent = form_data(doors, doors.system, extra_name_1="New hinges", extra_net_1="45.03", extra_name_3="Bumpers", extra_net_3="0")
    browser.post(reverse("quote_new", args=[doors.estimate.pk]), sent)
    quote = Quote.objects.get()
    browser.post(reverse("quote_send", args=[quote.pk]))
    hinges, _ = quote.extras.all()
    data = {
        "key": str(uuid4()),
        "option": quote.options.get().pk,
        "extras": [hinges.pk],
        "starts_on": (TODAY() + timedelta(days=1)).isoformat(),
    }
    browser.post(reverse("quote_accept", args=[quote.pk]), data)
    page = browser.get(reverse("quote", args=[quote.pk])).text
    assert f"€{quote.options.get().total + D('53.59'):.2f} with tax" in page
    assert "New hinges" in browser.get(Job.objects.get().get_absolute_url()).text
    assert "Bumpers" not in browser.get(Job.objects.get().get_absolute_url()).text


def test_a_revision_s_form_starts_with_them(doors: DoorShop, as_: Browser, estimator: User) -> None:
    quote = doors.quote(extras=(HINGES,))
    form = as_(estimator).get(reverse("quote_revise", args=[quote.pk])).context["form"]
    assert (form["extra_name_1"].value(), form["extra_net_1"].value()) == ("New hinges", "45.03")


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        ({"extra_name_2": "Hinges"}, "extra_net_2", "Give the price"),
        ({"extra_net_2": "5"}, "extra_name_2", "Name this extra"),
        ({"extra_name_2": "Hinges", "extra_net_2": "1.234"}, "extra_name_1", "up to 2 decimals"),
        (
            {"extra_name_1": "A", "extra_net_1": "1", "extra_name_2": "a", "extra_net_2": "2"},
            "extra_name_1",
            "the same name",
        ),
    ],
)
def test_half_an_extra_is_refused_at_its_field(
    doors: DoorShop, as_: Browser, estimator: User, typed: dict[str, str], field: str, words: str
) -> None:
    page = as_(estimator).post(reverse("quote_new", args=[doors.estimate.pk]), form_data(doors, doors.system, **typed))
    assert page.status_code == 422
    assert words in page.context["form"].errors[field][0]
    assert not Quote.objects.exists()


def test_there_are_at_most_six(doors: DoorShop) -> None:
    with pytest.raises(QuoteError, match="up to 6 extras"):
        doors.quote(extras=tuple(ExtraChoice(name=f"E{number}", net=D(1)) for number in range(7)))


@pytest.mark.database
def test_the_database_refuses_a_negative_price(doors: DoorShop) -> None:
    quote = doors.quote(extras=(HINGES,))
    with pytest.raises(IntegrityError), transaction.atomic():
        quote.extras.update(net=D(-1))
