"""A coating system: an ordered list of operations with their lines and coats (costing model, sections 3 and 4).

Imports no Django. Materials and labour classes are referred to by key; their facts come with the estimate.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from costing.core.checks import check_count, check_number, set_number
from costing.core.errors import ContradictionError, CupTooSmallError, EmptyMixError
from costing.core.takeoff import ALL_ZONES, Zone

THICKEST_WET_FILM = 2_000.0  # µm
THICKEST_DRY_FILM = 1_000.0  # µm
MOST_THINNING = 500.0  # %
LONGEST_WAIT = 60_000.0  # min, six weeks
MOST_MINUTES = 10_000.0  # min per unit of a driver


class Driver(StrEnum):
    """What an operation's line is multiplied by (costing model, section 3)."""

    OPERATION = "operation"
    M2 = "m2"
    PIECE = "piece"
    BATCH = "batch"
    FILL = "fill"
    LABOUR_HOUR = "labour hour"
    OVERSPRAY_KG = "overspray kg"

    @property
    def words(self) -> str:
        """The driver as people read it."""
        return _DRIVER_WORDS[self]


_DRIVER_WORDS = {
    Driver.OPERATION: "operation",
    Driver.M2: "m²",
    Driver.PIECE: "piece",
    Driver.BATCH: "batch",
    Driver.FILL: "fill",
    Driver.LABOUR_HOUR: "labour hour",
    Driver.OVERSPRAY_KG: "kg of overspray solids",
}
SUPPLY_ONLY = frozenset({Driver.LABOUR_HOUR, Driver.OVERSPRAY_KG})


class OperationKind(StrEnum):
    """What an operation does."""

    PREPARE = "prepare"
    ABRADE = "abrade"
    COAT = "coat"
    MASK = "mask"
    INSPECT = "inspect"
    CLEAN = "clean"
    OTHER = "other"


