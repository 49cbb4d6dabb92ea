"""A demand history replayed under this program's policy and under two fixed ones (replenishment model, section 7).

Pure: no Django, no clock. Needs numpy: import this module inside the function that uses it.

The first half of the history tunes, the second half counts. The policy decides on each period from the periods before it: every
level of the quantile is followed in the background from the middle of the first half on, and before each period the policy takes
the one that would have given the target so far (``inventory.core.calibration``). The fixed policies are tuned on the whole first
half; beside that stands what the best of their settings would have needed for the service that this policy reached, chosen with
hindsight.

Where things spoil, the freshness cap holds for what goes beyond the reorder point. What it brings about when it goes before the
reorder point as well is shown beside it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from inventory.core.bootstrap import Floats
from inventory.core.calibration import LEVELS, adapted_levels
from inventory.core.draws import Draws
from inventory.core.policies import (
    MEMORY,
    OWN_ONLY,
    Fixed,
    Memory,
    Span,
    drawn_levels,
    fixed_levels,
    normal_levels,
    rates_over,
)
from inventory.core.quantity import economic_quantity
from inventory.core.simulate import Outcome, Rule, World, simulate

FACTORS = {"spread": tuple(step / 2 for step in range(13)), "highest": tuple(step / 4 for step in range(2, 13))}
MORE = (0.0, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0)
INTERVALS = (1, 2, 3)
LEAST_PERIODS = 16
OURS, OWN, MINMAX, TIMED = "this policy", "own periods only", "fixed minimum and maximum", "fixed-interval order-up-to"
STAGES = {OURS: (0.0, 0.5), OWN: (0.6, 0.05), MINMAX: (0.65, 0.1), TIMED: (0.75, 0.25)}  # where in a run, and how much of it

Progress = Callable[[str, int, int], None]  # what is being done, how much is done, of how much


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What a replay is run under."""

    seed: int
    leads: tuple[int, ...] = (1,)  # periods; every order draws one of them
    service: float = 0.95
    shelf: int | None = None  # periods from arrival
    freshness: float = 0.8
    draws: int = 2_000
    order_cost: float = 0.0
    holding_rate: float = 0.2  # of the price, a year
    periods_a_year: float = 12.0

    def __post_init__(self) -> None:
        if not self.leads or min(self.leads) < 0:
            raise ValueError("a lead time is 0 periods or more")
        if not 0 < self.service < 1:
            raise ValueError("a service target lies between 0 and 1")
        if self.shelf is not None and self.shelf <= 0:
            raise ValueError("a shelf life is 1 period or more")


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """One line of the table."""

    policy: str
    how: str  # settings, in words
    outcome: Outcome


@dataclass(frozen=True, slots=True, kw_only=True)
class Rival:
    """A fixed policy: as it was tuned, and what stock it would need for the same service."""

    name: str
    tuned: Result
    curve: tuple[Outcome, ...]  # every dial setting on the second half
    equal_stock: float | None  # mean stock value at our cycle service; None: it never gets there
    equal_how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """A replay under one setting."""

    setting: Setting
    materials: int
    periods: int
    half: int
    ours: Result
    capped: Result | None  # where things spoil: the freshness cap goes before the reorder point as well
    plain: Result  # own periods only, quantile at the target itself
    normal: Result
    rivals: tuple[Rival, ...]
    curve: tuple[Outcome, ...]  # ours at each level, second half: for the chart

    @property
    def results(self) -> tuple[Result, ...]:
        """All lines of the table."""
        own = [self.ours, *([self.capped] if self.capped else []), self.plain, self.normal]
        return (*own, *(rival.tuned for rival in self.rivals))

    @property
    def reaches_service(self) -> bool:
        """Within two points of the target."""
        return abs(self.ours.outcome.cycle_service - self.setting.service) <= 0.02

    @property
    def beats_rivals(self) -> bool:
        """With less stock than either rival needs for the same cycle service."""
        stock = self.ours.outcome.stock_value
        return all(rival.equal_stock is None or stock < rival.equal_stock for rival in self.rivals)


