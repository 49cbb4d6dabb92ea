"""From the shop's rows to the core's values: what an estimate needs, read in a constant number of queries.

Nothing is reckoned here. A row that the core refuses becomes a ``PricingProblem``: what is wrong in words, and where to
mend it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import TypeVar

from django.db.models import Prefetch
from django.urls import reverse

from costing.choices import AssumptionKind, OperationZone, RowForm
from costing.core import facts as core_facts
from costing.core import system as core_system
from costing.core import takeoff as core_takeoff
from costing.core.errors import ContradictionError, CostingError
from costing.models import CoatComponent, CoatingSystem, Estimate, Operation, SupplyLine, TakeoffRow
from finishing import show
from finishing.models import Shop
from finishing.units import Kind, shown_unit
from inventory.models import Material, Pack
from inventory.selectors import expiry_allowances
from inventory.services.prices import prices_on

_T = TypeVar("_T")
_ZONES = {
    OperationZone.BOTH: core_takeoff.ALL_ZONES,
    OperationZone.SHOW: frozenset({core_takeoff.Zone.SHOW}),
    OperationZone.HIDDEN: frozenset({core_takeoff.Zone.HIDDEN}),
}


Own = Mapping[tuple[str, int], Decimal]
"""Figures of one job in place of the shop's, by kind and by what they are of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PricingProblem:
    """Why a system cannot be priced: a sentence, and the page where it can be mended."""

    text: str
    url: str
    link_words: str


class PricingProblemError(ValueError):
    """Inputs that cannot be priced; ``problems`` says which and where to mend them."""

    def __init__(self, problems: Sequence[PricingProblem]) -> None:
        self.problems = tuple(problems)
        super().__init__(" ".join(problem.text for problem in self.problems))


@dataclass(frozen=True, slots=True, kw_only=True)
class PricingInputs:
    """Everything that pricing reads."""

    estimate: Estimate
    shop: Shop
    rows: tuple[TakeoffRow, ...]
    systems: tuple[CoatingSystem, ...]  # with operations, mixes and lines fetched
    materials: Mapping[int, Material]  # those that the systems name
    packs: Mapping[int, Pack]  # the usual pack by material
    allowances: Mapping[int, Decimal]  # expiry allowance by material
    prices: Mapping[int, Decimal | None] | None = None  # by pack, where they are those of another day; None: not known then
    on: date | None = None  # that day
    own: Own = field(default_factory=dict)  # figures that hold for this job alone

    def price_of(self, pack: Pack) -> Decimal | None:
        """Money per stock unit in this pack; None for a day before its first known price."""
        if self.prices is None:
            return pack.unit_price
        price = self.prices[pack.pk]
        return None if price is None else price / pack.content


def load_inputs(
    estimate: Estimate, systems: Iterable[int], *, shop: Shop | None, on: date, at_prices_of: date | None = None
) -> PricingInputs:
    """Read rows, systems, materials, packs and allowances: the same number of queries for any number of them.

    An estimate that is not stored has no rows. ``at_prices_of`` takes what the packs cost on that day instead of today.
    """
    wanted = list(systems)
    lines = Prefetch("operations__supply_lines", SupplyLine.objects.select_related("material"))
    mixes = Prefetch("operations__components", CoatComponent.objects.select_related("material"))
    operations = Prefetch("operations", Operation.objects.select_related("labour_class", "setup", "thinner"))
    found = CoatingSystem.objects.prefetch_related(operations, mixes, lines, "operations__time_lines").in_bulk(wanted)
    materials = {material.pk: material for system in found.values() for material in _materials_of(system)}
    packs = {pack.material_id: pack for pack in Pack.objects.filter(is_usual=True, material__in=materials)}
    return PricingInputs(
        estimate=estimate,
        shop=shop or Shop.current(),
        rows=tuple(estimate.rows.all()) if estimate.pk else (),
        systems=tuple(found[pk] for pk in wanted),
        materials=materials,
        packs=packs,
        allowances=expiry_allowances(on),
        prices=prices_on(packs.values(), at_prices_of) if at_prices_of else None,
        on=at_prices_of,
        own={(one.kind, one.of): one.value for one in estimate.assumptions.all()} if estimate.pk else {},
    )


def _materials_of(system: CoatingSystem) -> Iterable[Material]:
    for operation in system.operations.all():
        yield from (component.material for component in operation.components.all())
        yield from (line.material for line in operation.supply_lines.all())
        if operation.thinner is not None and operation.thinning_percent:
            yield operation.thinner


def core_takeoff_of(estimate: Estimate, stored: Sequence[TakeoffRow]) -> core_takeoff.Takeoff:
    """The takeoff as the core sees it. Raises PricingProblemError that names every row the core refuses."""
    url = reverse("takeoff", args=[estimate.pk])
    problems: list[PricingProblem] = []
    rows = []
    for number, row in enumerate(stored, start=1):
        about = f"Row {number}, “{row.label}”"
        made = _collect(problems, about, url, "Mend the takeoff", lambda row=row: core_row(row))  # type: ignore[misc]
        if made is not None:
            rows.append(made)
    if problems:
        raise PricingProblemError(problems)
    return core_takeoff.Takeoff(rows=tuple(rows))


