"""What the log teaches about each spray setup: its coats as points, the posterior, and what adopting it would change.

Reads only. A point is a finished coat: all standing logs of its step together, without rework.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import Sum
from django.utils import timezone

from costing.choices import LearntFate, LearntKind, OperationKind
from costing.core.checks import to_decimal
from costing.core.learning import MOST_EFFICIENCY, CoatSeen, Learnt, Line, fit_line, learn, observed_efficiency, observed_rate
from costing.models import BatchUse, CoatLog, Estimate, JobStep, LearntDecision, SpraySetup
from costing.services.estimating import PricedOption, price_inputs
from costing.services.inputs import load_inputs
from costing.snapshots import FrozenStep, Snapshot, read_snapshot

MOST_POINTS = 2000  # of a setup, the latest; older coats no longer speak for it
MOST_ESTIMATES = 20
ZERO = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One finished coat."""

    step: JobStep
    system: str
    done_at: datetime
    area: float  # m²
    minutes: float
    efficiency: float | None
    rate: float | None  # m²/h
    measured: bool  # gauge readings were taken; False: the stated film is assumed

    @property
    def is_impossible(self) -> bool:
        """True where more seems to have landed than was sprayed."""
        return self.efficiency is not None and self.efficiency > MOST_EFFICIENCY


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A figure of a setup, learnt from its points."""

    kind: LearntKind
    learnt: Learnt
    points: tuple[Point, ...]  # those that show it, in order of time
    outliers: frozenset[int]  # steps

    @property
    def values(self) -> tuple[float, ...]:
        """What each point shows."""
        return tuple(_value(point, self.kind) or 0.0 for point in self.points)


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemFigures:
    """What the coats of one coating system show on this setup."""

    system: str
    figures: tuple[Figure, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SetupLearning:
    """Everything that the log says of a setup."""

    setup: SpraySetup
    points: tuple[Point, ...]  # the latest last
    figures: tuple[Figure, ...]
    systems: tuple[SystemFigures, ...]
    line: Line | None  # minutes of a coat against its area

    def figure(self, kind: LearntKind) -> Figure:
        """One of its figures."""
        return next(figure for figure in self.figures if figure.kind == kind)


def setting_of(setup: SpraySetup, kind: LearntKind) -> Decimal:
    """What the shop reckons with now: a share, or m²/h."""
    return setup.transfer_efficiency if kind == LearntKind.EFFICIENCY else setup.spray_rate


def learning_of(setup: SpraySetup) -> SetupLearning:
    """What the log teaches about a setup, over all systems and by each. Six queries."""
    points = tuple(sorted(_points(setup), key=lambda point: (point.done_at, point.step.pk)))
    by_system: dict[str, list[Point]] = defaultdict(list)
    for point in points:
        by_system[point.system].append(point)
    priors = _priors(setup)
    return SetupLearning(
        setup=setup,
        points=points,
        figures=tuple(_figure(kind, setup, points, priors[kind]) for kind in LearntKind),
        systems=tuple(
            SystemFigures(system=system, figures=tuple(_figure(kind, setup, own, priors[kind]) for kind in LearntKind))
            for system, own in sorted(by_system.items())
        ),
        line=fit_line([(point.area, point.minutes) for point in points if point.minutes]),
    )


def _priors(setup: SpraySetup) -> Mapping[LearntKind, Decimal]:
    """The setting before the log taught it: adoptions are followed back, so that their coats do not count a second time.

    A setting that a person wrote since then is a prior of its own.
    """
    priors = {kind: setting_of(setup, kind) for kind in LearntKind}
    written = set()
    for made in LearntDecision.objects.filter(setup=setup, fate=LearntFate.ADOPTED).order_by("-at", "-pk"):
        kind = LearntKind(made.kind)
        if made.value != priors[kind]:
            written.add(kind)
        if kind not in written:
            priors[kind] = made.before
    return priors


def _figure(kind: LearntKind, setup: SpraySetup, points: Sequence[Point], prior: Decimal) -> Figure:
    shown = tuple(point for point in points if _value(point, kind))
    learnt = learn(
        [_value(point, kind) or 0.0 for point in shown],
        setting=float(setting_of(setup, kind)),
        prior=float(prior),
        most=MOST_EFFICIENCY if kind == LearntKind.EFFICIENCY else None,
    )
    return Figure(kind=kind, learnt=learnt, points=shown, outliers=frozenset(shown[place].step.pk for place in learnt.outliers))


def _value(point: Point, kind: LearntKind) -> float | None:
    """What a coat teaches. A film that nobody measured says what was planned, not what landed."""
    if kind == LearntKind.EFFICIENCY:
        return point.efficiency if point.measured else None
    return point.rate


# ------------------------------------------------------------ from the log to points


@dataclass(slots=True)
class _Sums:
    """What the logs and batches of a step add up to."""

    mixed: Decimal = ZERO
    minutes: Decimal = ZERO
    fills: int = 0
    mixings: int = 0
    films: list[Decimal] | None = None
    done_at: datetime | None = None
    is_done: bool = False


def _points(setup: SpraySetup) -> Iterator[Point]:
    steps = list(
        JobStep.objects.filter(setup=setup, kind=OperationKind.COAT, logs__finishes_step=True)
        .distinct()
        .select_related("job__quote_option")
        .defer("job__quote_option__snapshot")
        .order_by("-pk")[:MOST_POINTS]
    )
    sums = _sums([step.pk for step in steps])
    frozen = _frozen({step.job.quote_option_id for step in steps})
    for step in steps:
        planned = frozen[step.job.quote_option_id].get(step.position)
        summed = sums.get(step.pk)
        if planned is not None and summed is not None and summed.is_done and summed.mixed:
            yield _point(step, planned, summed, step.job.quote_option.system_name)


def _frozen(options: set[int]) -> Mapping[int, Mapping[int, FrozenStep]]:
    """The planned steps of each quote option by the position of the job's step. Snapshots are read one at a time."""
    from costing.models import QuoteOption

    found: dict[int, dict[int, FrozenStep]] = defaultdict(dict)
    for option in QuoteOption.objects.filter(pk__in=options).only("pk", "snapshot").iterator(chunk_size=200):
        snapshot: Snapshot = read_snapshot(option)
        found[option.pk] = dict(enumerate(snapshot.performed_steps, start=1))
    return found


