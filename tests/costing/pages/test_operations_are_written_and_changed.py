"""An operation is saved with its mix, time lines and supply lines as one thing."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.test import Client
from django.urls import reverse

from costing.models import Operation
from finishing.models import Shop
from finishing.units import UnitSystem
from tests.costing.pages.operation import coat, step, with_rows
from tests.costing.pages.shop import Workshop

D = Decimal


def add(client: Client, workshop: Workshop, data: dict[str, str]) -> Operation:
    response = client.post(reverse("operation_new", args=[workshop.system.pk]), data)
    assert response.status_code == 302, complaints(response)
    return workshop.system.operations.order_by("-pk")[0]


def complaints(response: Any) -> list[Any]:
    page = response.context["page"]
    return [page.form.errors, page.mix.errors, page.mix.non_form_errors(), page.work.errors, page.supplies.errors]


def test_a_coat_is_saved_with_everything_in_the_units_inside(estimator: Client, workshop: Workshop) -> None:
    made = add(estimator, workshop, coat(workshop))

    assert (made.position, made.wet_film, made.dry_film) == (4, D("101.6"), None)
    assert (made.pot_life_min, made.dry_minutes, made.stacking_minutes) == (120, D(90), D(720))
    assert [(part.material, part.parts) for part in made.components.all()] == [(workshop.base, D(10)), (workshop.hardener, D(1))]
    assert [(line.label, line.minutes, line.driver) for line in made.time_lines.all()] == [("Hang", D("0.5"), "piece")]
    assert [(line.material, line.quantity, line.driver) for line in made.supply_lines.all()] == [
        (workshop.cleaner, D("0.15"), "batch")
    ]


def test_a_rate_of_work_becomes_minutes_per_square_metre(estimator: Client, workshop: Workshop) -> None:
    data = with_rows(
        step(workshop),
        work=(
            {"label": "Sand", "minutes": "20 m²/h", "driver": "m2"},
            {"label": "Wipe", "minutes": "200 sq ft per hour", "driver": "m2"},
        ),
    )

    made = add(estimator, workshop, data)

    assert [line.minutes for line in made.time_lines.all()] == [D(3), D("3.2292")]


def test_a_shop_with_us_units_types_them(estimator: Client, workshop: Workshop) -> None:
    Shop(unit_system=UnitSystem.US).save()

    made = add(estimator, workshop, coat(workshop, wet_film="4", spray_rate="200"))

    assert (made.wet_film, made.spray_rate) == (D("101.6"), D("18.581"))
    page = estimator.get(reverse("operation_edit", args=[made.pk])).text
    assert 'value="4"' in page
    assert 'value="200"' in page


def test_an_operation_without_a_coat_is_saved_though_the_coat_was_folded_away(estimator: Client, workshop: Workshop) -> None:
    made = add(estimator, workshop, step(workshop))

    assert (made.name, made.zone, made.crew, made.setup) == ("Abrade", "show", 2, None)


def test_changing_replaces_the_lines(estimator: Client, workshop: Workshop) -> None:
    data = with_rows(coat(workshop, name="First coat, thin"), mix=({"material": workshop.base.pk, "parts": 1},), supplies=())

    response = estimator.post(reverse("operation_edit", args=[workshop.coat.pk]), data)

    assert response.url == reverse("system", args=[workshop.system.pk], fragment=f"operation-{workshop.coat.pk}")
    workshop.coat.refresh_from_db()
    assert workshop.coat.name == "First coat, thin"
    assert workshop.coat.position == 2
    assert workshop.coat.components.count() == 1
    assert not workshop.coat.supply_lines.exists()


def test_a_stored_row_that_nobody_touched_stays_and_a_ticked_one_goes(estimator: Client, workshop: Workshop) -> None:
    page = estimator.get(reverse("operation_edit", args=[workshop.coat.pk])).context["page"]
    data = {bound.html_name: _plain(bound.value()) for form in (page.form, *_forms(page)) for bound in form}
    for rows in (page.mix, page.work, page.supplies):
        data |= {bound.html_name: _plain(bound.value()) for bound in rows.management_form}
    data["supplies-0-DELETE"] = "on"

    response = estimator.post(reverse("operation_edit", args=[workshop.coat.pk]), data)

    assert response.status_code == 302, complaints(response)
    assert workshop.coat.components.count() == 2
    assert workshop.coat.time_lines.count() == 1
    assert [line.material for line in workshop.coat.supply_lines.all()] == [workshop.cleaner]
    assert workshop.coat.supply_lines.get().quantity == D("0.15")


def _forms(page: Any) -> list[Any]:
    return [*page.mix, *page.work, *page.supplies]


def _plain(value: object) -> str:
    return "" if value is None or value is False else str(value)


def test_a_coat_that_becomes_something_else_loses_its_coat(estimator: Client, workshop: Workshop) -> None:
    estimator.post(reverse("operation_edit", args=[workshop.coat.pk]), step(workshop))

    workshop.coat.refresh_from_db()
    assert (workshop.coat.kind, workshop.coat.setup, workshop.coat.dry_film) == ("abrade", None, None)
    assert not workshop.coat.components.exists()


def test_a_doubled_form_adds_one_operation(estimator: Client, workshop: Workshop) -> None:
    data = coat(workshop)

    first, second = (estimator.post(reverse("operation_new", args=[workshop.system.pk]), data) for _ in range(2))

    assert first.url == second.url
    assert workshop.system.operations.count() == 4
    assert workshop.system.operations.get(name="Top coat").components.count() == 2


def test_operations_move_and_the_gap_of_a_removed_one_closes(estimator: Client, workshop: Workshop) -> None:
    def order() -> list[tuple[int, str]]:
        return list(workshop.system.operations.values_list("position", "name"))

    estimator.post(reverse("operation_move", args=[workshop.inspect.pk]), {"to": "up"})
    assert order() == [(1, "Abrade bare wood"), (2, "Inspect"), (3, "First coat")]
    estimator.post(reverse("operation_move", args=[workshop.prepare.pk]), {"to": "up"})
    assert order()[0] == (1, "Abrade bare wood")
    estimator.post(reverse("operation_move", args=[workshop.prepare.pk]), {"to": "down"})
    assert order() == [(1, "Inspect"), (2, "Abrade bare wood"), (3, "First coat")]

    assert "Remove Abrade bare wood?" in estimator.get(reverse("operation_delete", args=[workshop.prepare.pk])).text
    assert workshop.system.operations.count() == 3
    estimator.post(reverse("operation_delete", args=[workshop.prepare.pk]))
    assert order() == [(1, "Inspect"), (2, "First coat")]


def test_what_is_no_longer_in_use_is_not_offered_but_kept_where_it_stands(estimator: Client, workshop: Workshop) -> None:
    for thing in (workshop.setup, workshop.labour, workshop.base, workshop.thinner):
        thing.is_active = False
        thing.save()

    fresh = estimator.get(reverse("operation_new", args=[workshop.system.pk])).text
    held = estimator.get(reverse("operation_edit", args=[workshop.coat.pk])).text

    for name in ("Gravity gun", "Finisher</option>", "Clear base", "Slow thinner"):
        assert name not in fresh
        assert name in held


def test_the_form_asks_as_often_for_many_lines_as_for_few(estimator: Client, workshop: Workshop) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    counts = []
    for _ in range(2):
        with CaptureQueriesContext(connection) as queries:
            estimator.get(reverse("operation_edit", args=[workshop.coat.pk]))
        counts.append(len(queries))
        for number in range(12):
            workshop.coat.time_lines.create(label=f"Line {number}", minutes=1)
            workshop.coat.supply_lines.create(material=workshop.liner, quantity=1)

    assert counts[0] == counts[1]