class TooShortError(ValueError):
    """The history has too few periods to tune on one half and count on the other."""

    def __init__(self, periods: int) -> None:
        super().__init__(f"a replay needs at least {LEAST_PERIODS} periods, and the table has {periods}")
        self.periods = periods


def replay(history: Floats, price: Floats, setting: Setting, *, progress: Progress | None = None) -> Report:
    """Run all policies over the history (a row a material, a column a period). Raises ``TooShortError``."""
    periods = history.shape[1]
    if periods < LEAST_PERIODS:
        raise TooShortError(periods)
    run = _Run(history, price, setting, progress or (lambda _words, _done, _all: None))
    target = f"{setting.service:.1%}"
    ours = run.adaptive()
    capped = run.adaptive(caps_all=True) if setting.shelf is not None else None
    plain = run.drawn_once(OWN_ONLY, setting.service)
    normal = run.of_levels(normal_levels(history, run.late, level=setting.service, leads=setting.leads), run.late)
    return Report(
        setting=setting,
        materials=len(history),
        periods=periods,
        half=run.late.begin,
        ours=_result("This policy", ours),
        capped=_result("The same, freshness before the reorder point", capped) if capped else None,
        plain=Result(policy="Own periods, quantile at the target", how=f"{OWN_ONLY.words}, {target}", outcome=plain),
        normal=Result(policy="Normal form at the target", how=f"λτ + zσ, {target}", outcome=normal),
        rivals=run.rivals(ours.outcome.cycle_service),
        curve=ours.curve,
    )


def _result(policy: str, adapted: Adapted) -> Result:
    how = f"{MEMORY.words}, quantile from {adapted.first:.2%} to {adapted.last:.2%}"
    return Result(policy=policy, how=how, outcome=adapted.outcome)


