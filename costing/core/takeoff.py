"""From pieces to area (costing model, section 1). Imports no Django."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum

from costing.core.checks import check_count, set_number
from costing.core.errors import ContradictionError, OutOfRangeError

# Sizes beyond these are slips of the keyboard, not furniture.
LONGEST_PIECE = 10_000.0  # mm
THICKEST_PIECE = 500.0  # mm
WIDEST_GIRTH = 2_000.0  # mm
LARGEST_ROW = 10_000.0  # m²
MOST_PIECES = 100_000
LARGEST_PROFILE_FACTOR = 10.0


class Zone(StrEnum):
    """Which side of the work a piece belongs to."""

    SHOW = "show"
    HIDDEN = "hidden"


ALL_ZONES = frozenset(Zone)


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """A flat piece: faces and edges of a length × width × thickness.

    A drawer front 597 × 146 × 19 mm has 0.202 558 m² with both faces and all edges:

    >>> round(Panel(length=597, width=146, thickness=19).area_of(1), 6)
    0.202558
    """

    length: float  # L, mm
    width: float  # W, mm
    thickness: float = 0.0  # T, mm
    faces: int = 2  # f, faces finished
    long_edges: int = 2  # e_L, edges along the length that are finished
    short_edges: int = 2  # e_W, edges along the width that are finished
    profile_factor: float = 1.0  # k, developed surface over flat surface of the faces

    def __post_init__(self) -> None:
        set_number(self, "length", unit="mm", above=0, most=LONGEST_PIECE)
        set_number(self, "width", unit="mm", above=0, most=LONGEST_PIECE)
        set_number(self, "thickness", unit="mm", least=0, most=THICKEST_PIECE)
        check_count(self, "faces", words="number of faces", least=0, most=2)
        check_count(self, "long_edges", words="number of long edges", least=0, most=2)
        check_count(self, "short_edges", words="number of short edges", least=0, most=2)
        set_number(self, "profile_factor", least=1, most=LARGEST_PROFILE_FACTOR)
        if self.area_of(1) == 0:
            raise ContradictionError(
                field="faces",
                value=self.faces,
                because="and edges leave nothing to finish",
                right="give at least one face, or edges of a thickness above 0",
            )

    def area_of(self, pieces: int) -> float:
        """Finished area in m² of so many pieces: n (k f L W + T (e_L L + e_W W)) / 10⁶."""
        faces = self.profile_factor * self.faces * self.length * self.width
        edges = self.thickness * (self.long_edges * self.length + self.short_edges * self.width)
        return pieces * (faces + edges) / 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class GivenArea:
    """A row whose area was measured elsewhere. ``area`` is for the whole row, not for one piece."""

    area: float  # a, m²

    def __post_init__(self) -> None:
        set_number(self, "area", unit="m²", above=0, most=LARGEST_ROW)

    def area_of(self, pieces: int) -> float:  # noqa: ARG002 (asked like every other shape)
        """The area as given; n pieces of a/n each."""
        return self.area


@dataclass(frozen=True, slots=True, kw_only=True)
class Moulding:
    """A length of moulding: its girth is the developed width that gets finish."""

    length: float  # mm
    girth: float  # mm

    def __post_init__(self) -> None:
        set_number(self, "length", unit="mm", above=0, most=LONGEST_PIECE)
        set_number(self, "girth", unit="mm", above=0, most=WIDEST_GIRTH)

    def area_of(self, pieces: int) -> float:
        """Finished area in m² of so many lengths: n × length × girth / 10⁶."""
        return pieces * self.length * self.girth / 1e6


Shape = Panel | GivenArea | Moulding


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A number of like pieces of one shape, all in one zone."""

    shape: Shape
    pieces: int = 1  # n
    label: str = ""
    geometry_factor: float = 1.0  # g, share of the transfer efficiency that survives on this shape
    zone: Zone = Zone.SHOW
    area: float = field(init=False)  # a, m², of all pieces

    def __post_init__(self) -> None:
        check_count(self, "pieces", words="number of pieces", least=1, most=MOST_PIECES)
        set_number(self, "geometry_factor", above=0, most=1)
        area = self.shape.area_of(self.pieces)
        if area > LARGEST_ROW:
            raise OutOfRangeError(
                field="pieces",
                value=area,
                unit="m²",
                words="area of this row",
                right=f"check the sizes and the number of pieces, a row may have at most {LARGEST_ROW:g} m²",
            )
        object.__setattr__(self, "area", area)


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneTotal:
    """What the rows of one zone add up to."""

    area: float = 0.0  # m²
    sprayed_area: float = 0.0  # Σ a/g, m²: area that the gun must aim for at the setup's own efficiency
    pieces: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Takeoff:
    """The measured list of pieces to be priced. An empty list is allowed and has no area."""

    rows: tuple[Row, ...] = ()
    area: float = field(init=False)  # A, m²
    pieces: int = field(init=False)  # N
    _totals: dict[frozenset[Zone], ZoneTotal] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "rows", tuple(self.rows))
        choices = (ALL_ZONES, *(frozenset({zone}) for zone in Zone))
        totals = {zones: _total(row for row in self.rows if row.zone in zones) for zones in choices}
        object.__setattr__(self, "_totals", totals)
        object.__setattr__(self, "area", totals[ALL_ZONES].area)
        object.__setattr__(self, "pieces", totals[ALL_ZONES].pieces)

    def total(self, zones: frozenset[Zone]) -> ZoneTotal:
        """Area and pieces in these zones: A_o and the pieces of an operation."""
        return self._totals[zones]


def _total(rows: Iterable[Row]) -> ZoneTotal:
    listed = list(rows)
    return ZoneTotal(
        area=math.fsum(row.area for row in listed),
        sprayed_area=math.fsum(row.area / row.geometry_factor for row in listed),
        pieces=sum(row.pieces for row in listed),
    )
