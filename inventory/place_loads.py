"""What stands in the places: by place, its lots and its flammable liquids. Reads only, in a constant number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.core.flammables import NOT_FLAMMABLE, Flammables, Held, flammables, litres_of
from inventory.models import Location, Lot


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceLoad:
    """A place with what stands in it."""

    location: Location
    lots: tuple[Lot, ...]
    flammables: Flammables

    @property
    def value(self) -> Decimal:
        """What stands there, each lot at its own cost."""
        return sum((lot.value for lot in self.lots), Decimal(0))

    def get_absolute_url(self) -> str:
        """The place's page."""
        return self.location.get_absolute_url()


def place_loads(locations: Iterable[Location], *, lots: Iterable[Lot] | None = None) -> list[PlaceLoad]:
    """Each of these places with its lots that hold something, first expired first. Two queries with the places'.

    One, where ``lots`` gives all lots in stock, read with their state.
    """
    kept = list(locations)
    if lots is None:
        lots = Lot.objects.in_stock().filter(location__in=kept).with_state().first_expired_first()
    held: dict[int | None, list[Lot]] = defaultdict(list)
    for lot in lots:
        held[lot.location_id].append(lot)
    return [_load(location, held[location.pk]) for location in kept]


def over_their_limit(*, lots: Iterable[Lot] | None = None) -> list[PlaceLoad]:
    """Places that hold more flammable liquid than the limit that the shop entered for them. Queries as ``place_loads``."""
    limited = Location.objects.exclude(limit_category_1_to_3=None, limit_category_4=None)
    return [load for load in place_loads(limited, lots=lots) if load.flammables.is_over]


def over_with(lot: Lot, quantity: Decimal, *, places: Iterable[Location]) -> list[PlaceLoad]:
    """Which of these places would hold more flammable liquid than their limit with so much of a lot beside what is there.

    ``quantity`` is in the material's stock unit; 0: as they stand. None for a lot that its sheet does not class as flammable.
    Queries as ``place_loads``.
    """
    if lot.material.flammable_category == NOT_FLAMMABLE or not _may_be_flammable(lot):
        return []
    limited = [place for place in places if place.has_limits]
    loads = [_load(load.location, load.lots, also=[_held(lot, quantity)]) for load in place_loads(limited)]
    return [load for load in loads if load.flammables.is_over]


def _load(location: Location, lots: Sequence[Lot], *, also: Sequence[Held] = ()) -> PlaceLoad:
    return PlaceLoad(
        location=location,
        lots=tuple(lots),
        flammables=flammables(
            [*(_held(lot, lot.on_hand) for lot in lots if _may_be_flammable(lot)), *also],
            limit_1_to_3=location.limit_category_1_to_3,
            limit_all=location.limit_category_4,
        ),
    )


def _may_be_flammable(lot: Lot) -> bool:
    return bool(lot.material.is_liquid or lot.material.flammable_category)


def _held(lot: Lot, quantity: Decimal) -> Held:
    of = lot.material
    litres = litres_of(quantity, unit=of.stock_unit, density=of.density)
    return Held(name=of.name, litres=litres, category=of.flammable_category)
