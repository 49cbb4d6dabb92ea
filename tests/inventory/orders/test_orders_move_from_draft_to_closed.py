"""The states of an order, and what each refuses."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest

from finishing.models import User
from inventory.errors import DayError, KeyUsedError, QuantityError, StockError
from inventory.models import Lot, Pack, PurchaseOrder
from inventory.selectors_orders import standings
from inventory.services.order_receipts import ArrivedLine, receive_order, reverse_posting
from inventory.services.orders import (
    OrderStateError,
    WantedLine,
    cancel_order,
    close_order,
    create_order,
    create_orders,
    send_order,
    set_promise,
    update_draft,
)
from tests.inventory.orders.buying import draft, receive, sent

pytestmark = pytest.mark.django_db
D = Decimal


def status(order: PurchaseOrder) -> str:
    return PurchaseOrder.objects.get(pk=order.pk).status


def test_numbers_follow_each_other(buyer: User, can: Pack) -> None:
    assert [draft(buyer, (can, 1)).number for _ in range(3)] == [1, 2, 3]


def test_a_doubled_form_makes_one_draft(buyer: User, can: Pack) -> None:
    key = uuid.uuid4()
    lines = [WantedLine(pack=can, packs=2)]
    made = [create_order(key=key, by=buyer, supplier=can.supplier, lines=lines) for _ in range(2)]
    assert made[0] == made[1]
    assert PurchaseOrder.objects.count() == 1
    with pytest.raises(KeyUsedError):
        create_order(key=key, by=User.objects.create_user("b"), supplier=can.supplier, lines=lines)


def test_a_list_makes_one_draft_for_each_supplier_once(buyer: User, can: Pack, box: Pack, drum: Pack) -> None:
    key = uuid.uuid4()
    lines = [WantedLine(pack=can, packs=2), WantedLine(pack=drum, packs=2), WantedLine(pack=box, packs=1)]
    for _ in range(2):
        made = create_orders(key=key, by=buyer, lines=lines)
        assert [(order.supplier.name[:5], order.lines.count()) for order in made] == [("North", 2), ("South", 1)]
    assert PurchaseOrder.objects.count() == 2


def test_a_refused_line_leaves_no_draft_and_names_its_place(buyer: User, can: Pack, drum: Pack) -> None:
    with pytest.raises(QuantityError, match="at least 2") as refused:
        create_orders(key=uuid.uuid4(), by=buyer, lines=[WantedLine(pack=can, packs=1), WantedLine(pack=drum, packs=1)])
    assert (refused.value.line, refused.value.field) == (1, "packs")
    assert not PurchaseOrder.objects.exists()


def test_a_draft_refuses_what_can_not_be_ordered(buyer: User, can: Pack, drum: Pack) -> None:
    for lines, words in (
        ([], "nothing to order"),
        ([WantedLine(pack=can, packs=0)], "1 to 10,000"),
        ([WantedLine(pack=can, packs=1), WantedLine(pack=can, packs=2)], "already"),
        ([WantedLine(pack=drum, packs=2)], "sold by South Yard"),
    ):
        with pytest.raises(StockError, match=words):
            create_order(key=uuid.uuid4(), by=buyer, supplier=can.supplier, lines=lines)
    assert not PurchaseOrder.objects.exists()


def test_sending_promises_the_lead_time_in_whole_days(buyer: User, can: Pack, today: date) -> None:
    order = send_order(order=draft(buyer, (can, 1)), by=buyer, on=today)
    assert (order.status, order.sent_by, order.promised_on) == ("sent", buyer, today + timedelta(days=5))
    set_promise(order=order, promised_on=today + timedelta(days=9))
    order.refresh_from_db()
    assert order.promised_on == today + timedelta(days=9)
    with pytest.raises(DayError, match="before the order was sent"):
        set_promise(order=order, promised_on=today - timedelta(days=1))


def test_sent_lines_stay_as_they_are(buyer: User, can: Pack) -> None:
    order = sent(buyer, (can, 2))
    with pytest.raises(OrderStateError, match="can’t be changed"):
        update_draft(order=order, lines=[WantedLine(pack=can, packs=9)], wished_on=None, note="")
    with pytest.raises(OrderStateError, match="was sent on"):
        send_order(order=order, by=buyer, on=order.sent_on or date.min)
    assert order.lines.get().packs == 2


def test_a_draft_with_a_pack_no_longer_sold_is_not_sent_but_a_sent_one_is_received(buyer: User, can: Pack, today: date) -> None:
    late, early = draft(buyer, (can, 1)), sent(buyer, (can, 1))
    can.is_active = False
    can.save()
    with pytest.raises(StockError, match="no longer on sale"):
        send_order(order=late, by=buyer, on=today)
    assert status(late) == "draft"
    receive(buyer, early, (0, 1))
    assert status(early) == "closed"


def test_parts_and_more_than_ordered_are_said_plainly(buyer: User, can: Pack, box: Pack) -> None:
    order = sent(buyer, (can, 4), (box, 1))
    receive(buyer, order, (0, 1))
    assert status(order) == "partly"
    assert [one.words for one in standings(order)] == ["3 still to come", "1 still to come"]
    receive(buyer, order, (0, 5), (1, 1))
    assert status(order) == "closed"
    assert [one.words for one in standings(order)] == ["2 more than ordered", "all here"]


def test_a_receipt_books_packs_cost_and_containers_once(buyer: User, can: Pack, today: date) -> None:
    order = sent(buyer, (can, 2))
    line = ArrivedLine(line=order.lines.get(), packs=2, lot_number="A1", price=D("24.10"), containers=3)
    key = uuid.uuid4()
    made = [receive_order(key=key, by=buyer, on=today, order=order, reference="DN", lines=[line]) for _ in range(2)]
    assert made[0] == made[1]
    lot = Lot.objects.get()
    assert (lot.on_hand, lot.unit_cost, lot.containers, lot.pack, lot.supplier) == (10, D("4.82"), 3, can, can.supplier)


def test_what_is_not_awaited_is_not_received(buyer: User, can: Pack) -> None:
    cancelled, closed = sent(buyer, (can, 1)), sent(buyer, (can, 1))
    cancel_order(order=cancelled, by=buyer, on=cancelled.sent_on or date.min, reason="too dear")
    receive(buyer, closed, (0, 1))
    for order, words in ((cancelled, "was cancelled on"), (closed, "was closed on"), (draft(buyer, (can, 1)), "Mark it as sent")):
        with pytest.raises(OrderStateError, match=words):
            receive(buyer, order, (0, 1))
    assert Lot.objects.count() == 1


def test_a_receipt_before_the_order_was_sent_is_refused(buyer: User, can: Pack, today: date) -> None:
    order = sent(buyer, (can, 1), ago=1)
    with pytest.raises(DayError, match="before the order was sent"):
        receive(buyer, order, (0, 1), on=today - timedelta(days=2))


def test_closing_short_and_cancelling_each_have_their_time(buyer: User, can: Pack, today: date) -> None:
    order = sent(buyer, (can, 3))
    with pytest.raises(OrderStateError, match="Cancel it instead"):
        close_order(order=order, by=buyer, on=today, reason="enough")
    receive(buyer, order, (0, 1))
    with pytest.raises(OrderStateError, match="Close it short instead"):
        cancel_order(order=order, by=buyer, on=today, reason="enough")
    with pytest.raises(StockError, match="Say why"):
        close_order(order=order, by=buyer, on=today, reason="  ")
    close_order(order=order, by=buyer, on=today, reason="enough")
    order.refresh_from_db()
    assert (order.status, order.close_reason, order.closed_by) == ("closed", "enough", buyer)


def test_reversing_a_receipt_opens_the_order_again_unless_somebody_closed_it(buyer: User, can: Pack, today: date) -> None:
    whole, short = sent(buyer, (can, 1)), sent(buyer, (can, 2))
    first, second = receive(buyer, whole, (0, 1)), receive(buyer, short, (0, 1))
    close_order(order=short, by=buyer, on=today, reason="enough")
    for posting in (first, second):
        reverse_posting(key=uuid.uuid4(), by=buyer, on=today, posting=posting, reason="miscounted")
    assert (status(whole), status(short)) == ("sent", "closed")
    assert PurchaseOrder.objects.get(pk=whole.pk).closed_on is None
    cancel_order(order=whole, by=buyer, on=today, reason="not needed")
