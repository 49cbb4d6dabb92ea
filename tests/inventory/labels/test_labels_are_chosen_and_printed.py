"""The page of labels: what is offered, what the file holds, what is remembered, what is refused."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from finishing.models import Shop
from finishing.roles import Role, permissions_of
from inventory.documents.labels_sheet import PRESETS
from inventory.forms.labels import MOST_LABELS, MOST_SUBJECTS
from inventory.models import LabelSheet, Location, Lot, Material, Pack
from tests.inventory.labels.reading import decode, lines
from tests.inventory.labels.reading import words as pages
from tests.inventory.pages.shop import Shelf, errors, words

A4 = {
    "paper": "A4",
    "columns": "3",
    "rows": "7",
    "left": "7.25",
    "top": "15.15",
    "across": "66",
    "down": "38.1",
    "width": "63.5",
    "height": "38.1",
    "first": "1",
    "copies": "1",
}


def send(client: Client, **data: Any) -> Any:
    return client.post(reverse("labels"), {**A4, **{name.replace("__", "-"): value for name, value in data.items()}})


def pdf(response: Any) -> bytes:
    assert response.status_code == 200
    assert response["Content-Type"] == "application/pdf"
    assert response["Content-Disposition"].startswith('attachment; filename="labels-2')
    return response.content


def boxes(client: Client, address: str) -> dict[str, str]:
    """The boxes for how many, with what stands in them."""
    form = client.get(address).context["form"]
    return {field.name: str(field.value() or "") for _, field in (*form.lot_fields, *form.shelf_fields)}


def test_a_lot_a_delivery_and_shelves_are_chosen_by_the_address(
    office: Client, shelf: Shelf, clear: Material, liner: Material
) -> None:
    one, two = shelf.lot(clear, number="A"), shelf.lot(liner, number="B", expires_in=None)
    Lot.objects.filter(pk=two.pk).update(containers=4)
    posting = two.movements.get().posting_id
    labels = reverse("labels")
    assert boxes(office, f"{labels}?lot={one.pk}") == {f"lot-{one.pk}": "1"}
    assert boxes(office, f"{labels}?posting={posting}") == {f"lot-{two.pk}": "4"}
    assert boxes(office, f"{labels}?lot={one.pk}&posting={posting}&shelf={clear.pk}") == {
        f"lot-{one.pk}": "1",
        f"lot-{two.pk}": "4",
        f"shelf-{clear.pk}": "1",
    }
    assert boxes(office, f"{labels}?lot=x&lot=²&posting=-1") == {}


def test_the_filter_of_the_list_of_lots_is_kept(office: Client, shelf: Shelf, clear: Material, liner: Material) -> None:
    one = shelf.lot(clear, number="A")
    shelf.lot(liner, number="B", expires_in=None)
    page = office.get(reverse("lots"), {"text": "clear", "stock": "yes"})
    assert f'href="{reverse("labels")}?from=lots&amp;text=clear&amp;stock=yes"' in page.text
    assert boxes(office, f"{reverse('labels')}?from=lots&text=clear&stock=yes") == {f"lot-{one.pk}": "1"}


def test_what_is_looked_for_begins_with_no_labels(office: Client, shelf: Shelf, clear: Material, liner: Material) -> None:
    one = shelf.lot(clear, number="A-7")
    shelf.take(clear, "10", lot=shelf.lot(clear, number="A-8"))
    labels = reverse("labels")
    assert boxes(office, f"{labels}?what=lots&find=a-") == {f"lot-{one.pk}": ""}
    assert boxes(office, f"{labels}?what=shelves&find=liner") == {f"shelf-{liner.pk}": ""}
    assert boxes(office, f"{labels}?what=both&find=clear") == {f"lot-{one.pk}": "", f"shelf-{clear.pk}": ""}
    assert "Nothing was found." in words(office.get(f"{labels}?what=both&find=nowhere"))


def test_pages_lead_to_the_labels(office: Client, shelf: Shelf, clear: Material) -> None:
    lot = shelf.lot(clear)
    posting = lot.movements.get().posting_id
    assert f'{reverse("labels")}?lot={lot.pk}"' in office.get(reverse("lot", args=[lot.pk])).text
    assert f'{reverse("labels")}?posting={posting}"' in office.get(reverse("posting", args=[posting])).text


def test_the_file_holds_as_many_labels_as_were_asked_for(office: Client, shelf: Shelf, can: Pack, today: date) -> None:
    can.gtin = "9506000134352"
    can.save()
    lot = shelf.lot(can.material, number="C-9", supplier=can.supplier, expires_in=100)
    content = pdf(send(office, copies="2", **{f"lot__{lot.pk}": "3", f"shelf__{can.material_id}": "1"}))
    read = decode(content, 200)
    until = today + timedelta(days=100)
    assert read.squares == sorted(["0109506000134352"] + [f"010950600013435217{until:%y%m%d}10C-9"] * 6)
    assert read.bars == ["C-9"] * 6
    assert pages(content)[0].count("Clear coat") == 7


def test_a_place_gets_a_label_of_its_own(office: Client, clear: Material) -> None:
    place = Location.objects.create(name="Paint shelf A", kind="flammables")
    assert f'{reverse("labels")}?place={place.pk}"' in office.get(place.get_absolute_url()).text
    page = office.get(f"{reverse('labels')}?place={place.pk}")
    assert [(one, field.value()) for one, field in page.context["form"].place_fields] == [(place, 1)]
    assert "Paint shelf A Place" in words(office.get(f"{reverse('labels')}?what=places&find=shelf"))
    content = pdf(send(office, **{f"place__{place.pk}": "2"}))
    assert decode(content, 200).squares == ["Paint shelf A"] * 2
    assert pages(content)[0].count("Flammables cabinet") == 2


def test_lots_stand_in_the_order_of_the_last_day_of_use_shown(office: Client, shelf: Shelf, clear: Material, today: date) -> None:
    clear.open_life_days = 30
    clear.save()
    late = shelf.lot(clear, number="OPEN", expires_in=300)
    Lot.objects.filter(pk=late.pk).update(opened_on=today)
    soon = shelf.lot(clear, number="SHUT", expires_in=90)
    named = {"lot": [soon.pk, late.pk]}
    fields = office.get(reverse("labels"), named).context["form"].lot_fields
    assert [lot.number for lot, _ in fields] == ["OPEN", "SHUT"]


def test_it_begins_at_the_first_free_label(office: Client, shelf: Shelf, clear: Material) -> None:
    lot = shelf.lot(clear, number="C-9")
    content = pdf(send(office, first="21", **{f"lot__{lot.pk}": "2"}))
    first, second = (page[0][1] for page in lines(content))
    assert (first.left > 390, first.top < 160) == (True, True)
    assert (second.left < 40, second.top > 780) == (True, True)


def test_edges_are_drawn_when_asked_for(office: Client, shelf: Shelf, clear: Material) -> None:
    lot = shelf.lot(clear)
    assert len(pdf(send(office, edges="on", **{f"lot__{lot.pk}": "1"}))) > len(pdf(send(office, **{f"lot__{lot.pk}": "1"})))


def test_the_sheet_is_remembered(office: Client, shelf: Shelf, clear: Material) -> None:
    lot = shelf.lot(clear)
    first = office.get(f"{reverse('labels')}?lot={lot.pk}").context["form"]
    assert (first["paper"].value(), first["width"].value()) == ("A4", "63.5")
    pdf(send(office, left="9", columns="2", **{f"lot__{lot.pk}": "1"}))
    pdf(send(office, left="8.5", columns="2", **{f"lot__{lot.pk}": "1"}))
    assert LabelSheet.objects.count() == 1
    again = office.get(f"{reverse('labels')}?lot={lot.pk}").context["form"]
    assert [again[name].value() for name in ("columns", "left", "top", "first")] == [2, "8.5", "15.15", 1]


def test_a_common_division_fills_in_its_measures_and_keeps_the_rest(office: Client, shelf: Shelf, clear: Material) -> None:
    lot = shelf.lot(clear)
    page = send(office, step="preset", preset="letter-2x5", first="4", left="odd", **{f"lot__{lot.pk}": "7"})
    form = page.context["form"]
    assert [form[name].value() for name in ("paper", "columns", "rows", "width", "first", f"lot-{lot.pk}")] == [
        "letter",
        2,
        5,
        "101.6",
        "4",
        "7",
    ]
    assert not form.is_bound
    assert LabelSheet.objects.count() == 0


@pytest.mark.parametrize("name", PRESETS)
def test_every_common_division_comes_back_from_its_own_form(office: Client, shelf: Shelf, clear: Material, name: str) -> None:
    lot = shelf.lot(clear)
    form = send(office, step="preset", preset=name, **{f"lot__{lot.pk}": "1"}).context["form"]
    measures = {field: str(form[field].value()) for field in A4}
    pdf(office.post(reverse("labels"), {**measures, f"lot-{lot.pk}": "1"}))
    kept = LabelSheet.objects.get()
    assert (kept.columns, kept.rows, kept.width) == (PRESETS[name].columns, PRESETS[name].rows, PRESETS[name].width)


def test_a_us_shop_measures_in_inches(office: Client, shelf: Shelf, clear: Material, us_shop: Shop) -> None:
    us_shop.page_size = "letter"
    us_shop.save()
    lot = shelf.lot(clear)
    form = office.get(f"{reverse('labels')}?lot={lot.pk}").context["form"]
    assert (form["paper"].value(), form["width"].value(), form["across"].value()) == ("letter", "2 5/8", "2 3/4")
    inches = {"paper": "letter", "rows": "10", "left": "3/16", "top": "0.5", "across": "2 3/4", "down": "1", "width": "2.625"}
    pdf(send(office, **inches, height="1", **{f"lot__{lot.pk}": "1"}))
    refused = send(office, **inches, height="1.2", **{f"lot__{lot.pk}": "1"})
    assert errors(refused) == {"down": ["Labels would overlap. The pitch is at least the label’s height, 1.2 in."]}


@pytest.mark.parametrize(
    ("changes", "field", "words_of_it"),
    [
        ({"across": "60"}, "across", "Labels would overlap. The pitch is at least the label’s width, 63.5 mm."),
        ({"rows": "8"}, "height", "The last row would pass the paper’s edge. The height is at most 15.15 mm."),
        ({"width": "30"}, "width", "A label this narrow has no room for a code that reads. At least 45 mm."),
        ({"first": "22"}, "first", "This sheet has 21 labels."),
        ({"first": "0"}, "first", "Write 1 or more."),
        ({"columns": "11"}, "columns", "Write 10 or less."),
        ({"left": "-1"}, "left", "This must be 0 mm or more."),
        ({"copies": "none"}, "copies", "Write a whole number."),
        ({"paper": "A3"}, "paper", "Choose one of those listed."),
    ],
)
def test_a_sheet_that_cannot_be_is_refused_at_its_field(
    office: Client, shelf: Shelf, clear: Material, changes: dict[str, str], field: str, words_of_it: str
) -> None:
    lot = shelf.lot(clear)
    page = send(office, **changes, **{f"lot__{lot.pk}": "5"})
    assert errors(page) == {field: [words_of_it]}
    assert page.context["form"][f"lot-{lot.pk}"].value() == "5"
    assert LabelSheet.objects.count() == 0


def test_numbers_that_make_no_file_are_refused(office: Client, shelf: Shelf, clear: Material) -> None:
    lot = shelf.lot(clear)
    name = f"lot__{lot.pk}"
    assert errors(send(office, **{name: ""})) == {"__all__": ["Write at least one number, so that there is something to print."]}
    assert errors(send(office, **{name: "201"})) == {f"lot-{lot.pk}": ["200 of one kind are the most in one file."]}
    assert errors(send(office, **{name: "-1"})) == {f"lot-{lot.pk}": ["Write 0 or more."]}
    assert errors(send(office, **{name: "a few"})) == {f"lot-{lot.pk}": ["Write a whole number, or leave it empty."]}
    too_many = errors(send(office, copies="3", **{name: "200"}))
    assert too_many == {"__all__": [f"These are 600 labels; one file holds {MOST_LABELS}. Make it in parts."]}


def test_nothing_chosen_is_refused_and_made_up_numbers_are_passed_over(office: Client, clear: Material) -> None:
    page = send(office, lot__999999="1", lot__x="1", shelf__="2")
    assert page.status_code == 200
    assert page.context["form"].errors
    assert "Nothing was found." in words(page)


def test_a_lot_that_has_no_room_is_told(office: Client, shelf: Shelf, clear: Material) -> None:
    clear.signal_word, clear.h_codes = "danger", ", ".join(f"H30{digit}" for digit in range(10))
    clear.save()
    lot = shelf.lot(clear, number="W" * 40, expires_in=-1)
    small = {"columns": "4", "rows": "10", "across": "45", "down": "20", "width": "45", "height": "20"}
    page = send(office, **small, **{f"lot__{lot.pk}": "1"})
    assert errors(page)["__all__"][0] == f"There is no room for Lot {'W' * 40} on 45 × 20 mm. Take larger labels."


def test_more_than_a_page_holds_is_told(office: Client, clear: Material) -> None:
    Lot.objects.bulk_create(
        Lot(material=clear, number=f"L-{number}", received_on=date(2026, 1, 1), unit_cost=1)
        for number in range(MOST_SUBJECTS + 3)
    )
    page = office.get(f"{reverse('labels')}?from=lots&stock=all")
    assert len(page.context["form"].lot_fields) == MOST_SUBJECTS
    assert "3 more are not shown." in words(page)


def test_an_empty_shop_is_told_what_to_do_first(office: Client) -> None:
    assert "There is nothing to label yet" in words(office.get(reverse("labels")))


@pytest.mark.parametrize("role", list(Role))
def test_only_those_who_handle_stock_print_labels(as_role: Callable[[str], Client], role: Role) -> None:
    allowed = "inventory.issue" in permissions_of(frozenset({role}))
    assert as_role(role).get(reverse("labels")).status_code == (200 if allowed else 403)
    assert Client().get(reverse("labels")).status_code == 302
