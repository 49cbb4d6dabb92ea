"""Pricing an estimate: its takeoff under each of its coating systems, at replacement prices.

``price_all`` is what pages ask: every option of the estimate, priced or with the reasons why it cannot be. ``price``
prices one system and raises what keeps it from being priced. Neither writes anything.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.urls import reverse
from django.utils import timezone

from costing.core import estimate as core_estimate
from costing.core import pricing as core_pricing
from costing.core.errors import CostingError
from costing.core.facts import MaterialFacts, MaterialKind
from costing.core.result import Estimate as Result
from costing.core.shown import ShownCost, shown_lines
from costing.core.takeoff import Takeoff
from costing.models import CoatingSystem, Estimate
from costing.services.assumptions import own_sentences
from costing.services.inputs import (
    PricingInputs,
    PricingProblem,
    PricingProblemError,
    core_materials_of,
    core_rates_of,
    core_system_of,
    core_takeoff_of,
    load_inputs,
    pot_life_of,
)
from finishing.models import Shop
from finishing.show import preferences_of
from inventory.models import Material

__all__ = ["CannotPriceError", "PricedOption", "PricingProblem", "UnpricedOption", "measure", "price", "price_all"]


class CannotPriceError(PricingProblemError):
    """A system that cannot be priced; ``problems`` say why in words and where to mend it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PricedOption:
    """One system priced on the estimate's takeoff."""

    system: CoatingSystem  # with operations, mixes and lines fetched
    result: Result  # the core's estimate, unrounded
    shown: ShownCost  # the cost groups as printed, and their sum
    price: core_pricing.Price  # from the shown true cost to net, tax and total
    warnings: tuple[str, ...]  # what the reader should know, in sentences
    inputs: PricingInputs
    is_priced: bool = True

    @property
    def materials(self) -> tuple[Material, ...]:
        """The materials that this system names."""
        return tuple(self.inputs.materials[int(key)] for key in self.result.materials)

    @property
    def price_per_m2(self) -> Decimal | None:
        """Net price over the finished area; None without area."""
        area = self.result.takeoff.area
        return self.price.net / Decimal(str(area)) if area else None


@dataclass(frozen=True, slots=True, kw_only=True)
class UnpricedOption:
    """One system that cannot be priced yet."""

    system: CoatingSystem
    problems: tuple[PricingProblem, ...]
    is_priced: bool = False


def price(estimate: Estimate, system: CoatingSystem, *, shop: Shop | None = None, on: date | None = None) -> PricedOption:
    """Price one system on an estimate's takeoff, at today's prices and allowances or those of ``on``.

    The system need not be among the estimate's options. Raises CannotPriceError.
    """
    inputs = load_inputs(estimate, [system.pk], shop=shop, on=on or timezone.localdate())
    try:
        return _price(inputs, inputs.systems[0], core_takeoff_of(inputs.estimate, inputs.rows))
    except PricingProblemError as error:
        raise CannotPriceError(error.problems) from error


def price_all(
    estimate: Estimate, *, shop: Shop | None = None, on: date | None = None
) -> tuple[PricedOption | UnpricedOption, ...]:
    """Every option of an estimate in its order, in a constant number of queries.

    What cannot be priced is answered as an UnpricedOption with its problems; the others are priced all the same.
    """
    chosen = list(estimate.options.order_by("position", "pk").values_list("system_id", flat=True))
    return price_inputs(load_inputs(estimate, chosen, shop=shop, on=on or timezone.localdate()))


def price_inputs(inputs: PricingInputs) -> tuple[PricedOption | UnpricedOption, ...]:
    """Every system of these inputs, priced or with its problems: for whoever changes an input in memory, to see what it does."""
    try:
        takeoff = core_takeoff_of(inputs.estimate, inputs.rows)
    except PricingProblemError as error:
        return tuple(UnpricedOption(system=system, problems=error.problems) for system in inputs.systems)
    return tuple(_price_or_say_why(inputs, system, takeoff) for system in inputs.systems)


def measure(estimate: Estimate) -> Takeoff:
    """The takeoff alone, for an estimate that has nothing to price yet. Raises CannotPriceError naming the bad rows."""
    try:
        return core_takeoff_of(estimate, tuple(estimate.rows.all()))
    except PricingProblemError as error:
        raise CannotPriceError(error.problems) from error


