"""The main job clicked through by four people: receive, estimate, quote, accept, log, reorder."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from costing.models import CoatLog, Estimate, Job, Quote, SpraySetup
from finishing.models import User
from inventory.models import Lot
from tests.browser.conftest import PASSWORD, TABLET
from tests.costing.jobs.finish_shop import FinishShop, log, mix, step, today

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Page

    from tests.browser.conftest import Complaints

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
D = Decimal

PASTED = """Label\tPieces\tLength\tWidth\tThickness\tZone
Drawer front\t6\t600\t180\t19\tshow
Shelf\t4\t700\t500\t18\thidden
"""
# A refused content says so as an event, too; the console is where the complaints look.
POLICY = "addEventListener('securitypolicyviolation', e => console.error('policy: ' + e.violatedDirective + ' ' + e.blockedURI))"


@pytest.fixture
def shop(transactional_db: None) -> FinishShop:
    """The shop with supplies on the shelf, but nothing to spray."""
    made = FinishShop(by=User.objects.create_user("owner", is_owner=True))
    made.deliver(made.liner, "60", "L1", cost="0.4")
    made.deliver(made.strainer, "60", "S1", cost="0.2")
    made.deliver(made.disc, "60", "D1", cost="0.5")
    return made


@pytest.fixture
def desk(
    new_context: Callable[..., BrowserContext],
    complaints: Complaints,
    signed_in: Callable[..., Page],
    live_server: object,
) -> Callable[..., Page]:
    """``desk("office")``: a browser of that person's own, signed in. It must keep to the content policy."""

    def sit_down(role: str, **options: object) -> Page:
        context = new_context(**options)
        context.add_init_script(POLICY)
        page = context.new_page()
        complaints.watch(page)
        return signed_in(role, on=page)

    return sit_down


def said(page: Page) -> str:
    """What the program said after an action."""
    return page.locator("#messages").inner_text()


