"""Workings of the takeoff (costing model, section 1). Imports no Django."""

from __future__ import annotations

from costing.core.explain.working import Book, Quantity, q
from costing.core.result import Estimate
from costing.core.takeoff import GivenArea, Moulding, Panel, Row


def area_workings(book: Book, estimate: Estimate) -> None:
    """Each row's area and their sum."""
    takeoff = estimate.takeoff
    for position, row in enumerate(takeoff.rows):
        expression, inputs = _row_formula(row)
        book.add(f"row.{position}.area", q("a", f"area of {_name(row, position)}", row.area, "m²"), expression, inputs, section=1)
    book.add(
        "area",
        q("A", "finished area", takeoff.area, "m²"),
        "Σ(a)",
        [q("a", _name(row, position), row.area, "m²") for position, row in enumerate(takeoff.rows)],
        section=1,
    )


def _name(row: Row, position: int) -> str:
    return row.label or f"row {position + 1}"


def _row_formula(row: Row) -> tuple[str, list[Quantity]]:
    """The expression and the inputs of a row's area, by its shape."""
    pieces = q("n", "pieces", float(row.pieces))
    shape = row.shape
    if isinstance(shape, GivenArea):
        return "a_given", [q("a_given", "area as measured, all pieces of the row", shape.area, "m²")]
    if isinstance(shape, Moulding):
        return "n × L × G / 10⁶", [pieces, q("L", "length", shape.length, "mm"), q("G", "girth", shape.girth, "mm")]
    return "n × (k × f × L × W + T × (e_L × L + e_W × W)) / 10⁶", [pieces, *_panel_inputs(shape)]


def _panel_inputs(panel: Panel) -> list[Quantity]:
    return [
        q("k", "profile factor", panel.profile_factor),
        q("f", "faces finished", float(panel.faces)),
        q("L", "length", panel.length, "mm"),
        q("W", "width", panel.width, "mm"),
        q("T", "thickness", panel.thickness, "mm"),
        q("e_L", "long edges finished", float(panel.long_edges)),
        q("e_W", "short edges finished", float(panel.short_edges)),
    ]
