"""One number a quote, without a gap or a double, and one quote a submission."""

from __future__ import annotations

import threading
from uuid import uuid4

import pytest
from django.db import connection, connections

from costing.models import Quote
from costing.services import quoting
from costing.services.quoting import KeyTakenError, QuoteError, create_quote, revise_quote
from finishing.models import User
from tests.costing.pricing.door_shop import TODAY, DoorShop


def test_numbers_count_up_from_one(doors: DoorShop) -> None:
    assert [doors.quote().number for _ in range(3)] == [1, 2, 3]


def test_the_same_submission_gives_the_first_quote_again(doors: DoorShop) -> None:
    key = uuid4()
    made = {create_quote(key=key, by=doors.by, estimate=doors.estimate, offer=doors.offer(), on=TODAY()).pk for _ in range(2)}
    assert len(made) == Quote.objects.count() == 1


def test_the_key_of_somebody_else_is_refused(doors: DoorShop, mate: User) -> None:
    quote = doors.quote()
    with pytest.raises(KeyTakenError, match="Reload the page"):
        create_quote(key=quote.key, by=mate, estimate=doors.estimate, offer=doors.offer(), on=TODAY())


def test_the_key_of_a_new_quote_makes_no_revision(doors: DoorShop) -> None:
    quote = doors.quote()
    with pytest.raises(KeyTakenError):
        revise_quote(key=quote.key, by=doors.by, quote=quote, offer=doors.offer(), on=TODAY())
    quote.refresh_from_db()
    assert quote.status == "draft"


def test_a_revision_sent_twice_makes_one_revision(doors: DoorShop) -> None:
    quote, key = doors.quote(), uuid4()
    made = {revise_quote(key=key, by=doors.by, quote=quote, offer=doors.offer(), on=TODAY()).pk for _ in range(2)}
    assert len(made) == 1
    assert Quote.objects.count() == 2


@pytest.mark.database
def test_a_number_taken_a_moment_ago_is_taken_again(doors: DoorShop, monkeypatch: pytest.MonkeyPatch) -> None:
    plain = quoting.customer_block
    taken = []

    def somebody_is_faster(customer: object) -> str:
        # Called between the look for the highest number and the insert: another desk takes that number now.
        if not taken:
            taken.append(True)
            Quote.objects.create(
                key=uuid4(), number=1, estimate=doors.estimate, customer=doors.customer, title="Faster", customer_block="x",
                currency="EUR", tax_name="VAT", tax_rate=0, issued_on=TODAY(), valid_until=TODAY(), created_by=doors.by,
            )  # fmt: skip
        return plain(customer)  # type: ignore[arg-type]

    monkeypatch.setattr(quoting, "customer_block", somebody_is_faster)
    made = doors.quote()
    # The faster insert stood in the savepoint that failed; what matters is that the loser looked again.
    assert taken
    assert made.options.count() == 1


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_desks_that_write_at_once_get_different_numbers() -> None:
    doors = DoorShop(by=User.objects.create_user("estimator", is_estimator=True))
    start, failures = threading.Barrier(5), []

    def write() -> None:
        try:
            start.wait(10)
            doors.quote()
        except (QuoteError, threading.BrokenBarrierError) as error:
            failures.append(error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=write) for _ in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert failures == []
    assert sorted(Quote.objects.values_list("number", flat=True)) == [1, 2, 3, 4, 5]
    assert connection.vendor in {"sqlite", "postgresql"}