def barriers(page: Page) -> list[str]:
    """What axe-core finds wrong with a page for people who hear it or use the keyboard."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page).response["violations"]
    return [f"{page.url}: {entry['id']}: {node['target']} {node['failureSummary']}" for entry in found for node in entry["nodes"]]


def download(page: Page, link: str, folder: Path) -> bytes:
    """What clicking a link brings as a file."""
    with page.expect_download() as waiting:
        page.get_by_role("link", name=link, exact=True).first.click()
    target = folder / waiting.value.suggested_filename
    waiting.value.save_as(target)
    return target.read_bytes()


def receive(page: Page, shop: FinishShop) -> None:
    """The office books 4 L of base and 2 kg of hardener."""
    page.get_by_role("link", name="Receive a delivery").first.click()
    page.get_by_label("Supplier").select_option(label="Invented Coatings")
    page.get_by_label("Delivery note").fill("DN-77")
    rows = [
        (shop.base, "4 L", "100", "B-100"),
        (shop.hardener, "2 kg", "110", "H-7"),
    ]
    for number, (what, amount, price, lot) in enumerate(rows, start=1):
        page.get_by_label(f"What came, row {number}").select_option(value=f"material:{what.pk}")
        page.get_by_label(f"How many, row {number}").fill(amount)
        page.get_by_label(f"Price paid, row {number}").fill(price)
        page.get_by_label(f"Lot number, row {number}").fill(lot)
        page.get_by_label(f"Expires on, row {number}").fill((today() + timedelta(days=90)).isoformat())
    page.get_by_role("button", name="Book the delivery").click()
    page.wait_for_url("**/stock-moves/*/")


def make_estimate(page: Page) -> None:
    """The estimator types a row of the takeoff and pastes two more."""
    page.get_by_role("link", name="New estimate").first.click()
    page.get_by_label("What is to be finished").fill("Kitchen refinish")
    page.get_by_label("Or a new customer").fill("Invented Homes")
    page.get_by_label("First system").select_option(label="Clear system")
    page.get_by_role("button", name="Save and go on to the takeoff").click()
    page.wait_for_url("**/takeoff/")
    for name, value in (("Piece", "Door"), ("Pieces", "24"), ("Length", "715"), ("Width", "397"), ("Thickness", "3/4 in")):
        page.get_by_label(f"{name}, row 1", exact=True).fill(value)
    page.get_by_label("Profile, row 1").fill("1.05")
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_text("The takeoff is saved.").wait_for()
    page.get_by_role("link", name="Paste from a spreadsheet").click()
    page.get_by_label("The list").fill(PASTED)
    page.get_by_role("button", name="Check the list").click()
    page.get_by_role("button", name="Save 2 rows").click()
    page.get_by_label("Piece, row 3", exact=True).wait_for()


def quote_and_accept(page: Page, folder: Path) -> tuple[bytes, bytes]:
    """The estimator prices the job, quotes it, prints the quote and turns it into a job."""
    estimate = Estimate.objects.get(name="Kitchen refinish")
    page.get_by_role("button", name="Save and show the prices").click()
    page.wait_for_url(f"**{estimate.get_absolute_url()}")
    page.get_by_role("link", name="Whole breakdown: Clear system").click()
    page.get_by_role("heading", level=1).wait_for()
    page.go_back()
    page.get_by_role("link", name="Write a quote").click()
    page.get_by_role("button", name="Save as a draft").click()
    page.wait_for_url("**/quotes/*/")
    page.get_by_role("button", name="Mark as sent").click()
    page.get_by_role("link", name="Customer accepts").wait_for()
    pdf, sheet = (download(page, link, folder) for link in ("PDF", "Spreadsheet"))
    page.get_by_role("link", name="Customer accepts").click()
    page.get_by_label("Work starts on").fill(today().isoformat())
    page.get_by_role("button", name="Accept and make the job").click()
    page.wait_for_url("**/jobs/*/")
    return pdf, sheet


def log_step(page: Page, name: str, *, minutes: str, mixed: str = "") -> None:
    """The finisher logs the next step from the spray room."""
    page.get_by_role("link", name=f"Log: {name}").first.click()
    if mixed:
        with page.expect_response(lambda answer: answer.request.method == "POST"):
            page.get_by_label("Mixed in all").fill(mixed)
    page.get_by_label("Time worked").fill(minutes)
    page.get_by_role("button", name="Log it").click()
    page.wait_for_url("**/spray-room/")


def test_four_people_bring_a_job_from_delivery_to_reorder(shop: FinishShop, desk: Callable[..., Page], tmp_path: Path) -> None:
    office, estimator, finisher, owner = desk("office"), desk("estimator"), desk("finisher", viewport=TABLET), desk("owner")

    receive(office, shop)
    assert Lot.objects.get(number="B-100").on_hand == 4

    make_estimate(estimator)
    pdf, sheet = quote_and_accept(estimator, tmp_path)
    job = Job.objects.get()
    quote = Quote.objects.get()
    assert quote.customer.name == "Invented Homes"
    assert f"{quote.label} is accepted. {job.number} is made" in said(estimator)
    assert pdf.startswith(b"%PDF")
    assert sheet.startswith(b"PK")

    finisher.goto(finisher.url)
    log_step(finisher, "Sand", minutes="50")
    log_step(finisher, "First coat", minutes="1 h 5 min", mixed="3.3 L")
    assert "Logged: First coat" in said(finisher)
    assert finisher.get_by_role("heading", name="Drying").is_visible()
    coat = CoatLog.objects.get(step__name="First coat")
    assert coat.mixed == D("3.3")
    # 3.3 L at 10 : 1 are 3 L of base, and 3 / 0.98 L leave the can
    assert Lot.objects.get(number="B-100").on_hand == 4 - D("3.061224")

    office.get_by_role("link", name="Reorder list").first.click()
    assert office.get_by_role("heading", level=1).inner_text() == "Reorder list"
    assert office.get_by_text("Base").first.is_visible()

    owner.goto(owner.url)
    tiles = owner.locator(".tile").filter(has_text="Jobs in work")
    assert tiles.locator(".tile-figure").inner_text() == "1"
    owner.get_by_role("link", name="Jobs in work").click()
    owner.get_by_role("link", name=job.number).click()
    assert owner.get_by_role("heading", level=1).inner_text() == str(job)
    assert owner.get_by_text("Base, lot B-100").first.is_visible()


def test_amounts_and_lots_follow_what_is_typed(shop: FinishShop, desk: Callable[..., Page], live_server: object) -> None:
    shop.stock()
    job = shop.job()
    page = desk("finisher", viewport=TABLET)
    page.goto(f"{live_server}{reverse('log_coat', args=[step(job, 'First coat').pk])}")
    first = page.locator(".take").first
    assert "2.539 L in the mix, from stock: 2 L of lot B1" in first.inner_text()
    page.get_by_label("Mixed in all").fill("1.1")
    page.get_by_text("1 L in the mix, from stock: 1.02 L of lot B1").wait_for()
    page.get_by_label("Cup fills").fill("3")
    page.get_by_text("3 pcs of lot L1").wait_for()
    assert page.get_by_label("Mixed in all").input_value() == "1.1"
    assert not CoatLog.objects.exists()


def test_sign_in_and_log_work_by_keyboard_alone(shop: FinishShop, page: Page, live_server: object) -> None:
    User.objects.create_user("keys", password=PASSWORD, is_finisher=True)
    job = shop.job()
    keys = page.keyboard
    page.goto(f"{live_server}{reverse('login')}")
    tab_to(page, "input[name=username]")
    keys.type("keys")
    tab_to(page, "input[name=password]")
    keys.type(PASSWORD)
    keys.press("Enter")
    page.wait_for_url("**/spray-room/")
    tab_to(page, f'a[href="{reverse("log_coat", args=[step(job, "Sand").pk])}"]')
    keys.press("Enter")
    page.wait_for_url("**/log/")
    tab_to(page, "input[name=minutes]")
    keys.type("45")
    tab_to(page, "input[name=finishes_step]")
    keys.press("Space")
    tab_to(page, "form.log-form button:not([name])")
    keys.press("Enter")
    page.wait_for_url("**/spray-room/")
    made = CoatLog.objects.get()
    assert (made.step.name, made.minutes, made.finishes_step) == ("Sand", 45, False)


def tab_to(page: Page, selector: str, most: int = 80) -> None:
    """Press Tab until the element has the focus; every stop on the way must be visible."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate("selector => document.activeElement?.matches(selector) ?? false", selector):
            return
    pytest.fail(f"{selector} is not reached by {most} presses of Tab")


