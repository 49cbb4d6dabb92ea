"""Quantities and money are whole steps in the database and exact on SQLite and PostgreSQL alike."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.db.models import Sum

from finishing.fields import QuantityField, to_step
from inventory.models import Lot, Material

pytestmark = [pytest.mark.django_db, pytest.mark.database]


@pytest.fixture
def material() -> Material:
    return Material.objects.create(code="CLEAR", name="Clear", kind="coating")


def lot(material: Material, cost: str) -> Lot:
    return Lot.objects.create(material=material, number="1", received_on=date(2030, 1, 1), unit_cost=Decimal(cost))


def test_the_column_holds_whole_steps(material: Material) -> None:
    row = lot(material, "12.345678")
    with connection.cursor() as cursor:
        cursor.execute("select unit_cost from inventory_lot where id = %s", [row.pk])
        assert cursor.fetchone()[0] == 12345678


def test_a_sum_in_sql_has_no_noise(material: Material) -> None:
    for _ in range(30):
        lot(material, "0.1")
    assert Lot.objects.aggregate(total=Sum("unit_cost"))["total"] == Decimal(3)


def test_a_comparison_in_sql_is_exact(material: Material) -> None:
    lot(material, "0.3")
    assert Lot.objects.filter(unit_cost=Decimal("0.1") + Decimal("0.2")).count() == 1
    assert Lot.objects.filter(unit_cost__gt=Decimal("0.3")).count() == 0


def test_a_value_between_two_steps_is_refused(material: Material) -> None:
    with pytest.raises(ValueError, match="between two steps"):
        lot(material, "0.0000001")


def test_a_float_is_refused() -> None:
    with pytest.raises(TypeError, match="not a float"):
        QuantityField(name="quantity").to_python(0.1)


@pytest.mark.parametrize("text", ["abc", ""])
def test_text_is_refused_in_words(text: str) -> None:
    with pytest.raises(ValidationError, match="is not a number"):
        QuantityField(name="quantity").to_python(text or "?")


@pytest.mark.parametrize("value", ["NaN", "Infinity", "1e13"])
def test_what_is_not_an_amount_is_refused(material: Material, value: str) -> None:
    with pytest.raises(ValueError, match="not an amount"):
        lot(material, value)


def test_halves_of_a_step_go_up() -> None:
    assert to_step(Decimal("0.0000005")) == Decimal("0.000001")
