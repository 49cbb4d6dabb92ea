"""The one field template: label, help, unit, and the error at its field."""

from __future__ import annotations

import re
from decimal import Decimal
from html.parser import HTMLParser

from django import forms

from finishing.forms import MeasureField
from finishing.units import Kind


class DeliveryForm(forms.Form):
    """A form with one field of each shape."""

    lot_number = forms.CharField(help_text="As printed on the can.")
    quantity = MeasureField(kind=Kind.VOLUME, above=Decimal(0))
    note = forms.CharField(required=False, widget=forms.Textarea)
    frozen = forms.BooleanField(required=False, label="It may have frozen")
    condition = forms.ChoiceField(choices=[("ok", "Sealed"), ("dent", "Dented")], widget=forms.RadioSelect)
    key = forms.UUIDField(widget=forms.HiddenInput)

    def clean(self) -> dict[str, object]:
        """One complaint about the whole."""
        cleaned = super().clean() or {}
        if cleaned.get("note") == "wrong":
            raise forms.ValidationError("The delivery does not fit its <order>.")
        return cleaned


GOOD = {
    "lot_number": "K-1",
    "quantity": "1 gal",
    "condition": "ok",
    "key": "7b0f4a2e-6f5a-4d0e-9a55-0a4d7d5b1c11",
}


class Elements(HTMLParser):
    """Start tags by element id or name."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.ids: dict[str, tuple[str, dict[str, str | None]]] = {}
        self.all: list[tuple[str, dict[str, str | None]]] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = (tag, dict(attrs))
        self.all.append(found)
        if "id" in found[1]:
            assert found[1]["id"] not in self.ids, f"two elements have the id {found[1]['id']}"
            self.ids[str(found[1]["id"])] = found


def test_a_field_with_an_error_is_marked_and_names_its_error() -> None:
    page = Elements(str(DeliveryForm({**GOOD, "quantity": "12 kg"})))
    tag, attrs = page.ids["id_quantity"]
    assert tag == "input"
    assert attrs["aria-invalid"] == "true"
    assert "id_quantity_error" in str(attrs["aria-describedby"]).split()
    assert page.ids["id_quantity_error"][0] == "ul"


def test_every_described_by_names_an_element_that_is_there() -> None:
    page = Elements(str(DeliveryForm({})))
    named = {name for _, attrs in page.all for name in str(attrs.get("aria-describedby") or "").split()}
    assert {"id_lot_number_helptext", "id_lot_number_error", "id_condition_error"} <= named
    assert named <= set(page.ids)


def test_a_field_without_error_is_not_marked() -> None:
    page = Elements(str(DeliveryForm({**GOOD, "quantity": "12 kg"})))
    assert "aria-invalid" not in page.ids["id_lot_number"][1]
    assert "id_lot_number_error" not in page.ids


def test_what_was_typed_stays() -> None:
    assert Elements(str(DeliveryForm({**GOOD, "quantity": "12 kg"}))).ids["id_quantity"][1]["value"] == "12 kg"


def test_every_label_belongs_to_an_input() -> None:
    page = Elements(str(DeliveryForm()))
    targets = [attrs["for"] for tag, attrs in page.all if tag == "label"]
    assert {"id_lot_number", "id_quantity", "id_note", "id_frozen"} <= set(targets)
    assert set(targets) <= set(page.ids)


def test_optional_fields_say_so_and_required_ones_do_not() -> None:
    html = str(DeliveryForm())
    label = dict(re.findall(r'<label for="(id_\w+)">(.*?)</label>', html))
    assert "(optional)" in label["id_note"]
    assert "(optional)" not in label["id_lot_number"]


def test_the_unit_of_a_bare_number_stands_beside_the_input() -> None:
    assert re.search(r'id="id_quantity".*?<span class="measure-unit"[^>]*>L</span>', str(DeliveryForm()), re.DOTALL)


def test_what_was_understood_is_shown() -> None:
    form = DeliveryForm(GOOD)
    assert form.is_valid()
    assert "Read as 1 gal = 3.785412 L" in str(form)
    assert "Read as" not in str(DeliveryForm())


def test_radios_stand_in_a_fieldset_with_a_legend() -> None:
    html = str(DeliveryForm())
    assert re.search(r"<fieldset[^>]*>\s*<legend>Condition</legend>", html)


def test_the_summary_links_to_each_field_and_escapes_what_it_repeats() -> None:
    html = str(DeliveryForm({**GOOD, "quantity": "12 kg", "note": "wrong"}))
    summary = html.split('class="error-summary"')[1].split("</div>")[0]
    assert "2 things to put right" in summary
    assert '<a href="#id_quantity">Quantity</a>' in summary
    assert "&lt;order&gt;" in summary
    assert "<order>" not in html


def test_a_form_without_errors_has_no_summary() -> None:
    assert "error-summary" not in str(DeliveryForm())
    assert "error-summary" not in str(DeliveryForm(GOOD))


def test_hidden_fields_are_kept() -> None:
    assert Elements(str(DeliveryForm(GOOD))).ids["id_key"][1]["type"] == "hidden"


def test_an_error_of_a_hidden_field_is_told_without_a_link() -> None:
    summary = str(DeliveryForm({**GOOD, "key": "nonsense"})).split('class="error-summary"')[1].split("</div>")[0]
    assert "Enter a valid UUID" in summary
    assert "#id_key" not in summary