PAGES = [
    ("desk_owner", None),
    ("desk_buying", None),
    ("desk_pricing", None),
    ("spray_room", None),
    ("materials", None),
    ("material", "material"),
    ("material_new", None),
    ("suppliers", None),
    ("lots", None),
    ("lot", "lot"),
    ("receive", None),
    ("stock_issue", None),
    ("stock_moves", None),
    ("posting", "posting"),
    ("reorder_list", None),
    ("setups", None),
    ("systems", None),
    ("system", "system"),
    ("operation_new", "system"),
    ("customers", None),
    ("estimates", None),
    ("estimate_new", None),
    ("takeoff", "estimate"),
    ("takeoff_paste", "estimate"),
    ("takeoff_upload", "estimate"),
    ("estimate", "estimate"),
    ("quote_new", "estimate"),
    ("quotes", None),
    ("quote", "quote"),
    ("quote_accept", "quote"),
    ("jobs", None),
    ("job", "job"),
    ("job_cost", "job"),
    ("board", None),
    ("log_coat", "step"),
    ("ticket", "step"),
    ("defect_new", "step"),
    ("defects", None),
    ("batch", "batch"),
    ("setup_learning", "setup"),
    ("records", None),
    ("shop_settings", None),
    ("people", None),
]


@pytest.fixture
def objects(shop: FinishShop) -> dict[str, int]:
    """One object of each kind, all pages with something to show."""
    shop.stock()
    job = shop.job(starts=0)
    made = log(step(job, "First coat"), by=shop.by, done_at=timezone.now(), wet_film=D(105), key=uuid4())
    quote = shop.quote()
    assert made.posting is not None
    return {
        "material": shop.base.pk,
        "lot": shop.lots["B2"].pk,
        "posting": made.posting.pk,
        "system": shop.system.pk,
        "estimate": quote.estimate.pk,
        "quote": quote.pk,
        "job": job.pk,
        "step": step(job, "Second coat").pk,
        "batch": mix(step(job, "Second coat"), by=shop.by, litres=D("0.5")).pk,
        "setup": SpraySetup.objects.get().pk,
    }


@pytest.mark.slow
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_main_page_puts_up_a_barrier(
    objects: dict[str, int], desk: Callable[..., Page], live_server: object, scheme: str
) -> None:
    page = desk("owner", color_scheme=scheme)
    found = []
    for name, kind in PAGES:
        answer = page.goto(f"{live_server}{reverse(name, args=[objects[kind]] if kind else [])}")
        assert answer is not None
        assert answer.status == 200, name
        found += barriers(page)
    assert not found, "\n".join(found)


def test_a_refused_form_puts_up_no_barrier(objects: dict[str, int], desk: Callable[..., Page], live_server: object) -> None:
    page = desk("owner")
    page.goto(f"{live_server}{reverse('log_coat', args=[objects['step']])}")
    page.get_by_label("A new mix, mixed as it was sprayed").check()
    page.get_by_text("How much of a new mix").click()
    page.get_by_label("Mixed in all").fill("33")
    page.get_by_role("button", name="Log it").click()
    page.get_by_text("thing to put right").wait_for()
    assert not barriers(page)


def test_the_search_for_barriers_finds_a_planted_one(page: Page) -> None:
    page.set_content("<html lang='en'><title>x</title><main><h1>x</h1><input type='text'></main></html>")
    assert any("label" in barrier for barrier in barriers(page))
