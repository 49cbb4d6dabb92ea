"""The reorder list against a plain loop, and its textbook part against a library.

End to end: from the database to the advice, in shops with three years of weekly use. Core alone: the same facts, at hand. The
plain loop reads one material after the other, draws with the standard library and follows the stock day by day; it borrows
nothing, learns no quantile and tries one kind of pack alone, so that it does less. Both must agree on the days on which things
run short, and on the whole on the reorder points. What is learnt from the log once a week, the quantile, is at hand when the
clock starts, as it is on every page but the first.
"""

from __future__ import annotations

import math
import random
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import partial

from costing.bench.big_shop import make_big_shop
from costing.bench.measure import BenchError, Ratio, Size, seconds_of, take_turns
from costing.bench.temporary import Databases
from inventory.core.demand import forecast
from inventory.core.draws import LEAST_DRAWS, Draws
from inventory.core.facts import Facts
from inventory.core.points import normal_point, same
from inventory.core.quantity import economic_quantity
from inventory.core.reorder import advise_all
from inventory.core.weeks import monday
from inventory.reorder import DRAWS, ReorderLine, reorder_list

CHECKED = 400  # materials that core and loop are compared on
STEP = 1_000_000  # of quantities and money in the database
OWN_ONLY = Draws(seed=1, count=20_000, half_life=None, borrowed=0.0)


def measure_replenishment(databases: Databases, size: Size, *, today: date) -> list[Ratio]:
    """The list for few and for many materials, end to end and core alone, and its growth from some to many."""
    few, some, many = size.materials
    ratios: list[Ratio] = []
    seconds: dict[int, float] = {}
    for count in (few, some, many):
        name = f"shop-{count}"
        databases.make(name)
        make_big_shop(count, today=today)
        facts = [line.advice.facts for line in _lines(today)]
        rounds = size.replenish_rounds if count == few else 1
        if count == some and some not in (few, many):
            seconds[count] = _fastest(today)
            continue
        check_same(facts[:CHECKED])
        with closing(sqlite3.connect(f"{databases.path(name).as_uri()}?mode=ro", uri=True)) as bare:
            whole = take_turns(partial(reorder_list, today=today), partial(plain_list, bare, today), rounds=rounds)
        core = take_turns(partial(advise_all, facts, draws=DRAWS), partial(plain_advice, facts), rounds=rounds)
        against = "a plain loop that does less, same days short"
        ratios.append(whole.milliseconds(f"Reorder list, {count:,} materials, end to end", against=against))
        ratios.append(core.milliseconds(f"Reorder list, {count:,} materials, core alone", against=against))
        seconds[count] = whole.ours if count not in (some, many) else _fastest(today)
    ratios.append(_textbook(facts, size))
    ratios.append(
        Ratio(
            name=f"Reorder list, growth from {some:,} to {many:,} materials",
            ours=1000 * seconds[many] / many,
            baseline=1000 * seconds[some] / some,
            unit="ms/material",
            times=seconds[many] / many / (seconds[some] / some),
            against=f"itself at {some:,} materials",
        )
    )
    return ratios


def _lines(today: date) -> list[ReorderLine]:
    found = reorder_list(today=today)
    return [*(line for order in found.orders for line in order.lines), *found.unbuyable, *found.enough]


def _fastest(today: date) -> float:
    return min(seconds_of(lambda: reorder_list(today=today)) for _ in range(2))


# ------------------------------------------------------------------- the plain loop


@dataclass(frozen=True, slots=True)
class Plain:
    """What the plain loop found about one material."""

    point: float
    short_in: int | None  # days
    packs: int


def plain_advice(known: Sequence[Facts]) -> list[Plain]:
    """The same facts, one after the other."""
    chance = random.Random(1)  # noqa: S311 - draws for a bench
    return [_plain(one, chance) for one in known]


def _plain(one: Facts, chance: random.Random) -> Plain:
    found = forecast(one.weeks, entered=one.entered, entered_deviation=one.entered_deviation)
    rate = found.rate if found else 0.0
    point = _plain_point(one, chance)
    lots = sorted((lot.usable_until or date.max, float(lot.on_hand)) for lot in one.lots)
    short_in = _plain_short(one, rate, lots)
    usable = sum(left for until, left in lots if until >= one.today)
    need = point - usable
    counts = [max(math.ceil(need / float(pack.content)), 0) for pack in one.packs]
    return Plain(point, short_in, min(counts, default=0))


def _plain_point(one: Facts, chance: random.Random) -> float:
    if not any(one.weeks):
        return 0.0
    totals = []
    for _ in range(LEAST_DRAWS):
        time = (chance.choice(one.supply.drawn_days) + one.policy.review_days) / 7
        count = int(time) + (chance.random() < time - int(time))
        totals.append(sum(chance.choices(one.weeks, k=count)) if count else 0.0)
    totals.sort()
    return totals[math.ceil(one.policy.service_level * LEAST_DRAWS) - 1]


