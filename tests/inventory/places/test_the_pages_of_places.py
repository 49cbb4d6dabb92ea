"""The pages of places: the list, one place with its flammable liquids, entering and changing a place, moving a lot."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from finishing import show
from finishing.models import Shop
from finishing.roles import Role, permissions_of
from inventory.models import Location, Lot, LotEvent, Material
from inventory.services.lots import quarantine_lot
from tests.inventory.ledger.counter import Counter, on_hand
from tests.inventory.pages.shop import booked, errors, key, this_day, words

pytestmark = pytest.mark.django_db
D = Decimal


def form(**data: str) -> dict[str, str]:
    """A place as its form sends it."""
    return {"name": "Attic", "kind": "shelf", "is_active": "on", **data}


def move_form(to: Location, **data: str) -> dict[str, str]:
    return {"key": key(), "to_location": str(to.pk), "quantity": "5", "on": this_day(), "reason": "", **data}


@pytest.fixture
def lot(counter: Counter, clear: Material, shelf_a: Location, today: date) -> Lot:
    return counter.receive(clear, "20", cost="4", location=shelf_a, on=today - timedelta(days=10))


# ---------------------------------------------------------------- what stands where


def test_the_list_says_what_stands_where_and_what_is_over_its_limit(
    office: Client, counter: Counter, clear: Material, shelf_a: Location, cabinet: Location, booth: Location
) -> None:
    counter.receive(clear, "31", cost="10", location=cabinet)
    counter.receive(clear, "2", cost="10", location=booth)
    counter.receive(Material.objects.create(code="W", name="Water", kind="coating", flammable_category=0), "9", location=shelf_a)
    counter.receive(clear, "1")
    page = words(office.get(reverse("locations")))
    assert "Cabinet holds more flammable liquid than the limit entered for it." in page
    assert "Cabinet Flammables cabinet 1 31 L over its limit $310.00" in page
    assert "Booth Booth 1 2 L no limit entered $20.00" in page
    assert "Shelf A Shelf 1 – – $90.00" in page
    assert "1 lot in stock has no place noted." in page


def test_a_new_shop_is_told_what_to_enter_first(office: Client, finisher: Client) -> None:
    assert "Enter the first place" in words(office.get(reverse("locations")))
    assert "The office enters them." in words(finisher.get(reverse("locations")))


def test_places_out_of_use_are_shown_when_asked_for(office: Client, shelf_a: Location) -> None:
    Location.objects.create(name="Attic", is_active=False)
    assert "Attic" not in words(office.get(reverse("locations")))
    assert "Attic (not in use)" in words(office.get(reverse("locations", query={"is_active": "all"})))


def test_a_place_shows_each_limit_with_what_counts_against_it(
    office: Client, counter: Counter, clear: Material, cabinet: Location
) -> None:
    other = Material.objects.create(code="O", name="Oil", kind="coating", flammable_category=4)
    unread = Material.objects.create(code="U", name="Unread", kind="coating")
    pieces = Material.objects.create(code="P", name="Spray can", kind="other", stock_unit="pcs", flammable_category=1)
    for material, quantity in ((clear, "20"), (other, "12"), (unread, "7"), (pieces, "3")):
        counter.receive(material, quantity, location=cabinet)
    page = words(office.get(cabinet.get_absolute_url()))
    assert "Categories 1 to 3: 20 L of 30 L entered as limit Category 1 0 L Category 2 0 L Category 3 20 L" in page
    assert "All categories, 1 to 4: 32 L of 60 L entered as limit" in page
    assert "Nobody has entered a flammable category for Unread, so the figures above leave it out." in page
    assert "Spray can: kept by weight or by the piece without a density" in page
    assert "The local fire code and the fire marshal decide how much may be kept here" in page
    assert "29 CFR 1910.106(d)(3)(i)" in page
    assert "over the limit" not in page


def test_a_place_over_its_limit_says_by_how_much(office: Client, counter: Counter, clear: Material, cabinet: Location) -> None:
    counter.receive(clear, "31.5", location=cabinet)
    page = office.get(cabinet.get_absolute_url())
    assert "Categories 1 to 3: 31.5 L of 30 L entered as limit 1.5 L over the limit entered" in words(page)
    assert 'class="bar-mark" x="952.38"' in page.text


def test_a_booth_and_a_shelf_name_the_rule_that_fits_them(office: Client, booth: Location, shelf_a: Location) -> None:
    assert "29 CFR 1910.107(e)(2)" in words(office.get(booth.get_absolute_url()))
    assert "29 CFR 1910.106(e)(2)(ii)(b)" in words(office.get(shelf_a.get_absolute_url()))


def test_it_never_says_that_an_amount_is_safe_or_allowed(office: Client, cabinet: Location, lot: Lot) -> None:
    for address in (cabinet.get_absolute_url(), reverse("locations"), reverse("location_edit", args=[cabinet.pk])):
        page = words(office.get(address)).lower()
        assert not [word for word in ("is safe", "compliant", "complies", "is allowed", "permitted") if word in page]


def test_a_us_shop_reads_gallons(office: Client, counter: Counter, clear: Material, cabinet: Location) -> None:
    shop = Shop.current()
    shop.unit_system = "us"
    shop.save()
    show.use(None)
    counter.receive(clear, "18.927059", location=cabinet)
    assert "Categories 1 to 3: 5 gal of 7.925 gal entered as limit" in words(office.get(cabinet.get_absolute_url()))
    limits = office.get(reverse("location_new", query={"kind": "flammables"})).context["form"]
    assert (limits["limit_category_1_to_3"].value(), limits["limit_category_4"].value()) == ("60", "120")


# ---------------------------------------------------------------- entering and changing


def test_a_new_cabinet_comes_with_the_limits_of_the_rule_and_their_source(office: Client) -> None:
    page = office.get(reverse("location_new", query={"kind": "flammables"}))
    limits = page.context["form"]
    assert (limits["limit_category_1_to_3"].value(), limits["limit_category_4"].value()) == ("227.1", "454.2")
    assert "29 CFR 1910.106(d)(3)(i), read in a reprint" in words(page)
    assert "The local fire code decides what may be kept here" in words(page)
    plain = office.get(reverse("location_new"))
    assert not plain.context["form"]["limit_category_1_to_3"].value()
    assert f"{reverse('location_new')}?kind=flammables" in plain.text


def test_a_cabinet_without_limits_is_offered_them_and_nothing_is_kept_unasked(office: Client, cabinet: Location) -> None:
    edit = reverse("location_edit", args=[cabinet.pk])
    assert "limits=rule" not in office.get(edit).text  # it has limits
    assert office.get(edit, {"limits": "rule"}).context["form"]["limit_category_1_to_3"].value() == "30"
    Location.objects.update(limit_category_1_to_3=None, limit_category_4=None)
    assert f"{edit}?limits=rule" in office.get(edit).text
    assert office.get(edit, {"limits": "rule"}).context["form"]["limit_category_1_to_3"].value() == "227.1"
    cabinet.refresh_from_db()
    assert not cabinet.has_limits


def test_a_place_is_entered_with_limits_in_any_unit(office: Client) -> None:
    sent = form(name="Cabinet 2", kind="flammables", limit_category_1_to_3="60 gal", limit_category_4="454.2")
    page = words(office.post(reverse("location_new"), sent, follow=True))
    place = Location.objects.get()
    assert (place.kind, place.limit_category_1_to_3, place.limit_category_4) == ("flammables", D("227.124707"), D("454.2"))
    assert "Cabinet 2 is saved." in page


@pytest.mark.parametrize(
    ("data", "field", "told"),
    [
        ({"name": ""}, "name", "Give the place a name."),
        ({"name": "shelf a"}, "name", "a place of this name already"),
        ({"limit_category_1_to_3": "-1"}, "limit_category_1_to_3", "0 L or more"),
        ({"limit_category_1_to_3": "much"}, "limit_category_1_to_3", ""),
        ({"limit_category_1_to_3": "5 kg"}, "limit_category_1_to_3", ""),
        ({"limit_category_4": "100001"}, "limit_category_4", "or less"),
        ({"limit_category_1_to_3": "50", "limit_category_4": "20"}, "limit_category_4", "counts categories 1 to 3 as well"),
        ({"kind": "garage"}, "kind", "Choose one of those listed"),
        ({"name": "x" * 61}, "name", "Keep this to 60"),
    ],
)
def test_what_is_wrong_stands_at_its_field(
    office: Client, shelf_a: Location, data: dict[str, str], field: str, told: str
) -> None:
    assert told in errors(office.post(reverse("location_new"), form(**data)))[field][0]
    assert Location.objects.count() == 1


def test_a_place_stays_in_use_while_something_stands_or_belongs_there(office: Client, lot: Lot, shelf_a: Location) -> None:
    edit = reverse("location_edit", args=[shelf_a.pk])
    without = {"name": "Shelf A", "kind": "shelf"}
    assert "1 lot is still in it" in errors(office.post(edit, without))["is_active"][0]
    lot.location = None
    lot.save(update_fields=["location"])
    Material.objects.update(usual_location=shelf_a)
    assert "usual place: 1 material is in use" in errors(office.post(edit, without))["is_active"][0]
    Material.objects.update(usual_location=None)
    office.post(edit, without)
    shelf_a.refresh_from_db()
    assert not shelf_a.is_active


def test_a_change_is_kept_with_who_made_it(office: Client, cabinet: Location) -> None:
    office.post(
        reverse("location_edit", args=[cabinet.pk]),
        form(name="Cabinet", kind="flammables", limit_category_1_to_3="25", limit_category_4="60"),
    )
    page = words(office.get(cabinet.get_absolute_url()))
    assert "Office Person" in page
    assert cabinet.history.first().limit_category_1_to_3 == 25


# ---------------------------------------------------------------- moving


def test_a_whole_lot_is_moved_and_both_places_and_the_lot_say_so(
    finisher: Client, lot: Lot, shelf_a: Location, booth: Location
) -> None:
    address = reverse("lot_place", args=[lot.pk])
    assert finisher.get(address).context["form"]["quantity"].value() == "20"
    page = words(finisher.post(address, move_form(booth, quantity="20", reason="for today"), follow=True))
    assert "20 L of lot A1: now in Booth." in page
    assert "Moved from Shelf A to Booth : for today" in page
    assert "Clear coat, lot A1 came from Shelf A: for today" in words(finisher.get(booth.get_absolute_url()))
    assert "Clear coat, lot A1 went to Booth: for today" in words(finisher.get(shelf_a.get_absolute_url()))


def test_a_part_of_a_lot_is_moved_and_each_part_names_the_other(finisher: Client, lot: Lot, booth: Location) -> None:
    page = words(finisher.post(reverse("lot_place", args=[lot.pk]), move_form(booth), follow=True))
    assert "5 L of lot A1: now in Booth." in page
    assert "Part of lot A1 in Shelf A , moved from there" in page
    assert "Parts of it 5 L in Booth" in words(finisher.get(lot.get_absolute_url()))
    assert on_hand(lot) == 15


def test_moving_into_a_place_that_goes_over_its_limit_warns_and_is_not_refused(
    finisher: Client, counter: Counter, clear: Material, lot: Lot, cabinet: Location
) -> None:
    counter.receive(clear, "11", number="C", location=cabinet)
    address = reverse("lot_place", args=[lot.pk])
    warned = "Cabinet: 31 L of flammable liquid of categories 1 to 3, 1 L over the limit entered, 30 L."
    assert warned in words(finisher.get(address))
    page = words(finisher.post(address, move_form(cabinet, quantity="20"), follow=True))
    assert "20 L of lot A1: now in Cabinet." in page
    assert f"{warned} The local fire code decides" in page


def test_moving_what_fits_or_what_is_not_flammable_warns_of_nothing(
    finisher: Client, counter: Counter, lot: Lot, cabinet: Location
) -> None:
    address = reverse("lot_place", args=[lot.pk])
    assert "over the limit" not in words(finisher.get(address))
    counter.receive(lot.material, "31", number="C", location=cabinet)
    assert "over the limit" in words(finisher.get(address))
    Material.objects.filter(pk=lot.material_id).update(flammable_category=0)
    assert "over the limit" not in words(finisher.get(address))


@pytest.mark.parametrize("quantity", ["5", "10", "20"])
def test_a_form_sent_twice_moves_once_and_says_so(finisher: Client, lot: Lot, booth: Location, quantity: str) -> None:
    sent, address = move_form(booth, quantity=quantity), reverse("lot_place", args=[lot.pk])
    finisher.post(address, sent)
    before = (booked(), LotEvent.objects.count())
    assert "sent before. Nothing was moved again." in words(finisher.post(address, sent, follow=True))
    assert (booked(), LotEvent.objects.count()) == before


@pytest.mark.parametrize(
    ("data", "field"),
    [
        ({"quantity": "21"}, "quantity"),
        ({"quantity": ""}, "quantity"),
        ({"quantity": "3 kg"}, "quantity"),
        ({"to_location": ""}, "to_location"),
        ({"to_location": "99999"}, "to_location"),
        ({"on": "2999-01-01"}, "on"),
        ({"on": "2001-01-01"}, "on"),
        ({"reason": "x" * 201}, "reason"),
    ],
)
def test_a_move_that_cannot_be_is_told_at_its_field(
    finisher: Client, lot: Lot, booth: Location, data: dict[str, str], field: str
) -> None:
    assert list(errors(finisher.post(reverse("lot_place", args=[lot.pk]), move_form(booth, **data)))) == [field]
    assert (on_hand(lot), Lot.objects.count(), LotEvent.objects.count()) == (20, 1, 0)


def test_a_quarantine_place_is_for_those_who_may_set_aside(
    office: Client, finisher: Client, lot: Lot, apart: Location, booth: Location
) -> None:
    address = reverse("lot_place", args=[lot.pk])
    assert list(errors(finisher.post(address, move_form(apart, quantity="20")))) == ["to_location"]
    page = words(office.post(address, move_form(apart, quantity="20"), follow=True))
    assert "Nothing is taken from there until it is moved again." in page
    assert "In quarantine: it stands in Quarantine shelf" in page
    assert finisher.get(address).status_code == 403
    assert finisher.post(address, move_form(booth, quantity="20")).status_code == 403
    assert address not in finisher.get(lot.get_absolute_url()).text
    office.post(address, move_form(booth, quantity="20"))
    assert "In quarantine" not in words(finisher.get(lot.get_absolute_url()))


def test_a_lot_set_aside_by_word_stays_so_wherever_it_goes(office: Client, lot: Lot, booth: Location, counter: Counter) -> None:
    quarantine_lot(lot=lot, reason="lumps", by=counter.by)
    page = words(office.post(reverse("lot_place", args=[lot.pk]), move_form(booth, quantity="20"), follow=True))
    assert "In quarantine: lumps" in page


def test_what_cannot_be_moved_says_why(finisher: Client, office: Client, lot: Lot, counter: Counter) -> None:
    address = reverse("lot_place", args=[lot.pk])
    assert "The office enters places." in words(finisher.get(address))
    assert "Enter a place" in words(office.get(address))
    counter.issue(lot.material, "20")
    assert "This lot is used up." in words(finisher.get(address))


# ---------------------------------------------------------------- who may


@pytest.mark.parametrize("role", list(Role))
def test_who_may_see_enter_and_move(role: Role, as_role: Callable[[str], Client], lot: Lot, cabinet: Location) -> None:
    client, allowed = as_role(role), permissions_of(frozenset({role}))
    change, issue = "inventory.change_materials" in allowed, "inventory.issue" in allowed
    expected = {
        reverse("locations"): True,
        cabinet.get_absolute_url(): True,
        reverse("location_new"): change,
        reverse("location_edit", args=[cabinet.pk]): change,
        reverse("lot_place", args=[lot.pk]): issue,
    }
    assert {address: client.get(address).status_code for address in expected} == {
        address: 200 if may else 403 for address, may in expected.items()
    }
    assert ("$" in client.get(reverse("locations")).text) == ("costing.see_costs" in allowed)
    assert (client.post(reverse("location_new"), form()).status_code == 302) == change
    assert Location.objects.filter(name="Attic").exists() == change
    assert (client.post(reverse("lot_place", args=[lot.pk]), move_form(cabinet)).status_code == 302) == issue
    assert (on_hand(lot) == 15) == issue


@pytest.mark.parametrize("name", ["locations", "location_new"])
def test_a_stranger_is_sent_to_the_sign_in_page(name: str) -> None:
    assert Client().get(reverse(name)).url.startswith(reverse("login"))


@pytest.mark.parametrize("name", ["locations", "location"])
def test_a_page_asks_as_often_for_many_lots_as_for_few(
    office: Client, counter: Counter, clear: Material, cabinet: Location, name: str
) -> None:
    def fill(first: int, last: int) -> None:
        for number in range(first, last):
            place = Location.objects.create(name=f"Place {number}", limit_category_1_to_3=1)
            material = Material.objects.create(
                code=f"M{number}", name=f"M{number}", kind="coating", flammable_category=2, usual_location=cabinet
            )
            for to in (place, cabinet):
                counter.receive(material, "4", location=to)

    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert office.get(reverse(name, args=[cabinet.pk] if name == "location" else None)).status_code == 200
        return len(captured)

    fill(0, 3)
    queries()  # the first page of a process reads what later pages have in memory
    few = queries()
    fill(3, 15)
    assert queries() == few <= 15
