"""Lists of spray setups, labour classes, coating systems and customers."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.urls import reverse

from costing.models import CoatingSystem, Customer, LabourClass, SpraySetup
from costing.tables.columns import RIGHT, FigureColumn, InUseColumn
from finishing import show


def rate(value: Decimal) -> str:
    """A rate of work in m²/h as the shop reads it."""
    return f"{show.area(value)}/h"


class SetupTable(tables.Table):
    """Spray setups."""

    name = tables.Column(linkify=True)
    transfer_efficiency = FigureColumn(show.percent)
    cup_capacity = FigureColumn(show.pour, verbose_name="Cup")
    spray_rate = FigureColumn(rate, verbose_name="Sprays")
    is_active = InUseColumn(verbose_name="In use")

    class Meta:
        model = SpraySetup
        fields = ["name", "description", "transfer_efficiency", "cup_capacity", "spray_rate", "is_active"]
        caption = "Spray setups"


class LabourTable(tables.Table):
    """Labour classes with their loaded rate."""

    name = tables.Column(linkify=lambda record: reverse("labour_class_edit", args=[record.pk]))
    wage = FigureColumn(show.money, verbose_name="Wage per hour")
    burden = FigureColumn(show.percent)
    loaded = tables.Column(verbose_name="Loaded rate per hour", empty_values=(), orderable=False, attrs=RIGHT)
    is_active = InUseColumn(verbose_name="In use")

    class Meta:
        model = LabourClass
        fields = ["name", "wage", "burden", "loaded", "is_active"]
        caption = "Labour classes"

    def render_loaded(self, record: LabourClass) -> str:
        """Wage and burden together."""
        return show.money(record.wage * (1 + record.burden))


class LabourTableToRead(LabourTable):
    """The same list for somebody who may not change it."""

    name = tables.Column()


class SystemTable(tables.Table):
    """Coating systems with the number of their operations and coats."""

    name = tables.Column(linkify=True)
    operation_count = tables.Column(verbose_name="Operations", attrs=RIGHT)
    coat_count = tables.Column(verbose_name="Coats", attrs=RIGHT)
    customer_text = tables.Column(verbose_name="Words for the customer", orderable=False)
    is_active = InUseColumn(verbose_name="In use")

    class Meta:
        model = CoatingSystem
        fields = ["name", "operation_count", "coat_count", "customer_text", "is_active"]
        caption = "Coating systems"

    def render_customer_text(self, value: str) -> str:
        """The first words of them."""
        return value if len(value) <= 80 else f"{value[:78].rsplit(' ', 1)[0]} …"


class CustomerTable(tables.Table):
    """Customers."""

    name = tables.Column(linkify=True)
    estimate_count = tables.Column(verbose_name="Estimates", attrs=RIGHT)

    class Meta:
        model = Customer
        fields = ["name", "contact", "email", "phone", "estimate_count"]
        caption = "Customers"

    def render_email(self, value: Any) -> str:
        """Plain text: the customer's page has the link."""
        return str(value)
