"""Reading a code into the delivery that is being typed: the row it fills, what stays, what is said; nothing is booked."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from html import unescape
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from finishing.roles import Role, permissions_of
from inventory.core.gs1 import GS
from inventory.forms.receiving import MOST_ROWS
from inventory.models import Lot, Pack, Supplier
from tests.inventory.pages.shop import booked, delivery, words
from tests.inventory.scan.conftest import GTIN


def code(lot: str = "LOT7A", until: date | None = None) -> str:
    return f"]C101{GTIN}" + (f"17{until:%y%m%d}" if until else "") + f"10{lot}"


def scan(client: Client, today: date, text: str, *rows: dict[str, str], **head: Any) -> Any:
    return client.post(reverse("scan"), {**delivery(today, *rows, **head), "scan": text, "step": "scan"})


def shown(response: Any, place: int = 0) -> dict[str, str]:
    """A row as the page shows it again, without its empty boxes."""
    row = response.context["delivery"].rows.forms[place]
    return {field.name: str(field.value()) for field in row if field.value()}


def sent_again(response: Any) -> dict[str, str]:
    """The form as a browser would send it from the page that came back."""
    from html.parser import HTMLParser

    found: dict[str, str] = {}

    class Reader(HTMLParser):
        select = ""

        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            given = dict(attrs)
            if tag == "input" and given.get("name") and "__prefix__" not in str(given["name"]):
                found[str(given["name"])] = given.get("value") or ""
            elif tag == "select":
                self.select = str(given.get("name"))
                found.setdefault(self.select, "")
            elif tag == "option" and "selected" in given and "__prefix__" not in self.select:
                found[self.select] = given.get("value") or ""

    Reader().feed(response.text)
    return {name: value for name, value in found.items() if "__prefix__" not in name}


def test_a_code_fills_the_first_free_row(office: Client, coded: Pack, today: date) -> None:
    until = today + timedelta(days=200)
    page = scan(office, today, code(until=until))
    assert shown(page) == {
        "item": f"pack:{coded.pk}",
        "amount": "1",
        "lot_number": "LOT7A",
        "expires_on": until.isoformat(),
    }
    assert "Row 1 : Clear coat, 5 L can, lot LOT7A, expires" in words(page)
    assert booked() == (0, 0, 0)


def test_what_was_read_can_be_booked_from_the_page_that_came_back(
    office: Client, coded: Pack, supplier: Supplier, today: date
) -> None:
    until = today + timedelta(days=200)
    page = scan(office, today, code(until=until), supplier=supplier)
    form = sent_again(page)
    assert form["scan"] == ""
    office.post(reverse("receive"), form)
    lot = Lot.objects.get()
    assert (lot.number, lot.on_hand, lot.expires_on, lot.supplier) == ("LOT7A", 5, until, supplier)
    office.post(reverse("receive"), form)
    assert booked()[0] == 1


def test_what_was_typed_stays(office: Client, coded: Pack, supplier: Supplier, today: date) -> None:
    typed = {"item": "", "amount": "half a can", "price": "12,5", "lot_number": "", "made_on": "soon", "expires_on": ""}
    sent = delivery(today, typed, supplier=supplier, reference="DN “9”", on="next week")
    page = office.post(reverse("scan"), {**sent, "scan": code()})
    head = page.context["delivery"].head
    assert (head["reference"].value(), head["on"].value(), str(head["supplier"].value())) == (
        "DN “9”",
        "next week",
        str(supplier.pk),
    )
    assert str(head["key"].value()) == sent["key"]
    assert shown(page) == {"amount": "half a can", "price": "12,5", "made_on": "soon"}
    assert shown(page, 1)["lot_number"] == "LOT7A"
    assert "errorlist" not in page.text


def test_the_same_code_again_is_one_more_pack(office: Client, coded: Pack, today: date) -> None:
    page = scan(office, today, code())
    again = office.post(reverse("scan"), {**sent_again(page), "scan": code()})
    assert shown(again)["amount"] == "2"
    assert shown(again, 1) == {}
    assert "Row 1 , 1 more: Clear coat" in words(again)
    other = office.post(reverse("scan"), {**sent_again(again), "scan": code("LOT8")})
    assert (shown(other)["amount"], shown(other, 1)["lot_number"]) == ("2", "LOT8")


def test_another_expiry_of_the_same_lot_is_another_row(office: Client, coded: Pack, today: date) -> None:
    page = scan(office, today, code(until=today + timedelta(days=9)))
    other = office.post(reverse("scan"), {**sent_again(page), "scan": code(until=today + timedelta(days=10))})
    assert (shown(other)["amount"], shown(other, 1)["amount"]) == ("1", "1")


def test_article_and_lot_from_two_codes_of_one_container_share_a_row(office: Client, coded: Pack, today: date) -> None:
    page = scan(office, today, GTIN[1:])
    assert shown(page) == {"item": f"pack:{coded.pk}", "amount": "1"}
    both = office.post(reverse("scan"), {**sent_again(page), "scan": "C-9 / 26"})
    assert shown(both) == {"item": f"pack:{coded.pk}", "amount": "1", "lot_number": "C-9 / 26"}
    third = office.post(reverse("scan"), {**sent_again(both), "scan": "C-10"})
    assert shown(third, 1) == {"lot_number": "C-10"}
    whole = office.post(reverse("scan"), {**sent_again(third), "scan": GTIN[1:]})
    assert shown(whole, 1) == {"item": f"pack:{coded.pk}", "amount": "1", "lot_number": "C-10"}


def test_a_number_that_was_typed_is_not_written_over(office: Client, coded: Pack, today: date) -> None:
    begun = {"item": f"pack:{coded.pk}", "amount": "3", "price": "99"}
    assert shown(scan(office, today, code(), begun)) == {**begun, "lot_number": "LOT7A"}


def test_a_full_form_grows_by_a_row(office: Client, coded: Pack, today: date) -> None:
    rows = [{"item": f"pack:{coded.pk}", "amount": "1", "lot_number": f"L-{number}"} for number in range(6)]
    sent = {**delivery(today, *rows), "rows-TOTAL_FORMS": "6", "scan": code()}
    page = office.post(reverse("scan"), sent)
    assert len(page.context["delivery"].rows.forms) == 7
    assert shown(page, 6)["lot_number"] == "LOT7A"
    assert sent_again(page)["rows-TOTAL_FORMS"] == "7"


def test_a_delivery_with_no_room_says_so(office: Client, coded: Pack, today: date) -> None:
    rows = [{"item": f"pack:{coded.pk}", "amount": "1", "lot_number": f"L-{number}"} for number in range(MOST_ROWS)]
    page = office.post(reverse("scan"), {**delivery(today, *rows), "rows-TOTAL_FORMS": str(MOST_ROWS), "scan": code()})
    assert "Every row of this delivery is filled." in words(page)
    assert len(page.context["delivery"].rows.forms) == MOST_ROWS


@pytest.mark.parametrize("total", ["", "x", "-1", "99999", "²"])
def test_a_broken_count_of_rows_is_no_error_of_ours(office: Client, coded: Pack, today: date, total: str) -> None:
    page = office.post(reverse("scan"), {**delivery(today), "rows-TOTAL_FORMS": total, "scan": code()})
    assert shown(page)["lot_number"] == "LOT7A"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "There is nothing to read."),
        (f"01{GTIN[:-1]}310A", "The check digit of 09506000134353 is wrong"),
        (f"01{GTIN}17260010", "there is no month 00"),
        (f"]C101{GTIN}55X", "begins no element that GS1 knows"),
        ("<script>alert(1)</script>" * 3, "This is no code that can be read"),
    ],
)
def test_what_cannot_be_read_is_told_at_the_box_and_fills_nothing(
    office: Client, coded: Pack, today: date, text: str, said: str
) -> None:
    page = scan(office, today, text)
    assert said in words(page)
    assert 'aria-invalid="true"' in page.text
    assert all(shown(page, place) == {} for place in range(len(page.context["delivery"].rows.forms)))
    assert "<script>alert" not in page.text
    assert not text or f"What came: {text.replace(GS, '␝')}" in unescape(page.text.replace('<span class="mono">', ""))


def test_an_unknown_gtin_leads_to_its_pack(office: Client, coded: Pack, today: date) -> None:
    page = scan(office, today, "(01)00036000241457(10)B-1")
    assert shown(page) == {"lot_number": "B-1"}
    address = reverse("gtin_new", args=["00036000241457"])
    assert f'href="{address}"' in page.text
    assert "No pack has the GTIN 00036000241457." in words(page)


def test_a_gtin_is_entered_on_a_pack(office: Client, can: Pack) -> None:
    address = reverse("gtin_new", args=[GTIN])
    assert "Clear coat: 5 L can, North Yard (invented)" in words(office.get(address))
    assert "Choose the pack that has this code on it." in words(office.post(address, {"pack": ""}))
    done = office.post(address, {"pack": can.pk})
    assert done.url == can.material.get_absolute_url()
    can.refresh_from_db()
    assert can.gtin == GTIN
    again = office.post(address, {"pack": can.pk})
    assert again.status_code == 200
    assert again.context["form"].errors


def test_no_page_for_what_is_no_gtin(office: Client) -> None:
    assert office.get(reverse("gtin_new", args=["09506000134353"])).status_code == 404
    assert office.get(reverse("gtin_new", args=["abc"])).status_code == 404


def test_a_program_can_ask_for_data(office: Client, coded: Pack) -> None:
    ask = {"headers": {"accept": "application/json"}}
    data = office.post(reverse("scan"), {"scan": f"01{GTIN}172612311527010110L{GS}21S"}, **ask).json()
    assert (data["gtin"], data["item"], data["pack"], data["material"]) == (GTIN, f"pack:{coded.pk}", "5 L can", "Clear coat")
    assert (data["lot_number"], data["amount"], data["made_on"]) == ("L", "1", None)
    assert (data["expires_on"], data["best_before"]) == ("2026-12-31", "2027-01-01")
    refused = office.post(reverse("scan"), {"scan": f"01{GTIN}17260010"}, **ask)
    assert refused.status_code == 400
    assert (refused.json()["trouble"], refused.json()["found"]) == ("date", "260010")


@pytest.mark.parametrize("role", list(Role))
def test_only_those_who_receive_may_scan(as_role: Callable[[str], Client], role: Role, coded: Pack, today: date) -> None:
    allowed = permissions_of(frozenset({role}))
    client = as_role(role)
    assert scan(client, today, code()).status_code == (200 if "inventory.receive" in allowed else 403)
    address = reverse("gtin_new", args=["00036000241457"])
    assert client.get(address).status_code == (200 if "inventory.change_materials" in allowed else 403)
    assert Client().post(reverse("scan"), {"scan": code()}).status_code == 302


def test_reading_is_the_forms_first_button(office: Client, coded: Pack) -> None:
    """Hand scanners end with Enter, and Enter presses the first button of a form."""
    page = office.get(reverse("receive")).text
    form = page[page.index('id="delivery"') :]
    first = form[form.index("<button") :].split(">", maxsplit=1)[0]
    assert 'value="scan"' in first
    assert f'formaction="{reverse("scan")}"' in first
