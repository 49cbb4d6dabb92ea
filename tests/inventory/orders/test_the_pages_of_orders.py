"""Orders through the pages: made, sent, received, ended; who may; what is refused where."""

from __future__ import annotations

import uuid
from datetime import date

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from finishing.models import User
from inventory.models import Lot, Pack, Posting, PurchaseOrder
from tests.inventory.orders.buying import draft, receive, rows, sent
from tests.inventory.pages.shop import words as words_of

pytestmark = pytest.mark.django_db


def url(name: str, order: PurchaseOrder) -> str:
    return reverse(name, args=[order.pk])


def test_the_reorder_list_makes_drafts_with_changed_numbers_once(desk: Client, can: Pack, drum: Pack) -> None:
    page = desk.get(reverse("reorder_list"))
    assert "Make purchase orders" in page.text
    data = {"key": str(uuid.uuid4()), f"packs-{can.pk}": "7", f"packs-{drum.pk}": "2"}
    for _ in range(2):
        answer = desk.post(reverse("reorder_order"), data, follow=True)
    assert "Nothing was made again" in answer.text
    assert sorted(PurchaseOrder.objects.values_list("lines__pack", "lines__packs")) == sorted([(can.pk, 7), (drum.pk, 2)])
    again = desk.get(reverse("reorder_list"))
    assert again.context["form"].field_of(can).value() == 0
    assert "7 in <a" in again.text


def test_one_suppliers_button_orders_from_that_one_only(desk: Client, can: Pack, drum: Pack) -> None:
    data = {"key": str(uuid.uuid4()), f"packs-{can.pk}": "1", f"packs-{drum.pk}": "2", "supplier": str(can.supplier_id)}
    desk.post(reverse("reorder_order"), data)
    assert PurchaseOrder.objects.get().supplier == can.supplier


def test_the_reorder_list_refuses_at_the_number(desk: Client, can: Pack, drum: Pack) -> None:
    for typed, words in (
        ("x", "whole number of packs"),
        ("1", "sells at least 2"),
        ("-3", "1 pack or more"),
        ("99999", "At most"),
    ):
        answer = desk.post(reverse("reorder_order"), {"key": str(uuid.uuid4()), f"packs-{drum.pk}": typed})
        assert answer.status_code == 422
        assert words in str(answer.context["form"].errors[f"packs-{drum.pk}"])
    nothing = desk.post(reverse("reorder_order"), {"key": str(uuid.uuid4()), f"packs-{can.pk}": "0"})
    assert "nothing to order" in nothing.text
    Pack.objects.filter(pk=can.pk).update(is_active=False)
    gone = desk.post(reverse("reorder_order"), {"key": str(uuid.uuid4()), f"packs-{can.pk}": "1"})
    assert "no longer on sale" in gone.text
    assert not PurchaseOrder.objects.exists()


def lines(*given: tuple[str, str, str]) -> dict[str, str]:
    data = {"key": str(uuid.uuid4()), "rows-TOTAL_FORMS": str(len(given)), "rows-INITIAL_FORMS": "0", "wished_on": "", "note": ""}
    for place, (pack, packs, price) in enumerate(given):
        data |= {f"rows-{place}-pack": pack, f"rows-{place}-packs": packs, f"rows-{place}-price": price}
    return data


def test_an_order_is_written_by_hand_changed_and_sent(desk: Client, can: Pack, box: Pack, today: date) -> None:
    address = reverse("purchase_order_new", query={"supplier": can.supplier_id})
    assert "5 L can of Clear" in desk.get(address).text
    desk.post(address, lines((str(can.pk), "2", "22.50"), ("", "", "")))
    order = PurchaseOrder.objects.get()
    assert [(line.packs, line.price) for line in order.lines.all()] == [(2, 22.5)]
    assert "the pack says" in desk.get(order.get_absolute_url()).text
    change = lines((str(can.pk), "3", ""), (str(box.pk), "4", "")) | {"rows-INITIAL_FORMS": "1"}
    desk.post(url("purchase_order_edit", order), change)
    assert [(line.pack, line.packs) for line in order.lines.all()] == [(can, 3), (box, 4)]
    desk.post(url("purchase_order_edit", order), change | {"rows-0-DELETE": "on"})
    assert [line.pack for line in order.lines.all()] == [box]
    desk.post(url("purchase_order_send", order), {"sent_on": today.isoformat(), "promised_on": ""})
    order.refresh_from_db()
    assert order.status == "sent"
    assert "can’t be changed" in desk.get(url("purchase_order_edit", order), follow=True).text


def test_a_written_order_refuses_in_its_row(desk: Client, can: Pack) -> None:
    address = reverse("purchase_order_new", query={"supplier": can.supplier_id})
    twice = desk.post(address, lines((str(can.pk), "1", ""), (str(can.pk), "2", "")))
    assert "stands on the order already" in str(twice.context["draft"].rows.forms[1].errors["pack"])
    assert "at least one row" in desk.post(address, lines(("", "", ""))).text
    assert "Choose a pack" in desk.post(address, lines(("", "3", ""))).text
    assert not PurchaseOrder.objects.exists()


