"""What a comparison of systems hangs on: prices, transfer efficiency and labour rates a little off. Imports no Django."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum

from costing.core.checks import to_decimal
from costing.core.compare import Candidate, price_of
from costing.core.system import Operation
from costing.core.takeoff import Takeoff

LOWEST, HIGHEST = 0.5, 2.0  # how far a figure is turned to find what changes the answer
CLOSE = 0.0005  # how closely, a share of the figure


class Lever(StrEnum):
    """A figure that may be off."""

    PRICE = "price"  # of all materials
    EFFICIENCY = "efficiency"  # transfer efficiency, at most 1
    LABOUR = "labour"  # wages of all labour classes


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivity:
    """What every candidate costs with one figure of all of them changed alike."""

    lever: Lever | None  # None: nothing changed
    factor: Decimal
    per_m2: Mapping[str, Decimal]  # money per m² by candidate
    cheapest: Candidate


@dataclass(frozen=True, slots=True, kw_only=True)
class Turning:
    """How far one figure may move before another candidate becomes the cheapest."""

    lever: Lever
    factor: Decimal | None  # of the present figure; None: not between half and double
    rival: Candidate | None  # who is cheapest then
    of_all: bool  # labour is paid alike in all systems; price and efficiency are the cheapest one's own


def changed(candidate: Candidate, lever: Lever, factor: Decimal) -> Candidate:
    """A candidate with one of its figures multiplied; a transfer efficiency stays at 1 or below."""
    return _CHANGES[lever](candidate, factor)


def _priced(candidate: Candidate, factor: Decimal) -> Candidate:
    materials = {key: replace(facts, price=facts.price * factor) for key, facts in candidate.materials.items()}
    return replace(candidate, materials=materials)


def _sprayed(candidate: Candidate, factor: Decimal) -> Candidate:
    operations = tuple(_with_efficiency(operation, float(factor)) for operation in candidate.system.operations)
    return replace(candidate, system=replace(candidate.system, operations=operations))


def _with_efficiency(operation: Operation, factor: float) -> Operation:
    coat = operation.coat
    if coat is None:
        return operation
    setup = replace(coat.setup, transfer_efficiency=min(1.0, coat.setup.transfer_efficiency * factor))
    return replace(operation, coat=replace(coat, setup=setup))


def _paid(candidate: Candidate, factor: Decimal) -> Candidate:
    labour = {key: replace(one, wage=one.wage * factor) for key, one in candidate.rates.labour.items()}
    return replace(candidate, rates=replace(candidate.rates, labour=labour))


_CHANGES: Mapping[Lever, Callable[[Candidate, Decimal], Candidate]] = {
    Lever.PRICE: _priced,
    Lever.EFFICIENCY: _sprayed,
    Lever.LABOUR: _paid,
}


def sensitivities(candidates: Sequence[Candidate], job: Takeoff, *, by: Decimal = Decimal("0.1")) -> tuple[Sensitivity, ...]:
    """The candidates as they are, then with each lever down and up by a share, all candidates alike."""
    rows = [_row(candidates, job, None, Decimal(1))]
    for lever in Lever:
        rows += [_row(candidates, job, lever, factor) for factor in (1 - by, 1 + by)]
    return tuple(rows)


def _row(candidates: Sequence[Candidate], job: Takeoff, lever: Lever | None, factor: Decimal) -> Sensitivity:
    priced = [one if lever is None else changed(one, lever, factor) for one in candidates]
    costs = {one.key: price_of(one, job).true_cost for one in priced}
    return Sensitivity(
        lever=lever,
        factor=factor,
        per_m2={key: cost / to_decimal(job.area) for key, cost in costs.items()},
        cheapest=min(candidates, key=lambda one: costs[one.key]),
    )


def turnings(candidates: Sequence[Candidate], job: Takeoff) -> tuple[Turning, ...]:
    """For each lever, the smallest move from where it stands that makes another candidate the cheapest.

    Price and efficiency are turned for the cheapest candidate alone, labour for all. One candidate has no rival, so there
    is nothing to tell.
    """
    if len(candidates) < 2:
        return ()
    costs = {one.key: price_of(one, job).true_cost for one in candidates}
    best = min(candidates, key=lambda one: costs[one.key])
    return tuple(_turning(candidates, job, best, lever, costs) for lever in Lever)


def _turning(
    candidates: Sequence[Candidate], job: Takeoff, best: Candidate, lever: Lever, costs: Mapping[str, Decimal]
) -> Turning:
    of_all = lever is Lever.LABOUR

    def winner(factor: float) -> Candidate:
        share = to_decimal(factor)
        at = {one.key: _cost(changed(one, lever, share), job) if of_all or one is best else costs[one.key] for one in candidates}
        return min(candidates, key=lambda one: (at[one.key], one is not best))

    found = [(abs(factor - 1), factor, rival) for end in _ENDS[lever] for factor, rival in _crossing(winner, best, end)]
    if not found:
        return Turning(lever=lever, factor=None, rival=None, of_all=of_all)
    _, factor, rival = min(found, key=lambda one: one[0])
    return Turning(lever=lever, factor=to_decimal(round(factor, 4)), rival=rival, of_all=of_all)


# A dearer material and a poorer transfer can only cost the lead; wages may do so both ways.
_ENDS: Mapping[Lever, tuple[float, ...]] = {
    Lever.PRICE: (HIGHEST,),
    Lever.EFFICIENCY: (LOWEST,),
    Lever.LABOUR: (LOWEST, HIGHEST),
}


def _cost(candidate: Candidate, job: Takeoff) -> Decimal:
    return price_of(candidate, job).true_cost


def _crossing(winner: Callable[[float], Candidate], best: Candidate, end: float) -> list[tuple[float, Candidate]]:
    """The factor between 1 and ``end`` at which ``best`` loses the lead, with who takes it; empty when it keeps it."""
    if winner(end) is best:
        return []
    kept, lost = 1.0, end
    while abs(lost - kept) > CLOSE:
        middle = (kept + lost) / 2
        if winner(middle) is best:
            kept = middle
        else:
            lost = middle
    return [(lost, winner(lost))]