class CostGroup(StrEnum):
    """The rows of a true cost, in the model's order (costing model, section 5)."""

    FILM = "film"
    OVERSPRAY = "overspray"
    RESIDUE = "residue"
    HEEL = "heel"
    EXPIRY = "expiry"
    CLEANER = "cleaner"
    ABRASIVES = "abrasives"
    DISPOSABLES = "disposables"
    LABOUR = "labour"
    BOOTH = "booth"
    DISPOSAL = "disposal"
    REWORK = "rework"
    OVERHEAD = "overhead"


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeLine:
    """Minutes of work for each unit of a driver."""

    minutes: float  # person-minutes per unit of the driver
    driver: Driver = Driver.OPERATION
    label: str = ""

    def __post_init__(self) -> None:
        set_number(self, "minutes", unit="min", least=0, most=MOST_MINUTES)
        if self.driver in SUPPLY_ONLY:
            raise ContradictionError(
                field="driver",
                value=self.driver,
                because=f"“{self.driver.words}” is for supplies only",
                right="time is driven by the operation, m², piece, batch or fill",
            )

    @classmethod
    def at_rate(cls, square_metres_per_hour: float, *, label: str = "") -> TimeLine:
        """A rate of work as a time line: 60 / rate minutes per m²."""
        rate = check_number(square_metres_per_hour, "rate", words="rate of work", unit="m²/h", above=0, most=10_000)
        return cls(minutes=60 / rate, driver=Driver.M2, label=label)


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyLine:
    """An amount of a material, in its stock unit, for each unit of a driver."""

    material: str
    amount: float  # stock units per unit of the driver
    driver: Driver = Driver.OPERATION
    whole_units: bool = False  # summed over the whole system, then rounded up once

    def __post_init__(self) -> None:
        set_number(self, "amount", least=0, most=100_000)


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """One material of a mix and its parts by volume."""

    material: str
    parts: float  # p_i

    def __post_init__(self) -> None:
        set_number(self, "parts", words="parts in the mix", above=0, most=1_000_000)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpraySetup:
    """A gun, its air supply, tip and cup as used together.

    A brush or a wiping cloth is a setup too: transfer efficiency near 1 and what its pot holds.
    """

    name: str = ""
    transfer_efficiency: float  # TE, 0 < TE <= 1
    cup_capacity: float  # C, L
    residue_per_fill: float = 0.0  # r_f, L
    residue_per_batch: float = 0.0  # r_b, L, mixing vessel and strainer
    spray_rate: float  # m²/h

    def __post_init__(self) -> None:
        set_number(self, "transfer_efficiency", above=0, most=1)
        set_number(self, "cup_capacity", unit="L", above=0, most=1_000)
        set_number(self, "residue_per_fill", unit="L", least=0, most=100)
        set_number(self, "residue_per_batch", unit="L", least=0, most=100)
        set_number(self, "spray_rate", unit="m²/h", above=0, most=10_000)
        if self.cup_capacity <= self.residue_per_fill:
            raise CupTooSmallError(
                field="residue_per_fill",
                value=self.residue_per_fill,
                because=f"of {self.residue_per_fill:g} L fills the whole cup of {self.cup_capacity:g} L",
                right=f"give less than {self.cup_capacity:g} L, or a larger cup",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Coat:
    """What one coat is mixed from, how thick it goes on and how long it takes to dry."""

    components: tuple[Component, ...]  # before thinning
    setup: SpraySetup
    wet_film: float | None = None  # w, µm, as applied; give this or dry_film
    dry_film: float | None = None  # d, µm
    sag_limit: float | None = None  # µm wet at which it begins to run; None where the shop gives none
    thinner: str | None = None  # material
    thinning: float = 0.0  # T, % of the mix before thinning
    pot_life: float | None = None  # P, min; None for a one-part material
    minutes_per_fill: float = 0.0  # loading the cup
    minutes_per_batch: float = 0.0  # mixing
    flash_off_minutes: float = 0.0  # in the booth
    dry_minutes: float = 0.0  # until the next operation
    stacking_minutes: float = 0.0  # until stacking, counts for the last coat

    def __post_init__(self) -> None:
        object.__setattr__(self, "components", tuple(self.components))
        if not self.components:
            raise EmptyMixError(
                field="components",
                value=(),
                words="mix",
                because="has no parts",
                right="give at least one material with its parts by volume",
            )
        self._check_film()
        if self.sag_limit is not None:
            set_number(self, "sag_limit", unit="µm", above=0, most=THICKEST_WET_FILM)
        self._check_thinning()
        if self.pot_life is not None:
            set_number(self, "pot_life", unit="min", above=0, most=LONGEST_WAIT)
        set_number(self, "minutes_per_fill", unit="min", least=0, most=MOST_MINUTES)
        set_number(self, "minutes_per_batch", unit="min", least=0, most=MOST_MINUTES)
        set_number(self, "flash_off_minutes", unit="min", least=0, most=LONGEST_WAIT)
        set_number(self, "dry_minutes", unit="min", least=0, most=LONGEST_WAIT)
        set_number(self, "stacking_minutes", unit="min", least=0, most=LONGEST_WAIT)

    def _check_film(self) -> None:
        if (self.wet_film is None) == (self.dry_film is None):
            both = self.wet_film is not None
            raise ContradictionError(
                field="dry_film" if both else "wet_film",
                value=self.dry_film if both else None,
                words="film",
                because="is given both wet and dry" if both else "is not given",
                right="give the wet film or the dry film, one of them",
            )
        if self.wet_film is not None:
            set_number(self, "wet_film", unit="µm", above=0, most=THICKEST_WET_FILM)
        else:
            set_number(self, "dry_film", unit="µm", above=0, most=THICKEST_DRY_FILM)

    def _check_thinning(self) -> None:
        set_number(self, "thinning", unit="%", least=0, most=MOST_THINNING)
        if self.thinning > 0 and not self.thinner:
            raise ContradictionError(
                field="thinner",
                value=self.thinner,
                because=f"is missing, though the mix is thinned by {self.thinning:g} %",
                right="name the thinner, or give 0 % thinning",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One step of a coating system."""

    name: str
    kind: OperationKind
    labour_class: str = ""  # needed as soon as the operation takes time
    zones: frozenset[Zone] = ALL_ZONES
    crew: int = 1  # people on it at once
    time_lines: tuple[TimeLine, ...] = ()
    supply_lines: tuple[SupplyLine, ...] = ()
    coat: Coat | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "zones", frozenset(self.zones))
        object.__setattr__(self, "time_lines", tuple(self.time_lines))
        object.__setattr__(self, "supply_lines", tuple(self.supply_lines))
        check_count(self, "crew", words="number of people", least=1, most=50)
        if not self.zones:
            raise ContradictionError(
                field="zones",
                value=self.zones,
                because="are empty, the operation would touch nothing",
                right="choose show, hidden or both",
            )
        if (self.kind is OperationKind.COAT) != (self.coat is not None):
            raise ContradictionError(
                field="coat" if self.coat is None else "kind",
                value=self.kind,
                because="is missing" if self.coat is None else "is not coat, though a coat is described",
                right="give a coat to an operation of the kind coat, and to no other",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class System:
    """The ordered operations that make a finish. A system without a coat is allowed; its estimate says so."""

    name: str
    operations: tuple[Operation, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "operations", tuple(self.operations))

    @property
    def coats(self) -> tuple[Operation, ...]:
        """The operations that put on a coat."""
        return tuple(operation for operation in self.operations if operation.coat is not None)
