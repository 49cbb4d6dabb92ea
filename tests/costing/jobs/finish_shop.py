"""A small shop with one coating system, stock on the shelf and a quote that a customer may accept.

The coat is the costing model's worked example: 24 doors, 10 : 1, 110 µm wet, so its mix is known to the millionth of a litre.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

from django.utils import timezone

from costing.models import (
    Batch,
    CoatComponent,
    CoatingSystem,
    CoatLog,
    Customer,
    Estimate,
    Job,
    JobStep,
    LabourClass,
    Operation,
    Quote,
    SpraySetup,
    SupplyLine,
    TimeLine,
)
from costing.services.batches import mix_batch
from costing.services.coat_checks import BatchTake
from costing.services.coat_log import Use, log_coat
from costing.services.jobs import accept_quote
from costing.services.quoting import Offer, OptionChoice, create_quote, send_quote
from finishing.models import Shop, User
from inventory.models import Lot, Material, Pack, Supplier
from inventory.services.ledger import ReceiptLine, receive

D = Decimal
MIXED = D("2.792689")  # the worked example, rounded to the ledger's step
BASE = D("2.590621")  # 2.538808336 L at a yield of 0.98
HARDENER = D("0.266575")  # 0.253880834 L at 1.05 kg/L


def today(days: int = 0) -> date:
    """Today, or so many days later."""
    return timezone.localdate() + timedelta(days=days)


def at(hour: int, minute: int = 0, *, days: int = 0) -> datetime:
    """A time of day, local."""
    return timezone.make_aware(datetime.combine(today(days), time(hour, minute)))


def material(code: str, kind: str, unit: str, price: str, **more: Any) -> Material:
    """A material with its usual pack."""
    made = Material.objects.create(code=code, name=code.replace("-", " ").capitalize(), kind=kind, stock_unit=unit, **more)
    supplier, _ = Supplier.objects.get_or_create(name="Invented Coatings")
    Pack.objects.create(material=made, supplier=supplier, description="pack", content=D(1), price=D(price), is_usual=True)
    return made


class FinishShop:
    """Everything that a job needs, made through the services."""

    def __init__(self, *, by: User) -> None:
        self.by = by
        Shop(name="Invented Finishing", booth_rate=D(40), overhead_rate=D("0.5")).save()
        self.base = material("base", "coating", "L", "30", volume_solids=34, yield_fraction="0.98", h_codes="H226")
        self.hardener = material("hardener", "hardener", "kg", "60", volume_solids=60, density="1.05", h_codes="H317, H334")
        self.liner = material("liner", "liner", "pcs", "0.4")
        self.strainer = material("strainer", "strainer", "pcs", "0.2")
        self.disc = material("disc", "abrasive", "pcs", "0.5")
        self.system = self._system("Clear system")
        self.lots: dict[str, Lot] = {}

    def _system(self, name: str) -> CoatingSystem:
        system = CoatingSystem.objects.create(name=name)
        labour, _ = LabourClass.objects.get_or_create(name="Finisher", defaults={"wage": D(20)})
        setup, _ = SpraySetup.objects.get_or_create(
            name="Gravity gun",
            defaults={
                "transfer_efficiency": "0.65",
                "cup_capacity": "0.6",
                "residue_per_fill": "0.03",
                "residue_per_batch": "0.05",
                "spray_rate": 20,
            },
        )
        sand = Operation.objects.create(system=system, position=1, name="Sand", kind="abrade", labour_class=labour)
        TimeLine.objects.create(operation=sand, label="sanding", driver="m2", minutes=4)
        SupplyLine.objects.create(operation=sand, material=self.disc, driver="m2", quantity=D("0.5"), whole_units=True)
        for position, words in ((2, "First coat"), (3, "Second coat")):
            coat = Operation.objects.create(
                system=system,
                position=position,
                name=words,
                kind="coat",
                labour_class=labour,
                setup=setup,
                wet_film=110,
                pot_life_min=120,
                dry_minutes=60,
                stacking_minutes=240,
            )
            CoatComponent.objects.create(operation=coat, position=1, material=self.base, parts=10)
            CoatComponent.objects.create(operation=coat, position=2, material=self.hardener, parts=1)
            SupplyLine.objects.create(operation=coat, material=self.liner, driver="fill", quantity=D(1), whole_units=True)
            SupplyLine.objects.create(operation=coat, material=self.strainer, driver="batch", quantity=D(1), whole_units=True)
        check = Operation.objects.create(system=system, position=4, name="Check", kind="inspect", labour_class=labour)
        TimeLine.objects.create(operation=check, label="looking", driver="operation", minutes=10)
        return system

    def deliver(self, what: Material, quantity: str, number: str, *, days: int | None = None, cost: str = "25") -> Lot:
        """A lot that is good for so many days from today; None never ends."""
        line = ReceiptLine(
            material=what,
            quantity=D(quantity),
            unit_cost=D(cost),
            lot_number=number,
            expires_on=None if days is None else today(days),
        )
        posting = receive(
            key=uuid4(),
            by=self.by,
            on=today(-40),
            supplier=None,
            reference="delivery",
            lines=[line],
        )
        lot = posting.movements.get().lot
        self.lots[number] = lot
        return lot

    def stock(self) -> None:
        """Enough for one job: two good lots of base, one that has expired, and one of everything else."""
        self.deliver(self.base, "1", "B0", days=-5)
        self.deliver(self.base, "2", "B1", days=20)
        self.deliver(self.base, "10", "B2", days=200, cost="26")
        self.deliver(self.hardener, "2", "H1", days=100, cost="55")
        self.deliver(self.liner, "50", "L1", cost="0.4")
        self.deliver(self.strainer, "50", "S1", cost="0.2")
        self.deliver(self.disc, "40", "D1", cost="0.5")

    def quote(self, *systems: CoatingSystem, is_sent: bool = True, valid_days: int = 30, on: date | None = None) -> Quote:
        """A quote for 24 doors, written and sent."""
        customer, _ = Customer.objects.get_or_create(name="Invented Kitchens")
        estimate = Estimate.objects.create(name="Kitchen doors", customer=customer)
        estimate.rows.create(position=1, label="Door", pieces=24, length=715, width=397, thickness=19, profile_factor="1.05")
        offered = systems or (self.system,)
        for position, system in enumerate(offered, start=1):
            estimate.options.create(position=position, system=system)
        day = on or today()
        made = create_quote(
            key=uuid4(),
            by=self.by,
            estimate=estimate,
            offer=Offer(
                customer=customer,
                valid_until=day + timedelta(days=valid_days),
                options=[OptionChoice(system=system, label=system.name) for system in offered],
            ),
            on=day,
        )
        return send_quote(quote=made, on=day) if is_sent else made

    def job(self, *, starts: int = 7) -> Job:
        """A job from a fresh quote."""
        quote = self.quote()
        return accept_quote(
            key=uuid4(), by=self.by, quote=quote, option=quote.options.get(), starts_on=today(starts), today=today()
        )


def step(job: Job, name: str) -> JobStep:
    """A step of the job by its name."""
    return job.steps.get(name=name)


def uses(of: JobStep, **lots: Lot) -> tuple[list[Use], list[Use]]:
    """Components that follow the mix and supplies as planned; ``base=lot`` names a lot."""
    lines = list(of.materials.select_related("material", "booking"))
    components = [Use(line=line, lot=lots.get(line.material.code)) for line in lines if line.is_component]
    supplies = [Use(line=line, amount=line.planned) for line in lines if not line.is_component]
    return components, supplies


def log(of: JobStep, *, by: User, mixed: Decimal | None = MIXED, lots: dict[str, Lot] | None = None, **more: Any) -> CoatLog:
    """Work logged on a step, everything as planned unless said otherwise."""
    components, supplies = uses(of, **(lots or {}))
    given: dict[str, Any] = {
        "key": uuid4(),
        "done_at": timezone.now(),
        "mixed": mixed if of.is_coat else None,
        "components": components,
        "supplies": supplies,
        "fills": of.planned_fills,
        "minutes": D(60),
        "wet_film": None,
        "note": "",
        "override_reason": "",
        "early_reason": "the days of a job in one test",
        "today": today(),
    }
    return log_coat(by=by, step=of, **{**given, **more})


def mix(of: JobStep, *, by: User, litres: Decimal = MIXED, lots: dict[str, Lot] | None = None, **more: Any) -> Batch:
    """A batch mixed for a coat, its components by their parts."""
    components, _ = uses(of, **(lots or {}))
    given: dict[str, Any] = {
        "key": uuid4(),
        "mixed_at": timezone.now(),
        "components": components,
        "override_reason": "",
        "today": today(),
    }
    return mix_batch(by=by, step=of, litres=litres, **{**given, **more})


def spray(of: JobStep, *batches: tuple[Batch, Decimal], by: User, late_reason: str = "", **more: Any) -> CoatLog:
    """A coat sprayed out of batches that were mixed before; supplies as planned."""
    takes = [BatchTake(batch=batch, litres=litres, late_reason=late_reason) for batch, litres in batches]
    return log(of, by=by, **{"mixed": None, "components": [], "from_batches": takes, **more})