def core_row(row: TakeoffRow) -> core_takeoff.Row:
    """A takeoff row; raises CostingError for sizes that make no sense."""
    return core_takeoff.Row(
        shape=_SHAPES[RowForm(row.form)](row),
        pieces=row.pieces,
        label=row.label,
        geometry_factor=float(row.geometry_factor),
        zone=core_takeoff.Zone(row.zone),
    )


def _panel(row: TakeoffRow) -> core_takeoff.Shape:
    return core_takeoff.Panel(
        length=_float(row.length),
        width=_float(row.width),
        thickness=_float(row.thickness),
        faces=row.faces,
        long_edges=row.long_edges,
        short_edges=row.short_edges,
        profile_factor=float(row.profile_factor),
    )


_SHAPES: Mapping[RowForm, Callable[[TakeoffRow], core_takeoff.Shape]] = {
    RowForm.PANEL: _panel,
    RowForm.AREA: lambda row: core_takeoff.GivenArea(area=_float(row.area)),
    RowForm.MOULDING: lambda row: core_takeoff.Moulding(length=_float(row.length), girth=_float(row.girth)),
}


def _float(value: Decimal | None) -> float:
    return float(value) if value is not None else 0.0


def _maybe(value: Decimal | int | None) -> float | None:
    return None if value is None else float(value)


def core_system_of(system: CoatingSystem, own: Own | None = None) -> core_system.System:
    """A system as the core sees it. Raises PricingProblemError that names every operation the core refuses."""
    problems: list[PricingProblem] = []
    operations = []
    for operation in system.operations.all():
        url = reverse("operation_edit", args=[operation.pk])
        about = f"“{operation.name}” of {system.name}"
        made = _collect(problems, about, url, "Mend the operation", lambda op=operation: core_operation(op, own))  # type: ignore[misc]
        if made is not None:
            operations.append(made)
    if problems:
        raise PricingProblemError(problems)
    return core_system.System(name=system.name, operations=tuple(operations))


def core_operation(operation: Operation, own: Own | None = None) -> core_system.Operation:
    """One operation with its lines and coat, the job's own figures in place of the system's.

    Raises CostingError where parts contradict each other.
    """
    mine = own or {}
    return core_system.Operation(
        name=operation.name,
        kind=core_system.OperationKind(operation.kind),
        labour_class=str(operation.labour_class_id),
        zones=_ZONES[OperationZone(operation.zone)],
        crew=operation.crew,
        time_lines=tuple(
            core_system.TimeLine(
                minutes=float(mine.get((AssumptionKind.MINUTES, line.pk), line.minutes)),
                driver=core_system.Driver(line.driver),
                label=line.label,
            )
            for line in operation.time_lines.all()
        ),
        supply_lines=tuple(
            core_system.SupplyLine(
                material=str(line.material_id),
                amount=float(mine.get((AssumptionKind.AMOUNT, line.pk), line.quantity)),
                driver=core_system.Driver(line.driver),
                whole_units=line.whole_units,
            )
            for line in operation.supply_lines.all()
        ),
        coat=_coat(operation, mine) if operation.kind == core_system.OperationKind.COAT else None,
    )


def pot_life_of(operation: Operation) -> int | None:
    """Usable pot life in min: the operation's own, or else the shortest that a part of its mix states."""
    if operation.pot_life_min is not None:
        return operation.pot_life_min
    stated = [component.material.pot_life_min for component in operation.components.all() if component.material.pot_life_min]
    return min(stated, default=None)


def _coat(operation: Operation, own: Own) -> core_system.Coat:
    setup = operation.setup
    if setup is None:
        raise ContradictionError(
            field="setup", value=None, words="spray setup", because="is missing", right="choose one for this coat"
        )
    film = own.get((AssumptionKind.FILM, operation.pk))
    return core_system.Coat(
        components=tuple(
            core_system.Component(material=str(component.material_id), parts=float(component.parts))
            for component in operation.components.all()
        ),
        setup=core_system.SpraySetup(
            name=setup.name,
            transfer_efficiency=float(own.get((AssumptionKind.EFFICIENCY, setup.pk), setup.transfer_efficiency)),
            cup_capacity=float(setup.cup_capacity),
            residue_per_fill=float(setup.residue_per_fill),
            residue_per_batch=float(setup.residue_per_batch),
            spray_rate=float(own.get((AssumptionKind.RATE, operation.pk), operation.spray_rate or setup.spray_rate)),
        ),
        wet_film=_maybe(operation.wet_film if film is None or operation.wet_film is None else film),
        dry_film=_maybe(operation.dry_film if film is None or operation.dry_film is None else film),
        sag_limit=_maybe(operation.sag_limit),
        thinner=str(operation.thinner_id) if operation.thinner_id else None,
        thinning=float(operation.thinning_percent),
        pot_life=_maybe(pot_life_of(operation)),
        minutes_per_fill=float(setup.fill_minutes),
        minutes_per_batch=float(setup.batch_minutes),
        flash_off_minutes=float(operation.flash_minutes),
        dry_minutes=float(own.get((AssumptionKind.DRYING, operation.pk), operation.dry_minutes)),
        stacking_minutes=float(operation.stacking_minutes),
    )