def test_a_delivery_in_several_lots_is_booked_and_told(desk: Client, buyer: User, can: Pack) -> None:
    order = sent(buyer, (can, 4))
    data = rows(order, {"packs": "2", "lot_number": "A"}, {"packs": "1", "lot_number": "B", "price": "24.10", "containers": "3"})
    address = url("purchase_order_receive", order)
    assert ": 4 still to come" in words_of(desk.get(address))
    read = desk.post(address, data | {"step": "check"})
    assert "1 still to come" in read.text
    assert not Lot.objects.exists()
    answer = desk.post(address, data, follow=True)
    assert "Clear, 5 L can: 1 still to come" in answer.text
    dear = {"packs": "6", "lot_number": "D", "price": "236"}
    odd = words_of(desk.post(address, rows(order, dear) | {"step": "check"}))
    assert "$236.00 for one pack is far above the $23.60" in odd
    assert "5 more than ordered" in odd
    assert "paid $24.10 per 5 L can, the pack says $23.60" in answer.text
    assert "nothing was booked again" in desk.post(address, data, follow=True).text
    assert sorted(Lot.objects.values_list("number", "containers")) == [("A", 2), ("B", 3)]
    over = desk.post(address, rows(order, {"packs": "3", "lot_number": "C"}), follow=True)
    assert "2 more than ordered" in over.text
    lot = Lot.objects.get(number="B")
    posting = lot.movements.get().posting
    taken = desk.post(reverse("price_take_over", args=[lot.pk]), {"back": reverse("posting", args=[posting.pk])}, follow=True)
    assert "costs $24.10" in taken.text
    history = desk.get(can.material.get_absolute_url()).text
    assert "Paid on a delivery" in history


def test_a_doubled_delivery_that_closed_the_order_shows_the_first(desk: Client, buyer: User, can: Pack) -> None:
    order = sent(buyer, (can, 1))
    data = rows(order, {"packs": "1", "lot_number": "A"})
    first, second = (desk.post(url("purchase_order_receive", order), data) for _ in range(2))
    assert first["Location"] == second["Location"]
    assert Posting.objects.count() == 1


def test_a_delivery_refuses_in_its_row_and_keeps_what_was_typed(desk: Client, buyer: User, can: Pack) -> None:
    order = sent(buyer, (can, 4))
    can.material.shelf_life_days = 100
    can.material.save()
    answer = desk.post(
        url("purchase_order_receive", order), rows(order, {"packs": "1.5"}, {"packs": "2", "expires_on": "2001-01-01"})
    )
    first, second = answer.context["arrival"].rows.forms[:2]
    assert "whole number" in str(first.errors["packs"])
    assert "Copy the lot number" in str(second.errors["lot_number"])
    assert 'value="1.5"' in answer.text
    nothing = desk.post(url("purchase_order_receive", order), rows(order, {}))
    assert "Nothing is counted yet" in nothing.text
    assert not Posting.objects.exists()


def test_stale_pages_are_refused_in_words(desk: Client, buyer: User, can: Pack, today: date) -> None:
    order = sent(buyer, (can, 2))
    receive(buyer, order, (0, 1))
    for name, data, words in (
        ("purchase_order_send", {"sent_on": today.isoformat(), "promised_on": ""}, "Nothing was changed"),
        ("purchase_order_cancel", {"reason": "x"}, "Close it short instead"),
    ):
        assert words in desk.post(url(name, order), data, follow=True).text
    assert desk.post(url("purchase_order_close", order), {"reason": ""}).status_code == 422
    desk.post(url("purchase_order_close", order), {"reason": "sold out"})
    assert "1 did not come" in desk.get(order.get_absolute_url()).text
    assert "Nothing is awaited" in desk.get(url("purchase_order_receive", order), follow=True).text


def test_empty_pages_say_what_to_do_first(desk: Client) -> None:
    assert "No order yet" in desk.get(reverse("purchase_orders")).text
    assert "No supplier yet" in desk.get(reverse("purchase_order_new")).text


PAGES = ("purchase_order", "purchase_order_edit", "purchase_order_pdf", "purchase_order_xlsx")
ACTS = ("purchase_order_send", "purchase_order_promise", "purchase_order_close", "purchase_order_cancel")


def test_only_buyers_see_and_move_orders(client: Client, buyer: User, can: Pack) -> None:
    order = draft(buyer, (can, 1))
    visits = [*((client.get, url(name, order)) for name in PAGES), *((client.post, url(name, order)) for name in ACTS)]
    visits += [(client.get, reverse(name)) for name in ("purchase_orders", "purchase_order_new")]
    visits += [(client.get, url("purchase_order_receive", order)), (client.post, reverse("reorder_order"))]
    for visit, address in visits:
        client.logout()
        assert visit(address).status_code == 302
        for role, allowed in (("finisher", False), ("estimator", False), ("owner", True), ("office", True)):
            client.force_login(User.objects.get_or_create(username=role, **{f"is_{role}": True})[0])
            assert (visit(address).status_code != 403) is allowed, (role, address)


def test_pages_ask_as_often_for_many_orders_as_for_few(desk: Client, buyer: User, can: Pack, box: Pack) -> None:
    def queries(address: str) -> int:
        desk.get(address)
        with CaptureQueriesContext(connection) as seen:
            assert desk.get(address).status_code == 200
        return len(seen)

    order = sent(buyer, (can, 2))
    receive(buyer, sent(buyer, (can, 2), (box, 1)), (0, 1))
    addresses = [reverse("purchase_orders"), reverse("desk_buying"), can.supplier.get_absolute_url(), reverse("reorder_list")]
    few = [queries(address) for address in addresses]
    for _ in range(6):
        receive(buyer, sent(buyer, (can, 2), (box, 1)), (0, 1))
    assert [queries(address) for address in addresses] == few
    alone = queries(order.get_absolute_url())
    for _ in range(2):
        receive(buyer, order, (0, 1)) if PurchaseOrder.objects.get(pk=order.pk).status != "closed" else None
    assert queries(order.get_absolute_url()) <= alone + 1
