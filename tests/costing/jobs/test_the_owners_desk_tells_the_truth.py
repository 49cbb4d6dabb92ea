"""The owner's figures add up from the lots, quotes, jobs and movements behind them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from costing.choices import JobStatus
from costing.models import Job
from costing.owner_figures import accepted_since, decisions, issued_between, open_offers, stock_value
from costing.services.jobs import set_job_status
from finishing.models import User
from inventory.choices import WriteOffCause
from inventory.models import Lot
from inventory.selectors import stock_lines
from inventory.services import ledger
from tests.costing.jobs.finish_shop import FinishShop, log, step, today

pytestmark = pytest.mark.django_db
D = Decimal


def issue(shop: FinishShop, lot: Lot, quantity: str) -> None:
    line = ledger.IssueLine(material=lot.material, quantity=D(quantity), lot=lot)
    ledger.issue(key=uuid4(), by=shop.by, on=today(), lines=[line], reference="bench")


def issued_today() -> Decimal:
    return issued_between(today(), today(1))


# ---------------------------------------------------------------- stock


def test_stock_is_worth_each_lot_at_its_own_cost(stocked: FinishShop) -> None:
    value = stock_value(today(), window=30)
    # 1 × 25 + 2 × 25 + 10 × 26 + 2 × 55 + 50 × 0.4 + 50 × 0.2 + 40 × 0.5
    assert value.value == D("495.00")
    assert value.value == sum(line.value for line in stock_lines(today()).values())


def test_expiring_and_expired_value_follow_the_last_day_of_use(stocked: FinishShop) -> None:
    value = stock_value(today(), window=30)
    assert (value.expiring, value.expired) == (50, 25)  # B1: 2 L until in 20 days; B0: 1 L, expired
    assert stock_value(today(), window=19).expiring == 0
    assert stock_value(today(), window=20).expiring == 50
    assert stock_value(today(21), window=30).expired == 75


def test_what_is_written_off_is_worth_nothing_any_more(stocked: FinishShop) -> None:
    ledger.write_off(
        key=uuid4(),
        by=stocked.by,
        on=today(),
        lot=stocked.lots["B0"],
        quantity=D(1),
        cause=WriteOffCause.EXPIRED,
        reason="",
    )
    value = stock_value(today(), window=30)
    assert (value.value, value.expired) == (470, 0)


def test_issued_value_is_net_of_returns_and_reversals(stocked: FinishShop) -> None:
    issue(stocked, stocked.lots["B2"], "3")
    assert issued_today() == 78
    ledger.return_stock(key=uuid4(), by=stocked.by, on=today(), lot=stocked.lots["B2"], quantity=D(1), reference="left over")
    assert issued_today() == 52
    issue(stocked, stocked.lots["H1"], "1")
    assert issued_today() == 107
    posting = stocked.lots["H1"].movements.latest("pk").posting
    ledger.reverse(key=uuid4(), by=stocked.by, on=today(), posting=posting, reason="wrong lot")
    assert issued_today() == 52


def test_receipts_and_write_offs_are_not_issued(stocked: FinishShop) -> None:
    assert issued_between(today(-60), today(1)) == 0


# ---------------------------------------------------------------- quotes


def test_open_offers_are_sent_and_not_lapsed_with_their_range(shop: FinishShop) -> None:
    short = shop._system("Short system")
    short.operations.filter(name="Second coat").delete()
    both = shop.quote(shop.system, short)
    shop.quote(is_sent=False)
    shop.quote(valid_days=1, on=today(-5))
    shop.job()
    nets = sorted(option.net for option in both.options.all())
    offers = open_offers(today())
    assert (offers.count, offers.lowest, offers.highest) == (1, *nets)
    assert nets[0] < nets[1]


def test_an_accepted_quote_counts_at_the_option_that_was_taken(stocked: FinishShop) -> None:
    job = stocked.job()
    won = accepted_since(today())
    assert (won.count, won.lowest) == (1, job.quote_option.net)
    assert accepted_since(today(1)).count == 0


# ---------------------------------------------------------------- decisions


def words(**more: object) -> list[str]:
    return [decision.words for decision in decisions(today(), expired=D(0), **more)]  # type: ignore[arg-type]


def test_nothing_to_decide_in_a_shop_at_rest(shop: FinishShop) -> None:
    assert words() == []


def test_expired_stock_asks_for_a_decision(stocked: FinishShop) -> None:
    found = decisions(today(), expired=D(25))
    assert found[0].words == "Expired material is in stock"
    assert "$25.00" in found[0].note
    assert found[0].url == reverse("lots") + "?state=expired"


def test_material_short_of_what_is_booked_asks_for_a_decision(shop: FinishShop) -> None:
    shop.job()
    assert "5 materials are short of what jobs have booked" in words()


def test_a_job_with_every_step_done_asks_to_be_closed(job: Job, finisher: User, owner: User) -> None:
    for each in job.steps.all():
        assert f"{job} has every step done" not in words()
        log(each, by=finisher)
    assert f"{job} has every step done" in words()
    set_job_status(job=job, to=JobStatus.DONE, by=owner, today=today())
    assert f"{job} has every step done" not in words()


def test_a_job_that_has_not_started_in_time_is_named(stocked: FinishShop) -> None:
    job = stocked.job(starts=0)
    assert f"{job} has not started" not in words()
    Job.objects.filter(pk=job.pk).update(starts_on=today(-1))
    assert f"{job} has not started" in words()


def test_an_offer_about_to_lapse_is_named(shop: FinishShop) -> None:
    soon, late = shop.quote(valid_days=7), shop.quote(valid_days=8)
    assert any(word.startswith(f"{soon.label} for Invented Kitchens lapses on") for word in words())
    assert not any(word.startswith(late.label) for word in words())


# ---------------------------------------------------------------- the page


def test_each_tile_shows_its_figure_and_links_to_its_list(
    stocked: FinishShop, owner: User, finisher: User, as_: Callable[[User], Client]
) -> None:
    job = stocked.job()
    log(step(job, "Sand"), by=finisher)
    stocked.quote()
    answer = as_(owner).get(reverse("desk_owner"))
    tiles = {tile.label: tile for tile in answer.context["tiles"]}
    first = today().replace(day=1)
    assert {label: tile.value for label, tile in tiles.items()} == {
        "Stock value": "$491.00",  # 8 discs at 0.5 are gone
        "Expires within 30 days": "$50.00",
        "Expired in stock": "$25.00",
        "Quotes awaiting an answer": "1",
        "Accepted this month": "1",
        "Jobs in work": "1",
        "Material issued this month": "$4.00",
        "Orders awaited": "0",
    }
    assert tiles["Expires within 30 days"].url == reverse("lots") + "?state=soon"
    assert tiles["Jobs in work"].url == reverse("jobs") + "?status=in_work"
    assert tiles["Material issued this month"].url == f"{reverse('stock_moves')}?kind=issue&since={first}"
    browser = as_(owner)
    for tile in tiles.values():
        assert tile.url in answer.text.replace("&amp;", "&")
        assert browser.get(tile.url).status_code == 200


def test_the_lists_behind_the_tiles_show_the_same_lots(stocked: FinishShop, owner: User, as_: Callable[[User], Client]) -> None:
    browser = as_(owner)
    page = browser.get(reverse("lots"), {"state": "expired"}).text
    assert "B0" in page
    assert "B1" not in page
    page = browser.get(reverse("lots"), {"state": "soon"}).text
    assert "B1" in page
    assert "B0" not in page


def test_an_empty_shop_is_told_where_to_begin(owner: User, as_: Callable[[User], Client]) -> None:
    page = as_(owner).get(reverse("desk_owner")).text
    assert "The books are still empty" in page
    assert "Nothing waits for you." in page
    assert reverse("shop_settings") in page


def test_a_month_begins_on_its_first_day(stocked: FinishShop) -> None:
    issue(stocked, stocked.lots["B2"], "1")
    assert issued_between(today(1), today(1) + timedelta(days=30)) == 0
