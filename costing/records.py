"""The shop's records: usage and VOC by month, waste by kind, what was stored day by day. Reads only.

Figures are the shop's own data, from its movements, its batches and what it entered of its materials.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Sum

from costing.choices import RestCause, RestFate
from costing.core.records import Month, MonthLine, Total, Used, by_material, by_month, months_to, total
from costing.models import BatchRest
from finishing.models import Shop
from inventory.choices import LIQUIDS, PostingKind, StockUnit, WriteOffCause
from inventory.models import Material, Movement

ZERO = Decimal(0)
OWN_DATA = (
    "The shop’s own data: issues less returns from its stock ledger, and the VOC contents that it entered from its suppliers’ "
    "sheets. All VOC in what was used counts as emitted, thrown-away rests included. This record states no compliance: the "
    "permit and the inspector decide what counts and how."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class WasteLine:
    """Something thrown away in the month."""

    kind: str
    material: str  # empty for mixes
    litres: Decimal | None  # None where it is no liquid
    amount: Decimal  # in the unit
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredDay:
    """What liquids stood in the shop at the end of a day, L, by flammable category (0: none)."""

    day: date
    litres: Mapping[int, Decimal]

    @property
    def total(self) -> Decimal:
        """All liquids."""
        return sum(self.litres.values(), ZERO)

    @property
    def flammable(self) -> Decimal:
        """Liquids with a flammable category of their sheet."""
        return sum((litres for category, litres in self.litres.items() if category), ZERO)


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """Everything about a month, and the year that ends with it."""

    month: Month
    months: tuple[MonthLine, ...]  # twelve, the chosen one last
    materials: Mapping[str, Total]  # of the month
    year_materials: Mapping[str, Total]  # of the twelve months
    waste: tuple[WasteLine, ...]
    stored: tuple[StoredDay, ...]
    recovered: Decimal

    @property
    def line(self) -> MonthLine:
        """The month itself."""
        return self.months[-1]


def record(month: Month, *, today: date) -> Record:
    """The record of a month. A constant number of queries."""
    months = months_to(month, 12)
    recovered = Shop.current().voc_recovered
    materials = Material.objects.in_bulk()
    liquids = {pk: material for pk, material in materials.items() if material.kind in LIQUIDS}
    used = _used(liquids, since=months[0].plus(-11).first, before=month.after)
    own = [each for each in used if each.month == month]
    year = [each for each in used if each.month in set(months)]
    return Record(
        month=month,
        months=by_month(used, months, recovered=recovered),
        materials=by_material(own, recovered=recovered),
        year_materials=by_material(year, recovered=recovered),
        waste=_waste(month, materials),
        stored=_stored(liquids, month, today=today),
        recovered=recovered,
    )


def litres_of(material: Material, quantity: Decimal) -> Decimal | None:
    """Stock units as litres; None for what is no liquid, or is kept by mass without a density."""
    if material.stock_unit == StockUnit.LITRE:
        return quantity
    if material.stock_unit == StockUnit.KILOGRAM and material.density:
        return quantity / material.density
    return None


def _used(liquids: Mapping[int, Material], *, since: date, before: date) -> list[Used]:
    """Issues less returns by material and month; what was reversed does not count."""
    moves = Movement.objects.filter(lot__material__in=liquids).standing_for(PostingKind.ISSUE, PostingKind.RETURN)
    counting = moves.counting_in(since=since, before=before).order_by()
    rows = counting.values("lot__material", "posting__on").annotate(total=Sum("quantity"))
    sums: dict[tuple[int, Month], Decimal] = defaultdict(lambda: ZERO)
    for row in rows:
        sums[row["lot__material"], Month.of(row["posting__on"])] -= row["total"]
    found = []
    for (pk, month), quantity in sums.items():
        material = liquids[pk]
        litres = litres_of(material, quantity)
        if litres:
            found.append(Used(material=material.name, month=month, litres=litres, voc_g_per_l=material.voc))
    return found


def _waste(month: Month, materials: Mapping[int, Material]) -> tuple[WasteLine, ...]:
    """Rests of mixes by cause, and write-offs by cause and material."""
    lines = []
    rests = BatchRest.objects.filter(fate=RestFate.THROWN, at__date__gte=month.first, at__date__lt=month.after)
    for rest in rests.order_by().values("cause").annotate(total=Sum("litres")):
        litres = rest["total"]
        kind = f"Mixed and thrown away: {RestCause(rest['cause']).label.lower()}"
        lines.append(WasteLine(kind=kind, material="", litres=litres, amount=litres, unit="L"))
    moves = (
        Movement.objects.standing_for(PostingKind.WRITE_OFF)
        .counting_in(since=month.first, before=month.after)
        .order_by()
        .values("lot__material", "posting__cause")
        .annotate(total=Sum("quantity"))
    )
    sums: dict[tuple[int, str], Decimal] = defaultdict(lambda: ZERO)
    for row in moves:
        sums[row["lot__material"], row["posting__cause"]] -= row["total"]
    for (pk, cause), amount in sorted(sums.items(), key=lambda pair: (pair[0][1], materials[pair[0][0]].name)):
        material = materials[pk]
        if amount:
            kind = f"Written off: {WriteOffCause(cause).label.lower()}"
            litres = litres_of(material, amount) if material.kind in LIQUIDS else None
            lines.append(WasteLine(kind=kind, material=material.name, litres=litres, amount=amount, unit=material.stock_unit))
    return tuple(lines)


def _stored(liquids: Mapping[int, Material], month: Month, *, today: date) -> tuple[StoredDay, ...]:
    """Liquids at the end of each day of the month, as far as it has gone."""
    rows = Movement.objects.filter(lot__material__in=liquids, posting__on__lt=month.after).order_by()
    held: dict[int, Decimal] = defaultdict(lambda: ZERO)
    for row in rows.filter(posting__on__lt=month.first).values("lot__material").annotate(total=Sum("quantity")):
        held[row["lot__material"]] += row["total"]
    changes: dict[date, list[tuple[int, Decimal]]] = defaultdict(list)
    in_month = rows.filter(posting__on__gte=month.first).values("lot__material", "posting__on").annotate(total=Sum("quantity"))
    for row in in_month:
        changes[row["posting__on"]].append((row["lot__material"], row["total"]))
    days = []
    for day in _days(month, today):
        for pk, change in changes.get(day, ()):
            held[pk] += change
        litres: dict[int, Decimal] = defaultdict(lambda: ZERO)
        for pk, quantity in held.items():
            litres[liquids[pk].flammable_category or 0] += litres_of(liquids[pk], quantity) or ZERO
        days.append(StoredDay(day=day, litres=dict(litres)))
    return tuple(days)


def _days(month: Month, today: date) -> Iterable[date]:
    day = month.first
    while day < month.after and day <= today:
        yield day
        day += timedelta(days=1)


__all__ = ["OWN_DATA", "Record", "StoredDay", "WasteLine", "litres_of", "record", "total"]
