"""No page answers bad input in the framework's words."""

from __future__ import annotations

from typing import Any

import pytest
from django import forms
from django.core.exceptions import ValidationError


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        (forms.CharField(), "", "Fill this in."),
        (forms.DateField(), "", "Fill this in."),
        (forms.DateField(), "soon", "Write a day as year-month-day, for example 2026-05-01."),
        (forms.DateTimeField(), "soon", "Write a day and a time, for example 2026-05-01 14:30."),
        (forms.TimeField(), "noon", "Write a time, for example 14:30."),
        (forms.IntegerField(), "1.5", "Write a whole number, for example 24."),
        (forms.DecimalField(), "x", "Write a number, for example 2.5."),
        (forms.ChoiceField(choices=[("a", "A")]), "b", "Choose one of those listed."),
        (forms.EmailField(), "office", "Write an e-mail address, for example office@example.com."),
        (forms.CharField(max_length=3), "four", "Keep this to 3 characters; it has 4."),
        (forms.FileField(), None, "Choose a file."),
    ],
)
def test_a_field_says_what_would_be_right(field: forms.Field, typed: Any, words: str) -> None:
    with pytest.raises(ValidationError) as refused:
        field.clean(typed)
    assert refused.value.messages == [words]


def test_a_fields_own_words_come_first() -> None:
    with pytest.raises(ValidationError, match="Say why"):
        forms.CharField(error_messages={"required": "Say why."}).clean("")
