"""A system's page says what is done, in order and in words, with the cautions that its materials call for."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from costing.models import CoatingSystem
from finishing.models import Shop
from finishing.units import UnitSystem
from tests.costing.pages.shop import Browser, Workshop


def page(client: Client, system: CoatingSystem) -> str:
    return " ".join(client.get(reverse("system", args=[system.pk])).text.split())


def test_it_tells_each_operation_in_words(estimator: Client, workshop: Workshop) -> None:
    text = page(estimator, workshop.system)

    for words in (
        "1. Abrade bare wood",
        "2. First coat",
        "3. Inspect",
        "Clear base 10 : Clear hardener 1 by volume, then 5 % Slow thinner",
        "40 µm",
        "Gravity gun",
        "1 h 30 min",
        "Sand: 4 min per m² (15 m²/h)",
        "Hang: 0.5 min per piece",
        "Cup liner: 1 pc per fill, counted in whole units",
        "Gun cleaner: 150 mL per batch",
        "1 × Finisher",
    ):
        assert words in text, words


def test_a_us_shop_reads_its_own_units(estimator: Client, workshop: Workshop) -> None:
    Shop(unit_system=UnitSystem.US).save()

    text = page(estimator, workshop.system)

    assert "1.57 mil" in text
    assert "Sand: 0.372 min per ft² (161.46 ft²/h)" in text
    assert "Gun cleaner: 5.07 fl oz per batch" in text


def test_a_hardener_that_harms_breathing_brings_its_caution_with_a_source(estimator: Client, workshop: Workshop) -> None:
    text = page(estimator, workshop.system)

    assert "supplied air" in text
    assert "In this system: Clear hardener." in text
    assert "29 CFR 1910.107" in text
    assert "safety data sheet, local codes and licensed practice first" in text


def test_without_hazard_codes_there_is_no_such_caution(estimator: Client, workshop: Workshop) -> None:
    workshop.coat.components.get(material=workshop.hardener).delete()

    assert "supplied air" not in page(estimator, workshop.system)


def test_it_says_which_technical_data_are_missing(estimator: Client, workshop: Workshop) -> None:
    workshop.base.volume_solids = None
    workshop.base.save()

    assert "Clear base has no volume solids entered." in page(estimator, workshop.system)


def test_an_empty_system_says_what_to_do_first(as_role: Browser, workshop: Workshop) -> None:
    empty = CoatingSystem.objects.create(name="Empty")

    assert "Add the first operation" in page(as_role("estimator"), empty)
    assert "Add the first operation" not in page(as_role("finisher"), empty)


def test_a_finisher_reads_it_and_changes_nothing(as_role: Browser, workshop: Workshop) -> None:
    text = page(as_role("finisher"), workshop.system)

    assert "2. First coat" in text
    for words in ("Move up", "Edit", "Remove", "Copy"):
        assert words not in text


def test_it_asks_as_often_for_many_operations_as_for_few(estimator: Client, workshop: Workshop) -> None:
    with CaptureQueriesContext(connection) as few:
        page(estimator, workshop.system)
    for number in range(4):
        operation = workshop.system.operations.create(
            position=10 + number,
            name=f"Coat {number}",
            kind="coat",
            labour_class=workshop.labour,
            setup=workshop.setup,
            wet_film=100,
        )
        operation.components.create(material=workshop.base, parts=1)
        operation.supply_lines.create(material=workshop.liner, quantity=1)
    with CaptureQueriesContext(connection) as many:
        page(estimator, workshop.system)

    assert len(few) == len(many) <= 9


def test_a_copy_has_the_same_operations_and_the_original_stays(estimator: Client, workshop: Workshop) -> None:
    response = estimator.post(reverse("system_copy", args=[workshop.system.pk]), {"name": "Clear satin, thick"})

    copy = CoatingSystem.objects.get(name="Clear satin, thick")
    assert response.url == copy.get_absolute_url()
    assert page(estimator, copy).count("Clear base 10 : Clear hardener 1") == 1
    assert [o.name for o in copy.operations.all()] == [o.name for o in workshop.system.operations.all()]
    copy.operations.all().delete()
    assert workshop.system.operations.count() == 3
    assert workshop.coat.components.count() == 2
    assert workshop.coat.supply_lines.count() == 2


@pytest.mark.parametrize("name", ["Clear satin", " Clear satin "])
def test_a_copy_needs_a_free_name(estimator: Client, workshop: Workshop, name: str) -> None:
    response = estimator.post(reverse("system_copy", args=[workshop.system.pk]), {"name": name})

    assert response.status_code == 422
    assert response.context["form"].errors["name"] == ["There is a coating system of this name already."]
    assert CoatingSystem.objects.count() == 1
