"""Recall: from lots to every job, coat and mix they went into and the customers to call; and from a job to all its lots.

Quantities are in stock units and net of what came back: an issue or a return that was taken back by a counter-movement stands
in the list, marked, and counts for nothing. Reads only, each in a constant number of queries.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import F, Q

from costing.models import Batch, BatchUse, CoatLog, Customer, Job, JobStepMaterial
from inventory.models import Booking, Lot, Material, Movement
from inventory.recall import Balance, Flow, balances, flows

ZERO = Decimal(0)
# A recall may reach thousands of logs and jobs, and a quote keeps its whole reckoning: only what is told is read.
LOG_TOLD = (
    *("posting_id", "pk", "done_at", "mixed", "by__first_name", "by__last_name", "by__username"),
    *("step__job_id", "step__position", "step__name"),
)
BATCH_TOLD = ("posting_id", "pk", "mixed_at", "litres", "used", "gone", *LOG_TOLD[4:])


@dataclass(frozen=True, slots=True, kw_only=True)
class Logged:
    """What an issue was for: a step as logged, with its mix, or a batch that was mixed before its coats."""

    pk: int
    job_id: int
    position: int  # of the step
    step: str
    mixed: Decimal | None  # L
    done_at: datetime
    by: str
    batch: str = ""  # the number on the pot
    left: Decimal = ZERO  # L still in the pot of the batch
    coats: tuple[tuple[int, str], ...] = ()  # place and name of the steps that the batch went on and that count


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """One issue or return of a recalled lot, and the work that it went into, where the books say."""

    flow: Flow
    lot: Lot
    job: Job | None = None
    log: Logged | None = None  # the coat, and with it the mix, that the issue was for


@dataclass(frozen=True, slots=True, kw_only=True)
class JobPart:
    """All that went into one job of one material. Stock units."""

    job: Job
    material: Material
    traces: tuple[Trace, ...]
    customer: Customer | None = None  # read for a recall only

    @property
    def taken(self) -> Decimal:
        """Issued for the job; what was reversed does not count."""
        return sum((trace.flow.counts for trace in self.traces if trace.flow.counts > 0), ZERO)

    @property
    def back(self) -> Decimal:
        """Brought back from the job; what was reversed does not count."""
        return -sum((trace.flow.counts for trace in self.traces if trace.flow.counts < 0), ZERO)

    @property
    def stayed(self) -> Decimal:
        """What the job did not give back: on the work, in the waste, or still at the booth."""
        return self.taken - self.back

    @property
    def coats(self) -> tuple[str, ...]:
        """The steps that it was logged on and that count, in their order."""
        logs = [trace.log for trace in self.traces if trace.log and trace.flow.counts > 0]
        steps = {step for log in logs for step in (log.coats if log.batch else ((log.position, log.step),))}
        return tuple(name for _, name in sorted(steps))

    @property
    def days(self) -> tuple[date, date]:
        """The first and the last day of what is listed."""
        return self.traces[0].flow.on, self.traces[-1].flow.on


@dataclass(frozen=True, slots=True, kw_only=True)
class CustomerToCall:
    """A customer in whose work something of the lots is."""

    customer: Customer
    parts: tuple[JobPart, ...]

    @property
    def jobs(self) -> tuple[Job, ...]:
        """Their jobs, each once."""
        return tuple({part.job.pk: part.job for part in self.parts}.values())

    @property
    def last_day(self) -> date:
        """When something was last taken for them."""
        return max(part.days[1] for part in self.parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Recall:
    """Where the lots went."""

    lots: tuple[Lot, ...]
    balances: tuple[Balance, ...]
    traces: tuple[Trace, ...]  # every issue and return, the oldest first
    parts: tuple[JobPart, ...]  # by job and material, those of which something stayed in the work first
    customers: tuple[CustomerToCall, ...]  # everybody with a job in which something stayed, by name

    @property
    def elsewhere(self) -> tuple[Trace, ...]:
        """Issues and returns of which the books name no job."""
        return tuple(trace for trace in self.traces if trace.job is None)

    @property
    def in_stock(self) -> tuple[Lot, ...]:
        """Lots of which something is still here."""
        return tuple(lot for lot in self.lots if lot.on_hand > 0)


def _part(traces: Sequence[Trace], customer: Customer | None = None) -> JobPart:
    first = traces[0]
    if first.job is None:
        raise ValueError("a part of a job has a job")
    return JobPart(job=first.job, material=first.lot.material, traces=tuple(traces), customer=customer)


def _parts(traces: Iterable[Trace], customers: Mapping[int, Customer]) -> tuple[JobPart, ...]:
    together: dict[tuple[int, int], list[Trace]] = defaultdict(list)
    for trace in traces:
        if trace.job is not None:
            together[trace.job.pk, trace.lot.material_id].append(trace)
    made = [_part(of, customers[job_id]) for (job_id, _), of in together.items()]
    return tuple(sorted(made, key=lambda part: (part.stayed <= 0, part.days[0], part.job.pk)))


def _to_call(parts: Iterable[JobPart]) -> tuple[CustomerToCall, ...]:
    theirs: dict[Customer, list[JobPart]] = defaultdict(list)
    for part in parts:
        if part.customer is not None and part.stayed > 0:
            theirs[part.customer].append(part)
    called = (CustomerToCall(customer=customer, parts=tuple(of)) for customer, of in theirs.items())
    return tuple(sorted(called, key=lambda one: (one.customer.name.casefold(), one.customer.pk)))


def recall(lots: Iterable[Lot]) -> Recall:
    """Where these lots went. Eight queries, however many jobs and movements there are; two where nothing was issued."""
    kept = {lot.pk: lot for lot in lots}
    moved = flows(Movement.objects.filter(lot__in=list(kept)))
    by_lot = Q(posting__movements__lot__in=list(kept))
    logs = {**_logs(by_lot), **_batches(by_lot)} if moved else {}
    booked = _jobs_of_bookings(Q(booking__movements__lot__in=list(kept))) if moved else {}
    jobs, customers = _jobs({log.job_id for log in logs.values()} | set(booked.values()))

    def trace(flow: Flow) -> Trace:
        log = logs.get(flow.posting_id)
        job_id = log.job_id if log else booked.get(flow.booking_id or 0)
        return Trace(flow=flow, lot=kept[flow.lot_id], job=jobs[job_id] if job_id else None, log=log)

    traces = tuple(trace(flow) for flow in moved)
    parts = _parts(traces, customers)
    return Recall(
        lots=tuple(kept.values()),
        balances=tuple(balances(list(kept.values()))) if kept else (),
        traces=traces,
        parts=parts,
        customers=_to_call(parts),
    )


def lots_of(job: Job) -> tuple[JobPart, ...]:
    """What went into a job, lot by lot: one part for each lot, by material and lot number. Seven queries at most."""
    logs = {**_logs(Q(step__job=job)), **_batches(Q(step__job=job))}
    bookings = list(Booking.objects.filter(step_materials__step__job=job).order_by().distinct().values_list("pk", flat=True))
    moved = flows(Movement.objects.filter(Q(posting__in=list(logs)) | Q(booking__in=bookings)))
    told = Lot.objects.filter(pk__in={flow.lot_id for flow in moved}).select_related("material", "supplier", "location")
    lots = {lot.pk: lot for lot in told}
    together: dict[int, list[Trace]] = defaultdict(list)
    for flow in moved:
        together[flow.lot_id].append(Trace(flow=flow, lot=lots[flow.lot_id], job=job, log=logs.get(flow.posting_id)))
    made = [_part(traces) for traces in together.values()]
    return tuple(sorted(made, key=lambda part: (part.material.name, part.traces[0].lot.number, part.traces[0].lot.pk)))


def _logs(which: Q) -> Mapping[int, Logged]:
    """By posting: what was logged with it. One query."""
    logs = CoatLog.objects.filter(which, posting__isnull=False).order_by("pk").values_list(*LOG_TOLD)
    return {
        posting: Logged(
            pk=pk,
            job_id=job_id,
            position=position,
            step=step,
            mixed=mixed,
            done_at=done_at,
            by=f"{first} {last}".strip() or username,
        )
        for posting, pk, done_at, mixed, first, last, username, job_id, position, step in logs
        if posting is not None
    }


def _batches(which: Q) -> Mapping[int, Logged]:
    """By posting: the batch that was mixed with it, and the coats that it went on. Two queries."""
    batches = Batch.objects.filter(which).with_left().order_by("pk")
    coats: dict[int, set[tuple[int, str]]] = defaultdict(set)
    uses = BatchUse.objects.standing().filter(batch__in=batches.values("pk")).order_by()
    for pk, position, step in uses.values_list("batch_id", "log__step__position", "log__step__name"):
        coats[pk].add((position, step))
    return {
        posting: Logged(
            pk=pk,
            job_id=job_id,
            position=position,
            step=step,
            mixed=litres,
            done_at=mixed_at,
            by=f"{first} {last}".strip() or username,
            batch=Batch(pk=pk).number,
            left=max(litres - used - gone, ZERO),
            coats=tuple(sorted(coats[pk])),
        )
        for posting, pk, mixed_at, litres, used, gone, first, last, username, job_id, position, step in batches.values_list(
            *BATCH_TOLD
        )
    }


def _jobs_of_bookings(which: Q) -> Mapping[int, int]:
    """By booking: the job that planned it. One query."""
    lines = JobStepMaterial.objects.filter(which).order_by()
    return dict(lines.values_list("booking_id", "step__job_id").distinct())


def _jobs(ids: Collection[int]) -> tuple[Mapping[int, Job], Mapping[int, Customer]]:
    """Jobs by their number, and by the same number the customers they are for. Two queries, none for no job."""
    if not ids:
        return {}, {}
    customer = F("quote_option__quote__customer")
    jobs = {job.pk: job for job in Job.objects.filter(pk__in=list(ids)).annotate(customer_pk=customer).order_by()}
    whose = {pk: job.customer_pk for pk, job in jobs.items()}
    customers = {one.pk: one for one in Customer.objects.filter(pk__in=set(whose.values())).order_by()}
    return jobs, {job_id: customers[pk] for job_id, pk in whose.items()}
