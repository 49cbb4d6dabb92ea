"""The whole reckoning behind an offered price, frozen: what went in, what came out, what was printed.

A quote option keeps one snapshot as JSON. It never changes, whatever happens to prices, systems or the takeoff, and it
holds enough to print the cost sheet again and to make the job: its steps, the material of each step, and what the job
must have in all. ``read_snapshot`` gives it back as frozen dataclasses; nobody else looks into the JSON.

The JSON mirrors the dataclasses below, field by field. Every number that is not a count is a ``Decimal``, written as a
string; dates are ISO text. ``VERSION`` goes up when a field changes its meaning or a new one has no default; a snapshot of
another version is refused, never guessed at.

Units: lengths mm, films µm, areas m², volumes L, times min, VOC contents g/L, money in ``currency``; fractions are shares
(0.35 is 35 %). Imports no Django.
"""

from __future__ import annotations

import types
import typing
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields, is_dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from functools import cache
from typing import Any, Protocol, TypeVar

VERSION = 1


class SnapshotError(ValueError):
    """A stored snapshot that this program cannot read; the message says where it fails."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenRow:
    """One row of the takeoff as it was priced."""

    label: str
    pieces: int
    zone: str  # show or hidden
    area: Decimal  # m², of all pieces
    geometry_factor: Decimal
    size: str  # as stated, for people: "715 × 397 × 19 mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenTakeoff:
    """What was measured."""

    area: Decimal  # m²
    pieces: int
    show_area: Decimal  # m²
    show_pieces: int
    hidden_area: Decimal  # m²
    hidden_pieces: int
    rows: tuple[FrozenRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenMaterial:
    """Facts of a material on the day. ``id`` is the primary key of the material."""

    id: int
    name: str
    kind: str
    unit: str  # L, kg, pcs, m or m²
    price: Decimal  # per stock unit
    litre_price: Decimal | None
    density: Decimal | None  # kg/L
    volume_solids: Decimal | None  # %
    voc: Decimal | None  # g/L as supplied
    yield_fraction: Decimal
    expiry_allowance: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenLabour:
    """All work of one labour class. ``id`` is its primary key."""

    id: int
    name: str
    minutes: Decimal
    loaded_rate: Decimal  # money per hour, wage with burden
    cost: Decimal  # unrounded


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenComponent:
    """One component of a coat's mix, thinner included."""

    material_id: int
    name: str
    parts: Decimal  # by volume
    mixed: Decimal  # L in the cup and the vessel
    drawn: Decimal  # L from stock, the heel included


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenTimeLine:
    """Minutes of work for each unit of a driver."""

    label: str
    minutes: Decimal
    driver: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenCoat:
    """The figures of one coat (costing model, section 4)."""

    setup_name: str
    transfer_efficiency: Decimal
    cup_capacity: Decimal  # L
    residue_per_fill: Decimal  # L
    residue_per_batch: Decimal  # L
    spray_rate: Decimal  # m²/h
    sprayed_area: Decimal  # m², sum of area over geometry factor
    wet_film: Decimal  # µm
    dry_film: Decimal | None  # µm, as stated; None where the wet film is stated
    volume_solids: Decimal | None  # % of the mix before thinning
    thinning: Decimal  # %
    pot_life: Decimal | None  # min
    on_surface: Decimal  # L
    sprayed: Decimal  # L
    overspray: Decimal  # L
    residue: Decimal  # L
    mixed: Decimal  # L
    batches: int
    fills: int
    spray_minutes: Decimal
    voc_actual: Decimal | None  # g/L of mix
    voc_less_water: Decimal | None  # g/L less water and exempt compounds
    components: tuple[FrozenComponent, ...]
    # Not in snapshots of the first kind:
    fill_minutes: Decimal | None = None
    batch_minutes: Decimal | None = None
    flash_minutes: Decimal | None = None
    solids_per_litre: Decimal | None = None  # kg of dry solids in a litre of the mix; None also where it is unknown


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedMaterial:
    """What one step draws from stock."""

    material_id: int
    name: str
    unit: str  # stock unit
    quantity: Decimal  # stock units, heel included, on the ledger's step of 0.000001; 0 where an opened unit still serves
    parts: Decimal | None  # by volume for a component of the mix; None for a supply
    driver: str | None  # what a supply depends on (costing.core.system.Driver); None for a component
    per_driver: Decimal | None  # stock units per unit of the driver
    whole_units: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenStep:
    """One operation of the system as planned; a job makes one step of each that is performed."""

    position: int  # 1, 2, 3 … in the system's order
    name: str
    kind: str  # a value of costing.choices.OperationKind
    zones: tuple[str, ...]
    performed: bool  # False for a coat that found no area in its zones: no step of the job
    area: Decimal  # m²
    pieces: int
    crew: int
    labour_class: str
    labour_minutes: Decimal  # person-minutes
    booth_minutes: Decimal
    dry_minutes: Decimal  # wait before the next operation
    waiting_minutes: Decimal  # dry time, and after the last coat the time to stacking
    coat: FrozenCoat | None
    materials: tuple[PlannedMaterial, ...]  # components first, then supplies
    time_lines: tuple[FrozenTimeLine, ...] | None = None  # None: a snapshot of the first kind, which kept none


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenMaterialUse:
    """A coating material over all coats, by where it ended. Litres and money, unrounded."""

    material_id: int
    name: str
    film_litres: Decimal
    overspray_litres: Decimal
    residue_litres: Decimal
    heel_litres: Decimal
    litre_price: Decimal
    expiry_allowance: Decimal
    film: Decimal
    overspray: Decimal
    residue: Decimal
    heel: Decimal
    expiry: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenSupplyUse:
    """A supply over all operations."""

    material_id: int
    name: str
    unit: str
    group: str  # cleaner, abrasives or disposables
    needed: Decimal  # stock units, sum of the lines
    quantity: Decimal  # what is charged: whole units where it is counted so
    price: Decimal  # per stock unit
    cost: Decimal  # unrounded


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """What the job must have of one material in all, the sum over its steps: the figure to book."""

    material_id: int
    name: str
    unit: str
    quantity: Decimal  # stock units, on the ledger's step; above 0


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenGroup:
    """One row of the true cost."""

    group: str  # a value of costing.core.system.CostGroup
    exact: Decimal
    shown: Decimal  # rounded to the minor unit; the true cost is the sum of these


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenRates:
    """The shop's rates on the day."""

    booth_rate: Decimal  # per booth hour
    overhead_rate: Decimal  # share of labour
    rework_allowance: Decimal  # share of the rows above it
    disposal_fee: Decimal  # per L
    voc_recovered: Decimal  # share


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenPrice:
    """The steps from cost to total (costing model, section 5)."""

    basis: str  # margin or markup
    rate: Decimal
    minimum_charge: Decimal
    price_step: Decimal
    tax_rate: Decimal
    cost: Decimal
    calculated: Decimal  # unrounded
    after_minimum: Decimal
    net: Decimal
    tax: Decimal
    total: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """One system priced on one takeoff, on one day."""

    version: int
    made_on: date
    estimate_id: int
    estimate_name: str
    system_id: int
    system_name: str
    customer_text: str
    currency: str
    places: int  # decimals of the minor unit
    tax_name: str
    takeoff: FrozenTakeoff
    rates: FrozenRates
    materials: tuple[FrozenMaterial, ...]
    steps: tuple[FrozenStep, ...]
    material_uses: tuple[FrozenMaterialUse, ...]
    supply_uses: tuple[FrozenSupplyUse, ...]
    labour: tuple[FrozenLabour, ...]
    groups: tuple[FrozenGroup, ...]
    needs: tuple[Need, ...]
    true_cost: Decimal  # sum of the shown groups
    cost_per_m2: Decimal | None  # of the shown true cost, rounded; None without area
    price: FrozenPrice
    labour_minutes: Decimal
    booth_minutes: Decimal
    elapsed_minutes: Decimal
    residue_litres: Decimal
    cleaner_litres: Decimal
    voc_kg: Decimal
    voc_limit: Decimal | None  # g/L, entered by the shop
    warnings: tuple[str, ...]

    @property
    def performed_steps(self) -> tuple[FrozenStep, ...]:
        """The steps that a job has to do."""
        return tuple(step for step in self.steps if step.performed)


