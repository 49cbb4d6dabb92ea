"""What stands in the places: by place, its lots and its flammable liquids. Reads only, in a constant number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.core.flammables import Flammables, Held, flammables, litres_of
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


def _load(location: Location, lots: Sequence[Lot]) -> PlaceLoad:
    return PlaceLoad(
        location=location,
        lots=tuple(lots),
        flammables=flammables(
            [_held(lot) for lot in lots if lot.material.is_liquid or lot.material.flammable_category],
            limit_1_to_3=location.limit_category_1_to_3,
            limit_all=location.limit_category_4,
        ),
    )


def _held(lot: Lot) -> Held:
    of = lot.material
    litres = litres_of(lot.on_hand, unit=of.stock_unit, density=of.density)
    return Held(name=of.name, litres=litres, category=of.flammable_category)