def _price_or_say_why(inputs: PricingInputs, system: CoatingSystem, takeoff: Takeoff) -> PricedOption | UnpricedOption:
    try:
        return _price(inputs, system, takeoff)
    except PricingProblemError as error:
        return UnpricedOption(system=system, problems=error.problems)


def _price(inputs: PricingInputs, system: CoatingSystem, takeoff: Takeoff) -> PricedOption:
    problems: list[PricingProblem] = []
    materials: dict[str, MaterialFacts] = {}
    core = None
    # Both are asked before either is told, so that one look shows all there is to mend.
    try:
        core = core_system_of(system, inputs.own)
    except PricingProblemError as error:
        problems.extend(error.problems)
    try:
        materials = core_materials_of(inputs, system)
    except PricingProblemError as error:
        problems.extend(error.problems)
    if core is None or problems:
        raise PricingProblemError(problems)
    try:
        result = core_estimate.estimate(
            takeoff=takeoff, system=core, materials=materials, rates=core_rates_of(inputs.shop, system, inputs.own)
        )
    except CostingError as error:
        raise PricingProblemError([problem_told(error, system)]) from error
    places = preferences_of(inputs.shop).places
    shown = shown_lines(result, places)
    return PricedOption(
        system=system,
        result=result,
        shown=shown,
        price=_priced(inputs, shown.true_cost, places),
        warnings=(*own_sentences(inputs, system), *(notice.text for notice in result.notices), *_warnings(inputs, system)),
        inputs=inputs,
    )


def terms_of(estimate: Estimate, shop: Shop) -> core_pricing.PriceTerms:
    """How this estimate makes a price of its cost: its own margin where it has one, else the shop's."""
    return core_pricing.PriceTerms(
        basis=core_pricing.PriceBasis.MARGIN,
        rate=shop.margin if estimate.margin is None else estimate.margin,
        minimum_charge=shop.minimum_charge,
        price_step=shop.price_step,
        tax_rate=shop.tax_rate,
    )


def _priced(inputs: PricingInputs, cost: Decimal, places: int) -> core_pricing.Price:
    try:
        return core_pricing.price(cost, terms_of(inputs.estimate, inputs.shop), places=places)
    except CostingError as error:
        own = inputs.estimate.margin is not None
        url = reverse("estimate_edit", args=[inputs.estimate.pk]) if own else reverse("shop_settings")
        words = "Change this estimate’s margin" if own else "Change the shop’s settings"
        raise PricingProblemError([PricingProblem(text=str(error), url=url, link_words=words)]) from error


def problem_told(error: CostingError, system: CoatingSystem) -> PricingProblem:
    """What the core could not do without, with the page of the material, operation or system that it is about."""
    about = getattr(error, "about", None)
    for operation in system.operations.all():
        if about == operation.name:
            url = reverse("operation_edit", args=[operation.pk])
            return PricingProblem(text=str(error), url=url, link_words="Mend the operation")
        materials = [component.material for component in operation.components.all()]
        materials += [line.material for line in operation.supply_lines.all()]
        materials += [operation.thinner] if operation.thinner else []
        for material in materials:
            if about == material.name:
                url = reverse("material_edit", args=[material.pk])
                return PricingProblem(text=str(error), url=url, link_words=f"Mend {material.name}")
    return PricingProblem(text=str(error), url=reverse("system", args=[system.pk]), link_words="Look at the system")


def _warnings(inputs: PricingInputs, system: CoatingSystem) -> list[str]:
    """What the arithmetic let pass and a reader should still know."""
    said = []
    for operation in system.operations.all():
        hardened = any(component.material.kind == MaterialKind.HARDENER for component in operation.components.all())
        if hardened and pot_life_of(operation) is None:
            said.append(f"“{operation.name}” has a hardener and no pot life, so it is reckoned as one batch.")
    stale = sorted({pack.material_id for pack in inputs.packs.values() if not pack.is_active} & _material_ids(system))
    said += [f"The usual pack of “{inputs.materials[pk].name}” is no longer on sale; its price may be old." for pk in stale]
    return said


def _material_ids(system: CoatingSystem) -> set[int]:
    found: set[int] = set()
    for operation in system.operations.all():
        found.update(component.material_id for component in operation.components.all())
        found.update(line.material_id for line in operation.supply_lines.all())
        if operation.thinner_id and operation.thinning_percent:
            found.add(operation.thinner_id)
    return found
