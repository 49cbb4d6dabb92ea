"""What the framework's own form fields say, in the words of the house: what would be right, not what is wrong."""

from __future__ import annotations

from django import forms
from django.core import validators

_WORDS: tuple[tuple[type[forms.Field], dict[str, str]], ...] = (
    (forms.Field, {"required": "Fill this in."}),
    (forms.CharField, {"required": "Fill this in."}),
    (forms.IntegerField, {"invalid": "Write a whole number, for example 24."}),
    (forms.FloatField, {"invalid": "Write a number, for example 2.5."}),
    (forms.DecimalField, {"invalid": "Write a number, for example 2.5."}),
    (forms.DateField, {"invalid": "Write a day as year-month-day, for example 2026-05-01."}),
    (forms.TimeField, {"invalid": "Write a time, for example 14:30."}),
    (forms.DateTimeField, {"invalid": "Write a day and a time, for example 2026-05-01 14:30."}),
    (forms.ChoiceField, {"invalid_choice": "Choose one of those listed."}),
    (forms.TypedChoiceField, {"invalid_choice": "Choose one of those listed."}),
    (forms.MultipleChoiceField, {"invalid_choice": "Choose one of those listed."}),
    (forms.TypedMultipleChoiceField, {"invalid_choice": "Choose one of those listed."}),
    (forms.ModelChoiceField, {"invalid_choice": "This can’t be chosen any more. Choose one of those listed."}),
    (forms.FileField, {"required": "Choose a file.", "empty": "This file is empty. Choose another one."}),
)


def use() -> None:
    """Put the words in place of the framework's. A field's own ``error_messages`` still come first."""
    for field, words in _WORDS:
        field.default_error_messages = {**field.default_error_messages, **words}
    validators.EmailValidator.message = "Write an e-mail address, for example office@example.com."
    validators.MaxLengthValidator.message = "Keep this to %(limit_value)d characters; it has %(show_value)d."
    validators.URLValidator.message = "Write a web address, for example https://example.com."