class HoldsSnapshot(Protocol):
    """Anything that keeps a snapshot: a quote option."""

    snapshot: Any


def read_snapshot(option: HoldsSnapshot) -> Snapshot:
    """The snapshot of a quote option. Raises SnapshotError for another version or for what is not a snapshot."""
    data = option.snapshot
    version = data.get("version") if isinstance(data, Mapping) else None
    if version != VERSION:
        raise SnapshotError(f"a snapshot of version {version!r} can't be read, this program reads version {VERSION}")
    return _decode_object(Snapshot, data, "snapshot")


def write_snapshot(snapshot: Snapshot) -> dict[str, Any]:
    """The JSON of a snapshot: what a quote option stores and ``read_snapshot`` gives back equal."""
    encoded: dict[str, Any] = _encode(snapshot)
    return encoded


def _encode(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _encode(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple):
        return [_encode(item) for item in value]
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, date):
        return value.isoformat()
    if value is None or isinstance(value, (str, bool, int)):
        return str(value) if isinstance(value, str) else value
    raise TypeError(f"a snapshot cannot hold {value!r}")


_D = TypeVar("_D")


@cache
def _hints(cls: type) -> dict[str, Any]:
    return typing.get_type_hints(cls)


def _decode(wanted: Any, value: Any, where: str) -> Any:
    """``value`` of the JSON as the type that the dataclass asks for."""
    origin = typing.get_origin(wanted)
    if origin is types.UnionType:
        inner = next(part for part in typing.get_args(wanted) if part is not type(None))
        return None if value is None else _decode(inner, value, where)
    if origin is tuple:
        if not isinstance(value, list):
            raise SnapshotError(f"{where} is no list")
        item = typing.get_args(wanted)[0]
        return tuple(_decode(item, part, f"{where}[{number}]") for number, part in enumerate(value))
    if is_dataclass(wanted):
        return _decode_object(typing.cast("type", wanted), value, where)
    return _decode_plain(wanted, value, where)


def _decode_object(cls: type[_D], value: Any, where: str) -> _D:
    hints = _hints(cls)  # type: ignore[arg-type]
    optional = {field.name for field in fields(cls) if field.default is not MISSING}  # type: ignore[arg-type]
    if not isinstance(value, Mapping) or value.keys() - hints.keys() or hints.keys() - optional - value.keys():
        found = sorted(value) if isinstance(value, Mapping) else type(value).__name__
        raise SnapshotError(f"{where} does not hold what it should: found {found}")
    return cls(**{name: _decode(hint, value[name], f"{where}.{name}") for name, hint in hints.items() if name in value})


def _decode_plain(wanted: Any, value: Any, where: str) -> Any:
    try:
        if wanted is Decimal and isinstance(value, str):
            return Decimal(value)
        if wanted is date and isinstance(value, str):
            return date.fromisoformat(value)
    except (InvalidOperation, ValueError):
        raise SnapshotError(f"{where} holds {value!r}, which is no {wanted.__name__}") from None
    if type(value) is wanted:
        return value
    raise SnapshotError(f"{where} holds {value!r}, which is no {wanted.__name__}")
