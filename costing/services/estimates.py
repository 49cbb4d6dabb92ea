"""Estimates are made and changed with their customer and their systems in one go."""

from __future__ import annotations

from collections.abc import Sequence
from uuid import UUID

from django.db import transaction

from costing.models import CoatingSystem, Customer, Estimate, EstimateOption
from costing.services.once import create_once, made_by
from finishing.models import User


@transaction.atomic
def create_estimate(estimate: Estimate, *, new_customer: str, systems: Sequence[CoatingSystem], by: User, key: UUID) -> Estimate:
    """Make an estimate once: the same form again gives the one that it made."""
    earlier = made_by(Estimate, key)
    if earlier is not None:
        return earlier
    estimate.created_by = by
    if new_customer:
        estimate.customer = Customer.objects.create(name=new_customer)
    made = create_once(estimate, key=key)
    if made is estimate:
        set_options(made, systems)
    return made


@transaction.atomic
def change_estimate(estimate: Estimate, *, new_customer: str, systems: Sequence[CoatingSystem]) -> Estimate:
    """Change an estimate's words, customer and systems. Quotes that are written stay as they are."""
    if new_customer:
        estimate.customer = Customer.objects.create(name=new_customer)
    estimate.save()
    set_options(estimate, systems)
    return estimate


def set_options(estimate: Estimate, systems: Sequence[CoatingSystem]) -> None:
    """Price the estimate under exactly these systems, in this order."""
    stored = {option.system_id: option for option in estimate.options.all()}
    wanted = [system.pk for system in systems]
    estimate.options.exclude(system__in=wanted).delete()
    for position, system in enumerate(wanted, start=1):
        option = stored.get(system) or EstimateOption(estimate=estimate, system_id=system)
        option.position = position
        option.save()
