"""An accepted quote becomes a job whose steps and bookings come from the frozen reckoning."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from costing.choices import JobStatus, QuoteStatus
from costing.models import Job, Quote
from costing.services import jobs as service
from costing.services.jobs import accept_quote
from costing.services.quoting import Offer, OptionChoice, decline_quote, revise_quote
from costing.services.work_errors import MaterialGoneError, OptionMissingError, QuoteNotOpenError, WorkError
from costing.snapshots import read_snapshot
from finishing.models import User
from inventory.errors import KeyUsedError
from inventory.models import Booking, Pack
from tests.costing.jobs.finish_shop import BASE, HARDENER, MIXED, FinishShop, step, today

pytestmark = pytest.mark.django_db
D = Decimal


def accept(quote: Quote, by: User, **more: object) -> Job:
    """Accept the first option for a start in a week."""
    given = {"key": uuid4(), "option": quote.options.first(), "starts_on": today(7), "today": today(), **more}
    return accept_quote(by=by, quote=quote, **given)  # type: ignore[arg-type]


def test_the_quote_is_accepted_and_the_job_carries_its_names(shop: FinishShop, owner: User) -> None:
    quote = shop.quote()
    job = accept(quote, owner)
    quote.refresh_from_db()
    assert (quote.status, quote.status_on) == (QuoteStatus.ACCEPTED, today())
    assert (job.title, job.customer_name, job.status) == ("Kitchen doors", "Invented Kitchens", JobStatus.BOOKED)
    assert (job.created_by, job.starts_on, job.quote_option.quote) == (owner, today(7), quote)


def test_its_steps_are_the_operations_in_order_with_what_was_planned(shop: FinishShop, owner: User) -> None:
    job = accept(shop.quote(), owner)
    assert list(job.steps.values_list("position", "name", "kind")) == [
        (1, "Sand", "abrade"),
        (2, "First coat", "coat"),
        (3, "Second coat", "coat"),
        (4, "Check", "inspect"),
    ]
    coat = step(job, "First coat")
    assert (coat.planned_mix, coat.planned_fills, coat.planned_batches) == (MIXED, 5, 1)
    assert (coat.wet_film, coat.pot_life_min, coat.setup_name) == (110, 120, "Gravity gun")
    assert coat.area == D("15.320436")
    # 45.96 min of spraying, 5 fills of 2 min, a batch of 5 min
    assert coat.planned_minutes == D("60.96")


def test_the_last_coat_waits_for_stacking_too(shop: FinishShop, owner: User) -> None:
    job = accept(shop.quote(), owner)
    assert [s.dry_minutes for s in job.steps.all()] == [0, 60, 300, 0]


def test_each_step_knows_what_it_draws(shop: FinishShop, owner: User) -> None:
    job = accept(shop.quote(), owner)
    coat = {line.material.code: line for line in step(job, "First coat").materials.select_related("material")}
    assert (coat["base"].planned, coat["base"].parts) == (BASE, 10)
    assert (coat["hardener"].planned, coat["hardener"].parts) == (HARDENER, 1)
    assert (coat["liner"].planned, coat["liner"].parts, coat["liner"].driver) == (5, None, "fill")
    assert (coat["liner"].per_driver, coat["liner"].whole_units) == (1, True)
    assert step(job, "Sand").materials.get().planned == 8  # 0.5 × 15.320436 m² is 7.66 discs


def test_one_booking_for_each_material_covers_all_steps(shop: FinishShop, owner: User) -> None:
    job = accept(shop.quote(), owner)
    booked = {booking.material.code: booking for booking in Booking.objects.select_related("material")}
    assert {code: booking.planned for code, booking in booked.items()} == {
        "base": D("5.181242"),  # 2 × 2.590 620 75, rounded once
        "hardener": D("0.533150"),
        "liner": 10,
        "strainer": 2,
        "disc": 8,
    }
    assert {(b.holder, b.needed_on, b.is_open) for b in booked.values()} == {(job.holder, today(7), True)}
    for booking in booked.values():
        assert sum(line.planned for line in booking.step_materials.all()) == booking.planned


def test_prices_that_change_later_change_nothing(shop: FinishShop, owner: User) -> None:
    quote = shop.quote()
    Pack.objects.update(price=D(999))
    shop.system.operations.all().delete()
    job = accept(quote, owner)
    assert job.steps.count() == 4
    assert job.quote_option.net == read_snapshot(quote.options.get()).price.net


def test_the_chosen_option_decides_the_steps(shop: FinishShop, owner: User) -> None:
    short = shop._system("Short system")
    short.operations.filter(name="Second coat").delete()
    quote = shop.quote(shop.system, short)
    job = accept(quote, owner, option=quote.options.get(position=2))
    assert [s.name for s in job.steps.all()] == ["Sand", "First coat", "Check"]
    assert Booking.objects.get(material=shop.base).planned == BASE


def test_the_same_form_sent_twice_makes_one_job(shop: FinishShop, owner: User) -> None:
    quote, key = shop.quote(), uuid4()
    first = accept(quote, owner, key=key)
    assert accept(quote, owner, key=key) == first
    assert (Job.objects.count(), Booking.objects.count()) == (1, 5)


def test_it_refuses_the_key_of_another_persons_form(shop: FinishShop, owner: User, estimator: User) -> None:
    quote, key = shop.quote(), uuid4()
    accept(quote, owner, key=key)
    with pytest.raises(KeyUsedError, match="has made another job already"):
        accept(quote, estimator, key=key)


def test_it_refuses_a_quote_that_was_accepted_already(shop: FinishShop, owner: User) -> None:
    quote = shop.quote()
    accept(quote, owner)
    with pytest.raises(QuoteNotOpenError, match=f"{quote.label} was accepted already on"):
        accept(quote, owner)
    assert Job.objects.count() == 1


def test_it_refuses_a_draft(shop: FinishShop, owner: User) -> None:
    with pytest.raises(QuoteNotOpenError, match=r"has not been sent to the customer yet. Mark it as sent first"):
        accept(shop.quote(is_sent=False), owner)


def test_it_refuses_a_declined_quote(shop: FinishShop, owner: User) -> None:
    quote = shop.quote()
    decline_quote(quote=quote, reason="too dear", on=today())
    with pytest.raises(QuoteNotOpenError, match=r"was declined on .* Make a revision to offer it again"):
        accept(quote, owner)


def test_it_refuses_a_replaced_quote(shop: FinishShop, owner: User) -> None:
    quote = shop.quote()
    offer = Offer(customer=quote.customer, valid_until=today(9), options=[OptionChoice(system=shop.system, label="Clear")])
    revise_quote(key=uuid4(), by=owner, quote=quote, offer=offer, on=today())
    with pytest.raises(QuoteNotOpenError, match=r"was replaced by a revision. Accept the revision instead"):
        accept(quote, owner)


def test_it_refuses_a_lapsed_quote_and_asks_for_a_revision(shop: FinishShop, owner: User) -> None:
    quote = shop.quote(valid_days=3, on=today(-10))
    with pytest.raises(QuoteNotOpenError, match=r"lapsed on .* Make a revision with prices of today"):
        accept(quote, owner)


def test_the_last_day_of_validity_still_counts(shop: FinishShop, owner: User) -> None:
    assert accept(shop.quote(valid_days=3, on=today(-3)), owner).pk


def test_it_refuses_an_option_of_another_quote(shop: FinishShop, owner: User) -> None:
    with pytest.raises(OptionMissingError, match="is no option of"):
        accept(shop.quote(), owner, option=shop.quote().options.get())


@pytest.mark.parametrize(("days", "words"), [(-1, "can’t start in the past"), (731, "more than two years away")])
def test_it_refuses_a_start_that_makes_no_sense(shop: FinishShop, owner: User, days: int, words: str) -> None:
    with pytest.raises(WorkError, match=words) as refused:
        accept(shop.quote(), owner, starts_on=today(days))
    assert refused.value.field == "starts_on"


def test_it_refuses_a_quote_whose_material_is_gone(shop: FinishShop, owner: User) -> None:
    quote = shop.quote()
    shop.system.operations.all().delete()
    shop.liner.packs.all().delete()
    shop.liner.delete()
    with pytest.raises(MaterialGoneError, match="No longer in the list of materials: Liner"):
        accept(quote, owner)


def test_a_refusal_halfway_leaves_nothing_behind(shop: FinishShop, owner: User, monkeypatch: pytest.MonkeyPatch) -> None:
    def break_down(*_: object) -> None:
        raise RuntimeError("the power went")

    monkeypatch.setattr(service, "_make_steps", break_down)
    quote = shop.quote()
    with pytest.raises(RuntimeError):
        accept(quote, owner)
    quote.refresh_from_db()
    assert quote.status == QuoteStatus.SENT
    assert not Job.objects.exists()
    assert not Booking.objects.exists()


def test_a_start_today_is_allowed(shop: FinishShop, owner: User) -> None:
    assert accept(shop.quote(), owner, starts_on=today()).starts_on == today() + timedelta(0)
