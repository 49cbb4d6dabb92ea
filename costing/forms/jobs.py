"""Forms of jobs: accepting a quote, and moving a job on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from django import forms

from costing.choices import JobStatus
from costing.models import QuoteExtra, QuoteOption
from costing.services.jobs import LATEST_START
from finishing import show
from finishing.forms import KeyedForm

USUAL_START = timedelta(days=7)


class AcceptForm(KeyedForm):
    """Which option the customer takes, and when the work starts."""

    option = forms.ChoiceField(label="Option that the customer takes", widget=forms.RadioSelect)
    extras = forms.MultipleChoiceField(
        label="Extras that the customer takes",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"invalid_choice": "This is no extra of the quote. Choose from those listed."},
    )
    starts_on = forms.DateField(
        label="Work starts on",
        help_text="The day by which the material must be here.",
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
    )

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        options: Sequence[QuoteOption],
        extras: Sequence[QuoteExtra] = (),
        today: date,
        **kwargs: Any,
    ) -> None:
        super().__init__(data, initial={"starts_on": today + USUAL_START}, **kwargs)
        self.options = {str(option.pk): option for option in options}
        self.today = today
        field = self.fields["option"]
        assert isinstance(field, forms.ChoiceField)  # noqa: S101 - tells the type checker what stands above
        field.choices = [(pk, f"{option.label}: {show.money(option.net)} before tax") for pk, option in self.options.items()]
        field.error_messages["required"] = "Choose the option that the customer takes."
        field.error_messages["invalid_choice"] = "This is no option of the quote. Choose one of those listed."
        self.offered_extras = {str(extra.pk): extra for extra in extras}
        added = self.fields["extras"]
        assert isinstance(added, forms.MultipleChoiceField)  # noqa: S101 - as above
        added.choices = [(pk, f"{extra.name}: {show.money(extra.net)} before tax") for pk, extra in self.offered_extras.items()]
        if not extras:
            del self.fields["extras"]
        if len(options) == 1:
            field.widget, field.initial = forms.HiddenInput(), str(options[0].pk)

    @property
    def chosen(self) -> QuoteOption:
        """The option that was chosen; needs a valid form."""
        return self.options[self.cleaned_data["option"]]

    @property
    def chosen_extras(self) -> list[QuoteExtra]:
        """The extras that were ticked; needs a valid form."""
        return [self.offered_extras[pk] for pk in self.cleaned_data.get("extras", [])]

    @property
    def start_shown(self) -> date:
        """The day for which the material is shown: the typed one where it can be read."""
        typed = self.cleaned_data.get("starts_on") if self.is_bound and self.errors is not None else None
        return typed or self.today + USUAL_START


class StartForm(forms.Form):
    """A day on which work would start, to ask what that does."""

    starts_on = forms.DateField(
        label="If work starts on",
        error_messages={"required": "Choose a day.", "invalid": "Choose a day."},
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
    )

    def __init__(self, data: Mapping[str, Any] | None = None, *, today: date) -> None:
        super().__init__(data, initial={"starts_on": today + USUAL_START})
        self.today = today

    def clean_starts_on(self) -> date:
        """From today on, two years at most, as a job may start."""
        day: date = self.cleaned_data["starts_on"]
        latest = self.today + LATEST_START
        if not self.today <= day <= latest:
            raise forms.ValidationError(f"Give a day from {show.day(self.today)} to {show.day(latest)}.")
        return day

    @property
    def start(self) -> date:
        """The day that is asked for: the typed one where it makes sense."""
        typed = self.cleaned_data.get("starts_on") if self.is_bound and self.errors is not None else None
        return typed or self.today + USUAL_START


class StatusForm(forms.Form):
    """Where a job goes next."""

    to = forms.ChoiceField(choices=[(status.value, status.label) for status in JobStatus])
