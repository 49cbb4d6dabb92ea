"""A figure is changed for one job, is marked, moves no other job, and can be put back."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.choices import AssumptionKind
from costing.models import Estimate, TimeLine
from costing.services.estimating import price
from finishing.models import User
from tests.costing.pricing.door_shop import DoorShop, set_shop

D = Decimal
Browser = Callable[[User], Client]


def url(doors: DoorShop) -> str:
    return reverse("estimate_assumptions", args=[doors.estimate.pk])


def cost(doors: DoorShop, estimate: Estimate | None = None) -> Decimal:
    return price(estimate or doors.estimate, doors.system).result.true_cost


def changes(doors: DoorShop) -> dict[str, Callable[[], object]]:
    """Each kind of assumption: its field with a new figure, and the same change made to the shop itself."""
    operation = doors.system.operations.get()
    time, supply = operation.time_lines.get(), operation.supply_lines.get(material=doors.cleaner)

    def store(thing: object, **values: object) -> Callable[[], object]:
        return lambda: type(thing).objects.filter(pk=thing.pk).update(**values)  # type: ignore[attr-defined]

    pack = doors.base.packs.get()
    return {
        f"efficiency-{doors.setup.pk}=50": store(doors.setup, transfer_efficiency=D("0.5")),
        f"rate-{operation.pk}=12.5": store(operation, spray_rate=D("12.5")),
        f"film-{operation.pk}=52": store(operation, dry_film=D(52)),
        f"drying-{operation.pk}=95": store(operation, dry_minutes=D(95)),
        f"minutes-{time.pk}=2.5": store(time, minutes=D("2.5")),
        f"amount-{supply.pk}=0.9": store(supply, quantity=D("0.9")),
        f"price-{doors.base.pk}=31": store(pack, price=D(155)),
        f"wage-{doors.labour.pk}=33": store(doors.labour, wage=D(33)),
        "booth-0=61": lambda: set_shop(booth_rate=D(61)),
        "disposal-0=7.5": lambda: set_shop(disposal_fee=D("7.5")),
        "rework-0=8": lambda: set_shop(rework_allowance=D("0.08")),
        "overhead-0=95": lambda: set_shop(overhead_rate=D("0.95")),
    }


@pytest.mark.parametrize("kind", AssumptionKind)
def test_it_costs_what_it_would_if_the_shop_had_that_figure(
    doors: DoorShop, as_: Browser, estimator: User, kind: AssumptionKind
) -> None:
    other = doors.add_estimate("Other doors", doors.system)
    before = cost(doors)
    ((asked, change),) = ((text, act) for text, act in changes(doors).items() if text.startswith(f"{kind}-"))
    name, value = asked.split("=")
    assert as_(estimator).post(url(doors), {name: value}).status_code == 302
    here = price(doors.estimate, doors.system)
    assert cost(doors, other) == before
    change()
    doors.estimate.assumptions.all().delete()
    there = price(doors.estimate, doors.system)
    assert (here.result.true_cost, here.result.elapsed_minutes) == (there.result.true_cost, there.result.elapsed_minutes)
    assert here.result.true_cost != before or kind is AssumptionKind.DRYING


def test_it_is_marked_wherever_the_figures_are_shown(doors: DoorShop, as_: Browser, estimator: User) -> None:
    browser = as_(estimator)
    browser.post(url(doors), {f"efficiency-{doors.setup.pk}": "50"})
    words = "For this job alone: transfer efficiency of Gravity cup is 50 % instead of 65 %."
    for name, args in (("estimate", []), ("estimate_option", [doors.system.pk])):
        assert words in browser.get(reverse(name, args=[doors.estimate.pk, *args])).text
    page = browser.get(url(doors)).text
    assert "changed for this job" in page
    assert 'value="50"' in page


def test_an_emptied_field_puts_it_back(doors: DoorShop, as_: Browser, estimator: User) -> None:
    before = cost(doors)
    browser = as_(estimator)
    browser.post(url(doors), {f"efficiency-{doors.setup.pk}": "50", "booth-0": "61"})
    assert doors.estimate.assumptions.count() == 2
    browser.post(url(doors), {f"efficiency-{doors.setup.pk}": "", "booth-0": "61"})
    assert [one.kind for one in doors.estimate.assumptions.all()] == ["booth"]
    browser.post(url(doors), {"put_back": "1"})
    assert cost(doors) == before
    assert "changed for this job" not in browser.get(url(doors)).text


def test_the_shop_s_own_figure_typed_again_is_no_change(doors: DoorShop, as_: Browser, estimator: User) -> None:
    as_(estimator).post(url(doors), {f"efficiency-{doors.setup.pk}": "65", f"price-{doors.base.pk}": "20.00"})
    assert not doors.estimate.assumptions.exists()


def test_a_figure_of_something_that_is_gone_goes_with_it(doors: DoorShop, as_: Browser, estimator: User) -> None:
    line = TimeLine.objects.get()
    browser = as_(estimator)
    browser.post(url(doors), {f"minutes-{line.pk}": "4", "booth-0": "61"})
    line.delete()
    assert cost(doors) > 0
    browser.post(url(doors), {"booth-0": "61"})
    assert [one.kind for one in doors.estimate.assumptions.all()] == ["booth"]


@pytest.mark.parametrize(
    ("name", "value"), [("efficiency", "0"), ("efficiency", "101"), ("film", "x"), ("wage", "-1"), ("rate", "0")]
)
def test_a_figure_without_sense_is_refused_at_its_field(
    doors: DoorShop, as_: Browser, estimator: User, name: str, value: str
) -> None:
    of = {"efficiency": doors.setup.pk, "wage": doors.labour.pk}.get(name, doors.system.operations.get().pk)
    answer = as_(estimator).post(url(doors), {f"{name}-{of}": value})
    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [f"{name}-{of}"]
    assert not doors.estimate.assumptions.exists()


def test_assumptions_are_for_those_who_estimate(doors: DoorShop, as_: Browser, office: User, finisher: User) -> None:
    assert as_(office).get(url(doors)).status_code == 403
    assert as_(finisher).get(url(doors)).status_code == 403
