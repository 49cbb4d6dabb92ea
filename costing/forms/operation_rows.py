"""The rows below an operation: parts of its mix, time lines, supply lines; and the whole page as one form."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.http import QueryDict

from costing.choices import Driver, OperationKind
from costing.forms.fields import LineMinutesField, ListedField, PlainNumberField
from costing.forms.operations import NewOperationForm, OperationForm
from costing.forms.rows import row_set
from costing.models import CoatingSystem, Operation, SupplyLine
from costing.services.systems import MixPart, UseLine, WorkLine, save_operation
from finishing import show
from finishing.units import plain_number
from inventory.choices import MaterialKind, StockUnit
from inventory.forms.fields import StockQuantityField
from inventory.models import Material

FILM_MAKERS = frozenset({MaterialKind.COATING, MaterialKind.HARDENER, MaterialKind.THINNER})
NOT_SUPPLIES = frozenset({MaterialKind.COATING, MaterialKind.HARDENER})
LIQUID_UNITS = frozenset({StockUnit.LITRE, StockUnit.KILOGRAM})
COAT_DRIVERS = frozenset({Driver.BATCH, Driver.FILL, Driver.OVERSPRAY_KG})
TIME_DRIVERS = [(driver.value, driver.label) for driver in Driver if driver not in {Driver.LABOUR_HOUR, Driver.OVERSPRAY_KG}]
EMPTY_MIX = "A coat is mixed from something: give at least one material with its parts by volume."
NO_MIX = "Only a coat has a mix. Remove these rows, or choose the kind Coat."


def _fits() -> forms.Select:
    return forms.Select(attrs={"class": "fits"})


class _Row(forms.Form):
    material_kinds = "mix"

    def __init__(self, *args: Any, offered: Mapping[str, Mapping[str, Material]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields.get("material")
        if isinstance(field, ListedField):
            field.offer(offered[self.material_kinds], empty="Choose")


class MixRow(_Row):
    """A material of the mix and its parts."""

    material = ListedField(widget=_fits())
    parts = PlainNumberField(
        label="Parts by volume",
        min_value=Decimal("0.001"),
        max_value=Decimal(10_000),
        max_digits=8,
        decimal_places=3,
        error_messages={"min_value": "A part is more than 0. Write for example 10."},
    )


class WorkRow(_Row):
    """Minutes of work per driver."""

    label = forms.CharField(max_length=80, label="Work")
    minutes = LineMinutesField(label="Time", help_text="Minutes, or a rate such as 20 m²/h.")
    driver = forms.ChoiceField(choices=TIME_DRIVERS, initial=Driver.OPERATION.value, label="For each", widget=_fits())

    def clean(self) -> dict[str, Any]:
        """A rate of work goes with the area."""
        cleaned = super().clean() or self.cleaned_data
        field = self.fields["minutes"]
        if getattr(field, "is_rate", False) and "driver" in cleaned and cleaned["driver"] != Driver.M2:
            self.add_error("driver", "A rate of work goes with the area: choose per m².")
        return cleaned


class SupplyRow(_Row):
    """A supply per driver."""

    material_kinds = "supplies"

    material = ListedField(widget=_fits())
    quantity = forms.CharField(
        max_length=60,
        help_text="In the unit it is kept in, or with a unit: 50 ml.",
        widget=forms.TextInput(attrs={"inputmode": "text", "autocomplete": "off"}),
    )
    driver = forms.ChoiceField(choices=Driver.choices, initial=Driver.OPERATION.value, label="For each", widget=_fits())
    whole_units = forms.BooleanField(required=False, label="Whole units", help_text="Summed, then rounded up once.")

    def clean(self) -> dict[str, Any]:
        """Read the quantity in the material's own unit."""
        cleaned = super().clean() or self.cleaned_data
        material, text = cleaned.get("material"), cleaned.get("quantity")
        if material is not None and text:
            try:
                cleaned["quantity"] = _quantity_field(material).clean(text)
            except ValidationError as error:
                self.add_error("quantity", error)
        return cleaned


def _quantity_field(material: Material) -> StockQuantityField:
    return StockQuantityField(stock_unit=material.unit, system=show.preferences().units, maximum=Decimal(100_000))


MixRows = row_set(MixRow, extra=2, most=40)
WorkRows = row_set(WorkRow, extra=2, most=40)
SupplyRows = row_set(SupplyRow, extra=2, most=40)


