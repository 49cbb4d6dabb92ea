"""Comparing coating systems over job sizes: from the shop's rows to the core's comparison. Reads only."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costing.choices import AssumptionKind, LearntKind
from costing.core.checks import to_decimal
from costing.core.compare import Candidate, Comparison, Point, compare, price_of, round_sizes, sized, spread
from costing.core.errors import CostingError
from costing.core.sensitivity import Sensitivity, Turning, sensitivities, turnings
from costing.core.takeoff import GivenArea, Row, Takeoff, Zone
from costing.learning import learning_of
from costing.models import CoatingSystem, Estimate, Operation, SpraySetup
from costing.services.estimating import UnpricedOption, problem_told
from costing.services.inputs import (
    Own,
    PricingInputs,
    PricingProblemError,
    core_materials_of,
    core_rates_of,
    core_system_of,
    core_takeoff_of,
    load_inputs,
)
from finishing.models import Shop

MOST_SYSTEMS = 10
DRAWN_SIZES = 40  # points of a line
_MANY = 1000  # pieces of the typical kind, so that the share of hidden ones comes out whole


@dataclass(frozen=True, slots=True, kw_only=True)
class Pieces:
    """What the jobs are made of: an estimate's pieces, or pieces of one size."""

    estimate: Estimate | None = None
    area: Decimal = Decimal("0.5")  # m² finished on one piece
    hidden: Decimal = Decimal(0)  # share of the pieces that are hidden

    def takeoff(self) -> Takeoff:
        """The pattern of the jobs. Raises PricingProblemError for an estimate with rows that make no sense."""
        if self.estimate is not None:
            return core_takeoff_of(self.estimate, tuple(self.estimate.rows.all()))
        hidden = round(_MANY * self.hidden)
        counts = {Zone.SHOW: _MANY - hidden, Zone.HIDDEN: hidden}
        return Takeoff(
            rows=tuple(
                Row(shape=GivenArea(area=float(self.area) * count), pieces=count, zone=zone)
                for zone, count in counts.items()
                if count
            )
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What is to be compared. Areas in m²."""

    systems: Sequence[CoatingSystem]
    pieces: Pieces
    low: Decimal
    high: Decimal
    at: Decimal  # the size that is answered in words
    prices_of: date | None = None  # None: today's prices
    learnt: bool = False  # transfer efficiency and spraying rate as the log shows them, not as the setups state them


@dataclass(frozen=True, slots=True, kw_only=True)
class LearntSetup:
    """What the log shows of a spray setup; None where no finished coat shows it, so that the setup's own figure holds."""

    setup: SpraySetup
    efficiency: Decimal | None  # a share
    rate: Decimal | None  # m²/h


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """The answer."""

    question: Question
    shop: Shop
    comparison: Comparison | None  # None where no system can be priced
    at: float  # m²
    table_sizes: tuple[float, ...]  # the round ones among the sizes
    sensitivities: tuple[Sensitivity, ...]
    turnings: tuple[Turning, ...]
    unpriced: tuple[UnpricedOption, ...]
    learnt: tuple[LearntSetup, ...] = ()  # where the question asks for what the log shows

    @property
    def ranked(self) -> list[tuple[Candidate, Point]]:
        """The systems at the size that is asked about, the cheapest first."""
        return self.comparison.ranked(self.at) if self.comparison else []


def compare_systems(question: Question, *, shop: Shop, today: date) -> Compared:
    """Compare the systems; those that cannot be priced are answered with their problems, the others without them.

    Raises PricingProblemError where the pieces of the estimate make no sense.
    """
    day = question.prices_of or today
    pattern = question.pieces.takeoff()
    inputs = load_inputs(
        Estimate(), [system.pk for system in question.systems], shop=shop, on=day, at_prices_of=question.prices_of
    )
    low, high, at = (float(size) for size in (question.low, question.high, question.at))
    candidates: list[Candidate] = []
    unpriced: list[UnpricedOption] = []
    job = sized(pattern, at)
    learnt = _learnt_setups(inputs.systems) if question.learnt else ()
    own = _own_of(learnt, inputs.systems)
    for system in inputs.systems:
        try:
            candidates.append(_candidate(inputs, system, job, own))
        except PricingProblemError as error:
            unpriced.append(UnpricedOption(system=system, problems=error.problems))
    tables = tuple(sorted({*_round_sizes(low, high, shop), at}))
    comparison = None
    if candidates:
        sizes = (*spread(low, high, DRAWN_SIZES), *tables)
        comparison = compare(candidates, pattern=pattern, sizes=sizes, hours_a_day=shop.working_hours)
    return Compared(
        question=question,
        shop=shop,
        comparison=comparison,
        at=at,
        table_sizes=tables,
        sensitivities=sensitivities(candidates, job) if candidates else (),
        turnings=turnings(candidates, job),
        unpriced=tuple(unpriced),
        learnt=learnt,
    )


def _coats(systems: Iterable[CoatingSystem]) -> Iterator[tuple[Operation, SpraySetup]]:
    """The operations that spray, with their setups."""
    for system in systems:
        for operation in system.operations.all():
            if operation.setup is not None:
                yield operation, operation.setup


def _learnt_setups(systems: Iterable[CoatingSystem]) -> tuple[LearntSetup, ...]:
    """What the log shows of every setup of these systems, each once."""
    found = []
    for setup in {setup.pk: setup for _, setup in _coats(systems)}.values():
        learning = learning_of(setup)
        values = {kind: learning.figure(kind).learnt for kind in LearntKind}
        shown = {kind: to_decimal(one.value) if one.is_usable else None for kind, one in values.items()}
        found.append(LearntSetup(setup=setup, efficiency=shown[LearntKind.EFFICIENCY], rate=shown[LearntKind.RATE]))
    return tuple(found)


def _own_of(learnt: Iterable[LearntSetup], systems: Iterable[CoatingSystem]) -> Own:
    """Learnt figures in place of the stated ones. An operation that states a spraying rate of its own keeps it."""
    by_setup = {one.setup.pk: one for one in learnt}
    own: dict[tuple[str, int], Decimal] = {}
    for one in by_setup.values():
        if one.efficiency is not None:
            own[AssumptionKind.EFFICIENCY.value, one.setup.pk] = min(one.efficiency, Decimal(1))
    for operation, setup in _coats(systems):
        known = by_setup.get(setup.pk)
        if known is not None and known.rate is not None and operation.spray_rate is None:
            own[AssumptionKind.RATE.value, operation.pk] = known.rate
    return own


def _candidate(inputs: PricingInputs, system: CoatingSystem, job: Takeoff, own: Own) -> Candidate:
    """A system ready to be priced, and tried on one job so that what is missing is told before all sizes are reckoned."""
    core = core_system_of(system, own)
    made = Candidate(
        key=str(system.pk),
        system=core,
        materials=core_materials_of(inputs, system),
        rates=core_rates_of(inputs.shop, system),
        packs={str(pk): pack.content for pk, pack in inputs.packs.items()},
    )
    try:
        price_of(made, job)
    except CostingError as error:
        raise PricingProblemError([problem_told(error, system)]) from error
    return made


def _round_sizes(low: float, high: float, shop: Shop) -> tuple[float, ...]:
    """Sizes for tables, round in the unit that the shop reads."""
    unit = float(area_unit(shop).in_m2)
    return (low, *(size * unit for size in round_sizes(low / unit, high / unit)[1:-1]), high)


@dataclass(frozen=True, slots=True, kw_only=True)
class AreaUnit:
    """The unit of area that the shop reads."""

    words: str
    in_m2: Decimal


def area_unit(shop: Shop) -> AreaUnit:
    """m², or ft² for a shop that reads US units."""
    from finishing.units import Kind, convert, shown_unit

    unit = shown_unit(Kind.AREA, shop.units)
    exact = convert(1, from_unit=unit, to_unit="m²")
    return AreaUnit(words=unit, in_m2=to_decimal(float(exact)))
