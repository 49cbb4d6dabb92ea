"""An invented workshop for the tests of the costing core: materials, rates and a system with round numbers."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from costing.core.estimate import estimate
from costing.core.facts import LabourClass, MaterialFacts, MaterialKind, Rates, StockUnit
from costing.core.result import Estimate
from costing.core.system import Coat, Component, Driver, Operation, OperationKind, SpraySetup, SupplyLine, System, TimeLine
from costing.core.takeoff import GivenArea, Panel, Row, Takeoff, Zone

SHOW = frozenset({Zone.SHOW})
HIDDEN = frozenset({Zone.HIDDEN})


def facts(key: str, kind: MaterialKind = MaterialKind.COATING, **changes: object) -> MaterialFacts:
    """A litre of material at 10, changed as a test needs it."""
    given: dict[str, object] = {"unit": StockUnit.LITRE, "price": Decimal(10), "name": key.capitalize(), **changes}
    return MaterialFacts(key=key, kind=kind, **given)  # type: ignore[arg-type]


def materials(*listed: MaterialFacts) -> dict[str, MaterialFacts]:
    """Facts by key, as an estimate takes them."""
    return {material.key: material for material in listed}


SHELF = materials(
    facts(
        "base",
        price=Decimal(20),
        density=1.0,
        volume_solids=34,
        mass_solids=40,
        voc=400,
        yield_fraction=0.8,
        expiry_allowance=Decimal("0.2"),
    ),
    facts(
        "hardener",
        MaterialKind.HARDENER,
        price=Decimal(50),
        density=1.1,
        volume_solids=60,
        mass_solids=70,
        voc=500,
    ),
    facts("thinner", MaterialKind.THINNER, price=Decimal(5), density=0.88, voc=880),
    facts("wash", MaterialKind.CLEANER, price=Decimal(6), voc=800),
    facts("disc", MaterialKind.ABRASIVE, price=Decimal("0.60"), unit=StockUnit.PIECE),
    facts("liner", MaterialKind.LINER, price=Decimal("0.75"), unit=StockUnit.PIECE),
    facts("filter", MaterialKind.FILTER, price=Decimal(8), unit=StockUnit.PIECE),
)

RATES = Rates(
    labour={
        "sprayer": LabourClass(key="sprayer", name="Sprayer", wage=Decimal(24), burden=Decimal("0.25")),
        "helper": LabourClass(key="helper", name="Helper", wage=Decimal(18)),
    },
    booth_rate=Decimal(25),
    overhead_rate=Decimal("0.8"),
    rework_allowance=Decimal("0.1"),
    disposal_fee=Decimal(4),
    voc_recovered=0.25,
)

GUN = SpraySetup(
    name="Gun", transfer_efficiency=0.5, cup_capacity=0.6, residue_per_fill=0.1, residue_per_batch=0.2, spray_rate=20
)

COAT = Coat(
    components=(Component(material="base", parts=4), Component(material="hardener", parts=1)),
    setup=GUN,
    wet_film=100,
    minutes_per_fill=2,
    minutes_per_batch=5,
    flash_off_minutes=10,
    dry_minutes=90,
    stacking_minutes=240,
)

ABRADE = Operation(
    name="Abrade",
    kind=OperationKind.ABRADE,
    labour_class="helper",
    crew=2,
    time_lines=(TimeLine.at_rate(30, label="Sanding"),),
    supply_lines=(SupplyLine(material="disc", amount=0.23, driver=Driver.M2, whole_units=True),),
)
SPRAY = Operation(
    name="Spray",
    kind=OperationKind.COAT,
    labour_class="sprayer",
    coat=COAT,
    supply_lines=(
        SupplyLine(material="wash", amount=0.5, driver=Driver.BATCH),
        SupplyLine(material="liner", amount=1, driver=Driver.FILL, whole_units=True),
        SupplyLine(material="disc", amount=0.4, driver=Driver.PIECE, whole_units=True),
    ),
)
SYSTEM = System(name="Two-component clear", operations=(ABRADE, SPRAY))
TEN_SQUARE_METRES = Takeoff(rows=(Row(shape=GivenArea(area=10), pieces=10, label="Doors"),))

# The worked example of the costing model.
EXAMPLE_DOORS = Takeoff(
    rows=(Row(label="Doors", pieces=24, shape=Panel(length=715, width=397, thickness=19, profile_factor=1.05), zone=Zone.SHOW),)
)
EXAMPLE_COAT = Coat(
    components=(Component(material="base", parts=10), Component(material="hardener", parts=1)),
    setup=SpraySetup(transfer_efficiency=0.65, cup_capacity=0.60, residue_per_fill=0.03, residue_per_batch=0.05, spray_rate=20),
    dry_film=40,
    pot_life=120,
)


def system_of(*operations: Operation) -> System:
    """A system of just these operations."""
    return System(name="Test system", operations=operations)


def spray(coat: Coat = COAT, **changes: object) -> Operation:
    """The spraying operation without supplies, with this coat, changed as a test needs it."""
    return replace(SPRAY, coat=coat, supply_lines=(), **changes)  # type: ignore[arg-type]


def reckon(
    system: System = SYSTEM,
    takeoff: Takeoff = TEN_SQUARE_METRES,
    shelf: dict[str, MaterialFacts] = SHELF,
    rates: Rates = RATES,
) -> Estimate:
    """An estimate in this workshop."""
    return estimate(takeoff=takeoff, system=system, materials=shelf, rates=rates)
