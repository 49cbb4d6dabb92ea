"""The form of the shop's settings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from zoneinfo import available_timezones

from babel import Locale
from django import forms
from django.conf import settings
from django.forms import BoundField

from finishing import show
from finishing.forms import BOUNDS, MeasureField, MoneyFormField, PercentField
from finishing.models import Shop
from finishing.units import Kind, plain_number

LOCALES = (
    "en_US", "en_GB", "en_AU", "en_CA", "en_IE", "en_NZ", "en_ZA", "cs_CZ", "da_DK", "de_AT", "de_CH", "de_DE", "es_ES", "es_MX",
    "fi_FI", "fr_CA", "fr_FR", "it_IT", "nb_NO", "nl_NL", "pl_PL", "pt_BR", "pt_PT", "sv_SE",
)  # fmt: skip


_CONTINENTS = frozenset(
    ["Africa", "America", "Antarctica", "Arctic", "Asia", "Atlantic", "Australia", "Europe", "Indian", "Pacific"]
)  # of the time zone data base


def locale_choices(stored: str) -> list[tuple[str, str]]:
    """The ways of writing numbers and dates that are offered, and the one that is stored."""
    codes = (*LOCALES, stored) if stored and stored not in LOCALES else LOCALES
    return [(code, _locale_words(code)) for code in codes]


def _locale_words(code: str) -> str:
    try:
        return f"{Locale.parse(code).get_display_name('en')} ({code})"
    except (ValueError, LookupError):
        return code


def time_zone_choices(stored: str) -> list[tuple[str, str]]:
    """The places whose clock can be taken, the one that is stored, and first what the server is set to."""
    names = {name for name in available_timezones() if name.partition("/")[0] in _CONTINENTS} | ({stored} - {""})
    return [("", f"As the server is set ({settings.TIME_ZONE})"), *((name, name.replace("_", " ")) for name in sorted(names))]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopGroup:
    """A heading and the fields below it."""

    legend: str
    words: str
    css: str
    fields: tuple[BoundField, ...]


_GROUPS: tuple[tuple[str, str, str, tuple[str, ...]], ...] = (
    ("The shop", "Printed at the top of quotes and orders.", "fields-two", ("name", "email", "phone", "address")),
    ("How things are shown", "", "fields-two", ("unit_system", "page_size", "currency", "locale", "time_zone")),
    (
        "What the shop’s own work costs",
        "These go into every estimate.",
        "fields-two",
        ("booth_rate", "overhead_rate", "rework_allowance", "disposal_fee", "working_hours"),
    ),
    ("VOC", "Your permit and local rules decide; this program only compares.", "fields-two", ("voc_limit", "voc_recovered")),
    (
        "Prices and quotes",
        "",
        "fields-two",
        (
            "margin",
            "minimum_charge",
            "price_step",
            "tax_name",
            "tax_rate",
            "quote_days",
            "deposit_share",
            "cost_moved_share",
        ),
    ),
    ("Words on a quote", "", "", ("quote_terms",)),
    ("Stock", "", "fields-three", ("review_days", "service_level", "expiring_days")),
)


class HoursField(forms.DecimalField):
    """Hours, shown without needless zeros."""

    def prepare_value(self, value: Any) -> Any:
        """8.00 is shown as 8; what was typed stays."""
        return plain_number(value) if isinstance(value, Decimal) else value


def _days(label: str, most: int, **kwargs: Any) -> forms.IntegerField:
    widget = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "data-unit": "days"})
    return forms.IntegerField(label=label, min_value=1, max_value=most, widget=widget, error_messages=BOUNDS, **kwargs)


class ShopForm(forms.ModelForm):
    """The shop's settings in groups; rates are typed in percent, amounts in the shop's currency."""

    booth_rate = MoneyFormField(
        label="Booth rate per hour", help_text="Fans, filters, heat and the room, for an hour of booth time."
    )
    overhead_rate = PercentField(label="Overhead on labour", maximum=Decimal(20), help_text="Of the labour cost.")
    rework_allowance = PercentField(help_text="Of everything before it, for what has to be done twice.")
    disposal_fee = MoneyFormField(label="Disposal fee per litre", help_text="Of liquid waste. A US gallon is 3.785 L.")
    voc_recovered = PercentField(label="Recovered share of VOC", help_text="Caught and not emitted; 0 without equipment for it.")
    voc_limit = MeasureField(
        kind=Kind.VOC,
        places=2,
        label="VOC limit to compare with",
        required=False,
        minimum=Decimal(0),
        maximum=Decimal(2000),
        help_text="Content as applied, less water and exempt compounds.",
    )
    working_hours = HoursField(
        label="Working hours a day",
        error_messages=BOUNDS,
        min_value=Decimal("0.5"),
        max_value=Decimal(24),
        max_digits=4,
        decimal_places=2,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "data-unit": "h"}),
    )
    margin = PercentField(
        below=Decimal(1), maximum=Decimal("0.99"), help_text="Share of the price that is left after all cost. Always below 100 %."
    )
    minimum_charge = MoneyFormField(help_text="No job is offered for less.")
    price_step = MoneyFormField(label="Round prices up to", help_text="5 makes 1,201.20 into 1,205. 0 rounds nothing.")
    tax_rate = PercentField()
    deposit_share = PercentField(label="Deposit with the order", help_text="Of the price with tax; 0 asks for none.")
    cost_moved_share = PercentField(
        label="Tell when a quote’s cost has moved by",
        minimum=Decimal("0.001"),
        help_text="Up or down, since the quote was written. The quote itself stays as it is.",
    )
    quote_days = _days("Quotes are valid for", 365)
    review_days = _days("Days between orders", 90, help_text="How often the shop looks at the reorder list.")
    service_level = PercentField(
        label="Service target",
        minimum=Decimal("0.5"),
        maximum=Decimal("0.999"),
        help_text="Share of order cycles in which nothing runs out.",
    )
    expiring_days = _days("Warn before expiry", 365)
    locale = forms.ChoiceField(label="Numbers and dates as in", help_text="For reading. Numbers are always typed with a point.")

    time_zone = forms.ChoiceField(label="The shop’s clock", required=False, help_text="Decides when a day begins and ends.")

    class Meta:
        model = Shop
        fields = [name for _legend, _words, _css, names in _GROUPS for name in names]
        widgets = {"phone": forms.TextInput(attrs={"type": "tel", "autocomplete": "off"})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        locale = self.fields["locale"]
        if isinstance(locale, forms.ChoiceField):
            locale.choices = locale_choices(self.instance.locale)
        clock = self.fields["time_zone"]
        if isinstance(clock, forms.ChoiceField):
            clock.choices = time_zone_choices(self.instance.time_zone)
        limit = self.fields["voc_limit"]
        if isinstance(limit, MeasureField):
            limit.set_system(show.preferences().units)

    def shown_groups(self) -> Iterator[ShopGroup]:
        """The groups with their bound fields, in order."""
        for legend, words, css, names in _GROUPS:
            yield ShopGroup(legend=legend, words=words, css=css, fields=tuple(self[name] for name in names))
