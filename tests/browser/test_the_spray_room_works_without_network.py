"""A tablet that loses the network: entries wait on it, a closed page loses none, and each arrives once and in order."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest
from django.urls import reverse
from django.utils import timezone

from costing.models import Batch, CoatLog, Job
from costing.services.jobs import set_job_status
from finishing.models import User
from inventory.models import Lot
from tests.browser.conftest import TABLET
from tests.costing.jobs.finish_shop import FinishShop, log, step, today

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Page, Route

    from tests.browser.conftest import Complaints

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
D = Decimal
POLICY = "addEventListener('securitypolicyviolation', e => console.error('policy: ' + e.violatedDirective + ' ' + e.blockedURI))"
COUNT = """
for (const [name, event] of [["taps", "pointerdown"], ["keys", "keydown"]]) {
  addEventListener(event, () => sessionStorage.setItem(name, Number(sessionStorage.getItem(name)) + 1), true);
}
"""


@pytest.fixture
def shop(transactional_db: None) -> FinishShop:
    made = FinishShop(by=User.objects.create_user("owner", is_owner=True))
    made.stock()
    return made


@pytest.fixture
def job(shop: FinishShop) -> Job:
    return shop.job(starts=0)


@pytest.fixture
def tablet(new_context: Callable[..., BrowserContext], complaints: Complaints) -> BrowserContext:
    """A tablet with a touch screen that counts taps and key strokes; scripts must keep to the content policy."""
    context = new_context(viewport=TABLET, has_touch=True)
    context.add_init_script(POLICY)
    context.add_init_script(COUNT)
    context.on("page", complaints.watch)
    return context


@pytest.fixture
def room(tablet: BrowserContext, signed_in: Callable[..., Page], live_server: object, job: Job) -> Page:
    """The spray room, with its pages kept on the tablet."""
    del job
    page = tablet.new_page()
    signed_in("finisher", on=page)
    page.goto(f"{live_server}{reverse('spray_room')}")
    return page


def kept(page: Page, *paths: str) -> None:
    """Wait until the tablet holds these pages and their scripts."""
    wanted = {*paths, reverse("spray_room"), "/static/costing/queue.js", "/static/finishing/house.css"}
    for _ in range(75):
        held = page.evaluate(
            """async () => {
              const cache = await caches.open('spray-room-1');
              return (await cache.keys()).map((request) => new URL(request.url).pathname);
            }"""
        )
        if wanted <= set(held):
            return
        page.wait_for_timeout(200)
    pytest.fail(f"not kept: {wanted - set(held)}")


def open_log(page: Page, live_server: object, of: object) -> None:
    page.goto(f"{live_server}{reverse('log_coat', args=[of.pk])}")  # type: ignore[attr-defined]
    page.locator("form[data-ready]").wait_for()


def waiting(page: Page, number: int) -> None:
    """Wait until so many entries wait on the tablet."""
    if number:
        page.locator("[data-queue-box] li").nth(number - 1).wait_for()
    else:
        page.locator("[data-queue-box]").wait_for(state="hidden")


def queued(page: Page, minutes: str) -> None:
    """Log the step of the page while the network is gone."""
    page.get_by_label("Time worked").fill(minutes)
    page.get_by_role("button", name="Log it").click()
    page.get_by_text("Kept on this tablet").wait_for()


def test_a_coat_is_logged_with_two_taps_and_two_keys(room: Page, job: Job) -> None:
    log(step(job, "Sand"), by=User.objects.get(username="owner"))
    room.reload()
    room.evaluate("sessionStorage.clear()")
    room.get_by_role("link", name="Log: First coat").tap()
    room.locator("form[data-ready]").wait_for()
    room.get_by_label("Time worked").focus()
    room.keyboard.type("45")
    room.get_by_role("button", name="Log it").tap()
    room.wait_for_url("**/spray-room/")
    room.get_by_text("Logged: First coat").wait_for()
    taps, keys = (int(room.evaluate(f"sessionStorage.getItem('{name}')")) for name in ("taps", "keys"))
    # One tap more reaches the box of the minutes on a tablet.
    assert (taps + 1, keys) == (3, 2)
    made = CoatLog.objects.get(step__name="First coat")
    assert (made.minutes, made.mixed, made.fills) == (45, D("2.793"), 5)
    assert Lot.objects.get(number="L1").on_hand == 45  # five liners counted by themselves


def test_the_timer_takes_the_place_of_the_keys(room: Page, job: Job, live_server: object) -> None:
    open_log(room, live_server, step(job, "Sand"))
    room.get_by_role("button", name="Start the timer").tap()
    room.reload()  # a page that is closed does not lose it
    room.locator("form[data-ready]").wait_for()
    room.get_by_role("button", name="Stop").tap()
    room.get_by_role("button", name="Log it").tap()
    room.wait_for_url("**/spray-room/")
    made = CoatLog.objects.get()
    assert made.minutes == 1
    assert made.started_at is not None
    assert timezone.now() - made.started_at < timedelta(minutes=2)


def test_entries_made_without_network_arrive_once_and_in_order(
    room: Page, tablet: BrowserContext, job: Job, live_server: object
) -> None:
    sand, coat = step(job, "Sand"), step(job, "First coat")
    kept(room, reverse("log_coat", args=[sand.pk]), reverse("log_coat", args=[coat.pk]))
    tablet.set_offline(True)
    open_log(room, live_server, sand)
    queued(room, "30")
    open_log(room, live_server, coat)
    queued(room, "45")
    assert not CoatLog.objects.exists()

    room.close()  # the page is closed, the entries stay
    again = tablet.new_page()
    again.goto(f"{live_server}{reverse('spray_room')}")
    waiting(again, 2)
    assert "2 on this tablet" in again.locator("[data-queue-box]").inner_text()

    lost: list[str] = []

    def lose_the_answer(route: Route) -> None:
        """The server gets it and answers, but the tablet never hears: it must send again."""
        if route.request.method == "POST" and len(lost) < 2:
            route.fetch()
            lost.append(route.request.url)
            route.abort()
        else:
            route.continue_()

    tablet.route("**/log/", lose_the_answer)
    tablet.set_offline(False)
    for _ in range(4):
        again.evaluate("dispatchEvent(new Event('online'))")
        again.wait_for_timeout(400)
    waiting(again, 0)
    assert len(lost) == 2
    made = list(CoatLog.objects.order_by("pk").values_list("step__name", "minutes"))
    assert made == [("Sand", 30), ("First coat", 45)]
    assert Lot.objects.get(number="L1").on_hand == 45
    first, second = CoatLog.objects.order_by("pk")
    assert first.done_at < second.done_at


def test_two_tabs_that_send_at_once_send_one(room: Page, tablet: BrowserContext, job: Job, live_server: object) -> None:
    sand = step(job, "Sand")
    kept(room, reverse("log_coat", args=[sand.pk]))
    tablet.set_offline(True)
    open_log(room, live_server, sand)
    queued(room, "30")
    other = tablet.new_page()
    other.goto(f"{live_server}{reverse('spray_room')}")
    waiting(other, 1)
    tablet.set_offline(False)
    for page in (room, other):
        page.evaluate("dispatchEvent(new Event('online'))")
    waiting(other, 0)
    assert CoatLog.objects.count() == 1


def test_a_batch_mixed_without_network_can_be_sprayed_without_network(
    room: Page, tablet: BrowserContext, job: Job, live_server: object
) -> None:
    sand, coat = step(job, "Sand"), step(job, "First coat")
    ticket = reverse("ticket", args=[coat.pk])
    kept(room, ticket, reverse("log_coat", args=[coat.pk]))
    del sand
    tablet.set_offline(True)
    room.goto(f"{live_server}{ticket}")
    room.locator("form[data-ready]").wait_for()
    room.get_by_label("Mixed", exact=True).fill("1.1")
    room.get_by_role("button", name="Mixed: start the clock").click()
    room.get_by_text("Kept on this tablet").wait_for()
    open_log(room, live_server, coat)
    assert room.get_by_role("radio", name="1.1 mixed at").is_checked()
    queued(room, "10")
    tablet.set_offline(False)
    room.evaluate("dispatchEvent(new Event('online'))")
    waiting(room, 0)
    batch = Batch.objects.get()
    assert batch.litres == D("1.1")
    assert [(use.log.step, use.litres) for use in batch.uses.all()] == [(coat, D("1.1"))]


def test_what_the_server_refuses_stays_on_the_tablet_with_its_words(
    room: Page, tablet: BrowserContext, job: Job, shop: FinishShop, live_server: object
) -> None:
    other = shop.job(starts=0)
    room.reload()
    paths = [reverse("log_coat", args=[step(one, "Sand").pk]) for one in (job, other)]
    kept(room, *paths)
    tablet.set_offline(True)
    for one in (job, other):
        open_log(room, live_server, step(one, "Sand"))
        queued(room, "20")
    set_job_status(job=job, to="cancelled", by=shop.by, today=today())
    tablet.set_offline(False)
    room.goto(f"{live_server}{reverse('spray_room')}")
    room.get_by_text("must be looked at").wait_for()
    room.locator("[data-queue-box] li").nth(1).wait_for(state="detached")  # the other one has arrived
    assert f"{job.number} is cancelled since" in room.locator("[data-queue-box]").inner_text()
    assert [made.step.job for made in CoatLog.objects.all()] == [other]
    room.on("dialog", lambda dialog: dialog.accept())
    room.get_by_role("button", name="Delete it").click()
    waiting(room, 0)


def test_who_was_signed_out_meanwhile_is_told_and_loses_nothing(
    room: Page, tablet: BrowserContext, job: Job, signed_in: Callable[..., Page], live_server: object
) -> None:
    sand = step(job, "Sand")
    kept(room, reverse("log_coat", args=[sand.pk]))
    tablet.set_offline(True)
    open_log(room, live_server, sand)
    queued(room, "30")
    tablet.clear_cookies()
    tablet.set_offline(False)
    room.evaluate("dispatchEvent(new Event('online'))")
    room.get_by_text("You are signed out. Sign in again").wait_for()
    assert not CoatLog.objects.exists()
    signed_in("finisher", on=room)
    room.goto(f"{live_server}{reverse('spray_room')}")
    waiting(room, 0)
    assert CoatLog.objects.get().minutes == 30


def test_a_tablet_whose_clock_is_wrong_logs_the_right_time(room: Page, job: Job, live_server: object) -> None:
    room.clock.install(time=timezone.now() + timedelta(hours=3, seconds=30))
    open_log(room, live_server, step(job, "Sand"))
    room.get_by_label("Time worked").fill("10")
    room.get_by_role("button", name="Log it").click()
    room.wait_for_url("**/spray-room/")
    assert "The tablet’s clock is 3 h 00 min ahead" in room.locator("#messages").inner_text()
    made = CoatLog.objects.get()
    assert abs(timezone.now() - made.done_at) < timedelta(minutes=2)
    assert made.clock_off_s is not None
    assert abs(made.clock_off_s - 10_830) < 30


def test_a_scanned_code_chooses_the_lot_without_the_server(
    room: Page, tablet: BrowserContext, job: Job, live_server: object
) -> None:
    coat = step(job, "First coat")
    kept(room, reverse("log_coat", args=[coat.pk]))
    tablet.set_offline(True)
    open_log(room, live_server, coat)
    box = room.get_by_label("Scan a lot")
    box.fill("0109506000134352172612311" + "0B2")
    box.press("Enter")
    assert room.locator('input[data-lot-number="B2"]').is_checked()
    queued(room, "45")
    tablet.set_offline(False)
    room.evaluate("dispatchEvent(new Event('online'))")
    waiting(room, 0)
    taken = CoatLog.objects.get().posting.movements.values_list("lot__number", flat=True)  # type: ignore[union-attr]
    assert "B2" in taken
    assert "B1" not in taken