def _plain_short(one: Facts, rate: float, lots: list[tuple[date, float]]) -> int | None:
    days = one.policy.horizon
    booked = [0.0] * (days + 7)
    for need in one.needs:
        place = max((need.on - one.today).days, 0)
        if place < len(booked):
            booked[place] += float(need.quantity)
    ends = [until for until, _ in lots if until >= one.today]
    held = [left for until, left in lots if until >= one.today]
    for place in range(days):
        day = one.today + timedelta(days=place)
        week = booked[place // 7 * 7 : place // 7 * 7 + 7]
        wanted = booked[place] + max(rate - sum(week), 0.0) / 7
        for number, until in enumerate(ends):
            if until >= day:
                taken = min(held[number], wanted)
                held[number] -= taken
                wanted -= taken
        if wanted > 1e-9:
            return place
    return None


def check_same(known: Sequence[Facts]) -> None:
    """Refuse to compare what does not agree: the days short to the day, the reorder points within what draws may differ."""
    ours = advise_all(known, draws=OWN_ONLY, level=same)
    theirs = plain_advice(known)
    for one, plain in zip(ours, theirs, strict=True):
        short = None if one.short_on is None else (one.short_on - one.today).days
        if short is not None and short >= one.policy.horizon:
            short = None
        if short != plain.short_in:
            raise BenchError(f"Material {one.facts.key} runs short in {short} days by the core, in {plain.short_in} by the loop.")
    drawn = [(one.point.quantity, plain.point) for one, plain in zip(ours, theirs, strict=True) if one.point.draws]
    apart = sum(a for a, _ in drawn) / sum(b for _, b in drawn) - 1
    if abs(apart) > 0.05:
        raise BenchError(f"The reorder points of the core are {apart:+.1%} from those of the loop.")


# --------------------------------------------------- the plain loop over a database


def plain_list(bare: sqlite3.Connection, today: date) -> list[Plain]:
    """One material after the other, each with its own queries."""
    return plain_advice([_plain_facts(bare, row, today) for row in bare.execute(_MATERIALS).fetchall()])


_MATERIALS = "SELECT id, weekly_use, shelf_life_days FROM inventory_material WHERE is_active ORDER BY name, id"


def _plain_facts(bare: sqlite3.Connection, row: tuple[int, int | None, int | None], today: date) -> Facts:
    from inventory.core.facts import PackFacts, Policy, Supply
    from inventory.core.projection import Need, StockLot

    pk, entered, shelf = row
    packs = bare.execute(
        "SELECT p.id, s.id, content, price, minimum_packs, lead_time_days, lead_time_sd_days FROM inventory_pack p "
        "JOIN inventory_supplier s ON s.id = supplier_id WHERE material_id = ? AND p.is_active",
        (pk,),
    ).fetchall()
    lots = bare.execute("SELECT on_hand, expires_on FROM inventory_lot WHERE material_id = ? AND on_hand > 0", (pk,)).fetchall()
    last = monday(today)
    first = last - timedelta(weeks=52)
    weeks = [0.0] * 52
    for on, quantity in bare.execute(
        'SELECT p."on", m.quantity FROM inventory_movement m JOIN inventory_lot l ON l.id = m.lot_id '
        "JOIN inventory_posting p ON p.id = m.posting_id WHERE l.material_id = ? AND +p.kind IN ('issue', 'return') "
        'AND +p."on" >= ? AND +p."on" < ?',  # the plus keeps the search to the material's own lots, which is much faster
        (pk, first.isoformat(), last.isoformat()),
    ):
        weeks[(date.fromisoformat(on) - first).days // 7] -= quantity / STEP
    needs = bare.execute("SELECT planned, needed_on FROM inventory_booking WHERE material_id = ? AND is_open", (pk,)).fetchall()
    return Facts(
        key=pk,
        today=today,
        supply=Supply(lead_days=float(packs[0][5]), lead_deviation=float(packs[0][6]), usual=packs[0][1]),
        policy=Policy(),
        weeks=tuple(weeks),
        entered=None if entered is None else entered / STEP,
        lots=tuple(
            StockLot(on_hand=_exact(held), usable_until=date.fromisoformat(ends) if ends else None) for held, ends in lots
        ),
        needs=tuple(Need(quantity=_exact(planned), on=date.fromisoformat(on)) for planned, on in needs),
        packs=tuple(
            PackFacts(key=key, supplier=who, content=_exact(c), price=_exact(price), minimum=n)
            for key, who, c, price, n, _, _ in packs
        ),
        usual_pack=packs[0][0],
        shelf_days=shelf,
    )


def _exact(steps: int) -> Decimal:
    return Decimal(steps) / STEP


# ---------------------------------------------------------------- the textbook part


def _textbook(known: Sequence[Facts], size: Size) -> Ratio:
    """Normal reorder point and economic quantity of every material: ours and those of stockpyl."""
    from stockpyl.rq import r_q_eoqss_approximation

    given = [
        (one, found)
        for one in known
        if (found := forecast(one.weeks, entered=one.entered)) and found.rate > 0 and found.deviation > 0
    ]

    def ours() -> list[tuple[float, float]]:
        return [
            (
                normal_point(demand, one.supply, one.policy).quantity,
                economic_quantity(order_cost=8, yearly_demand=demand.rate, yearly_holding=0.225),
            )
            for one, demand in given
        ]

    def library() -> list[tuple[float, float]]:
        return [
            r_q_eoqss_approximation(
                0.225, 0.225 * 19, 8, demand.rate, demand.deviation, (one.supply.days + one.policy.review_days) / 7
            )
            for one, demand in given
        ]

    for (point, quantity), (r, q), (one, _) in zip(ours(), library(), given, strict=True):
        if one.supply.deviation == 0 and not (math.isclose(point, r, rel_tol=1e-9) and math.isclose(quantity, q, rel_tol=1e-9)):
            raise BenchError(f"Material {one.key}: {point}, {quantity} by the core, {r}, {q} by the library.")
    pair = take_turns(ours, library, rounds=size.replenish_rounds)
    return pair.milliseconds(f"Normal reorder points and economic quantities, {len(given):,}", against="stockpyl, same figures")
