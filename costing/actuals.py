"""What a job has really cost: its movements, its log and its batches beside the estimate that was frozen for it.

Reads only, in a constant number of queries however many movements there are: quantities are summed in SQL by posting and unit
cost, and multiplied in Python.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import F, Sum

from costing.core.actual import (
    CoatSplit,
    LabourSpent,
    MaterialSpent,
    Variance,
    actual_groups,
    split_coat,
    variance,
)
from costing.core.facts import MaterialKind, Rates
from costing.core.system import CostGroup
from costing.core.uses import SUPPLY_GROUPS
from costing.models import BatchRest, BatchUse, Job, LabourClass
from costing.snapshots import FrozenCoat, FrozenStep, Snapshot, read_snapshot
from costing.work import StepView, with_steps
from inventory.models import Booking, Material, Movement

ZERO = Decimal(0)
SIXTY = Decimal(60)


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupLine:
    """One group of the true cost: as estimated and as it is."""

    group: str
    estimate: Decimal
    actual: Decimal

    @property
    def difference(self) -> Decimal:
        """Actual less estimate."""
        return self.actual - self.estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Actual:
    """A job's cost so far."""

    job: Job
    snapshot: Snapshot
    lines: tuple[GroupLine, ...]
    materials: tuple[Variance, ...]
    labour: tuple[Variance, ...]
    splits: Mapping[int, CoatSplit]  # by step
    rework_labour: Decimal  # money

    @property
    def estimate(self) -> Decimal:
        """The true cost that was estimated."""
        return sum((line.estimate for line in self.lines), ZERO)

    @property
    def actual(self) -> Decimal:
        """The true cost so far."""
        return sum((line.actual for line in self.lines), ZERO)

    @property
    def variances(self) -> tuple[Variance, ...]:
        """Of materials and labour, what moved most money first."""
        return tuple(sorted((*self.materials, *self.labour), key=lambda each: -abs(each.total)))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Taken:
    """What left the stock for a job, net, of one material by one posting. Stock units and money."""

    material: int
    posting: int
    quantity: Decimal
    cost: Decimal


def actual_of(job: Job) -> Actual:
    """The actual cost of a job beside its estimate. Ten queries."""
    snapshot = read_snapshot(job.quote_option)
    view = with_steps([job])[0]
    taken = _taken(job)
    kinds = Material.objects.in_bulk({row.material for row in taken} | {need.material_id for need in snapshot.needs})
    rates_at = LabourRates(snapshot)
    splits, weights = _weights(view.steps, snapshot, taken, kinds)
    spent = _spent(taken, weights, kinds, snapshot)
    labour, rework_labour = _labour(view.steps, snapshot, rates_at)
    groups = actual_groups(
        materials=spent,
        labour=labour,
        rework_labour=rework_labour,
        booth_minutes=_booth_minutes(view.steps, snapshot),
        disposal_litres=sum((split.residue for split in splits.values()), ZERO) + _cleaner(spent, kinds),
        rates=_rates(snapshot),
    )
    estimated = {line.group: line.shown for line in snapshot.groups}
    return Actual(
        job=job,
        snapshot=snapshot,
        lines=tuple(GroupLine(group=group, estimate=estimated.get(group, ZERO), actual=money) for group, money in groups.items()),
        materials=_material_variances(spent, snapshot),
        labour=_labour_variances(labour, view.steps, snapshot, rates_at),
        splits=splits,
        rework_labour=rework_labour,
    )


def _taken(job: Job) -> list[_Taken]:
    """Movements for the job's bookings, summed by posting, material and unit cost. A counter-movement counts with what it
    reverses."""
    bookings = Booking.objects.filter(holder=job.holder)
    rows = (
        Movement.objects.filter(booking__in=bookings)
        .order_by()
        .annotate(of=F("lot__material_id"))
        .values("of", "posting_id", "reverses__posting_id", "unit_cost")
        .annotate(total=Sum("quantity"))
    )
    sums: dict[tuple[int, int], list[Decimal]] = defaultdict(lambda: [ZERO, ZERO])
    for row in rows:
        pair = sums[row["of"], row["reverses__posting_id"] or row["posting_id"]]
        pair[0] -= row["total"]
        pair[1] -= row["total"] * row["unit_cost"]
    return [
        _Taken(material=material, posting=posting, quantity=quantity, cost=cost)
        for (material, posting), (quantity, cost) in sums.items()
        if quantity or cost
    ]


