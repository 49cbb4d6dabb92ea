"""Spray setups are typed in the units people have, and what cannot be is told at its field."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import SpraySetup
from finishing.models import Shop
from finishing.units import UnitSystem
from tests.costing.pages.shop import Workshop

D = Decimal
TYPED = {
    "name": "Pressure pot",
    "description": "2 L pot, 1.2 mm tip",
    "transfer_efficiency": "70 %",
    "cup_capacity": "2 L",
    "residue_per_fill": "60 ml",
    "residue_per_batch": "2 fl oz",
    "spray_rate": "300 sq ft/h",
    "start_pressure_kpa": "4 psi",
    "fill_minutes": "3",
    "batch_minutes": "0.1 h",
    "note": "",
    "is_active": "on",
}


def test_it_keeps_litres_square_metres_and_kilopascals(estimator: Client) -> None:
    response = estimator.post(reverse("setup_new"), TYPED)

    made = SpraySetup.objects.get()
    assert response.url == made.get_absolute_url()
    assert (made.transfer_efficiency, made.cup_capacity) == (D("0.7"), D(2))
    assert (made.residue_per_fill, made.residue_per_batch) == (D("0.06"), D("0.059147"))
    assert (made.spray_rate, made.start_pressure_kpa) == (D("27.871"), D("27.58"))
    assert (made.fill_minutes, made.batch_minutes) == (D(3), D(6))


def test_bare_volumes_are_millilitres_or_fluid_ounces(estimator: Client) -> None:
    estimator.post(reverse("setup_new"), TYPED | {"cup_capacity": "600"})
    assert SpraySetup.objects.get().cup_capacity == D("0.6")

    Shop(unit_system=UnitSystem.US).save()
    estimator.post(reverse("setup_new"), TYPED | {"name": "Other", "cup_capacity": "20"})
    other = SpraySetup.objects.get(name="Other")
    assert other.cup_capacity == D("0.591471")
    assert 'value="20"' in estimator.get(reverse("setup_edit", args=[other.pk])).text
    assert "20 fl oz" in estimator.get(other.get_absolute_url()).text


@pytest.mark.parametrize(
    ("changed", "field", "message"),
    [
        ({"transfer_efficiency": "0"}, "transfer_efficiency", "This must be between 1 and 100 %."),
        ({"transfer_efficiency": "101"}, "transfer_efficiency", "This must be between 1 and 100 %."),
        ({"transfer_efficiency": "-5"}, "transfer_efficiency", "This must be between 1 and 100 %."),
        ({"transfer_efficiency": "NaN"}, "transfer_efficiency", "This must be an ordinary number."),
        ({"transfer_efficiency": "good"}, "transfer_efficiency", "“good” can’t be read as a percentage. Write for example 35."),
        (
            {"cup_capacity": "60 ml"},
            "residue_per_fill",
            "This fills the whole cup: nothing could be sprayed. Give less than the 60 mL that the cup holds, or a larger cup.",
        ),
        (
            {"residue_per_fill": "3 L"},
            "residue_per_fill",
            "This fills the whole cup: nothing could be sprayed. Give less than the 2000 mL that the cup holds, or a larger cup.",
        ),
        ({"residue_per_batch": "-1"}, "residue_per_batch", "This must be 0 mL or more."),
        (
            {"cup_capacity": "2 kg"},
            "cup_capacity",
            "“kg” is a mass; this needs a volume. Write for example 0.85, 850 ml, 1 gal or 30 fl oz.",
        ),
        ({"cup_capacity": "0"}, "cup_capacity", "This must be 10 mL or more."),
        ({"spray_rate": "0"}, "spray_rate", "This must be 0.1 m²/h or more."),
        ({"spray_rate": "20 bar"}, "spray_rate", "“20 bar” can’t be read as a rate of work. Write for example 20 or 20 m²/h."),
        ({"name": ""}, "name", "Fill this in."),
        ({"name": "Gravity gun"}, "name", "There is a spray setup of this name already."),
    ],
)
def test_what_cannot_be_is_told_at_its_field(
    estimator: Client, workshop: Workshop, changed: dict[str, str], field: str, message: str
) -> None:
    response = estimator.post(reverse("setup_new"), TYPED | changed)

    assert response.status_code == 422
    assert response.context["form"].errors == {field: [message]}
    assert 'value="2 fl oz"' in response.text or "residue_per_batch" in changed
    assert SpraySetup.objects.count() == 1


def test_the_page_shows_who_uses_it_and_the_cautions_with_their_sources(estimator: Client, workshop: Workshop) -> None:
    text = " ".join(estimator.get(workshop.setup.get_absolute_url()).text.split())

    assert "Clear satin" in text
    assert "65 % of the sprayed solids" in text
    assert "29 CFR 1910.107" in text
    assert "common practice, no published source" in text
    assert "safety data sheet, local codes and licensed practice first" in text


def test_a_setup_is_changed(estimator: Client, workshop: Workshop) -> None:
    estimator.post(reverse("setup_edit", args=[workshop.setup.pk]), TYPED | {"name": "Gravity gun, new tip"})

    workshop.setup.refresh_from_db()
    assert workshop.setup.name == "Gravity gun, new tip"
    assert workshop.setup.history.count() == 2


def test_an_empty_list_says_what_to_do_first(estimator: Client) -> None:
    text = estimator.get(reverse("setups")).text

    assert "No spray setup yet" in text
    assert reverse("setup_new") in text
