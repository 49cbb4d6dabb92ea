"""Two estimates, or two systems of one, held side by side line by line."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from costing.core.beside import Pair, Section, beside, lines_of
from costing.forms.fields import ListedField
from costing.models import Estimate, EstimateOption
from costing.services.estimating import CannotPriceError, PricedOption, price
from costing.tables.pricing import FixedTable, plain_table
from costing.wording import GROUP_WORDS
from finishing import show

LISTED = 150  # systems of the latest estimates to choose from


class BesideForm(forms.Form):
    """Which system of this estimate, and beside which of all."""

    one = ListedField(label="This estimate under")
    other = ListedField(label="Beside it")

    def __init__(self, data: Any, *, own: dict[str, EstimateOption], every: dict[str, EstimateOption]) -> None:
        super().__init__(data)
        for name, listed in (("one", own), ("other", every)):
            field = self.fields[name]
            if isinstance(field, ListedField):
                field.offer(listed, empty="Choose", words=_words)


def _words(option: EstimateOption) -> str:
    return f"{option.estimate.number} {option.estimate.name}: {option.system.name}"


@require_safe
@permission_required("costing.see_costs", raise_exception=True)
def estimate_beside(request: HttpRequest, pk: int) -> HttpResponse:
    """Both chosen estimates, one table for each kind of line."""
    found = get_object_or_404(Estimate, pk=pk)
    options = EstimateOption.objects.select_related("estimate", "system")
    own = {str(option.pk): option for option in options.filter(estimate=found).order_by("position", "pk")}
    latest = options.exclude(estimate=found).order_by("-estimate", "position", "pk")[:LISTED]
    every = {**own, **{str(option.pk): option for option in latest}}
    form = BesideForm(request.GET if "one" in request.GET else _first(own, every), own=own, every=every)
    context: dict[str, Any] = {
        "estimate": found,
        "form": form,
        "has_choice": len(every) > 1,
        "crumbs": [("Estimates", reverse("estimates")), (f"{found.number} {found.name}", found.get_absolute_url())],
    }
    status = 200
    if context["has_choice"] and form.is_valid():
        context.update(_compared(form.cleaned_data["one"], form.cleaned_data["other"]))
    elif "one" in request.GET:
        status = 422
    return render(request, "costing/pricing/beside.html", context, status=status)


def _first(own: dict[str, EstimateOption], every: dict[str, EstimateOption]) -> dict[str, str]:
    """This estimate's first system beside its second, or beside the latest other one."""
    one = next(iter(own), "")
    return {"one": one, "other": next((key for key in every if key != one), "")}


def _compared(one: EstimateOption, other: EstimateOption) -> dict[str, Any]:
    try:
        priced = [price(option.estimate, option.system) for option in (one, other)]
    except CannotPriceError as error:
        return {"problems": error.problems}
    lines = [lines_of(option.result, option.shown, price=option.price.net) for option in priced]
    pairs = beside(lines[0], lines[1])
    names = (_name(priced[0]), _name(priced[1]))
    tables = []
    for section in Section:
        rows = [pair for pair in pairs if pair.section is section]
        if rows:
            tables.append((section.value, _table(section, rows, names)))
    return {"tables": tables, "names": names}


def _name(option: PricedOption) -> str:
    return f"{option.inputs.estimate.number} {option.system.name}"


def _table(section: Section, pairs: list[Pair], names: tuple[str, str]) -> FixedTable:
    rows = [
        {
            "words": GROUP_WORDS.get(pair.words, pair.words),
            "one": _told(pair.one, pair.unit),
            "other": _told(pair.other, pair.unit),
            "difference": _signed(pair.difference, pair.unit),
            "share": _signed_share(pair.share),
        }
        for pair in pairs
    ]
    columns = (
        ("words", "Line", False),
        ("one", names[0], True),
        ("other", names[1], True),
        ("difference", "Difference", True),
        ("share", "Share", True),
    )
    return plain_table(columns, rows, caption=section.value, prefix=f"{section.name.lower()}-", hide_caption=True)


_TOLD: Mapping[str, Callable[[Decimal], str]] = {
    "money": show.money,
    "money/m²": show.per_area,
    "min": show.minutes,
    "count": lambda value: show.number(value, 0),
    "m²": show.area,
}


def _told(value: Decimal | None, unit: str) -> str:
    if value is None:
        return show.NOTHING
    tell = _TOLD.get(unit)
    return tell(value) if tell else show.quantity(value, unit)


def _signed(value: Decimal, unit: str) -> str:
    if not value:
        return show.NOTHING
    return f"{'+' if value > 0 else '−'}{_told(abs(value), unit)}"


def _signed_share(share: Decimal | None) -> str:
    if not share:
        return show.NOTHING
    return f"{'+' if share > 0 else '−'}{show.percent(abs(share))}"
