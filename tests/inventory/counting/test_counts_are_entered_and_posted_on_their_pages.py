"""The pages of counts: opening, entering with and without script, differences, giving up, and who may do what."""

from __future__ import annotations

import re
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from finishing import show
from finishing.models import Shop
from finishing.units import UnitSystem
from inventory.models import CountLine, Location, Lot, Material, StockCount
from inventory.services.counting import cancel_count
from tests.inventory.counting.counted import D, Round, on_hand
from tests.inventory.pages.shop import Shelf, person, words

pytestmark = pytest.mark.django_db


def hidden(page: str, line: CountLine) -> dict[str, str]:
    """What a page knows of a line, as the browser would send it back."""
    found = re.findall(rf'name="(line-{line.pk}-(?:seen|was))" value="([^"]*)"', page)
    return dict(found)


def typed(page: str, line: CountLine, counted: str, remark: str = "") -> dict[str, str]:
    """A line of the entry page, filled in."""
    return {**hidden(page, line), f"line-{line.pk}-counted": counted, f"line-{line.pk}-reason": remark}


def enter_page(browser: Client, count: StockCount) -> str:
    return browser.get(reverse("count_enter", args=[count.pk])).text


# ------------------------------------------------------------------ opening


def open_form(**more: Any) -> dict[str, Any]:
    return {"key": str(uuid4()), "scope": "places", "is_blind": "on", "note": "", **more}


def test_each_chosen_place_gets_a_count_of_its_own(
    tablet: Client, lot: Lot, shelf: Shelf, clear: Material, cabinet: Location
) -> None:
    shelf.lot(clear, "1", number="C-9", location=cabinet)
    empty = Location.objects.create(name="Empty shelf")
    form = open_form(places=[lot.location_id, cabinet.pk, empty.pk])
    for _ in range(2):  # the same form twice opens them once
        said = words(tablet.post(reverse("count_new"), form, follow=True))
    counts = StockCount.objects.order_by("location__name")
    assert [(count.scope, [line.lot.number for line in count.lines.all()]) for count in counts] == [
        ("Cabinet", ["C-9"]),
        ("Rack", ["A-1"]),
    ]
    assert "1 of the places hold nothing in the books and is left out." in said


def test_the_whole_shop_is_one_count_with_lots_that_stand_nowhere(
    tablet: Client, lot: Lot, shelf: Shelf, clear: Material
) -> None:
    shelf.lot(clear, "1", number="N-1")
    tablet.post(reverse("count_new"), open_form(scope="shop"))
    count = StockCount.objects.get()
    assert (count.scope, count.is_blind, count.lines.count()) == ("The whole shop", True, 2)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "Choose at least one place"),
        ({"places": ["999"]}, "This place can’t be chosen"),
        ({"scope": "moon"}, "Choose places or the whole shop."),
    ],
)
def test_what_can_not_be_opened_is_told(tablet: Client, lot: Lot, more: dict[str, Any], said: str) -> None:
    answer = tablet.post(reverse("count_new"), open_form(**more))
    assert (answer.status_code, said in answer.text, StockCount.objects.count()) == (422, True, 0)


def test_places_without_stock_and_lots_on_another_count_are_told(
    tablet: Client, lot: Lot, round_: Round, cabinet: Location
) -> None:
    assert "nothing stands there" in tablet.post(reverse("count_new"), open_form(places=[cabinet.pk])).text
    first = round_.open()
    assert f"being counted on {first.label}" in tablet.post(reverse("count_new"), open_form(places=[lot.location_id])).text


# ----------------------------------------------------------------- entering


def test_a_blind_count_shows_no_book_figures_to_whoever_counts(tablet: Client, lot: Lot, round_: Round) -> None:
    blind = round_.open(is_blind=True)
    pages = [enter_page(tablet, blind), words(tablet.get(blind.get_absolute_url()))]
    assert not any("10 L" in page for page in pages)
    cancel_count(count=blind, by=round_.posts, reason="for the test")
    assert "Books: 10 L" in enter_page(tablet, round_.open())


