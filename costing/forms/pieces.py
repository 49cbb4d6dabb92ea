"""The form of a piece template: which kind, its sizes, and the row that it becomes."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms

from costing.core.errors import CostingError
from costing.core.pieces import SIZES, Piece, Size, Template, work_out
from costing.core.takeoff import MOST_PIECES
from costing.forms.fields import WholeNumberField
from costing.forms.groups import Group, GroupedForm, ShownGroup, show_groups
from costing.forms.takeoff import TakeoffStateForm
from costing.models import TakeoffRow
from finishing import show
from finishing.forms import MeasureField
from finishing.units import Kind

TEMPLATE_WORDS: Mapping[Template, str] = {
    Template.SLAB_DOOR: "Slab door",
    Template.DRAWER_FRONT: "Drawer front",
    Template.SHAKER_DOOR: "Shaker door",
    Template.FIVE_PIECE: "Five-piece panel",
    Template.FACE_FRAME: "Face frame",
    Template.CARCASS: "Carcass interior",
    Template.MOULDING: "Moulding by girth",
}


class PieceForm(TakeoffStateForm, GroupedForm):
    """One kind of piece with its sizes; ``piece`` is what they come to once the form is valid."""

    label = forms.CharField(max_length=80, label="Piece")
    pieces = WholeNumberField(min_value=1, max_value=MOST_PIECES, label="How many")

    piece: Piece

    def __init__(self, data: Any = None, *, template: Template, **kwargs: Any) -> None:
        self.template = template
        initial = {"label": TEMPLATE_WORDS[template], "pieces": 1, **{size.key: _usual(size) for size in SIZES[template]}}
        super().__init__(data, initial={**initial, **kwargs.pop("initial", {})}, **kwargs)
        for size in SIZES[template]:
            field = _field(size)
            if isinstance(field, MeasureField):
                field.set_system(show.preferences().units)
            self.fields[size.key] = field

    def shown_groups(self) -> Any:
        """The row and the sizes."""
        sizes = Group(legend="Sizes", names=tuple(size.key for size in SIZES[self.template]), columns=3)
        shown: list[ShownGroup] = list(show_groups(self, (Group(legend="Row", names=("label", "pieces"), columns=2), sizes)))
        return shown

    def clean(self) -> dict[str, Any]:
        """Sizes that fit together."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if not self.errors:
            try:
                self.piece = work_out(self.template, {size.key: float(cleaned[size.key]) for size in SIZES[self.template]})
            except CostingError as error:
                self.add_error(error.field if error.field in self.fields else None, str(error))
        return cleaned

    def row(self) -> TakeoffRow:
        """The takeoff row that this piece becomes, not saved; factors as exact as a row keeps them."""
        given, piece = self.cleaned_data, self.piece
        area = None if piece.area_each is None else Decimal(f"{piece.area_each * given['pieces']:.8f}")
        return TakeoffRow(
            label=given["label"],
            pieces=given["pieces"],
            form=piece.form,
            length=given.get("length") if piece.length is not None else None,
            width=given.get("width") if piece.width is not None else None,
            thickness=given.get("thickness") if piece.thickness is not None else None,
            girth=given.get("girth") if piece.girth is not None else None,
            area=area,
            profile_factor=Decimal(f"{piece.profile_factor:.4f}"),
            geometry_factor=Decimal(f"{piece.geometry_factor:.4f}"),
            zone=piece.zone.value,
        )


def _usual(size: Size) -> Decimal | int:
    return int(size.usual) if size.is_count else Decimal(str(size.usual))


def _field(size: Size) -> forms.Field:
    if size.is_count:
        return WholeNumberField(min_value=int(size.least), max_value=int(size.most), label=size.words, help_text=size.help)
    bounds: dict[str, Any] = {"minimum": Decimal(0)} if size.may_be_nothing else {"above": Decimal(0)}
    return MeasureField(kind=Kind.LENGTH, maximum=Decimal(str(size.most)), label=size.words, help_text=size.help, **bounds)