# ------------------------------------------------------------ where material went


def _weights(
    steps: Sequence[StepView], snapshot: Snapshot, taken: Sequence[_Taken], kinds: Mapping[int, Material]
) -> tuple[dict[int, CoatSplit], dict[int, dict[CostGroup, Decimal]]]:
    """How the money of each material spreads over the groups, from the postings of logs and batches."""
    by_posting: dict[int, list[_Taken]] = defaultdict(list)
    for row in taken:
        by_posting[row.posting].append(row)
    weights: dict[int, dict[CostGroup, Decimal]] = defaultdict(lambda: defaultdict(lambda: ZERO))
    splits: dict[int, CoatSplit] = {}
    rests = _rests(steps)
    reworked = _reworked(steps)
    for step, frozen in zip(steps, snapshot.performed_steps, strict=False):
        components = {line.material_id for line in step.materials if line.is_component}
        split = _split(step, frozen, rests, reworked) if frozen.coat is not None else None
        if split is not None:
            splits[step.step.pk] = split
        for log in step.logs:
            for row in by_posting.get(log.posting_id or 0, ()):
                if log.reworks_id:
                    weights[row.material][CostGroup.REWORK] += row.cost
                else:
                    _add(weights[row.material], row, split if row.material in components else None, kinds)
        for batch in step.batches:
            share = reworked.get(batch.pk, ZERO) / batch.litres
            for row in by_posting.get(batch.posting_id, ()):
                weights[row.material][CostGroup.REWORK] += row.cost * share
                _add(weights[row.material], row, split, kinds, part=1 - share)
    return splits, weights


def _add(
    weights: dict[CostGroup, Decimal],
    row: _Taken,
    split: CoatSplit | None,
    kinds: Mapping[int, Material],
    *,
    part: Decimal = Decimal(1),
) -> None:
    """Add one row: a component by where the mix went and its heel, a supply by its kind."""
    material = kinds[row.material]
    money = row.cost * part
    if split is None or split.total <= 0:
        group = SUPPLY_GROUPS.get(MaterialKind(material.kind), CostGroup.RESIDUE)
        weights[group] += money
        return
    in_mix = money * material.yield_fraction
    weights[CostGroup.HEEL] += money - in_mix
    for group, litres in (
        (CostGroup.FILM, split.film),
        (CostGroup.OVERSPRAY, split.overspray),
        (CostGroup.RESIDUE, split.residue),
    ):
        weights[group] += in_mix * litres / split.total


def _rests(steps: Sequence[StepView]) -> Mapping[int, tuple[Decimal, Decimal]]:
    """Thrown away and put back of each batch, L. One query."""
    found: dict[int, tuple[Decimal, Decimal]] = defaultdict(lambda: (ZERO, ZERO))
    batches = [batch.pk for step in steps for batch in step.batches]
    for rest in BatchRest.objects.filter(batch__in=batches):
        thrown, back = found[rest.batch_id]
        is_back = rest.posting_id is not None
        found[rest.batch_id] = (thrown + (ZERO if is_back else rest.litres), back + (rest.litres if is_back else ZERO))
    return found


def _reworked(steps: Sequence[StepView]) -> Mapping[int, Decimal]:
    """Litres of each batch that went on rework. One query."""
    batches = [batch.pk for step in steps for batch in step.batches]
    uses = BatchUse.objects.standing().filter(batch__in=batches, log__reworks__isnull=False).order_by()
    return {row["batch"]: row["total"] for row in uses.values("batch").annotate(total=Sum("litres"))}