def test_a_page_without_script_saves_all_that_was_typed(
    tablet: Client, lot: Lot, shelf: Shelf, gloves: Material, round_: Round
) -> None:
    other = shelf.lot(gloves, "40", number="G-7")
    count = round_.open()
    page = enter_page(tablet, count)
    one, two = round_.line(count, lot), round_.line(count, other)
    data = {**typed(page, one, "9.5 L", "dented"), **typed(page, two, "many")}
    answer = tablet.post(reverse("count_enter", args=[count.pk]), data)
    assert answer.status_code == 422
    assert "One line is not saved yet." in answer.text
    assert 'value="many"' in answer.text, "what was typed stays"
    assert (round_.line(count, lot).counted, round_.line(count, lot).reason) == (D("9.5"), "dented")
    assert round_.line(count, other).counted is None
    data = {**typed(answer.text, one, "9.5", "dented"), **typed(answer.text, two, "38"), "go": "count"}
    assert "1 line saved." in words(tablet.post(reverse("count_enter", args=[count.pk]), data, follow=True))
    assert round_.line(count, other).counted == 38


def test_a_field_is_saved_as_it_is_left(tablet: Client, lot: Lot, round_: Round) -> None:
    count = round_.open()
    line = round_.line(count, lot)
    address = reverse("count_line", args=[count.pk, line.pk])
    page = enter_page(tablet, count)
    answer = tablet.post(address, typed(page, line, "9.5"))
    assert "saved" in answer.text
    assert '<strong id="count-done">0 of 1</strong>' in page
    assert '<strong id="count-done" hx-swap-oob="true">1 of 1</strong>' in answer.text, "the head of the page follows"
    assert round_.line(count, lot).counted == D("9.5")
    assert "be read as a volume" in tablet.post(address, typed(answer.text, line, "much")).text
    assert round_.line(count, lot).counted == D("9.5")
    tablet.post(address, typed(answer.text, line, ""))
    assert round_.line(count, lot).counted is None, "an emptied field takes the entry back"


def test_an_entry_of_somebody_else_is_not_overwritten_unseen(tablet: Client, desk: Client, lot: Lot, round_: Round) -> None:
    count = round_.open()
    line = round_.line(count, lot)
    address = reverse("count_enter", args=[count.pk])
    old = enter_page(desk, count)
    tablet.post(address, typed(enter_page(tablet, count), line, "9"))
    refused = desk.post(address, typed(old, line, "8"))
    assert "Finisher Person entered 9 L on" in refused.text
    assert round_.line(count, lot).counted == 9
    desk.post(address, typed(refused.text, line, "8"))
    assert round_.line(count, lot).counted == 8, "whoever has seen it may correct it"


def test_a_row_that_nobody_touched_is_left_alone(tablet: Client, desk: Client, lot: Lot, round_: Round) -> None:
    count = round_.open()
    line = round_.line(count, lot)
    old = enter_page(desk, count)
    tablet.post(reverse("count_enter", args=[count.pk]), typed(enter_page(tablet, count), line, "9"))
    answer = desk.post(reverse("count_enter", args=[count.pk]), typed(old, line, ""))
    assert (answer.status_code, round_.line(count, lot).counted) == (302, 9)


def test_figures_are_typed_in_the_units_of_the_shop(tablet: Client, lot: Lot, round_: Round) -> None:
    shop = Shop.current()
    shop.unit_system = UnitSystem.US
    shop.save()
    show.use(None)
    count = round_.open()
    line = round_.line(count, lot)
    answer = tablet.post(reverse("count_line", args=[count.pk, line.pk]), typed(enter_page(tablet, count), line, "2.5"))
    assert "2.5 gal" in answer.text
    assert round_.line(count, lot).counted == D("9.463529")


# -------------------------------------------------------------- differences


def post_form(page: str, **more: str) -> dict[str, str]:
    """The form of the differences as the page has it."""
    found = {name: re.search(rf'name="{name}" value="([^"]*)"', page) for name in ("key", "seen")}
    return {**{name: match[1] if match else "" for name, match in found.items()}, **more}


def test_differences_are_shown_with_their_value_and_posted_with_a_reason(
    desk: Client, lot: Lot, shelf: Shelf, round_: Round
) -> None:
    count = round_.open()
    round_.enter(count, lot, "8")
    shelf.take(lot.material, "1")
    line, address = round_.line(count, lot), reverse("count_differences", args=[count.pk])
    page = desk.get(address)
    for figure in ("10 L", "8 L", "−2 L", "−$40.00", "7 L", "−1 L since"):
        assert figure in words(page), figure
    refused = desk.post(address, post_form(page.text, **{f"reason-{line.pk}": ""}))
    assert (refused.status_code, "Say in a few words why this differs so much." in refused.text) == (422, True)
    done = desk.post(address, post_form(refused.text, **{f"reason-{line.pk}": "Spilled, not booked"}), follow=True)
    assert "0 of 1 counted lots agreed" in words(done)
    assert "Spilled, not booked" in words(done)
    assert on_hand(lot) == 7
    posting = StockCount.objects.get().posting
    assert posting is not None
    assert count.label in words(desk.get(reverse("posting", args=[posting.pk])))


