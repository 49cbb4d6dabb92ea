"""What defects cost: the material and the work that mended them, by defect and over a year. Reads only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import QuerySet, Sum

from costing.actuals import LabourRates
from costing.models import BatchUse, CoatLog, Defect
from costing.snapshots import read_snapshot
from inventory.models import Movement

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class DefectCost:
    """A defect with what mended it."""

    defect: Defect
    material: Decimal
    labour: Decimal
    minutes: Decimal

    @property
    def cost(self) -> Decimal:
        """Material and work."""
        return self.material + self.labour


@dataclass(frozen=True, slots=True, kw_only=True)
class KindCost:
    """All defects of one kind."""

    kind: str
    count: int
    minutes: Decimal
    material: Decimal
    labour: Decimal

    @property
    def cost(self) -> Decimal:
        """Material and work."""
        return self.material + self.labour


def defect_costs(defects: QuerySet[Defect]) -> tuple[DefectCost, ...]:
    """What each of these defects cost. Work is paid as it was on its day. A constant number of queries, but for the labour
    classes of each job's estimate."""
    found = list(defects.select_related("step__job__quote_option", "by"))
    logs: dict[int, list[CoatLog]] = defaultdict(list)
    for log in CoatLog.objects.standing().filter(reworks__in=found):
        logs[log.reworks_id or 0].append(log)
    every = [log for mended in logs.values() for log in mended]
    value = _issued({log.posting_id for log in every if log.posting_id})
    out_of_pots = _out_of_pots(every)
    rates = _rates(found)
    return tuple(
        DefectCost(
            defect=defect,
            material=sum((value[log.posting_id or 0] + out_of_pots[log.pk] for log in logs[defect.pk]), ZERO),
            labour=sum((_labour(log, defect, rates) for log in logs[defect.pk]), ZERO),
            minutes=sum((log.minutes for log in logs[defect.pk]), ZERO),
        )
        for defect in found
    )


def by_kind(costs: Iterable[DefectCost]) -> tuple[KindCost, ...]:
    """Summed by kind, what cost most first."""
    kinds: dict[str, list[DefectCost]] = defaultdict(list)
    for each in costs:
        kinds[each.defect.get_kind_display()].append(each)
    summed = [
        KindCost(
            kind=kind,
            count=len(rows),
            minutes=sum((row.minutes for row in rows), ZERO),
            material=sum((row.material for row in rows), ZERO),
            labour=sum((row.labour for row in rows), ZERO),
        )
        for kind, rows in kinds.items()
    ]
    return tuple(sorted(summed, key=lambda row: (-row.cost, row.kind)))


def _issued(postings: set[int]) -> defaultdict[int, Decimal]:
    """The value that each posting took, net of counter-movements."""
    rows = Movement.objects.filter(posting__in=postings).order_by().values("posting", "unit_cost").annotate(total=Sum("quantity"))
    sums: defaultdict[int, Decimal] = defaultdict(lambda: ZERO)
    for row in rows:
        sums[row["posting"]] -= row["total"] * row["unit_cost"]
    return sums


def _out_of_pots(logs: Iterable[CoatLog]) -> defaultdict[int, Decimal]:
    """The value of what each log took of batches: its share of what went into them."""
    uses = list(BatchUse.objects.filter(log__in=list(logs)).select_related("batch"))
    value = _issued({use.batch.posting_id for use in uses})
    sums: defaultdict[int, Decimal] = defaultdict(lambda: ZERO)
    for use in uses:
        sums[use.log_id] += value.get(use.batch.posting_id, ZERO) * use.litres / use.batch.litres
    return sums


def _rates(defects: Iterable[Defect]) -> Mapping[int, tuple[LabourRates, Mapping[int, str]]]:
    """The labour rates of each job and the class of each of its steps by position."""
    found: dict[int, tuple[LabourRates, Mapping[int, str]]] = {}
    for defect in defects:
        job = defect.step.job
        if job.pk not in found:
            snapshot = read_snapshot(job.quote_option)
            classes = {position: step.labour_class for position, step in enumerate(snapshot.performed_steps, start=1)}
            found[job.pk] = LabourRates(snapshot), classes
    return found


def _labour(log: CoatLog, defect: Defect, rates: Mapping[int, tuple[LabourRates, Mapping[int, str]]]) -> Decimal:
    of_job, classes = rates[defect.step.job_id]
    return log.minutes * of_job.at(classes.get(defect.step.position, ""), log.done_at) / 60
