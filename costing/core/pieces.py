"""Kinds of pieces whose area, profile and geometry factor are worked out from their sizes (costing model, section 1).

Imports no Django. All lengths in mm, areas in m². A template answers with what a takeoff row holds, and tells how it came about.

Profile factors are geometry: developed surface over flat surface of the faces. Geometry factors, how much of the transfer
efficiency survives, are rules of thumb: common practice, no source. A shop's own logged coats know better.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from math import hypot

from costing.core.checks import check_count, check_number
from costing.core.errors import ContradictionError
from costing.core.explain.working import Quantity, Working, q
from costing.core.takeoff import LONGEST_PIECE, THICKEST_PIECE, WIDEST_GIRTH, Zone

LEAD_IN = 20.0  # mm that the fan reaches beyond a narrow member, both sides together; common practice, no source
SECTION = "Costing model, section 1"
THUMB = "Rule of thumb: common practice, no source."
LEAST_GEOMETRY = 0.05


class Template(StrEnum):
    """A kind of piece."""

    SLAB_DOOR = "slab-door"
    DRAWER_FRONT = "drawer-front"
    SHAKER_DOOR = "shaker-door"
    FIVE_PIECE = "five-piece-panel"
    FACE_FRAME = "face-frame"
    CARCASS = "carcass-interior"
    MOULDING = "moulding"


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """A size that a template asks for. Counts are whole numbers, everything else is mm."""

    key: str
    words: str
    usual: float
    most: float = LONGEST_PIECE
    is_count: bool = False
    least: float = 0.0  # itself allowed for a count, and for a length where it is 0 and ``may_be_nothing``
    may_be_nothing: bool = False
    help: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """What a template makes of its sizes: the fields of a takeoff row for one piece, and how they came about."""

    template: Template
    sizes: Mapping[str, float]
    form: str  # panel, area or moulding
    zone: Zone
    profile_factor: float = 1.0
    geometry_factor: float = 1.0
    length: float | None = None  # mm
    width: float | None = None
    thickness: float | None = None
    girth: float | None = None
    area_each: float | None = None  # m², where the row states its area
    workings: tuple[Working, ...] = field(default=())


def work_out(template: Template, sizes: Mapping[str, float]) -> Piece:
    """A piece of this kind and these sizes.

    Raises NotANumberError or OutOfRangeError for a size that is none, ContradictionError for sizes that don't fit together.
    A slab has flat faces:

    >>> work_out(Template.SLAB_DOOR, {"length": 715, "width": 397, "thickness": 19}).profile_factor
    1.0
    """
    checked = {size.key: _checked(size, sizes) for size in SIZES[template]}
    return _MAKERS[template](template, checked)


def _checked(size: Size, given: Mapping[str, float]) -> float:
    value = given.get(size.key)
    if size.is_count:
        holder = _Count(value=value)
        check_count(holder, "value", words=size.words.lower(), least=int(size.least), most=int(size.most))
        return float(holder.value or 0)
    above = None if size.may_be_nothing else size.least
    least = size.least if size.may_be_nothing else None
    return check_number(value, size.key, words=size.words.lower(), unit="mm", above=above, least=least, most=size.most)


@dataclass(slots=True)
class _Count:
    value: float | None


def _working(key: str, result: Quantity, expression: str, inputs: tuple[Quantity, ...], *, note: str = "") -> Working:
    return Working(key=key, formula=f"{result.symbol} = {expression}", inputs=inputs, result=result, section=SECTION, note=note)


def _outside(sizes: Mapping[str, float]) -> tuple[Quantity, ...]:
    return (q("L", "length", sizes["length"], "mm"), q("W", "width", sizes["width"], "mm"))


def _slab(template: Template, sizes: Mapping[str, float]) -> Piece:
    flat = _working("k", q("k", "profile factor", 1.0), "1", (), note="Flat faces: the developed surface is the flat one.")
    return _door(template, sizes, extra=0.0, workings=(flat,))


def _shaker(template: Template, sizes: Mapping[str, float]) -> Piece:
    length, width, frame, recess = (sizes[key] for key in ("length", "width", "frame", "recess"))
    around = _opening(length, width, frame)
    extra = 2 * around * recess
    workings = (
        _around(sizes, around),
        _working(
            "k",
            q("k", "profile factor", 1 + extra / (2 * length * width)),
            "1 + 2 u r / (2 L W)",
            (q("u", "around the opening", around, "mm"), q("r", "recess of the panel", recess, "mm"), *_outside(sizes)),
            note="Both faces show the step from frame to panel, which stands upright all around the opening.",
        ),
    )
    return _door(template, sizes, extra=extra, workings=workings)


def _opening(length: float, width: float, frame: float) -> float:
    """Length around the opening of a frame, mm."""
    if 2 * frame >= min(length, width):
        raise ContradictionError(
            field="frame",
            value=frame,
            words="frame width",
            because=f"of {frame:g} mm leaves no panel",
            right=f"give less than {min(length, width) / 2:g} mm",
        )
    return 2 * (length - 2 * frame) + 2 * (width - 2 * frame)


def _around(sizes: Mapping[str, float], around: float) -> Working:
    return _working(
        "u",
        q("u", "around the opening", around, "mm"),
        "2 (L − 2 s) + 2 (W − 2 s)",
        (*_outside(sizes), q("s", "width of the frame", sizes["frame"], "mm")),
    )


def _five_piece(template: Template, sizes: Mapping[str, float]) -> Piece:
    length, width, frame, recess, bevel, rise = (sizes[key] for key in ("length", "width", "frame", "recess", "bevel", "rise"))
    around = _opening(length, width, frame)
    inner_length, inner_width = length - 2 * frame, width - 2 * frame
    if 2 * bevel >= min(inner_length, inner_width):
        raise ContradictionError(
            field="bevel",
            value=bevel,
            because=f"of {bevel:g} mm leaves no field in the middle of the panel",
            right=f"give less than {min(inner_length, inner_width) / 2:g} mm",
        )
    ring = inner_length * inner_width - (inner_length - 2 * bevel) * (inner_width - 2 * bevel)
    sloped = ring * (hypot(bevel, rise) / bevel - 1) if bevel else around * rise
    extra = around * recess + sloped
    inputs = (q("u", "around the opening", around, "mm"), q("r", "depth of the frame’s profile", recess, "mm"))
    workings = (
        _around(sizes, around),
        _working(
            "v",
            q("v", "more surface on the bevels", sloped, "mm²"),
            "ring (√(b² + h²)/b − 1)",
            (
                q("ring", "flat area of the bevels", ring, "mm²"),
                q("b", "width of the bevel", bevel, "mm"),
                q("h", "rise of the bevel", rise, "mm"),
            ),
            note="Each bevel is a plane that slopes; it is longer than it is wide by the same share everywhere.",
        ),
        _working(
            "k",
            q("k", "profile factor", 1 + extra / (2 * length * width)),
            "1 + (u r + v) / (2 L W)",
            (*inputs, q("v", "more surface on the bevels", sloped, "mm²"), *_outside(sizes)),
            note="Profile and bevels are on the front; the back is taken as flat.",
        ),
    )
    return _door(template, sizes, extra=extra, workings=workings)


def _door(template: Template, sizes: Mapping[str, float], *, extra: float, workings: tuple[Working, ...]) -> Piece:
    """A panel with both faces and all edges; ``extra`` mm² of surface beside its flat faces."""
    length, width = sizes["length"], sizes["width"]
    whole = _working("g", q("g", "geometry factor", 1.0), "1", (), note="A panel as wide as this meets the whole fan of the gun.")
    return Piece(
        template=template,
        sizes=sizes,
        form="panel",
        zone=Zone.SHOW,
        profile_factor=1 + extra / (2 * length * width),
        length=length,
        width=width,
        thickness=sizes["thickness"],
        workings=(*workings, whole),
    )


def _narrow(width: float, words: str) -> tuple[float, Working]:
    """Geometry factor of a member that is narrower than the fan: s / (s + lead-in)."""
    factor = max(width / (width + LEAD_IN), LEAST_GEOMETRY)
    working = _working(
        "g",
        q("g", "geometry factor", factor),
        "s / (s + 20 mm)",
        (q("s", words, width, "mm"),),
        note=f"The fan reaches about 10 mm beyond each side of a narrow member, and that part misses. {THUMB}",
    )
    return factor, working


def _face_frame(template: Template, sizes: Mapping[str, float]) -> Piece:
    length, width, thickness, member = (sizes[key] for key in ("length", "width", "thickness", "member"))
    stiles, rails = sizes["stiles"], sizes["rails"]
    across, along = width - stiles * member, length - rails * member
    if across <= 0 or along <= 0:
        raise ContradictionError(
            field="member",
            value=member,
            words="member width",
            because=f"of {member:g} mm leaves no opening",
            right="give narrower or fewer members",
        )
    face = stiles * member * length + rails * member * across
    columns, rows = stiles - 1, rails - 1
    inside = thickness * (2 * columns * along + 2 * rows * across)
    outside = thickness * 2 * (length + width)
    area = (face + inside + outside) / 1e6
    factor, shape = _narrow(member, "width of the members")
    workings = (
        _working(
            "A_f",
            q("A_f", "front of the members", face, "mm²"),
            "m s L + n s (W − m s)",
            (
                *_outside(sizes),
                q("s", "width of the members", member, "mm"),
                q("m", "upright members", stiles),
                q("n", "members across", rails),
            ),
        ),
        _working(
            "a",
            q("a", "finished area of one", area, "m²"),
            "(A_f + T (2 (m − 1) (L − n s) + 2 (n − 1) (W − m s)) + 2 T (L + W)) / 10⁶",
            (q("A_f", "front of the members", face, "mm²"), q("T", "thickness", thickness, "mm")),
            note="Front, the edges inside all openings, and the outer edges; the back stays against the carcass.",
        ),
        shape,
    )
    return Piece(
        template=template, sizes=sizes, form="area", zone=Zone.SHOW, geometry_factor=factor, area_each=area, workings=workings
    )


def _carcass(template: Template, sizes: Mapping[str, float]) -> Piece:
    height, width, depth, shelves = (sizes[key] for key in ("height", "width", "depth", "shelves"))
    area = (2 * depth * height + 2 * depth * width + height * width + 2 * shelves * depth * width) / 1e6
    bay = min(height / (shelves + 1), width)
    factor = max(1 / (1 + depth / (2 * bay)), LEAST_GEOMETRY)
    inside = (q("H", "height inside", height, "mm"), q("W", "width inside", width, "mm"), q("D", "depth inside", depth, "mm"))
    workings = (
        _working(
            "a",
            q("a", "finished area of one", area, "m²"),
            "(2 D H + 2 D W + H W + 2 n D W) / 10⁶",
            (*inside, q("n", "fixed shelves", shelves)),
            note="Sides, top and bottom, back, and both faces of the fixed shelves.",
        ),
        _working(
            "g",
            q("g", "geometry factor", factor),
            "1 / (1 + D / (2 o))",
            (q("D", "depth inside", depth, "mm"), q("o", "narrow side of the opening, or of a bay between shelves", bay, "mm")),
            note=f"The air that the gun blows into a box comes out by the same opening and carries spray along. {THUMB}",
        ),
    )
    return Piece(
        template=template, sizes=sizes, form="area", zone=Zone.HIDDEN, geometry_factor=factor, area_each=area, workings=workings
    )


def _moulding(template: Template, sizes: Mapping[str, float]) -> Piece:
    girth = sizes["girth"]
    factor, shape = _narrow(girth, "girth")
    around = _working(
        "a",
        q("a", "finished area of one", sizes["length"] * girth / 1e6, "m²"),
        "L girth / 10⁶",
        (q("L", "length", sizes["length"], "mm"), q("girth", "girth", girth, "mm")),
        note="The girth is what a strip of paper measures that follows the profile from edge to edge.",
    )
    return Piece(
        template=template,
        sizes=sizes,
        form="moulding",
        zone=Zone.SHOW,
        geometry_factor=factor,
        length=sizes["length"],
        girth=girth,
        workings=(around, shape),
    )


def _outer(length: float, width: float, thickness: float = 19.0) -> tuple[Size, ...]:
    return (
        Size(key="length", words="Length", usual=length),
        Size(key="width", words="Width", usual=width),
        Size(key="thickness", words="Thickness", usual=thickness, most=THICKEST_PIECE),
    )


_FRAME = Size(key="frame", words="Width of the frame", usual=57.0)
SIZES: Mapping[Template, tuple[Size, ...]] = {
    Template.SLAB_DOOR: _outer(715, 397),
    Template.DRAWER_FRONT: _outer(597, 146),
    Template.SHAKER_DOOR: (
        *_outer(715, 397),
        _FRAME,
        Size(
            key="recess",
            words="Recess of the panel",
            usual=6.0,
            most=THICKEST_PIECE,
            help="From the frame’s face to the panel’s.",
        ),
    ),
    Template.FIVE_PIECE: (
        *_outer(715, 397),
        _FRAME,
        Size(key="recess", words="Depth of the frame’s profile", usual=8.0, most=THICKEST_PIECE, may_be_nothing=True),
        Size(key="bevel", words="Width of the bevel", usual=38.0, may_be_nothing=True),
        Size(key="rise", words="Rise of the bevel", usual=8.0, most=THICKEST_PIECE, may_be_nothing=True),
    ),
    Template.FACE_FRAME: (
        *_outer(720, 900, 22.0),
        Size(key="member", words="Width of the members", usual=45.0),
        Size(key="stiles", words="Upright members", usual=3, most=50, is_count=True, least=2),
        Size(key="rails", words="Members across", usual=2, most=50, is_count=True, least=2),
    ),
    Template.CARCASS: (
        Size(key="height", words="Height inside", usual=684.0),
        Size(key="width", words="Width inside", usual=564.0),
        Size(key="depth", words="Depth inside", usual=540.0),
        Size(key="shelves", words="Fixed shelves", usual=1, most=50, is_count=True),
    ),
    Template.MOULDING: (
        Size(key="length", words="Length", usual=2400.0),
        Size(key="girth", words="Girth", usual=110.0, most=WIDEST_GIRTH),
    ),
}
"""The sizes that each template asks for, in order."""

_MAKERS: Mapping[Template, Callable[[Template, Mapping[str, float]], Piece]] = {
    Template.SLAB_DOOR: _slab,
    Template.DRAWER_FRONT: _slab,
    Template.SHAKER_DOOR: _shaker,
    Template.FIVE_PIECE: _five_piece,
    Template.FACE_FRAME: _face_frame,
    Template.CARCASS: _carcass,
    Template.MOULDING: _moulding,
}
