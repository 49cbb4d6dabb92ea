"""From a priced option to the snapshot that a quote keeps and a cost sheet prints."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal

from costing.core.checks import to_decimal
from costing.core.facts import MaterialFacts
from costing.core.plan import PlannedMaterial as PlanMaterial
from costing.core.plan import PlannedStep, plan_steps
from costing.core.result import CoatVolumes, Estimate, MaterialUse, OperationResult, SupplyUse
from costing.core.schedule import elapsed_steps
from costing.core.system import Coat
from costing.core.takeoff import Takeoff, Zone
from costing.core.voc import CoatVoc, coat_vocs
from costing.services.estimating import PricedOption
from costing.services.inputs import size_in_words
from costing.snapshots import (
    VERSION,
    FrozenCoat,
    FrozenComponent,
    FrozenGroup,
    FrozenLabour,
    FrozenMaterial,
    FrozenMaterialUse,
    FrozenPrice,
    FrozenRates,
    FrozenRow,
    FrozenStep,
    FrozenSupplyUse,
    FrozenTakeoff,
    FrozenTimeLine,
    Need,
    PlannedMaterial,
    Snapshot,
)
from finishing.show import preferences_of


def freeze(priced: PricedOption, *, on: date) -> Snapshot:
    """Everything about a priced option, as plain values that no later change can reach."""
    result, shop, estimate = priced.result, priced.inputs.shop, priced.inputs.estimate
    steps = _steps(result)
    return Snapshot(
        version=VERSION,
        made_on=on,
        estimate_id=estimate.pk,
        estimate_name=estimate.name,
        system_id=priced.system.pk,
        system_name=priced.system.name,
        customer_text=priced.system.customer_text,
        currency=shop.currency,
        places=preferences_of(shop).places,
        tax_name=shop.tax_name,
        takeoff=_takeoff(priced),
        rates=_rates(result),
        materials=tuple(_material(facts) for facts in result.materials.values()),
        steps=steps,
        material_uses=tuple(_material_use(use) for use in result.material_uses),
        supply_uses=tuple(_supply_use(use) for use in result.supply_uses),
        labour=_labour(result),
        groups=tuple(
            FrozenGroup(group=line.group.value, exact=result.groups[line.group], shown=line.amount) for line in priced.shown.lines
        ),
        needs=_needs(steps),
        true_cost=priced.shown.true_cost,
        cost_per_m2=priced.shown.cost_per_m2,
        price=_price(priced),
        labour_minutes=to_decimal(result.labour_minutes),
        booth_minutes=to_decimal(result.booth_minutes),
        elapsed_minutes=to_decimal(result.elapsed_minutes),
        residue_litres=to_decimal(result.residue_litres),
        cleaner_litres=to_decimal(result.cleaner_litres),
        voc_kg=to_decimal(result.voc_kg),
        voc_limit=shop.voc_limit,
        warnings=priced.warnings,
    )


def _maybe(value: float | None) -> Decimal | None:
    return None if value is None else to_decimal(value)


def _takeoff(priced: PricedOption) -> FrozenTakeoff:
    takeoff: Takeoff = priced.result.takeoff
    show, hidden = (takeoff.total(frozenset({zone})) for zone in (Zone.SHOW, Zone.HIDDEN))
    return FrozenTakeoff(
        area=to_decimal(takeoff.area),
        pieces=takeoff.pieces,
        show_area=to_decimal(show.area),
        show_pieces=show.pieces,
        hidden_area=to_decimal(hidden.area),
        hidden_pieces=hidden.pieces,
        rows=tuple(
            FrozenRow(
                label=row.label,
                pieces=row.pieces,
                zone=row.zone.value,
                area=to_decimal(row.area),
                geometry_factor=to_decimal(row.geometry_factor),
                size=size_in_words(stored),
            )
            for row, stored in zip(takeoff.rows, priced.inputs.rows, strict=True)
        ),
    )


def _rates(result: Estimate) -> FrozenRates:
    rates = result.rates
    return FrozenRates(
        booth_rate=rates.booth_rate,
        overhead_rate=rates.overhead_rate,
        rework_allowance=rates.rework_allowance,
        disposal_fee=rates.disposal_fee,
        voc_recovered=to_decimal(rates.voc_recovered),
    )


def _material(facts: MaterialFacts) -> FrozenMaterial:
    return FrozenMaterial(
        id=int(facts.key),
        name=facts.name,
        kind=facts.kind.value,
        unit=facts.unit.value,
        price=facts.price,
        litre_price=facts.litre_price,
        density=_maybe(facts.density),
        volume_solids=_maybe(facts.volume_solids),
        voc=_maybe(facts.voc),
        yield_fraction=to_decimal(facts.yield_fraction),
        expiry_allowance=facts.expiry_allowance,
    )


def _steps(result: Estimate) -> tuple[FrozenStep, ...]:
    """Every operation in order; those that are performed carry what the plan says they draw."""
    planned = iter(plan_steps(result))
    waits = iter(elapsed_steps(result.operations))
    vocs = iter(coat_vocs(result))
    steps = []
    for position, done in enumerate(result.operations, start=1):
        plan = next(planned) if done.performed else None
        wait = next(waits).waiting_minutes if done.performed else 0.0
        voc = next(vocs) if done.coat is not None else None
        steps.append(_step(result, done, position=position, plan=plan, waiting=wait, voc=voc))
    return tuple(steps)


def _step(
    result: Estimate, done: OperationResult, *, position: int, plan: PlannedStep | None, waiting: float, voc: CoatVoc | None
) -> FrozenStep:
    operation = done.operation
    labour = result.rates.labour.get(operation.labour_class)
    return FrozenStep(
        position=position,
        name=operation.name,
        kind=operation.kind.value,
        zones=tuple(sorted(zone.value for zone in operation.zones)),
        performed=done.performed,
        area=to_decimal(done.area),
        pieces=done.pieces,
        crew=operation.crew,
        labour_class=labour.name if labour else "",
        labour_minutes=to_decimal(done.labour_minutes),
        booth_minutes=to_decimal(done.booth_minutes),
        dry_minutes=to_decimal(operation.coat.dry_minutes) if operation.coat else Decimal(0),
        waiting_minutes=to_decimal(waiting),
        coat=_coat(operation.coat, done.coat, voc, result.materials) if operation.coat and done.coat and voc else None,
        materials=tuple(_planned(material, result.materials) for material in plan.materials) if plan else (),
        time_lines=tuple(
            FrozenTimeLine(label=line.label, minutes=to_decimal(line.minutes), driver=line.driver.value)
            for line in operation.time_lines
        ),
    )


def _coat(coat: Coat, volumes: CoatVolumes, voc: CoatVoc, materials: Mapping[str, MaterialFacts]) -> FrozenCoat:
    setup = coat.setup
    return FrozenCoat(
        setup_name=setup.name,
        transfer_efficiency=to_decimal(setup.transfer_efficiency),
        cup_capacity=to_decimal(setup.cup_capacity),
        residue_per_fill=to_decimal(setup.residue_per_fill),
        residue_per_batch=to_decimal(setup.residue_per_batch),
        spray_rate=to_decimal(setup.spray_rate),
        sprayed_area=to_decimal(volumes.sprayed_area),
        wet_film=to_decimal(volumes.wet_film),
        dry_film=_maybe(coat.dry_film),
        volume_solids=_maybe(volumes.volume_solids),
        thinning=to_decimal(coat.thinning),
        pot_life=_maybe(coat.pot_life),
        on_surface=to_decimal(volumes.on_surface),
        sprayed=to_decimal(volumes.sprayed),
        overspray=to_decimal(volumes.overspray),
        residue=to_decimal(volumes.residue),
        mixed=to_decimal(volumes.mixed),
        batches=volumes.batches,
        fills=volumes.fills,
        spray_minutes=to_decimal(volumes.spray_minutes),
        voc_actual=_maybe(voc.actual),
        voc_less_water=_maybe(voc.less_water),
        components=tuple(
            FrozenComponent(
                material_id=int(component.material),
                name=materials[component.material].name,
                parts=to_decimal(component.parts),
                mixed=to_decimal(component.mixed),
                drawn=to_decimal(component.drawn),
            )
            for component in volumes.components
        ),
        fill_minutes=to_decimal(coat.minutes_per_fill),
        batch_minutes=to_decimal(coat.minutes_per_batch),
        flash_minutes=to_decimal(coat.flash_off_minutes),
        solids_per_litre=_solids_per_litre(volumes),
    )


def _solids_per_litre(volumes: CoatVolumes) -> Decimal | None:
    if volumes.overspray_solids is None or not volumes.overspray:
        return None
    return to_decimal(volumes.overspray_solids / volumes.overspray)


def _planned(material: PlanMaterial, facts: Mapping[str, MaterialFacts]) -> PlannedMaterial:
    return PlannedMaterial(
        material_id=int(material.material),
        name=facts[material.material].name,
        unit=facts[material.material].unit.value,
        quantity=material.quantity,
        parts=material.parts,
        driver=material.driver.value if material.driver else None,
        per_driver=material.per_driver,
        whole_units=material.whole_units,
    )


def _needs(steps: tuple[FrozenStep, ...]) -> tuple[Need, ...]:
    """Each material once, with the sum of what the steps draw; what adds up to nothing is left out."""
    found: dict[int, Need] = {}
    for material in (material for step in steps for material in step.materials):
        known = found.get(material.material_id)
        quantity = material.quantity + (known.quantity if known else Decimal(0))
        found[material.material_id] = Need(
            material_id=material.material_id, name=material.name, unit=material.unit, quantity=quantity
        )
    return tuple(need for need in found.values() if need.quantity > 0)


def _material_use(use: MaterialUse) -> FrozenMaterialUse:
    return FrozenMaterialUse(
        material_id=int(use.material.key),
        name=use.material.name,
        film_litres=to_decimal(use.film_litres),
        overspray_litres=to_decimal(use.overspray_litres),
        residue_litres=to_decimal(use.residue_litres),
        heel_litres=to_decimal(use.heel_litres),
        litre_price=use.material.litre_price or Decimal(0),
        expiry_allowance=use.material.expiry_allowance,
        film=use.film,
        overspray=use.overspray,
        residue=use.residue,
        heel=use.heel,
        expiry=use.expiry,
    )


def _supply_use(use: SupplyUse) -> FrozenSupplyUse:
    return FrozenSupplyUse(
        material_id=int(use.material.key),
        name=use.material.name,
        unit=use.material.unit.value,
        group=use.group.value,
        needed=to_decimal(use.needed),
        quantity=to_decimal(use.quantity),
        price=use.material.price,
        cost=use.cost,
    )


def _labour(result: Estimate) -> tuple[FrozenLabour, ...]:
    classes = result.rates.labour
    return tuple(
        FrozenLabour(
            id=int(use.labour_class),
            name=classes[use.labour_class].name,
            minutes=to_decimal(use.minutes),
            loaded_rate=classes[use.labour_class].loaded_rate,
            cost=use.cost,
        )
        for use in result.labour_uses
    )


def _price(priced: PricedOption) -> FrozenPrice:
    price = priced.price
    return FrozenPrice(
        basis=price.terms.basis.value,
        rate=price.terms.rate,
        minimum_charge=price.terms.minimum_charge,
        price_step=price.terms.price_step,
        tax_rate=price.terms.tax_rate,
        cost=price.cost,
        calculated=price.calculated,
        after_minimum=price.after_minimum,
        net=price.net,
        tax=price.tax,
        total=price.total,
    )