def _sums(steps: Iterable[int]) -> Mapping[int, _Sums]:
    wanted = list(steps)
    sums: dict[int, _Sums] = defaultdict(_Sums)
    logs = CoatLog.objects.standing().filter(step__in=wanted, reworks__isnull=True).order_by("done_at", "pk")
    for log in logs.only("step_id", "mixed", "minutes", "fills", "wet_film", "done_at", "finishes_step"):
        of = sums[log.step_id]
        of.minutes += log.minutes
        of.fills += log.fills
        of.done_at = log.done_at
        of.is_done = of.is_done or log.finishes_step
        if log.mixed:
            of.mixed += log.mixed
            of.mixings += 1
        if log.wet_film is not None:
            of.films = [*(of.films or []), log.wet_film]
    _add_batches(sums, wanted)
    return sums


def _add_batches(sums: Mapping[int, _Sums], steps: Sequence[int]) -> None:
    """What coats took of batches that were mixed before; rests of a batch are not in it."""
    uses = BatchUse.objects.standing().filter(log__step__in=steps, log__reworks__isnull=True)
    for row in uses.order_by().values("log__step", "batch").annotate(total=Sum("litres")):
        of = sums[row["log__step"]]
        of.mixed += row["total"]
        of.mixings += 1


def _point(step: JobStep, planned: FrozenStep, summed: _Sums, system: str) -> Point:
    coat = planned.coat
    assert coat is not None  # noqa: S101 - only coats have a setup
    films = summed.films or [coat.wet_film]
    seen = CoatSeen(
        sprayed_area=float(coat.sprayed_area),
        wet_film=float(sum(films, ZERO) / len(films)),
        mixed=float(summed.mixed),
        back=0.0,
        fills=summed.fills,
        batches=summed.mixings,
        residue_per_fill=float(coat.residue_per_fill),
        residue_per_batch=float(coat.residue_per_batch),
        minutes=float(summed.minutes),
        other_minutes=float(planned.labour_minutes - coat.spray_minutes),
    )
    return Point(
        step=step,
        system=system,
        done_at=summed.done_at or timezone.now(),
        area=float(planned.area),
        minutes=float(summed.minutes),
        efficiency=observed_efficiency(seen),
        rate=observed_rate(seen, float(planned.area)),
        measured=summed.films is not None,
    )


# ------------------------------------------------------------ what adopting would change


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A system of an open estimate before and after."""

    estimate: Estimate
    system: str
    before: Decimal  # shown true cost
    after: Decimal

    @property
    def difference(self) -> Decimal:
        """After less before."""
        return self.after - self.before


def changes_by_adopting(setup: SpraySetup, kind: LearntKind, value: Decimal) -> tuple[Change, ...]:
    """Open estimates in which the setup is used, priced as they are and with the learnt value; the latest first.

    Open is an estimate that no job was made of. Quotes that were sent stay as they are: their prices are frozen.
    """
    open_ones = (
        Estimate.objects.filter(options__system__operations__setup=setup)
        .exclude(quotes__options__job__isnull=False)
        .distinct()
        .order_by("-pk")[:MOST_ESTIMATES]
    )
    return tuple(change for estimate in open_ones for change in _changes(estimate, setup, kind, value))


def _changes(estimate: Estimate, setup: SpraySetup, kind: LearntKind, value: Decimal) -> Iterator[Change]:
    chosen = list(estimate.options.order_by("position", "pk").values_list("system_id", flat=True))
    inputs = load_inputs(estimate, chosen, shop=None, on=timezone.localdate())
    before = price_inputs(inputs)
    for system in inputs.systems:
        for operation in system.operations.all():
            if operation.setup_id == setup.pk and operation.setup is not None:
                if kind == LearntKind.EFFICIENCY:
                    operation.setup.transfer_efficiency = value
                else:
                    operation.setup.spray_rate = value
    for one, other in zip(before, price_inputs(inputs), strict=True):
        if isinstance(one, PricedOption) and isinstance(other, PricedOption):
            cost, changed = one.shown.true_cost, other.shown.true_cost
            if cost != changed:
                yield Change(estimate=estimate, system=one.system.name, before=cost, after=changed)


def as_setting(value: float, kind: LearntKind) -> Decimal:
    """A learnt value as the setup keeps it: efficiency at most 1."""
    rounded = round(to_decimal(value), 4 if kind == LearntKind.EFFICIENCY else 3)
    return min(rounded, Decimal(1)) if kind == LearntKind.EFFICIENCY else rounded