def _split(
    step: StepView, frozen: FrozenStep, rests: Mapping[int, tuple[Decimal, Decimal]], reworked: Mapping[int, Decimal]
) -> CoatSplit | None:
    """Where the mix of the planned coat went; what mended defects stands on its own."""
    coat = frozen.coat
    planned = [log for log in step.logs if not log.reworks_id]
    mixed = sum((log.mixed for log in planned if log.mixed), ZERO)
    mixed += sum((batch.litres - reworked.get(batch.pk, ZERO) for batch in step.batches), ZERO)
    if coat is None or mixed <= 0:
        return None
    mixings = len(step.batches) + sum(1 for log in planned if log.mixed)
    return split_coat(
        mixed=mixed,
        back=sum((rests[batch.pk][1] for batch in step.batches), ZERO),
        thrown=sum((rests[batch.pk][0] for batch in step.batches), ZERO),
        left=sum((batch.left for batch in step.batches), ZERO),
        fills=sum(log.fills for log in planned),
        batches=mixings,
        residue_per_fill=coat.residue_per_fill,
        residue_per_batch=coat.residue_per_batch,
        film=_film(step, coat) if step.is_done else None,
        planned_share=coat.on_surface / coat.sprayed if coat.sprayed else ZERO,
    )


def _film(step: StepView, coat: FrozenCoat) -> Decimal:
    """Area times the mean of the readings, L; the stated film where nobody took any."""
    readings = [log.wet_film for log in step.logs if log.wet_film is not None and not log.reworks_id]
    mean = sum(readings, ZERO) / len(readings) if readings else coat.wet_film
    return coat.on_surface * mean / coat.wet_film


def _spent(
    taken: Iterable[_Taken],
    weights: Mapping[int, Mapping[CostGroup, Decimal]],
    kinds: Mapping[int, Material],
    snapshot: Snapshot,
) -> tuple[MaterialSpent, ...]:
    allowances = {fact.id: fact.expiry_allowance for fact in snapshot.materials}
    sums: dict[int, list[Decimal]] = defaultdict(lambda: [ZERO, ZERO])
    for row in taken:
        sums[row.material][0] += row.quantity
        sums[row.material][1] += row.cost
    return tuple(
        MaterialSpent(
            key=str(pk),
            name=kinds[pk].name,
            quantity=quantity,
            cost=cost,
            weights={group: weight for group, weight in weights.get(pk, {}).items() if weight > 0},
            expiry_allowance=allowances.get(pk, ZERO),
        )
        for pk, (quantity, cost) in sums.items()
    )


def _cleaner(spent: Iterable[MaterialSpent], kinds: Mapping[int, Material]) -> Decimal:
    """Cleaning liquid used, L."""
    litres = ZERO
    for each in spent:
        material = kinds[int(each.key)]
        if SUPPLY_GROUPS.get(MaterialKind(material.kind)) is CostGroup.CLEANER and CostGroup.CLEANER in each.weights:
            if material.stock_unit == "L":
                litres += each.quantity
            elif material.stock_unit == "kg" and material.density:
                litres += each.quantity / material.density
    return litres


# ------------------------------------------------------------ work


class LabourRates:
    """What an hour of each labour class cost on a day: from the history of the classes, else as it was estimated."""

    def __init__(self, snapshot: Snapshot) -> None:
        self._standard = {labour.name: labour.loaded_rate for labour in snapshot.labour}
        self._past: dict[str, list[tuple[datetime, Decimal]]] = defaultdict(list)
        ids = {labour.id: labour.name for labour in snapshot.labour}
        for row in LabourClass.history.filter(id__in=ids).order_by("history_date", "history_id"):
            self._past[ids[row.id]].append((row.history_date, row.wage * (1 + row.burden)))

    def standard(self, name: str) -> Decimal:
        """Per hour, as estimated."""
        return self._standard.get(name, ZERO)

    def at(self, name: str, moment: datetime) -> Decimal:
        """Per hour, as paid at a moment."""
        past = [rate for since, rate in self._past.get(name, ()) if since <= moment]
        return past[-1] if past else self.standard(name)


