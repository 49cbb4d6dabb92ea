"""A shop that finishes doors: the costing model's worked example as rows of the database, and ways to change it.

All prices are round, so that a cost can be followed with a pencil: base 20 a litre, hardener 50, cleaner 3, a liner 0.70;
labour 25 an hour loaded, booth 45 an hour.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

from django.utils import timezone

from costing.models import (
    CoatComponent,
    CoatingSystem,
    Customer,
    Estimate,
    EstimateOption,
    LabourClass,
    Operation,
    Quote,
    SpraySetup,
    SupplyLine,
    TakeoffRow,
    TimeLine,
)
from costing.services.quoting import Offer, OptionChoice, create_quote, send_quote
from finishing.models import Shop, User
from inventory.models import Material, Pack, Supplier

D = Decimal
TODAY = timezone.localdate


def set_shop(**values: Any) -> Shop:
    """The shop's settings, with these changed."""
    shop = Shop.current()
    for name, value in values.items():
        setattr(shop, name, value)
    shop.save()
    return shop


def material(code: str, kind: str, unit: str = "L", *, pack: tuple[str, str] | None = None, **facts: Any) -> Material:
    """A material, with its usual pack of (content, price) where one is given."""
    made = Material.objects.create(code=code, kind=kind, stock_unit=unit, **{"name": code.capitalize(), **facts})
    if pack is not None:
        supplier, _ = Supplier.objects.get_or_create(name="Invented Coatings")
        content, price = pack
        Pack.objects.create(
            material=made, supplier=supplier, description="pack", content=D(content), price=D(price), is_usual=True
        )
    return made


@dataclass
class DoorShop:
    """The worked example: one coat of base and hardener on 24 doors."""

    by: User
    shop: Shop = field(init=False)

    def __post_init__(self) -> None:
        self.shop = set_shop(
            name="Tür & Söhne",
            currency="EUR",
            locale="en_GB",
            booth_rate=D(45),
            overhead_rate=D("0.8"),
            rework_allowance=D("0.03"),
            disposal_fee=D("2.5"),
            margin=D("0.4"),
            minimum_charge=D(100),
            price_step=D(5),
            tax_rate=D("0.19"),
            tax_name="VAT",
            voc_limit=D(420),
        )
        self.base = material(
            "base", "coating", pack=("5", "100"), volume_solids=D(34), density=D(1), mass_solids=D(38), voc=D(500)
        )
        self.hardener = material("hardener", "hardener", pack=("1", "50"), volume_solids=D(60), density=D("1.05"), voc=D(400),
                                 mass_solids=D(65), h_codes="H334")  # fmt: skip
        self.cleaner = material("cleaner", "cleaner", pack=("10", "30"), voc=D(800))
        self.liner = material("liner", "liner", "pcs", pack=("50", "35"))
        self.labour = LabourClass.objects.create(name="Finisher", wage=D(20), burden=D("0.25"))
        self.setup = SpraySetup.objects.create(
            name="Gravity cup",
            transfer_efficiency=D("0.65"),
            cup_capacity=D("0.60"),
            residue_per_fill=D("0.03"),
            residue_per_batch=D("0.05"),
            spray_rate=D(20),
        )
        self.customer = Customer.objects.create(name="Zoë Dvořák", address="5 Rue de l’Été\nVille")
        self.system = self.add_system("Clear finish")
        self.estimate = self.add_estimate("24 doors", self.system)

    def add_system(self, name: str, **coat: Any) -> CoatingSystem:
        """One coat of the worked example, with whatever of it is changed."""
        system = CoatingSystem.objects.create(name=name, customer_text=f"{name}, satin.")
        operation = Operation.objects.create(
            system=system,
            position=1,
            kind="coat",
            labour_class=self.labour,
            **{
                "name": "Clear coat",
                "setup": self.setup,
                "dry_film": D(40),
                "pot_life_min": 120,
                "flash_minutes": D(10),
                "dry_minutes": D(60),
                "stacking_minutes": D(240),
                **coat,
            },
        )
        CoatComponent.objects.create(operation=operation, position=1, material=self.base, parts=D(10))
        CoatComponent.objects.create(operation=operation, position=2, material=self.hardener, parts=D(1))
        TimeLine.objects.create(operation=operation, label="Turn", driver="piece", minutes=D(1))
        SupplyLine.objects.create(operation=operation, material=self.liner, driver="fill", quantity=D(1), whole_units=True)
        SupplyLine.objects.create(operation=operation, material=self.cleaner, driver="batch", quantity=D("0.3"))
        return system

    def add_estimate(self, name: str, *systems: CoatingSystem, **values: Any) -> Estimate:
        """24 doors, priced under these systems."""
        estimate = Estimate.objects.create(**{"name": name, "customer": self.customer, "created_by": self.by, **values})
        self.add_doors(estimate)
        for position, system in enumerate(systems, start=1):
            EstimateOption.objects.create(estimate=estimate, position=position, system=system)
        return estimate

    def add_doors(self, estimate: Estimate, **values: Any) -> TakeoffRow:
        """The row of the worked example."""
        row: dict[str, Any] = {
            "label": "Door",
            "pieces": 24,
            "form": "panel",
            "length": D(715),
            "width": D(397),
            "thickness": D(19),
            "profile_factor": D("1.05"),
            **values,
        }
        return TakeoffRow.objects.create(estimate=estimate, position=estimate.rows.count() + 1, **row)

    def offer(self, *systems: CoatingSystem, **values: Any) -> Offer:
        """An offer of these systems, or of the one."""
        chosen = systems or (self.system,)
        return Offer(
            **{
                "customer": self.customer,
                "valid_until": TODAY() + timedelta(days=30),
                "options": tuple(OptionChoice(system=system, label=system.name) for system in chosen),
                **values,
            }
        )

    def quote(self, *systems: CoatingSystem, sent: bool = False, on: date | None = None, **values: Any) -> Quote:
        """A quote of the estimate, a draft or sent."""
        day = on or TODAY()
        made = create_quote(key=uuid4(), by=self.by, estimate=self.estimate, offer=self.offer(*systems, **values), on=day)
        return send_quote(quote=made, on=day) if sent else made

    def lapsed(self, quote: Quote) -> Quote:
        """The same quote as it stands after its last day."""
        yesterday = TODAY() - timedelta(days=1)
        Quote.objects.filter(pk=quote.pk).update(issued_on=yesterday - timedelta(days=30), valid_until=yesterday)
        quote.refresh_from_db()
        return quote


def form_data(shop: DoorShop, *systems: CoatingSystem, **values: Any) -> dict[str, Any]:
    """What a browser sends for the quote form, these systems ticked."""
    data: dict[str, Any] = {
        "key": str(uuid4()),
        "title": "24 doors",
        "customer": shop.customer.pk,
        "valid_until": (TODAY() + timedelta(days=30)).isoformat(),
        "introduction": "",
        "terms": "",
    }
    for system in systems:
        data[f"offer_{system.pk}"] = "on"
        data[f"label_{system.pk}"] = system.name
    return {**data, **values}
