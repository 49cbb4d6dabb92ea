"""Small drawings of the kinds of pieces, in proportion, with the letters of their formulas.

Import inside the function that draws. Finished surface is tinted, and cut edges are drawn strong.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from reportlab.graphics.shapes import Drawing, Line, PolyLine, Rect
from reportlab.lib.colors import HexColor

from costing.core.pieces import Piece, Template
from finishing.charts import _text
from finishing.documents import palette
from finishing.documents.pdf_page import register_fonts

WIDTH, HEIGHT = 460.0, 230.0
_FRONT = 170.0  # height and width of the room for the front view
_INK, _SOFT, _TINT = HexColor(palette.INK), HexColor(palette.LINE_STRONG), HexColor(palette.LINE)


def piece_drawing(piece: Piece) -> Drawing:
    """The front of a piece with its sizes as letters, and a section or a second view beside it where that says more."""
    register_fonts()
    drawing = Drawing(WIDTH, HEIGHT)
    _DRAWERS[piece.template](drawing, piece.sizes)
    return drawing


class _Front:
    """A front view in proportion: mm of the piece to points of the drawing, length upright."""

    def __init__(self, drawing: Drawing, length: float, width: float) -> None:
        self.drawing = drawing
        self.scale = _FRONT / max(length, width)
        self.left, self.bottom = 40.0, 30.0
        self.box(0, 0, width, length)
        x, y = self.left + width * self.scale / 2, self.bottom + length * self.scale / 2
        drawing.add(_text(x, self.bottom - 18, "W", anchor="middle"))
        drawing.add(_text(self.left - 18, y - 4, "L", anchor="middle"))

    def box(self, x: float, y: float, width: float, height: float, *, open_: bool = False) -> None:
        """A rectangle given in mm; an open one is a hole."""
        fill = HexColor(palette.SURFACE) if open_ else _TINT
        s = self.scale
        self.drawing.add(
            Rect(self.left + x * s, self.bottom + y * s, width * s, height * s, fillColor=fill, strokeColor=_INK, strokeWidth=1)
        )

    def letter(self, words: str, x: float, y: float) -> None:
        """A letter centred on a place given in mm."""
        self.drawing.add(_text(self.left + x * self.scale, self.bottom + y * self.scale - 4, words, anchor="middle"))


def _slab(drawing: Drawing, sizes: Mapping[str, float]) -> None:
    _Front(drawing, sizes["length"], sizes["width"])
    _note(drawing, ("Both faces and all edges,", "T thick."))


def _note(drawing: Drawing, lines: tuple[str, ...], *, x: float = 260.0, y: float = 180.0) -> None:
    for number, words in enumerate(lines):
        drawing.add(_text(x, y - 16 * number, words, soft=True))


def _framed(drawing: Drawing, sizes: Mapping[str, float]) -> _Front:
    length, width, frame = sizes["length"], sizes["width"], sizes["frame"]
    front = _Front(drawing, length, width)
    front.box(frame, frame, width - 2 * frame, length - 2 * frame)
    front.letter("s", frame / 2, length * 0.75)
    return front


def _shaker(drawing: Drawing, sizes: Mapping[str, float]) -> None:
    _framed(drawing, sizes)
    _section(drawing, ((250, 120), (310, 120), (310, 104), (420, 104)))
    drawing.add(_text(318, 108, "r"))
    drawing.add(_text(276, 126, "s", anchor="middle"))
    _note(drawing, ("The step r stands upright", "all around the opening,", "on both faces."), y=84)


def _five_piece(drawing: Drawing, sizes: Mapping[str, float]) -> None:
    front = _framed(drawing, sizes)
    inset = sizes["frame"] + sizes["bevel"]
    front.box(inset, inset, sizes["width"] - 2 * inset, sizes["length"] - 2 * inset)
    _section(drawing, ((250, 120), (296, 120), (296, 100), (302, 100), (356, 116), (420, 116)))
    drawing.add(_text(287, 106, "r", anchor="middle"))
    drawing.add(_text(330, 96, "b", anchor="middle"))
    drawing.add(_text(362, 103, "h"))
    _note(drawing, ("On the front: the profile r deep", "around the opening, and a bevel", "b wide that rises by h."), y=78)


def _section(drawing: Drawing, points: tuple[tuple[float, float], ...]) -> None:
    """A cut through the front surface, drawn strong."""
    drawing.add(_text(250, 146, "section", soft=True))
    flat = [value for point in points for value in point]
    drawing.add(PolyLine(flat, strokeColor=_INK, strokeWidth=2.4))


def _face_frame(drawing: Drawing, sizes: Mapping[str, float]) -> None:
    length, width, member = sizes["length"], sizes["width"], sizes["member"]
    stiles, rails = int(sizes["stiles"]), int(sizes["rails"])
    front = _Front(drawing, length, width)
    across = (width - stiles * member) / (stiles - 1)
    along = (length - rails * member) / (rails - 1)
    for column in range(stiles - 1):
        for row in range(rails - 1):
            x, y = member + column * (across + member), member + row * (along + member)
            front.box(x, y, across, along, open_=True)
    front.letter("s", member / 2, length / 2)
    _note(drawing, ("Members s wide and T thick:", "front, edges inside the openings,", "and outer edges."))


def _carcass(drawing: Drawing, sizes: Mapping[str, float]) -> None:
    """A box seen from the front, its back drawn smaller inside."""
    height, width, shelves = sizes["height"], sizes["width"], int(sizes["shelves"])
    scale = _FRONT / max(height, width)
    x, y, wide, high = 40.0, 30.0, width * scale, height * scale
    inset = 0.22 * min(wide, high)
    drawing.add(Rect(x, y, wide, high, fillColor=_TINT, strokeColor=_INK, strokeWidth=2))
    drawing.add(
        Rect(x + inset, y + inset, wide - 2 * inset, high - 2 * inset, fillColor=HexColor(palette.SURFACE), strokeColor=_SOFT)
    )
    for corner_x, corner_y, sign_x, sign_y in (
        (x, y, 1, 1),
        (x + wide, y, -1, 1),
        (x, y + high, 1, -1),
        (x + wide, y + high, -1, -1),
    ):
        drawing.add(Line(corner_x, corner_y, corner_x + sign_x * inset, corner_y + sign_y * inset, strokeColor=_SOFT))
    for number in range(1, min(shelves, 8) + 1):
        at = y + high * number / (min(shelves, 8) + 1)
        drawing.add(Line(x, at, x + wide, at, strokeColor=_INK, strokeWidth=2))
    drawing.add(_text(x + wide / 2, y - 18, "W", anchor="middle"))
    drawing.add(_text(x - 18, y + high / 2 - 4, "H", anchor="middle"))
    drawing.add(_text(x + inset / 2 + 4, y + inset / 2 - 8, "D"))
    _note(drawing, ("All inner sides, the back, and", "both faces of n fixed shelves."))


def _moulding(drawing: Drawing, sizes: Mapping[str, float]) -> None:  # noqa: ARG001 - every drawer is asked the same way
    drawing.add(_text(60, 190, "section", soft=True))
    profile = (60, 60, 60, 84, 78, 84, 84, 100, 98, 116, 120, 126, 146, 130, 146, 148, 180, 148)
    drawing.add(PolyLine(list(profile), strokeColor=_INK, strokeWidth=2.6))
    drawing.add(PolyLine([60, 60, 180, 60, 180, 148], strokeColor=_SOFT, strokeWidth=1))
    drawing.add(_text(96, 146, "girth", anchor="end"))
    _note(drawing, ("The girth follows the visible", "profile from edge to edge,", "over the length L."))


_DRAWERS: Mapping[Template, Callable[[Drawing, Mapping[str, float]], None]] = {
    Template.SLAB_DOOR: _slab,
    Template.DRAWER_FRONT: _slab,
    Template.SHAKER_DOOR: _shaker,
    Template.FIVE_PIECE: _five_piece,
    Template.FACE_FRAME: _face_frame,
    Template.CARCASS: _carcass,
    Template.MOULDING: _moulding,
}
