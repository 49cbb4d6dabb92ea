"""What the pages of jobs and of the spray room read: steps, logs, material that is booked, lots that may be used.

Reads only, each in a constant number of queries.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db.models import Prefetch
from django.utils import timezone

from costing.models import Batch, BatchUse, CoatLog, Job, JobStep, JobStepMaterial, QuoteOption
from costing.snapshots import read_snapshot
from inventory.core.lots import ShortageError, choose_lots
from inventory.models import Booking, Lot, Material, Movement

ZERO = Decimal(0)
KEPT_STEPS = 3
LEAST_MINUTES = Decimal(5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Material that a job wants, against what is here. Stock units."""

    material: Material
    wanted: Decimal
    usable: Decimal  # on hand and fit for use today
    before: Decimal  # booked for jobs that come first

    @property
    def short(self) -> Decimal:
        """What is missing today once the jobs before it have theirs."""
        return max(self.wanted - max(self.usable - self.before, ZERO), ZERO)


@dataclass(frozen=True, slots=True, kw_only=True)
class Booked:
    """One booking of a job. Stock units."""

    material: Material
    planned: Decimal
    drawn: Decimal
    held: Decimal  # still booked: 0 once the booking is closed
    short: Decimal  # missing today for what is still booked


@dataclass(frozen=True, slots=True, kw_only=True)
class LotTake:
    """So much from that lot."""

    lot: Lot
    quantity: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """Where a quantity would come from, and what of it is missing. Stock units."""

    takes: tuple[LotTake, ...]
    short: Decimal


def usable_by_material(materials: Iterable[int], on: date) -> Mapping[int, Decimal]:
    """What may be used of each material on a day. One query."""
    usable: dict[int, Decimal] = defaultdict(lambda: ZERO)
    for lot in Lot.objects.in_stock().filter(material__in=list(materials)).with_state():
        if lot.is_usable(on):
            usable[lot.material_id] += lot.on_hand
    return usable


def wanted_by(option: QuoteOption, *, starts_on: date, on: date) -> tuple[Wanted, ...]:
    """What accepting an option would book for ``starts_on``, and what of it would be missing today."""
    needs = read_snapshot(option).needs
    materials = Material.objects.in_bulk([need.material_id for need in needs])
    usable = usable_by_material(materials, on)
    before: dict[int, Decimal] = defaultdict(lambda: ZERO)
    for booking in Booking.objects.open().filter(material__in=materials, needed_on__lte=starts_on).with_remaining():
        before[booking.material_id] += booking.remaining
    return tuple(
        Wanted(
            material=materials[need.material_id],
            wanted=need.quantity,
            usable=usable[need.material_id],
            before=before[need.material_id],
        )
        for need in needs
        if need.material_id in materials
    )


def booked_for(job: Job, on: date) -> tuple[Booked, ...]:
    """The bookings of a job by material: planned, drawn, still booked, and what is missing today."""
    own = list(Booking.objects.filter(holder=job.holder).with_remaining().select_related("material").order_by("pk"))
    materials = [booking.material_id for booking in own]
    usable = usable_by_material(materials, on)
    open_ones = Booking.objects.open().filter(material__in=materials).with_remaining()
    by_material: dict[int, list[Booking]] = defaultdict(list)
    for booking in open_ones:
        by_material[booking.material_id].append(booking)
    return tuple(_booked(booking, by_material[booking.material_id], usable[booking.material_id]) for booking in own)


def _booked(own: Booking, others: Sequence[Booking], usable: Decimal) -> Booked:
    held = own.remaining if own.is_open else ZERO
    before = sum((other.remaining for other in others if (other.needed_on, other.pk) < (own.needed_on, own.pk)), ZERO)
    return Booked(
        material=own.material,
        planned=own.planned,
        drawn=own.drawn,
        held=held,
        short=max(held - max(usable - before, ZERO), ZERO),
    )


def lots_for(materials: Iterable[int]) -> Mapping[int, list[Lot]]:
    """The lots of each material that hold something, in the order in which they are to be used up. One query."""
    found: dict[int, list[Lot]] = defaultdict(list)
    lots = Lot.objects.in_stock().filter(material__in=list(materials)).with_state()
    for lot in sorted(lots, key=lambda lot: (lot.usable_until or date.max, lot.received_on, lot.pk)):
        found[lot.material_id].append(lot)
    return found


def propose(lots: Sequence[Lot], quantity: Decimal, *, on: date, chosen: Lot | None = None) -> Proposal:
    """Where ``quantity`` would come from: the chosen lot, or usable lots first expired first out."""
    if quantity <= 0:
        return Proposal(takes=(), short=ZERO)
    if chosen is not None:
        part = min(quantity, chosen.on_hand)
        return Proposal(takes=(LotTake(lot=chosen, quantity=part),) if part else (), short=quantity - part)
    by_pk = {lot.pk: lot for lot in lots}
    views = [lot.as_view() for lot in lots]
    short = ZERO
    try:
        takes = choose_lots(views, quantity=quantity, on=on)
    except ShortageError as shortage:
        short = shortage.wanted - shortage.usable
        takes = choose_lots(views, quantity=shortage.usable, on=on) if shortage.usable else ()
    return Proposal(takes=tuple(LotTake(lot=by_pk[take.lot_id], quantity=take.quantity) for take in takes), short=short)


# ---------------------------------------------------------------- steps and logs


