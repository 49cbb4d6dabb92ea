"""On order by material, in the reorder list, and how long suppliers take."""

from __future__ import annotations

import uuid
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from finishing.models import User
from inventory.models import Pack
from inventory.reorder import reorder_list
from inventory.selectors_orders import awaited, observed_lead_time, on_order
from inventory.services.order_receipts import reverse_posting
from inventory.services.orders import cancel_order
from tests.inventory.orders.buying import draft, receive, sent

pytestmark = pytest.mark.django_db


def test_only_what_is_sent_and_not_here_counts(buyer: User, can: Pack, today: date) -> None:
    draft(buyer, (can, 9))
    cancel_order(order=sent(buyer, (can, 7)), by=buyer, on=today, reason="no")
    overdue = sent(buyer, (can, 3), promised_in=-1)
    coming = sent(buyer, (can, 2), promised_in=4)
    posting = receive(buyer, overdue, (0, 1))
    assert on_order(today) == {can.material_id: [(10, today), (10, today + timedelta(days=4))]}
    receive(buyer, coming, (0, 5))  # more than ordered is no debt
    reverse_posting(key=uuid.uuid4(), by=buyer, on=today, posting=posting, reason="wrong")
    assert on_order(today) == {can.material_id: [(15, today)]}


def test_the_number_of_queries_does_not_grow(buyer: User, can: Pack, drum: Pack, today: date) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            on_order(today)
        return len(seen)

    sent(buyer, (can, 1))
    few = queries()
    for _ in range(4):
        receive(buyer, sent(buyer, (can, 2)), (0, 1))
        sent(buyer, (drum, 2))
    assert queries() == few == 2


def test_the_reorder_list_does_not_ask_for_what_is_ordered(buyer: User, can: Pack, today: date) -> None:
    [line] = reorder_list(today=today).orders[0].lines
    sent(buyer, (can, line.packs[0].count), promised_in=2)
    found = reorder_list(today=today)
    assert found.orders == ()
    [enough] = found.enough
    assert (enough.on_order, enough.advice.usable) == (line.quantity, 0)


def test_what_is_promised_for_later_does_not_keep_it_off_the_list(buyer: User, can: Pack, today: date) -> None:
    sent(buyer, (can, 4), promised_in=60)
    [line] = reorder_list(today=today).orders[0].lines
    assert (line.on_order, line.advice.in_time, line.advice.usable) == (20, 0, 0)
    days = line.advice.projection.path
    assert (days[59].arrived, days[60].arrived) == (0, 20)


def test_a_part_on_order_leaves_the_rest_to_be_bought(buyer: User, can: Pack, today: date) -> None:
    can.material.weekly_use = 10
    can.material.save()
    before = reorder_list(today=today).orders[0].lines[0]
    sent(buyer, (can, 1))
    after = reorder_list(today=today).orders[0].lines[0]
    assert before.quantity - after.quantity == 5
    assert ("On order") in {reason.words for reason in after.reasons}


def test_a_lead_time_is_observed_from_three_receipts_on(buyer: User, can: Pack, box: Pack) -> None:
    for ago in (2, 4):
        receive(buyer, sent(buyer, (can, 1), (box, 1), ago=ago), (0, 1), (1, 1))
    assert observed_lead_time(can.supplier) is None
    third = receive(buyer, sent(buyer, (can, 1), ago=9), (0, 1))
    seen = observed_lead_time(can.supplier)
    assert seen is not None
    assert (seen.mean, seen.receipts) == (5, 3)
    assert seen.spread == pytest.approx(13**0.5)
    reverse_posting(key=uuid.uuid4(), by=buyer, on=third.on, posting=third, reason="wrong")
    assert observed_lead_time(can.supplier) is None


def test_the_desk_tells_overdue_from_coming(buyer: User, can: Pack, today: date) -> None:
    late, due = sent(buyer, (can, 1), promised_in=-1), sent(buyer, (can, 1), promised_in=0)
    found = awaited(today)
    assert (list(found.overdue), list(found.coming), found.of_words) == ([late], [due], "of 2 awaited")
