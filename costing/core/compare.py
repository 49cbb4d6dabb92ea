"""Coating systems compared over a range of job sizes: what each costs, and where one overtakes another.

Imports no Django. Every figure is the answer of `costing.core.estimate` on a job of the same kind of pieces and another size,
so that a comparison and an estimate never disagree. A job's size is its finished area A.

The cost of a job climbs in steps (fills, batches, whole supplies), so two systems may change places more than once. What is
reported as overtaking is every change that shows between two sizes of the range, narrowed down between them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations
from math import exp, log

from costing.core.calendar import lay_out
from costing.core.checks import ceiling, check_number, to_decimal
from costing.core.errors import ContradictionError
from costing.core.estimate import estimate
from costing.core.facts import MaterialFacts, Rates
from costing.core.result import Estimate
from costing.core.schedule import elapsed_steps
from costing.core.system import CostGroup, System
from costing.core.takeoff import GivenArea, Row, Takeoff, Zone

LARGEST_JOB = 10_000.0  # m²
NARROW = 0.005  # how closely an overtaking is narrowed down, a share of the size


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A system with all that pricing it needs."""

    key: str
    system: System
    materials: Mapping[str, MaterialFacts]
    rates: Rates
    packs: Mapping[str, Decimal]  # content of the pack that the shop buys as a rule, in stock units, by material

    @property
    def name(self) -> str:
        """The system's name."""
        return self.system.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One system at one job size."""

    area: float  # A, m²
    groups: Mapping[CostGroup, Decimal]  # money for the whole job, unrounded
    cost: Decimal  # their sum
    labour_minutes: float  # person-minutes
    elapsed_minutes: float  # work by the crew, and drying
    days: float  # working days from the first operation to stacking; nights dry too
    voc_kg: float
    drawn_litres: float  # coating materials from stock, heel included
    bought_litres: float  # the same in whole packs
    wasted_litres: float  # overspray, residue and heel: drawn, but not on the work
    voc_unknown: bool  # a liquid without VOC content was left out

    @property
    def per_m2(self) -> Decimal:
        """True cost over area, money per m²."""
        return self.cost / to_decimal(self.area)

    @property
    def voc_per_m2(self) -> float:
        """Emitted VOC in g per m²."""
        return 1000 * self.voc_kg / self.area

    @property
    def waste_share(self) -> float | None:
        """Share of the coating drawn that does not end on the work; None where none is drawn."""
        return self.wasted_litres / self.drawn_litres if self.drawn_litres else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Overtaking:
    """From about ``area`` on, ``ahead`` costs less than ``behind``."""

    area: float  # m²
    ahead: Candidate
    behind: Candidate


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """From about ``area`` on, until the next lead begins, ``candidate`` is the cheapest of all."""

    area: float  # m²
    candidate: Candidate


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Systems over job sizes."""

    candidates: tuple[Candidate, ...]
    sizes: tuple[float, ...]  # m², growing
    points: Mapping[str, tuple[Point, ...]]  # by candidate, one a size
    overtakings: tuple[Overtaking, ...]  # by size

    def at(self, area: float) -> dict[str, Point]:
        """Each candidate's figures at one of the sizes; KeyError for another one."""
        if area not in self.sizes:
            raise KeyError(area)
        place = self.sizes.index(area)
        return {key: points[place] for key, points in self.points.items()}

    def ranked(self, area: float) -> list[tuple[Candidate, Point]]:
        """The candidates at a size, the cheapest first; equal ones as they were given."""
        found = self.at(area)
        return sorted(((one, found[one.key]) for one in self.candidates), key=lambda pair: pair[1].cost)

    def leads(self) -> tuple[Lead, ...]:
        """Who is the cheapest of all at which sizes; the first lead begins with the smallest size."""
        leads: list[Lead] = []
        before = self.sizes[0]
        for size in self.sizes:
            best = self.ranked(size)[0][0]
            if not leads:
                leads.append(Lead(area=size, candidate=best))
            elif best is not leads[-1].candidate and self._is_ahead(best, leads[-1].candidate, size):
                leads.append(Lead(area=self._overtaken_at(best, leads[-1].candidate, before, size), candidate=best))
            before = size
        return tuple(leads)

    def _is_ahead(self, one: Candidate, other: Candidate, size: float) -> bool:
        found = self.at(size)
        return found[one.key].cost < found[other.key].cost

    def _overtaken_at(self, ahead: Candidate, behind: Candidate, low: float, high: float) -> float:
        """Where the lead changed between two neighbouring sizes, as far as it was narrowed down."""
        areas = [one.area for one in self.overtakings if one.ahead is ahead and one.behind is behind and low < one.area <= high]
        return min(areas, default=high)