@dataclass(frozen=True, slots=True, kw_only=True)
class StepView:
    """A step with what its standing logs say."""

    step: JobStep
    logs: tuple[CoatLog, ...]  # standing, the latest first
    materials: tuple[JobStepMaterial, ...]
    batches: tuple[Batch, ...] = ()  # mixed for this step and standing, with what is left, the latest first

    @property
    def mixed(self) -> Decimal:
        """Litres mixed so far: in batches, and as coats were logged."""
        direct = sum((log.mixed for log in self.logs if log.mixed), ZERO)
        return sum((batch.litres for batch in self.batches), direct)

    @property
    def open_batches(self) -> tuple[Batch, ...]:
        """Batches that still hold something."""
        return tuple(batch for batch in self.batches if batch.left > 0)

    @property
    def minutes(self) -> Decimal:
        """Minutes worked so far."""
        return sum((log.minutes for log in self.logs), ZERO)

    @property
    def minutes_left(self) -> Decimal:
        """What the plan still asks for, min; a step that has taken its time already still takes a moment."""
        return max(self.step.planned_minutes - self.minutes, LEAST_MINUTES)

    @property
    def fills(self) -> int:
        """Cup fills so far."""
        return sum(log.fills for log in self.logs)

    @property
    def is_done(self) -> bool:
        """True when somebody has logged that it is finished."""
        return any(log.finishes_step for log in self.logs)

    @property
    def is_begun(self) -> bool:
        """True when something is logged on it."""
        return bool(self.logs)

    @property
    def mix_left(self) -> Decimal:
        """What the plan still asks to be mixed, L."""
        return max((self.step.planned_mix or ZERO) - self.mixed, ZERO)

    @property
    def ratio(self) -> str:
        """The parts of the mix: 10 : 1."""
        parts = [line.parts for line in self.materials if line.parts is not None]
        return " : ".join(f"{part.normalize():f}" for part in parts) if len(parts) > 1 else ""

    @property
    def ready_at(self) -> datetime | None:
        """When the last coat that was logged has dried, local time; None where nothing dries."""
        if not self.logs or not self.step.dry_minutes:
            return None
        return self.logs[0].done_local + timedelta(minutes=float(self.step.dry_minutes))


@dataclass(frozen=True, slots=True, kw_only=True)
class JobView:
    """A job with its steps in order."""

    job: Job
    steps: tuple[StepView, ...]

    @property
    def next_step(self) -> StepView | None:
        """The first step that is not finished."""
        return next((step for step in self.steps if not step.is_done), None)

    @property
    def steps_begun(self) -> bool:
        """True once anything is logged."""
        return any(step.is_begun for step in self.steps)

    @property
    def coming_steps(self) -> tuple[StepView, ...]:
        """The next steps that are not finished: what a tablet keeps pages of, for when the network is gone."""
        return tuple(step for step in self.steps if not step.is_done)[:KEPT_STEPS]

    @property
    def done_count(self) -> int:
        """How many steps are finished."""
        return sum(step.is_done for step in self.steps)

    @property
    def last_log(self) -> tuple[StepView, CoatLog] | None:
        """The latest log of the job and its step."""
        logs = [(step, step.logs[0]) for step in self.steps if step.logs]
        return max(logs, key=lambda pair: (pair[1].done_at, pair[1].pk), default=None)

    @property
    def ready_at(self) -> datetime | None:
        """When what was coated last has dried; None where nothing dries."""
        return self.last_log[0].ready_at if self.last_log else None

    @property
    def is_drying(self) -> bool:
        """True while the last coat dries."""
        return self.ready_at is not None and self.ready_at > timezone.now()


def with_steps(jobs: Iterable[Job]) -> list[JobView]:
    """Jobs with their steps, logs, batches and materials, in four queries."""
    kept = list(jobs)
    logs: dict[int, list[CoatLog]] = defaultdict(list)
    for log in CoatLog.objects.standing().filter(step__job__in=kept).select_related("by").order_by("-done_at", "-pk"):
        logs[log.step_id].append(log)
    batches: dict[int, list[Batch]] = defaultdict(list)
    for batch in Batch.objects.standing().with_left().filter(step__job__in=kept).select_related("by"):
        batches[batch.step_id].append(batch)
    materials = Prefetch("materials", JobStepMaterial.objects.select_related("material"))
    steps: dict[int, list[StepView]] = defaultdict(list)
    for step in JobStep.objects.filter(job__in=kept).order_by("position").prefetch_related(materials):
        for batch in batches[step.pk]:
            batch.step = step
        view = StepView(
            step=step, logs=tuple(logs[step.pk]), materials=tuple(step.materials.all()), batches=tuple(batches[step.pk])
        )
        steps[step.job_id].append(view)
    return [JobView(job=job, steps=tuple(steps[job.pk])) for job in kept]


def log_of(job: Job) -> list[CoatLog]:
    """Everything logged on a job, the latest first, each with ``is_reversed`` and the lots that it took."""
    moves = Prefetch("posting__movements", Movement.objects.select_related("lot__material").order_by("pk"))
    uses = Prefetch("batch_uses", BatchUse.objects.select_related("batch"))
    logs = CoatLog.objects.filter(step__job=job).with_reversed().select_related("step", "by", "posting", "reworks__step")
    logs = logs.prefetch_related(moves, uses)
    return list(logs.order_by("-done_at", "-pk"))


def open_lots(materials: Iterable[int], on: date) -> list[Lot]:
    """Opened lots of these materials that still hold something, the one that ends first on top."""
    lots = Lot.objects.in_stock().filter(material__in=list(materials), opened_on__isnull=False, opened_on__lte=on)
    return sorted(lots.with_state(), key=lambda lot: (lot.usable_until or date.max, lot.pk))


def open_pots() -> list[Batch]:
    """Batches of all jobs that still hold something, the one whose pot life ends first on top. One query."""
    pots = Batch.objects.open().select_related("step__job", "by")
    return sorted(pots, key=lambda pot: (pot.usable_until is None, pot.usable_until or pot.mixed_local, pot.pk))