def value_at(target: float, curve: Sequence[Outcome]) -> float | None:
    """The mean stock value at which a dial reaches a cycle service; ``None`` when it never does."""
    points = sorted((one.cycle_service, one.stock_value) for one in curve)
    if not points or target > points[-1][0] or target < points[0][0]:
        return None
    return float(np.interp(target, [service for service, _ in points], [value for _, value in points]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Adapted:
    """The policy in the second half."""

    outcome: Outcome
    first: float  # level before the first period of it
    last: float  # and before the last
    curve: tuple[Outcome, ...]  # what each level held from the beginning would have given


class _Run:
    """One history under one setting."""

    def __init__(self, history: Floats, price: Floats, setting: Setting, progress: Progress) -> None:
        self.history, self.price, self.setting, self.progress = history, price, setting, progress
        periods = history.shape[1]
        half = periods // 2
        self.early, self.late = Span(begin=max(half // 2, 4), end=half), Span(begin=half, end=periods)
        self.whole_units = bool((history == np.round(history)).all())
        self.draws = Draws(seed=setting.seed, count=setting.draws)
        generator = np.random.default_rng(setting.seed + 1)
        self.lead = generator.choice(np.asarray(setting.leads, dtype=np.int64), size=history.shape)
        self.both = Span(begin=self.early.begin, end=self.late.end)
        self.rates = rates_over(history, self.both)

    def world(self, span: Span) -> World:
        columns = slice(span.begin, span.end)
        return World(
            demand=self.history[:, columns],
            lead=self.lead[:, columns],
            price=self.price,
            shelf=self.setting.shelf,
            whole=self.whole_units,
        )

    def economic(self, rate: Floats) -> Floats:
        """The economic quantity at each rate: what is ordered beyond the reorder point."""
        setting = self.setting
        at_one = np.array(
            [
                economic_quantity(
                    order_cost=setting.order_cost,
                    yearly_demand=setting.periods_a_year,
                    yearly_holding=setting.holding_rate * price,
                )
                for price in self.price
            ]
        )
        found: Floats = at_one[:, None] * np.sqrt(rate)
        return found

    def of_levels(self, low: Floats, span: Span, *, caps_all: bool = False) -> Outcome:
        rate = self.rates[:, span.begin - self.both.begin : span.end - self.both.begin]
        high = low + self.economic(rate)
        rule = Rule(low=low, high=high, rate=rate, freshness=self.setting.freshness, caps_all=caps_all)
        return simulate(self.world(span), rule)

    def tables(self, memory: Memory, levels: Sequence[float], span: Span, words: str) -> list[Floats]:
        done = 0

        def tick() -> None:
            nonlocal done
            done += 1
            self.progress(words, done, span.length)

        return drawn_levels(
            self.history, span, levels=levels, memory=memory, leads=self.setting.leads, draws=self.draws, tick=tick
        )

    def drawn(self, memory: Memory, levels: Sequence[float], span: Span, words: str) -> list[Outcome]:
        return [self.of_levels(table, span) for table in self.tables(memory, levels, span, words)]

    def drawn_once(self, memory: Memory, level: float) -> Outcome:
        return self.drawn(memory, [level], self.late, OWN)[0]

    def adaptive(self, *, caps_all: bool = False) -> Adapted:
        """The policy itself: before each period the level that would have given the target so far."""
        tables = self.drawn_tables
        followed = [self.of_levels(table, self.both, caps_all=caps_all) for table in tables]
        chosen = adapted_levels(self.setting.service, LEVELS, followed, first=self.early.length, count=self.late.length)
        low = np.stack([tables[place][:, self.early.length + at] for at, place in enumerate(chosen)], axis=1)
        late = [self.of_levels(table[:, self.early.length :], self.late, caps_all=caps_all) for table in tables]
        return Adapted(
            outcome=self.of_levels(low, self.late, caps_all=caps_all),
            first=LEVELS[chosen[0]],
            last=LEVELS[chosen[-1]],
            curve=tuple(late),
        )

    @cached_property
    def drawn_tables(self) -> list[Floats]:
        """The reorder points at each level, for every period from the middle of the first half on."""
        return self.tables(MEMORY, LEVELS, self.both, OURS)

    def rivals(self, service: float) -> tuple[Rival, ...]:
        minmax = [Fixed(by=by, factor=f, more=more) for by, factors in FACTORS.items() for f in factors for more in MORE]
        timed = [replace(one, every=every) for one in minmax for every in INTERVALS]
        return (
            self.rival(MINMAX.capitalize(), minmax, service, lots=True),
            self.rival(TIMED.capitalize(), timed, service, lots=False),
        )

    def rival(self, name: str, dials: Sequence[Fixed], service: float, *, lots: bool) -> Rival:
        """Tune on the first half, then let hindsight choose the dial that needs the least stock for the same service."""
        known = self.history[:, : self.late.begin]
        whole_first = Span(begin=0, end=self.late.begin)
        early, late = [], []
        for place, dial in enumerate(dials):
            early.append(self.fixed(known, dial, whole_first, lots=lots))
            late.append(self.fixed(known, dial, self.late, lots=lots))
            self.progress(name.lower(), place + 1, len(dials))
        target = self.setting.service
        enough = [place for place, one in enumerate(early) if one.cycle_service >= target]
        order = enough or [max(range(len(early)), key=lambda place: early[place].cycle_service)]
        tuned = min(order, key=lambda place: early[place].stock_value)
        curves: dict[tuple[str, float, int], list[Outcome]] = {}
        for dial, one in zip(dials, late, strict=True):
            curves.setdefault((dial.by, dial.more, dial.every), []).append(one)
        found = [(value, key) for key, curve in curves.items() if (value := value_at(service, curve)) is not None]
        least = min(found, default=None)
        return Rival(
            name=name,
            tuned=Result(policy=name, how=dials[tuned].words, outcome=late[tuned]),
            curve=tuple(late),
            equal_stock=least[0] if least else None,
            equal_how=replace(dials[0], by=least[1][0], more=least[1][1], every=least[1][2], factor=math.nan).scaled
            if least
            else "",
        )

    def fixed(self, known: Floats, dial: Fixed, span: Span, *, lots: bool) -> Outcome:
        low = fixed_levels(known, dial, leads=self.setting.leads)
        usual = known.mean(axis=1, keepdims=True)
        lot = np.maximum(self.economic(usual), usual) if lots else np.zeros_like(usual)
        return simulate(self.world(span), Rule(low=low, high=low + lot, every=dial.every))