def _labour(steps: Sequence[StepView], snapshot: Snapshot, rates: LabourRates) -> tuple[tuple[LabourSpent, ...], Decimal]:
    """Work by class as it was paid, and the money that went into mending defects."""
    minutes: dict[str, Decimal] = defaultdict(lambda: ZERO)
    money: dict[str, Decimal] = defaultdict(lambda: ZERO)
    rework = ZERO
    for step, frozen in zip(steps, snapshot.performed_steps, strict=False):
        for log in step.logs:
            cost = log.minutes * rates.at(frozen.labour_class, log.done_at) / SIXTY
            if log.reworks_id:
                rework += cost
            else:
                minutes[frozen.labour_class] += log.minutes
                money[frozen.labour_class] += cost
    return tuple(LabourSpent(key=name, name=name, minutes=minutes[name], cost=money[name]) for name in minutes), rework


def _booth_minutes(steps: Sequence[StepView], snapshot: Snapshot) -> Decimal:
    """Booth time of a coat: as planned, stretched by how the work on it went; rework uses the booth like the coat itself."""
    total = ZERO
    for step, frozen in zip(steps, snapshot.performed_steps, strict=False):
        if frozen.booth_minutes and frozen.labour_minutes:
            total += frozen.booth_minutes * step.minutes / frozen.labour_minutes
    return total


def _rates(snapshot: Snapshot) -> Rates:
    rates = snapshot.rates
    return Rates(
        labour={},
        booth_rate=rates.booth_rate,
        overhead_rate=rates.overhead_rate,
        rework_allowance=rates.rework_allowance,
        disposal_fee=rates.disposal_fee,
        voc_recovered=float(rates.voc_recovered),
    )


# ------------------------------------------------------------ variances


def _material_variances(spent: Sequence[MaterialSpent], snapshot: Snapshot) -> tuple[Variance, ...]:
    """Every material that was planned or used: standard is what was estimated, at the price of that day."""
    prices = {fact.id: fact for fact in snapshot.materials}
    used = {int(each.key): each for each in spent}
    needs = {need.material_id: need for need in snapshot.needs}
    found = []
    for pk in dict.fromkeys((*needs, *used)):
        need, each, fact = needs.get(pk), used.get(pk), prices.get(pk)
        cost = each.cost if each else ZERO
        quantity = each.quantity if each else ZERO
        unplanned = cost / quantity if quantity else ZERO
        found.append(
            variance(
                name=need.name if need else each.name if each else str(pk),
                unit=need.unit if need else fact.unit if fact else "",
                standard_quantity=need.quantity if need else ZERO,
                standard_price=fact.price if fact else unplanned,
                actual_quantity=quantity,
                actual_cost=cost,
            )
        )
    return tuple(found)


def _labour_variances(
    labour: Sequence[LabourSpent],
    steps: Sequence[StepView],
    snapshot: Snapshot,
    rates: LabourRates,
) -> tuple[Variance, ...]:
    """Every labour class: standard is what was estimated. Rework counts as work of its class that was not planned."""
    spent = {each.name: each for each in labour}
    minutes: dict[str, Decimal] = defaultdict(lambda: ZERO)
    money: dict[str, Decimal] = defaultdict(lambda: ZERO)
    for step, frozen in zip(steps, snapshot.performed_steps, strict=False):
        for log in step.logs:
            if log.reworks_id:
                minutes[frozen.labour_class] += log.minutes
                money[frozen.labour_class] += log.minutes * rates.at(frozen.labour_class, log.done_at) / SIXTY
    return tuple(
        variance(
            name=planned.name,
            unit="h",
            standard_quantity=planned.minutes / SIXTY,
            standard_price=planned.loaded_rate,
            actual_quantity=((spent[planned.name].minutes if planned.name in spent else ZERO) + minutes[planned.name]) / SIXTY,
            actual_cost=(spent[planned.name].cost if planned.name in spent else ZERO) + money[planned.name],
        )
        for planned in snapshot.labour
    )