class OperationPage:
    """The step and its three lists of rows, checked and saved together."""

    def __init__(self, data: QueryDict | None, *, system: CoatingSystem, operation: Operation | None = None) -> None:
        self.operation = operation or Operation(system=system)
        form = OperationForm if operation else NewOperationForm
        self.form: OperationForm = form(data, instance=self.operation)
        offered = _offered(operation)
        self.mix = MixRows(_whole(data, "mix"), prefix="mix", initial=_mix(operation), form_kwargs={"offered": offered})
        self.work = WorkRows(_whole(data, "work"), prefix="work", initial=_work(operation), form_kwargs={"offered": offered})
        self.supplies = SupplyRows(
            _whole(data, "supplies"), prefix="supplies", initial=_supplies(operation), form_kwargs={"offered": offered}
        )

        self._valid: bool | None = None

    @property
    def errors(self) -> bool:
        """True when something has to be put right."""
        return not self.is_valid()

    @property
    def is_bound(self) -> bool:
        """True when the page came back with data."""
        return bool(self.form.is_bound)

    def is_valid(self) -> bool:
        """Check every part, so that all that is wrong is told at once."""
        if self._valid is None:
            parts = (self.form, self.mix, self.work, self.supplies)
            for part in parts:
                part.is_valid()
            if self.is_bound:
                self._check_together()
            self._valid = all(part.is_valid() for part in parts)
        return self._valid

    def _check_together(self) -> None:
        self._check_mix()
        if self.form.cleaned_data.get("kind") not in {None, "", OperationKind.COAT}:
            self._refuse_coat_drivers()

    def _check_mix(self) -> None:
        kind = self.form.cleaned_data.get("kind")
        rows = self.mix.kept()
        problem = ""
        if kind == OperationKind.COAT and not rows:
            problem = EMPTY_MIX
        elif kind and kind != OperationKind.COAT and rows:
            problem = NO_MIX
        if problem:
            self.mix.non_form_errors().append(problem)
        seen: set[Any] = set()
        for row in rows:
            material = row.cleaned_data.get("material")
            if material is not None and material.pk in seen and "material" not in row.errors:
                row.add_error("material", "Each material stands once in a mix: add the parts up, or choose another.")
            seen.add(getattr(material, "pk", None))

    def _refuse_coat_drivers(self) -> None:
        for rows in (self.work, self.supplies):
            for row in rows.kept():
                if row.cleaned_data.get("driver") in COAT_DRIVERS:
                    row.add_error("driver", "Only a coat has batches, fills and overspray: choose another.")

    def save(self) -> Operation:
        """Save everything in one transaction."""
        return save_operation(
            self.form.save(commit=False),
            key=self.form.cleaned_data.get("key"),
            mix=[MixPart(material=row["material"], parts=row["parts"]) for row in _cleaned(self.mix)],
            work=[
                WorkLine(label=row["label"], driver=Driver(row["driver"]), minutes=row["minutes"]) for row in _cleaned(self.work)
            ],
            supplies=[
                UseLine(
                    material=row["material"],
                    driver=Driver(row["driver"]),
                    quantity=row["quantity"],
                    whole_units=row["whole_units"],
                )
                for row in _cleaned(self.supplies)
            ],
        )


def _cleaned(rows: Any) -> Iterable[dict[str, Any]]:
    return (row.cleaned_data for row in rows.kept())


def _whole(data: QueryDict | None, prefix: str) -> QueryDict | None:
    """The data with the row count that a folded-away list does not send."""
    if data is None or f"{prefix}-TOTAL_FORMS" in data:
        return data
    filled = data.copy()
    filled[f"{prefix}-TOTAL_FORMS"] = "0"
    filled[f"{prefix}-INITIAL_FORMS"] = "0"
    return filled


def _offered(operation: Operation | None) -> dict[str, dict[str, Material]]:
    """Materials that people may choose, in one query: those in use, and those that this operation names already."""
    wanted = Q(is_active=True)
    if operation is not None:
        wanted |= Q(components__operation=operation) | Q(supply_lines__operation=operation)
    materials = list(Material.objects.filter(wanted).distinct())
    return {
        "mix": {str(m.pk): m for m in materials if m.kind in FILM_MAKERS and m.stock_unit in LIQUID_UNITS},
        "supplies": {str(m.pk): m for m in materials if m.kind not in NOT_SUPPLIES},
    }


def _mix(operation: Operation | None) -> list[dict[str, Any]]:
    parts = operation.components.all() if operation else ()
    return [{"material": str(part.material_id), "parts": part.parts} for part in parts]


def _work(operation: Operation | None) -> list[dict[str, Any]]:
    lines = operation.time_lines.all() if operation else ()
    return [{"label": line.label, "minutes": line.minutes, "driver": line.driver} for line in lines]


def _supplies(operation: Operation | None) -> list[dict[str, Any]]:
    lines = operation.supply_lines.select_related("material") if operation else ()
    rows = []
    for line in lines:
        field = _quantity_field(line.material)
        rows.append(
            {
                "material": str(line.material_id),
                "quantity": _shortest(line, field),
                "driver": line.driver,
                "whole_units": line.whole_units,
            }
        )
    return rows


def _shortest(line: SupplyLine, field: StockQuantityField) -> str:
    """A stored quantity with its unit: the shop's own, or the stock unit where that is shorter to read."""
    typed = str(field.prepare_value(line.quantity))
    own = typed if any(letter.isalpha() for letter in typed) else f"{typed} {field.unit}"
    stock = f"{plain_number(line.quantity)} {line.material.stock_unit}"
    return min(own, stock, key=len)
