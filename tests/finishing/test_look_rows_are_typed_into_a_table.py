"""The table that a set of forms is typed into: column heads as labels, errors in the cell."""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.template.loader import render_to_string


class PieceForm(forms.Form):
    """One row of a takeoff."""

    name = forms.CharField(label="Piece", help_text="What it is")
    number = forms.IntegerField(label="Number", min_value=1)


PieceSet = forms.formset_factory(PieceForm, extra=1, can_delete=True)
DATA = {"rows-TOTAL_FORMS": "2", "rows-INITIAL_FORMS": "0", "rows-0-name": "Door", "rows-0-number": "24"}


def shown(formset: Any) -> str:
    return render_to_string("parts/formset_table.html", {"formset": formset, "caption": "Pieces"})


def inputs(html: str) -> dict[str, str]:
    """The tags of all inputs by name."""
    return {name: tag for tag in re.findall(r"<input[^>]*>", html) for name in re.findall(r'name="([^"]+)"', tag)}


def test_each_cell_is_named_by_its_column_and_row() -> None:
    found = inputs(shown(PieceSet(DATA, prefix="rows")))
    assert 'aria-label="Piece, row 1"' in found["rows-0-name"]
    assert 'aria-label="Number, row 2"' in found["rows-1-number"]
    assert 'aria-label="Remove, row 1"' in found["rows-0-DELETE"]


def test_an_error_stands_in_its_cell_and_is_named_by_the_input() -> None:
    formset = PieceSet({**DATA, "rows-0-number": "0"}, prefix="rows")
    assert not formset.is_valid()
    html = shown(formset)
    tag = inputs(html)["rows-0-number"]
    assert 'aria-invalid="true"' in tag
    assert "id_rows-0-number_error" in tag
    assert re.search(r'<td class="field-error">.*?id="id_rows-0-number_error".*?</td>', html, re.DOTALL)
    assert 'aria-invalid="true"' not in inputs(html)["rows-0-name"]


def test_help_stands_once_in_the_head_and_every_cell_points_to_it() -> None:
    html = shown(PieceSet(prefix="rows"))
    assert html.count('id="rows-name-help"') == 1
    assert 'aria-describedby="rows-name-help"' in inputs(html)["rows-0-name"]


def test_a_cell_with_help_and_an_error_points_to_both() -> None:
    formset = PieceSet({**DATA, "rows-0-name": ""}, prefix="rows")
    assert not formset.is_valid()
    assert 'aria-describedby="rows-name-help id_rows-0-name_error"' in inputs(shown(formset))["rows-0-name"]


def test_the_management_form_and_an_empty_row_to_copy_are_there() -> None:
    html = shown(PieceSet(prefix="rows"))
    assert 'name="rows-TOTAL_FORMS"' in inputs(html)["rows-TOTAL_FORMS"]
    template = re.search(r"<template data-formset-empty>(.*?)</template>", html, re.DOTALL)
    assert template
    assert 'name="rows-__prefix__-name"' in template.group(1)
    assert 'aria-label="Piece, row __row__"' in template.group(1)


def test_the_heads_are_column_heads() -> None:
    heads = re.findall(r'<th scope="col"[^>]*>(.*?)</th>', shown(PieceSet(prefix="rows")), re.DOTALL)
    words = [re.sub(r"<[^>]+>", " ", head).split() for head in heads]
    assert [line[0] for line in words] == ["Row", "Piece", "Number", "Remove"]


def test_what_a_person_typed_is_escaped() -> None:
    assert "<b>" not in shown(PieceSet({**DATA, "rows-0-name": "<b>x"}, prefix="rows"))