def sized(pattern: Takeoff, area: float) -> Takeoff:
    """A job of ``area`` m² with the pattern's mix of zones, geometry and size of pieces.

    The pieces of a zone become one row of as many pieces as come closest, one at least, since a job has whole pieces.
    Raises ContradictionError for a pattern without area.
    """
    check_number(area, "area", unit="m²", above=0, most=LARGEST_JOB)
    if not pattern.area:
        raise ContradictionError(
            field="pattern", value=0, words="kind of pieces", because="has no area", right="choose an estimate with a takeoff"
        )
    factor = area / pattern.area
    rows = []
    for zone in Zone:
        total = pattern.total(frozenset({zone}))
        if total.area:
            rows.append(
                Row(
                    shape=GivenArea(area=total.area * factor),
                    pieces=max(1, round(total.pieces * factor)),
                    label=zone.value,
                    geometry_factor=min(1.0, total.area / total.sprayed_area),
                    zone=zone,
                )
            )
    return Takeoff(rows=tuple(rows))


def spread(low: float, high: float, count: int) -> tuple[float, ...]:
    """``count`` sizes from low to high, each larger than the one before by the same factor.

    >>> [round(size, 6) for size in spread(10, 1000, 3)]
    [10, 100.0, 1000]
    """
    if not 0 < low < high or count < 2:
        raise ContradictionError(
            field="high", value=high, words="largest size", because="is not above the smallest", right="give a larger one"
        )
    step = log(high / low) / (count - 1)
    return (low, *(low * exp(step * place) for place in range(1, count - 1)), high)


def round_sizes(low: float, high: float) -> tuple[float, ...]:
    """The sizes 1, 2, 5, 10, 20, 50 … that lie between low and high, both ends included.

    >>> round_sizes(8, 120)
    (8, 10.0, 20.0, 50.0, 100.0, 120)
    """
    series = (factor * 10.0**power for power in range(-2, 6) for factor in (1, 2, 5))
    return (low, *(size for size in series if low * 1.05 < size < high * 0.95), high)


def compare(candidates: Sequence[Candidate], *, pattern: Takeoff, sizes: Sequence[float], hours_a_day: Decimal) -> Comparison:
    """Price every candidate at every size, and find where one overtakes another.

    Raises what `costing.core.estimate` raises for a system that cannot be priced.
    """
    growing = tuple(sorted(set(sizes)))
    jobs = [sized(pattern, size) for size in growing]
    points = {one.key: tuple(point_of(one, job, hours_a_day) for job in jobs) for one in candidates}
    return Comparison(
        candidates=tuple(candidates),
        sizes=growing,
        points=points,
        overtakings=_overtakings(candidates, pattern, growing, points),
    )


def price_of(candidate: Candidate, job: Takeoff) -> Estimate:
    """The candidate priced on a job."""
    return estimate(takeoff=job, system=candidate.system, materials=candidate.materials, rates=candidate.rates)


def point_of(candidate: Candidate, job: Takeoff, hours_a_day: Decimal) -> Point:
    """One system at one size."""
    result = price_of(candidate, job)
    drawn = sum(use.drawn_litres for use in result.material_uses)
    return Point(
        area=job.area,
        groups=result.groups,
        cost=result.true_cost,
        labour_minutes=result.labour_minutes,
        elapsed_minutes=result.elapsed_minutes,
        days=lay_out(elapsed_steps(result.operations), hours_a_day=float(hours_a_day)).days,
        voc_kg=result.voc_kg,
        drawn_litres=drawn,
        bought_litres=sum(bought_litres(result, candidate.packs).values()),
        wasted_litres=drawn - sum(use.film_litres for use in result.material_uses),
        voc_unknown=any(notice.code.value == "voc-unknown" for notice in result.notices),
    )


def bought_litres(result: Estimate, packs: Mapping[str, Decimal]) -> dict[str, float]:
    """Litres of each coating material in whole packs, by material; as drawn where no pack is known."""
    bought = {}
    for use in result.material_uses:
        drawn = use.material.stock_quantity(use.drawn_litres)
        content = float(packs.get(use.material.key, 0))
        quantity = ceiling(drawn / content) * content if content else drawn
        bought[use.material.key] = use.material.litres(quantity) or 0.0
    return bought


def _overtakings(
    candidates: Sequence[Candidate], pattern: Takeoff, sizes: Sequence[float], points: Mapping[str, Sequence[Point]]
) -> tuple[Overtaking, ...]:
    found = []
    for one, other in combinations(candidates, 2):
        last = Decimal(0)
        since = sizes[0]
        for place, size in enumerate(sizes):
            lead = points[other.key][place].cost - points[one.key][place].cost
            if not lead:
                continue  # equal: nobody overtakes until one is ahead
            if last and (lead > 0) != (last > 0):
                ahead, behind = (one, other) if lead > 0 else (other, one)
                area = _narrowed(ahead, behind, pattern, since, size)
                found.append(Overtaking(area=area, ahead=ahead, behind=behind))
            last, since = lead, size
    return tuple(sorted(found, key=lambda overtaking: overtaking.area))


def _narrowed(ahead: Candidate, behind: Candidate, pattern: Takeoff, low: float, high: float) -> float:
    """A size between low and high at which ``ahead`` takes the lead, to half a percent."""
    while high > low * (1 + NARROW):
        middle = (low + high) / 2
        job = sized(pattern, middle)
        if price_of(ahead, job).true_cost < price_of(behind, job).true_cost:
            high = middle
        else:
            low = middle
    return high