def core_materials_of(inputs: PricingInputs, system: CoatingSystem) -> dict[str, core_facts.MaterialFacts]:
    """Facts of the materials of a system at the usual pack's price. Raises PricingProblemError naming each that has none."""
    problems: list[PricingProblem] = []
    found = {}
    for material in {material.pk: material for material in _materials_of(system)}.values():
        pack = inputs.packs.get(material.pk)
        if pack is None:
            problems.append(
                PricingProblem(
                    text=f"“{material.name}” has no usual pack, so its price is not known.",
                    url=reverse("pack_new", args=[material.pk]),
                    link_words="Enter a pack and tick that it is the usual one",
                )
            )
            continue
        if inputs.price_of(pack) is None:
            problems.append(
                PricingProblem(
                    text=f"What “{material.name}” cost on {show.day(inputs.on)} is not known.",
                    url=reverse("material", args=[material.pk]),
                    link_words="See its prices, or choose a later day",
                )
            )
            continue
        url = reverse("material_edit", args=[material.pk])
        about = f"“{material.name}”"
        made = _collect(problems, about, url, "Mend the material", lambda m=material, p=pack: _facts(inputs, m, p))  # type: ignore[misc]
        if made is not None:
            found[made.key] = made
    if problems:
        raise PricingProblemError(problems)
    return found


def _facts(inputs: PricingInputs, material: Material, pack: Pack) -> core_facts.MaterialFacts:
    return core_facts.MaterialFacts(
        key=str(material.pk),
        name=material.name,
        kind=core_facts.MaterialKind(material.kind),
        unit=core_facts.StockUnit(material.stock_unit),
        price=inputs.own.get((AssumptionKind.PRICE, material.pk), inputs.price_of(pack) or Decimal(0)),
        density=_maybe(material.density),
        volume_solids=_maybe(material.volume_solids),
        mass_solids=_maybe(material.mass_solids),
        voc=_maybe(material.voc),
        water_fraction=float(material.water_fraction),
        exempt_fraction=float(material.exempt_fraction),
        yield_fraction=float(material.yield_fraction),
        expiry_allowance=inputs.allowances.get(material.pk, Decimal(0)),
    )


def core_rates_of(shop: Shop, system: CoatingSystem, own: Own | None = None) -> core_facts.Rates:
    """The shop's rates, the job's own in their place, with the labour classes that the system's operations name."""
    mine = own or {}
    classes = {operation.labour_class_id: operation.labour_class for operation in system.operations.all()}
    return core_facts.Rates(
        labour={
            str(pk): core_facts.LabourClass(
                key=str(pk),
                name=entry.name,
                wage=mine.get((AssumptionKind.WAGE, pk), entry.wage),
                burden=entry.burden,
            )
            for pk, entry in classes.items()
        },
        booth_rate=mine.get((AssumptionKind.BOOTH, 0), shop.booth_rate),
        overhead_rate=mine.get((AssumptionKind.OVERHEAD, 0), shop.overhead_rate),
        rework_allowance=mine.get((AssumptionKind.REWORK, 0), shop.rework_allowance),
        disposal_fee=mine.get((AssumptionKind.DISPOSAL, 0), shop.disposal_fee),
        voc_recovered=float(shop.voc_recovered),
    )


def size_in_words(row: TakeoffRow) -> str:
    """How a row states its area, in the shop's unit: 715 × 397 × 19 mm, or 23 1/2 × 15 × 3/4 in."""
    sizes = {
        RowForm.PANEL: (row.length, row.width, row.thickness),
        RowForm.MOULDING: (row.length, row.girth),
    }.get(RowForm(row.form))
    if sizes is None:
        return "area given"
    unit = shown_unit(Kind.LENGTH, show.preferences().units)
    return " × ".join(show.length_number(size) for size in sizes if size is not None) + f" {unit}"


def _collect(problems: list[PricingProblem], about: str, url: str, link_words: str, make: Callable[[], _T]) -> _T | None:
    """What ``make`` makes; what the core refuses joins the problems instead."""
    try:
        return make()
    except CostingError as error:
        problems.append(PricingProblem(text=f"{about}: {_lower(str(error))}", url=url, link_words=link_words))
        return None


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:] if sentence[1:2].islower() else sentence
