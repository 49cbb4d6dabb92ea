"""The forms of quotes: what to offer, and why it was declined."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django import forms
from django.forms import BoundField

from costing.models import Customer, Estimate, Quote
from costing.services.estimating import PricedOption
from costing.services.extras import LONGEST_NAME, MOST_EXTRAS, ExtraChoice
from costing.services.quoting import MOST_OPTIONS, Offer, OptionChoice, QuoteError
from finishing.forms import KeyedForm, MoneyFormField, PercentField
from finishing.models import Shop
from finishing.show import day
from inventory.forms.fields import day_box

LONGEST_VALIDITY = timedelta(days=730)
EXTRA_ROWS = range(1, MOST_EXTRAS + 1)
_EXAMPLE = "What the customer may add to any option, for example: new hinges. Leave empty what is not needed."


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownOption:
    """One system in the form: its price, and the fields that offer it."""

    option: PricedOption
    offered: BoundField
    label: BoundField
    seen_name: str  # of the hidden field that carries the price shown here, always the price of now


class QuoteForm(KeyedForm):
    """Up to three systems with their labels, for whom, until when, and the words around them."""

    title = forms.CharField(max_length=120, help_text="Printed as the subject of the quote.")
    customer = forms.ModelChoiceField(
        queryset=Customer.objects.all(), empty_label="Choose a customer", help_text="Name and address are printed on the quote."
    )
    valid_until = forms.DateField(label="Valid until", widget=day_box())
    deposit_share = PercentField(
        label="Deposit with the order", required=False, help_text="Of the price with tax; empty for none."
    )
    introduction = forms.CharField(required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 4}))
    terms = forms.CharField(required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 4}))

    def __init__(self, *args: Any, options: Sequence[PricedOption], today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.options, self.today = tuple(options), today
        for number in EXTRA_ROWS:
            self.fields[f"extra_name_{number}"] = forms.CharField(
                required=False, max_length=LONGEST_NAME, label=f"Extra {number}", help_text=_EXAMPLE if number == 1 else ""
            )
            self.fields[f"extra_net_{number}"] = MoneyFormField(required=False, label=f"Price of extra {number} before tax")
        for option in self.options:
            pk = option.system.pk
            self.fields[f"offer_{pk}"] = forms.BooleanField(required=False, label=f"Offer {option.system.name}")
            self.fields[f"label_{pk}"] = forms.CharField(
                required=False, max_length=60, label=f"Label of {option.system.name}", help_text="What the customer calls it."
            )
            self.fields[f"seen_{pk}"] = forms.DecimalField(
                required=False, widget=forms.HiddenInput, initial=option.price.net, label="Price seen"
            )

    def shown_options(self) -> list[ShownOption]:
        """The systems with their fields, in the estimate's order."""
        return [
            ShownOption(
                option=option,
                offered=self[f"offer_{option.system.pk}"],
                label=self[f"label_{option.system.pk}"],
                seen_name=self[f"seen_{option.system.pk}"].html_name,
            )
            for option in self.options
        ]

    def shown_extras(self) -> list[BoundField]:
        """Name and price of each extra, in turn."""
        return [self[f"extra_{part}_{number}"] for number in EXTRA_ROWS for part in ("name", "net")]

    def clean_valid_until(self) -> date:
        """Today or later, and not beyond two years."""
        until: date = self.cleaned_data["valid_until"]
        if until < self.today:
            raise forms.ValidationError(f"This day has passed. Choose {day(self.today)} or later.", code="past")
        if until > self.today + LONGEST_VALIDITY:
            raise forms.ValidationError(f"Choose a day up to {day(self.today + LONGEST_VALIDITY)}.", code="far")
        return until

    def clean(self) -> dict[str, Any]:
        """One to three systems, and extras with a name and a price each."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        self._check_extras(cleaned)
        chosen = [option for option in self.options if cleaned.get(f"offer_{option.system.pk}")]
        if not chosen:
            self.refuse(QuoteError("Choose at least one system to offer.", field="options"))
        elif len(chosen) > MOST_OPTIONS:
            words = f"A quote offers up to three systems, and {len(chosen)} are ticked. Untick some of them."
            self.refuse(QuoteError(words, field="options"))
        return cleaned

    def _check_extras(self, cleaned: dict[str, Any]) -> None:
        for number in EXTRA_ROWS:
            name, net = f"extra_name_{number}", f"extra_net_{number}"
            if name in self.errors or net in self.errors:
                continue
            if cleaned.get(name) and cleaned.get(net) is None:
                self.add_error(net, "Give the price of this extra, or remove its name.")
            elif cleaned.get(net) is not None and not cleaned.get(name):
                self.add_error(name, "Name this extra, or remove its price.")

    def refuse(self, error: QuoteError) -> None:
        """Put a refusal where it can be mended: at the first system for a choice, at its field, or at the top."""
        field = f"offer_{self.options[0].system.pk}" if error.field == "options" and self.options else error.field
        field = "extra_name_1" if error.field == "extras" else field
        self.add_error(field if field in self.fields else None, str(error))

    def offer(self) -> Offer:
        """What the person decided."""
        given = self.cleaned_data
        return Offer(
            customer=given["customer"],
            valid_until=given["valid_until"],
            title=given["title"],
            introduction=given["introduction"],
            terms=given["terms"],
            deposit_share=given["deposit_share"] or Decimal(0),
            extras=tuple(
                ExtraChoice(name=given[f"extra_name_{number}"], net=given[f"extra_net_{number}"])
                for number in EXTRA_ROWS
                if given[f"extra_name_{number}"]
            ),
            options=tuple(
                OptionChoice(
                    system=option.system, label=given[f"label_{option.system.pk}"], seen_net=given[f"seen_{option.system.pk}"]
                )
                for option in self.options
                if given[f"offer_{option.system.pk}"]
            ),
        )


def first_values(estimate: Estimate, options: Sequence[PricedOption], shop: Shop, today: date) -> dict[str, Any]:
    """What a new quote's form starts with: the first three systems ticked, the shop's terms and validity."""
    values: dict[str, Any] = {
        "title": estimate.name,
        "customer": estimate.customer_id,
        "valid_until": today + timedelta(days=shop.quote_days),
        "terms": shop.quote_terms,
        "deposit_share": shop.deposit_share,
    }
    for number, option in enumerate(options):
        values[f"offer_{option.system.pk}"] = number < MOST_OPTIONS
        values[f"label_{option.system.pk}"] = option.system.name[:60]
    return values


def values_of(quote: Quote, options: Sequence[PricedOption], shop: Shop, today: date) -> dict[str, Any]:
    """What a revision's form starts with: the words and choices of the quote before it, with a fresh validity."""
    offered = {option.system_id: option.label for option in quote.options.all()}
    values: dict[str, Any] = {
        "title": quote.title,
        "customer": quote.customer_id,
        "valid_until": today + timedelta(days=shop.quote_days),
        "introduction": quote.introduction,
        "terms": quote.terms,
        "deposit_share": quote.deposit_share,
    }
    for option in options:
        values[f"offer_{option.system.pk}"] = option.system.pk in offered
        values[f"label_{option.system.pk}"] = offered.get(option.system.pk, option.system.name[:60])
    for number, extra in enumerate(quote.extras.all(), start=1):
        values[f"extra_name_{number}"], values[f"extra_net_{number}"] = extra.name, extra.net
    return values


class FollowUpForm(forms.Form):
    """When to ask after a quote, and what to remember then."""

    follow_up_on = forms.DateField(
        label="Follow up on", required=False, widget=day_box(), help_text="Empty takes the reminder away."
    )
    follow_up_note = forms.CharField(
        label="Note",
        required=False,
        max_length=300,
        help_text="For the shop only, for example: back from holiday, ask about the colour.",
        widget=forms.TextInput(attrs={"class": "wide", "autocomplete": "off"}),
    )


class DeclineForm(forms.Form):
    """Why the customer said no."""

    reason = forms.CharField(
        max_length=300,
        label="Why it was declined",
        help_text="In a few words, for example: price, date, another finish.",
        error_messages={"required": "Say in a few words why, so that the next price can learn from it."},
        widget=forms.TextInput(attrs={"class": "wide", "autocomplete": "off"}),
    )