def test_figures_that_changed_meanwhile_are_shown_again(desk: Client, lot: Lot, round_: Round) -> None:
    count = round_.open()
    round_.enter(count, lot, "9.9")
    address = reverse("count_differences", args=[count.pk])
    old = desk.get(address).text
    round_.enter(count, lot, None)
    round_.enter(count, lot, "9.8")
    answer = desk.post(address, post_form(old))
    assert "changed since this page was shown" in answer.text
    assert on_hand(lot) == 10
    desk.post(address, post_form(answer.text))
    assert on_hand(lot) == D("9.8")


def test_a_lot_that_left_after_it_was_counted_is_to_be_counted_again(desk: Client, lot: Lot, shelf: Shelf, round_: Round) -> None:
    count = round_.open()
    round_.enter(count, lot, "9.8")
    shelf.take(lot.material, "10")
    shown = desk.get(reverse("count_differences", args=[count.pk]))
    page = words(shown)
    assert "Count this lot again: 10 L went out since it was counted, and only 9.8 L was found then." in page
    assert "-0.2" not in page
    assert "Nothing can be posted before 1 lot is counted again" in page
    assert "Post the differences" not in page
    refused = desk.post(reverse("count_differences", args=[count.pk]), post_form(shown.text, **{"reason-0": ""}))
    assert (refused.status_code, on_hand(lot)) == (422, 0)


def test_a_line_is_counted_again(desk: Client, lot: Lot, round_: Round) -> None:
    count = round_.open()
    round_.enter(count, lot, "8")
    line = round_.line(count, lot)
    answer = desk.post(reverse("count_differences", args=[count.pk]), {"again": str(line.pk)})
    assert answer.url == f"{reverse('count_enter', args=[count.pk])}?line={line.pk}#line-{line.pk}"
    assert round_.line(count, lot).counted is None


def test_a_count_is_given_up_with_a_reason_and_stays_in_the_list(desk: Client, lot: Lot, round_: Round) -> None:
    count = round_.open()
    address = reverse("count_cancel", args=[count.pk])
    assert "Say why the count is given up." in desk.post(address, {"reason": ""}).text
    assert "interrupted" in words(desk.post(address, {"reason": "interrupted"}, follow=True))
    assert "cancelled" in words(desk.get(reverse("stock_counts")))
    again = desk.get(reverse("count_enter", args=[count.pk]), follow=True)
    assert f"{count.label} is cancelled and can’t be changed." in words(again)


def test_a_reversed_count_says_so(desk: Client, lot: Lot, round_: Round) -> None:
    count = round_.open()
    round_.enter(count, lot, "9.9")
    posting = round_.post(count).count.posting
    assert posting is not None
    desk.post(reverse("posting_reverse", args=[posting.pk]), {"key": str(uuid4()), "reason": "wrong shelf"})
    assert "reversed by" in words(desk.get(count.get_absolute_url()))
    assert on_hand(lot) == 10


# --------------------------------------------------------------------- who may


@pytest.mark.parametrize(("role", "counts", "posts"), [("estimator", 403, 403), ("finisher", 200, 403), ("owner", 200, 200)])
def test_finishers_count_and_the_office_and_the_owner_post(
    client: Client, lot: Lot, round_: Round, role: str, counts: int, posts: int
) -> None:
    count = round_.open()
    round_.enter(count, lot, "9")
    client.force_login(person(role), backend="finishing.auth.RoleBackend")
    for name in ("stock_counts", "count_new", "counts_due"):
        assert client.get(reverse(name)).status_code == counts, name
    for name in ("stock_count", "count_enter", "count_upload", "count_found", "count_sheet_pdf", "count_sheet_xlsx"):
        assert client.get(reverse(name, args=[count.pk])).status_code == counts, name
    assert client.get(reverse("count_differences", args=[count.pk])).status_code == posts
    if posts == 403:
        assert client.post(reverse("count_cancel", args=[count.pk]), {"reason": "x"}).status_code == 403


def test_a_finisher_sees_no_values(tablet: Client, lot: Lot, round_: Round) -> None:
    count = round_.open()
    round_.enter(count, lot, "9")
    round_.post(count)
    for address in (reverse("stock_counts"), count.get_absolute_url(), reverse("counts_due")):
        assert "$" not in words(tablet.get(address)), address
