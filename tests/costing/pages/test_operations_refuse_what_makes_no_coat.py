"""What makes no coat, or belongs to a coat only, is told at its field; nothing is saved and what was typed stays."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from tests.costing.pages.operation import coat, step, with_rows
from tests.costing.pages.shop import Workshop


def refused(client: Client, workshop: Workshop, data: dict[str, str]) -> Any:
    response = client.post(reverse("operation_new", args=[workshop.system.pk]), data)
    assert response.status_code == 422
    assert workshop.system.operations.count() == 3
    return response.context["page"]


@pytest.mark.parametrize(
    ("changed", "field", "message"),
    [
        ({"wet_film": ""}, "wet_film", "Give the wet film or the dry film of this coat."),
        ({"dry_film": "40"}, "dry_film", "Give the wet film or the dry film, not both: empty one of them."),
        (
            {"wet_film": "3 mm"},
            "wet_film",
            "“mm” is a length; this needs a film thickness. Write for example 100, 100 µm or 4 mil.",
        ),
        ({"wet_film": "5000"}, "wet_film", "This must be 2000 µm or less."),
        ({"wet_film": "", "dry_film": "0"}, "dry_film", "This must be 1 µm or more."),
        ({"setup": ""}, "setup", "A coat needs a spray setup: choose one."),
        ({"thinner": ""}, "thinner", "Which thinner? Choose it, or empty the thinning."),
        ({"thinning_percent": ""}, "thinning_percent", "How much thinner? Give the percent, or choose no thinner."),
        ({"thinning_percent": "-5"}, "thinning_percent", "This must be 0 or more."),
        ({"thinning_percent": "NaN"}, "thinning_percent", "“NaN” can’t be read as a number. Write for example 1.05."),
        ({"pot_life_min": "0"}, "pot_life_min", "This must be 1 min or more."),
        ({"spray_rate": "fast"}, "spray_rate", "“fast” can’t be read as a rate of work. Write for example 20 or 20 m²/h."),
        ({"spray_rate": "0"}, "spray_rate", "This must be 0.1 m²/h or more."),
        ({"crew": "0"}, "crew", "This must be 1 or more."),
        ({"crew": "half"}, "crew", "Write a whole number, for example 24."),
        ({"name": ""}, "name", "Fill this in."),
        ({"key": ""}, "key", "This form is out of date. Reload the page and send it again; nothing was saved."),
    ],
)
def test_a_coat_that_cannot_be(estimator: Client, workshop: Workshop, changed: dict[str, str], field: str, message: str) -> None:
    page = refused(estimator, workshop, coat(workshop, **changed))

    assert page.form.errors == {field: [message]}


def test_a_coat_without_a_mix_is_told(estimator: Client, workshop: Workshop) -> None:
    page = refused(estimator, workshop, with_rows(coat(workshop), mix=()))

    assert page.mix.non_form_errors() == ["A coat is mixed from something: give at least one material with its parts by volume."]


@pytest.mark.parametrize("parts", ["0", "-1"])
def test_parts_of_a_mix_are_more_than_nothing(estimator: Client, workshop: Workshop, parts: str) -> None:
    page = refused(estimator, workshop, with_rows(coat(workshop), mix=({"material": workshop.base.pk, "parts": parts},)))

    assert page.mix.forms[0].errors == {"parts": ["A part is more than 0. Write for example 10."]}


def test_a_material_stands_once_in_a_mix(estimator: Client, workshop: Workshop) -> None:
    twice = ({"material": workshop.base.pk, "parts": 10}, {"material": workshop.base.pk, "parts": 1})

    page = refused(estimator, workshop, with_rows(coat(workshop), mix=twice))

    assert page.mix.forms[1].errors == {"material": ["Each material stands once in a mix: add the parts up, or choose another."]}


def test_a_supply_is_no_part_of_a_mix_and_a_coating_no_supply(estimator: Client, workshop: Workshop) -> None:
    data = with_rows(
        coat(workshop),
        mix=({"material": workshop.liner.pk, "parts": 1},),
        supplies=({"material": workshop.hardener.pk, "quantity": "1", "driver": "operation"},),
    )

    page = refused(estimator, workshop, data)

    assert "one of those listed" in page.mix.forms[0].errors["material"][0]
    assert "one of those listed" in page.supplies.forms[0].errors["material"][0]


@pytest.mark.parametrize(
    ("quantity", "message"),
    [
        ("2 m", "“m” is a length; this needs a volume. Write for example 0.85, 850 ml, 1 gal or 30 fl oz."),
        ("0", "This must be above 0 L."),
        ("a bit", "“a bit” can't be read as a volume. Write for example 0.85, 850 ml, 1 gal or 30 fl oz."),
    ],
)
def test_a_supply_is_measured_as_its_material_is(estimator: Client, workshop: Workshop, quantity: str, message: str) -> None:
    line = {"material": workshop.cleaner.pk, "quantity": quantity, "driver": "operation"}

    page = refused(estimator, workshop, with_rows(coat(workshop), supplies=(line,)))

    assert page.supplies.forms[0].errors == {"quantity": [message]}


def test_a_rate_goes_with_the_area(estimator: Client, workshop: Workshop) -> None:
    line = {"label": "Sand", "minutes": "20 m²/h", "driver": "piece"}

    page = refused(estimator, workshop, with_rows(coat(workshop), work=(line,)))

    assert page.work.forms[0].errors == {"driver": ["A rate of work goes with the area: choose per m²."]}


@pytest.mark.parametrize("driver", ["labour hour", "overspray kg"])
def test_time_does_not_follow_from_labour_or_overspray(estimator: Client, workshop: Workshop, driver: str) -> None:
    line = {"label": "Sand", "minutes": "1", "driver": driver}

    page = refused(estimator, workshop, with_rows(coat(workshop), work=(line,)))

    assert "one of those listed" in page.work.forms[0].errors["driver"][0]


def test_what_belongs_to_a_coat_is_refused_elsewhere(estimator: Client, workshop: Workshop) -> None:
    page = refused(estimator, workshop, coat(workshop, kind="abrade"))

    told = "Only a coat has this. Empty it, or choose the kind Coat."
    assert page.form.errors["setup"] == page.form.errors["wet_film"] == page.form.errors["dry_minutes"] == [told]
    assert page.mix.non_form_errors() == ["Only a coat has a mix. Remove these rows, or choose the kind Coat."]
    assert page.supplies.forms[0].errors == {"driver": ["Only a coat has batches, fills and overspray: choose another."]}


def test_rows_with_faults_keep_what_was_typed(estimator: Client, workshop: Workshop) -> None:
    data = with_rows(step(workshop), work=({"label": "Sand edges", "minutes": "long", "driver": "m2"},))

    response = estimator.post(reverse("operation_new", args=[workshop.system.pk]), data)

    assert response.status_code == 422
    assert 'value="Sand edges"' in response.text
    assert 'value="long"' in response.text
    assert "Something in the rows has to be put right" in response.text
