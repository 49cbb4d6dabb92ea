"""Entries on the tablet that the server refuses: others go on, and what is mended or confirmed is sent once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from django.urls import reverse

from costing.models import CoatLog, Job
from finishing.models import User
from tests.browser.test_the_spray_room_works_without_network import job, kept, open_log, queued, room, shop, tablet, waiting
from tests.costing.jobs.finish_shop import FinishShop, log, step

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Page

__all__ = ["job", "room", "shop", "tablet"]  # fixtures
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
BOX = "[data-queue-box]"


def _queued(room: Page, minutes: str) -> None:
    """Queue it, and wait until the form is empty for the next one."""
    queued(room, minutes)
    for _ in range(75):
        if not room.get_by_label("Time worked").input_value():
            return
        room.wait_for_timeout(100)
    pytest.fail("the form was not emptied")


def _back(room: Page, tablet: BrowserContext, live_server: object) -> None:
    tablet.set_offline(False)
    room.goto(f"{live_server}{reverse('spray_room')}")
    room.get_by_text("must be looked at").wait_for()


def _two_of_one_step(room: Page, tablet: BrowserContext, job: Job, live_server: object) -> None:
    """Two logs of the sanding and one of the first coat wait; the first has no minutes that the server takes."""
    sand, coat = step(job, "Sand"), step(job, "First coat")
    kept(room, *(reverse("log_coat", args=[of.pk]) for of in (sand, coat)))
    tablet.set_offline(True)
    open_log(room, live_server, sand)
    _queued(room, "nonsense")
    _queued(room, "20")
    open_log(room, live_server, coat)
    _queued(room, "45")
    _back(room, tablet, live_server)


def test_other_steps_go_on_and_every_line_has_its_buttons(
    room: Page, tablet: BrowserContext, job: Job, live_server: object
) -> None:
    _two_of_one_step(room, tablet, job, live_server)
    room.locator(f"{BOX} li").nth(2).wait_for(state="detached")
    assert [made.step.name for made in CoatLog.objects.all()] == ["First coat"]
    lines = room.locator(f"{BOX} li").all()
    assert len(lines) == 2
    assert "Not taken" in lines[0].inner_text()
    assert "Waits for" in lines[1].inner_text()
    for line in lines:
        assert line.get_by_role("button", name="Delete it").count() == 1
        assert line.get_by_role("link", name="Open and mend").count() == 1


def test_what_waited_for_a_deleted_entry_is_taken(room: Page, tablet: BrowserContext, job: Job, live_server: object) -> None:
    _two_of_one_step(room, tablet, job, live_server)
    room.locator(f"{BOX} li").nth(2).wait_for(state="detached")
    room.on("dialog", lambda dialog: dialog.accept())
    room.locator(f"{BOX} li").first.get_by_role("button", name="Delete it").click()
    waiting(room, 0)
    assert list(CoatLog.objects.filter(step__name="Sand").values_list("minutes", flat=True)) == [20]


def test_a_corrected_entry_takes_the_place_of_the_refused_one(
    room: Page, tablet: BrowserContext, job: Job, live_server: object
) -> None:
    _two_of_one_step(room, tablet, job, live_server)
    open_log(room, live_server, step(job, "Sand"))  # without the button: the refused entry stands in the form
    assert room.get_by_label("Time worked").input_value() == "nonsense"
    room.get_by_label("Time worked").fill("15")
    room.get_by_role("button", name="Log it").click()
    room.wait_for_url("**/spray-room/")
    waiting(room, 0)
    assert list(CoatLog.objects.filter(step__name="Sand").order_by("pk").values_list("minutes", flat=True)) == [15, 20]


def test_a_refused_form_is_corrected_on_the_page_and_logged_once(room: Page, job: Job, live_server: object) -> None:
    open_log(room, live_server, step(job, "Sand"))
    for minutes in ("nonsense", "more nonsense"):
        room.get_by_label("Time worked").fill(minutes)
        room.get_by_role("button", name="Log it").click()
        room.locator(".error-summary").wait_for()
        room.locator(f'form[data-ready] input[name=minutes][value="{minutes}"]').wait_for()
    waiting(room, 1)
    assert room.locator(f"{BOX} li").count() == 1
    room.get_by_label("Time worked").fill("25")
    room.get_by_role("button", name="Log it").click()
    room.wait_for_url("**/spray-room/")
    waiting(room, 0)
    assert CoatLog.objects.get().minutes == 25


def test_a_second_tap_logs_the_step_that_another_logged_meanwhile(room: Page, job: Job, live_server: object) -> None:
    sand = step(job, "Sand")
    open_log(room, live_server, sand)
    log(sand, by=User.objects.get(username="owner"), finishes_step=False)
    room.get_by_label("Time worked").fill("12")
    room.get_by_role("button", name="Log it").click()
    room.locator(".error-summary").wait_for()
    room.locator("form[data-ready]").wait_for()
    room.get_by_role("button", name="Log it").click()
    room.wait_for_url("**/spray-room/")
    waiting(room, 0)
    assert CoatLog.objects.filter(minutes=12).count() == 1
    assert CoatLog.objects.count() == 2


def test_an_entry_is_sent_all_the_same_once(
    room: Page, tablet: BrowserContext, shop: FinishShop, job: Job, live_server: object
) -> None:
    sand = step(job, "Sand")
    kept(room, reverse("log_coat", args=[sand.pk]))
    tablet.set_offline(True)
    open_log(room, live_server, sand)
    for minutes in ("11", "12", "13"):
        _queued(room, minutes)
    log(sand, by=shop.by, finishes_step=False)
    _back(room, tablet, live_server)
    waiting(room, 3)
    assert CoatLog.objects.count() == 1
    again = room.get_by_role("button", name="Send it all the same")
    assert again.count() == 1  # the others wait for it
    again.evaluate("button => { button.click(); button.click(); }")
    waiting(room, 0)
    mine = CoatLog.objects.exclude(by=shop.by).order_by("pk")
    assert list(mine.values_list("minutes", flat=True)) == [11, 12, 13]
