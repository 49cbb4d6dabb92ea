"""Materials as a list: known again by their code."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from simple_history.utils import bulk_create_with_history

from finishing.cells import one_line
from finishing.columns import Column, Line, NamedList
from finishing.steps import Progress, Work, chunks
from finishing.units import Kind
from inventory.bringing_in.cells import (
    Cell,
    Faults,
    Quantities,
    Read,
    by_field,
    is_as_shown,
    one_of,
    said,
    shown,
    text_of,
    yes_or_no,
)
from inventory.bringing_in.names import Names, enter_places
from inventory.bringing_in.plan import Change, Given, Plan, PlannedRow, State
from inventory.choices import FlammableCategory, MaterialKind, SignalWord, StockUnit
from inventory.forms.materials import MaterialForm
from inventory.models import Booking, Location, Lot, Material, Pack

ZERO, ONE = Decimal(0), Decimal(1)
_UNIT_WORDS = {
    **{unit.value.lower(): unit for unit in StockUnit},
    **{unit.label: unit for unit in StockUnit},
    **dict.fromkeys(("litre", "liter", "liters"), StockUnit.LITRE),
    "kilogram": StockUnit.KILOGRAM,
    "piece": StockUnit.PIECE,
    "metre": StockUnit.METRE,
    "m2": StockUnit.SQUARE_METRE,
}
_KIND_WORDS = {word.casefold(): kind for kind in MaterialKind for word in (kind.value, kind.label)}
_SIGNAL_WORDS = {word.casefold(): word for word in SignalWord if word}
_CATEGORY_WORDS = {
    word: category
    for category in FlammableCategory
    for word in (str(category.value), category.label.casefold(), f"cat {category.value}")
}
_H_CODES = Material._meta.get_field("h_codes").validators[:1]
_KINDS = ", ".join(MaterialKind.labels)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rule:
    """How a column is read into a material, and how it is shown from one."""

    column: Column
    out: Callable[[Material], Cell]
    read: Read | None = None  # None: a quantity in the material's own unit


def _field(name: str) -> forms.Field:
    return MaterialForm.base_fields[name]


def _percent(name: str) -> Callable[[Material], Cell]:
    def out(material: Material) -> Cell:
        share = getattr(material, name)
        return None if share is None else share * 100

    return out


def _plain(name: str) -> Callable[[Material], Cell]:
    return lambda material: getattr(material, name)


def _column(field: str, name: str, words: str, example: str, **more: Any) -> Column:
    return Column(field=field, name=name, words=words, example=example, **more)


def _code() -> Read:
    words = "Write letters, digits, - and _ only, for example CLEAR-WB."
    field = forms.SlugField(max_length=30, error_messages={"required": f"The code is missing. {words}", "invalid": words})
    return by_field(field)


def _rules() -> tuple[_Rule, ...]:
    """The columns in their order, with readers of their own for one list."""
    kept = "in the unit it is kept in"
    days = {"unit": "days"}
    given = _column
    return (
        _Rule(
            column=given("code", "Code", "Your own short code. The material is known again by it.", "CLEAR-WB", is_needed=True),
            out=_plain("code"),
            read=_code(),
        ),
        _Rule(
            column=given("name", "Name", "How your shop calls it.", "Clear coat, waterborne", width=30, is_needed=True),
            out=_plain("name"),
            read=text_of(120, needed="The name is missing."),
        ),
        _Rule(
            column=given("kind", "Kind", f"One of: {_KINDS}.", "Coating", is_needed=True),
            out=lambda material: MaterialKind(material.kind).label,
            read=one_of(_KIND_WORDS, needed=f"Write one of: {_KINDS}."),
        ),
        _Rule(
            column=given("stock_unit", "Kept in", "One of: L, kg, pcs, m, m².", "L", is_needed=True, width=9),
            out=_plain("stock_unit"),
            read=one_of(_UNIT_WORDS, needed="Write L, kg, pcs, m or m²."),
        ),
        _Rule(
            column=given("is_active", "In use", "yes or no. Empty: yes.", "yes", width=8),
            out=lambda material: said(material.is_active),
            read=yes_or_no(empty=True),
        ),
        _Rule(
            column=given("usual_location", "Usual place", "Where a delivery is put. A new name becomes a shelf.", "Shelf 3"),
            out=lambda material: material.place,
            read=text_of(60),
        ),
        _Rule(
            column=given("density", "Density", "Or with its unit: 8.8 lb/gal.", "1.04", unit="kg/L", kind=Kind.VOC),
            out=_plain("density"),
            read=by_field(_field("density")),
        ),
        _Rule(
            column=given("volume_solids", "Volume solids", "From the technical data sheet.", "32.5", unit="%"),
            out=_plain("volume_solids"),
            read=by_field(_field("volume_solids")),
        ),
        _Rule(
            column=given("mass_solids", "Mass solids", "From the technical data sheet.", "36", unit="%"),
            out=_plain("mass_solids"),
            read=by_field(_field("mass_solids")),
        ),
        _Rule(
            column=given(
                "voc", "VOC as supplied", "The actual content, or with its unit: 1 lb/gal.", "95", unit="g/L", kind=Kind.VOC
            ),
            out=_plain("voc"),
            read=by_field(_field("voc")),
        ),
        _Rule(
            column=given("water_fraction", "Water by volume", "Empty: 0.", "58", unit="%"),
            out=_percent("water_fraction"),
            read=by_field(_field("water_fraction"), empty=ZERO),
        ),
        _Rule(
            column=given("exempt_fraction", "Exempt compounds by volume", "Empty: 0.", "0", unit="%"),
            out=_percent("exempt_fraction"),
            read=by_field(_field("exempt_fraction"), empty=ZERO),
        ),
        _Rule(
            column=given("yield_fraction", "Yield of a can", "What can be poured out. Empty: 100.", "98", unit="%"),
            out=_percent("yield_fraction"),
            read=by_field(_field("yield_fraction"), empty=ONE),
        ),
        _Rule(
            column=given("pot_life_min", "Pot life", "Once mixed, for a two-component mix.", "", unit="min"),
            out=_plain("pot_life_min"),
            read=by_field(_field("pot_life_min")),
        ),
        _Rule(
            column=given("shelf_life_days", "Shelf life", "From the day it was made, unopened.", "365", **days),
            out=_plain("shelf_life_days"),
            read=by_field(_field("shelf_life_days")),
        ),
        _Rule(
            column=given("open_life_days", "Open life", "Once the container has been opened.", "60", **days),
            out=_plain("open_life_days"),
            read=by_field(_field("open_life_days")),
        ),
        _Rule(
            column=given("opens_on_issue", "First issue opens it", "yes or no. Empty: no.", "no"),
            out=lambda material: said(material.opens_on_issue),
            read=yes_or_no(empty=False),
        ),
        _Rule(
            column=given("signal_word", "Signal word", "Warning, Danger or empty, as the safety data sheet says.", ""),
            out=lambda material: SignalWord(material.signal_word).label if material.signal_word else "",
            read=one_of(_SIGNAL_WORDS, needed="Write Warning, Danger, or leave it empty.", empty="", may_be_empty=True),
        ),
        _Rule(
            column=given("h_codes", "H-codes", "From the safety data sheet: H225, H317.", ""),
            out=_plain("h_codes"),
            read=by_field(_field("h_codes"), empty="", checks=_H_CODES),
        ),
        _Rule(
            column=given("flammable_category", "Flammable category", "0 to 4 as the sheet says; 0: no flammable liquid.", "0"),
            out=_plain("flammable_category"),
            read=one_of(_CATEGORY_WORDS, needed="Write 0, 1, 2, 3 or 4, or leave it empty.", may_be_empty=True),
        ),
        _Rule(
            column=given("sds_reference", "Safety data sheet", "Where the sheet is kept.", "Folder 2", width=20),
            out=_plain("sds_reference"),
            read=text_of(200),
        ),
        _Rule(
            column=given("weekly_use", "Expected use per week", f"A first guess, {kept}.", "6"),
            out=_plain("weekly_use"),
        ),
        _Rule(
            column=given("weekly_use_sd", "Spread of weekly use", f"Standard deviation, {kept}.", "2"),
            out=_plain("weekly_use_sd"),
        ),
        _Rule(
            column=given("service_level", "Service target", "50 to 99.9. Empty: the shop’s own.", "", unit="%"),
            out=_percent("service_level"),
            read=by_field(_field("service_level")),
        ),
        _Rule(column=given("note", "Note", "Anything else.", "", width=24), out=_plain("note"), read=text_of(2000)),
    )


COLUMNS = tuple(rule.column for rule in _rules())
_OUT: Mapping[str, Callable[[Material], Cell]] = {rule.column.field: rule.out for rule in _rules()}


def rows_out() -> Iterator[tuple[Cell, ...]]:
    """All materials as rows of the list."""
    for material in Material.objects.select_related("usual_location").order_by("code"):
        yield tuple(out(material) for out in _OUT.values())


def plan(named: NamedList, given: Given) -> Work[Plan]:
    """What the list would change among the materials."""
    del given
    known = {one.code.casefold(): one for one in Material.objects.select_related("usual_location")}
    reader = _Reader(named=named, known=known, places=Names(Location.objects.values_list("name", flat=True)))
    rows = []
    for part in chunks(named.lines):
        rows += [reader.planned(line) for line in part]
        yield Progress(words="Checking rows", done=len(rows), total=len(named.lines))
    places = reader.places.new()
    notes = [f"New places, entered as shelves: {', '.join(places)}. Set their kind and limits under Places."] if places else []
    return Plan(rows=tuple(rows), notes=(*named.notes, *notes), more={"places": places})


class _Reader:
    """Goes through the rows with what is in the books."""

    def __init__(self, *, named: NamedList, known: Mapping[str, Material], places: Names) -> None:
        self.headings, self.known, self.places = named.headings, known, places
        self.rules = [rule for rule in _rules() if rule.column.field in named.headings]
        self.quantities = Quantities(required=False, above=None, minimum=ZERO)
        self.seen: dict[str, int] = {}
        self._fixed: set[int] | None = None

    def planned(self, line: Line) -> PlannedRow:
        """One row."""
        faults = Faults()
        code = faults.reading(self.headings["code"], lambda: line.text("code"))
        twin = self.seen.setdefault((code or "").casefold(), line.number)
        if code and twin != line.number:
            faults.add(self.headings["code"], f"Row {twin} has this code already. Keep one of them.")
        old = self.known.get((code or "").casefold())
        values = self._values(line, old, faults)
        self._check(values, old, faults)
        what = f"{code or '?'} {values.get('name') or (old.name if old else '')}".strip()
        if faults:
            return PlannedRow(number=line.number, what=what, state=State.WRONG, faults=tuple(faults))
        return self._compared(line.number, what, values, old)

    def _values(self, line: Line, old: Material | None, faults: Faults) -> dict[str, Any]:
        """What the row says; a cell that says what is in the books already is not read any further."""
        values: dict[str, Any] = {}
        unit = old.unit if old else StockUnit.LITRE
        for rule in self.rules:
            name, heading = rule.column.field, self.headings[rule.column.field]
            if old is not None and (name == "code" or is_as_shown(line.cells[name], rule.out(old))):
                values[name] = old.place if name == "usual_location" else getattr(old, name)
            else:
                values[name] = faults.reading(heading, lambda: self._read(rule, line, unit))  # noqa: B023 - called at once
            if name == "stock_unit" and values[name]:
                unit = StockUnit(values[name])
        return values

    def _read(self, rule: _Rule, line: Line, unit: StockUnit) -> Any:
        text = line.text(rule.column.field)
        return self.quantities.read(text, unit) if rule.read is None else rule.read(text)

    def _check(self, values: Mapping[str, Any], old: Material | None, faults: Faults) -> None:
        """What no single cell can tell."""
        if faults:
            return
        water, exempt = (values.get(name, getattr(old, name) if old else ZERO) for name in ("water_fraction", "exempt_fraction"))
        if water + exempt > 1:
            heading = self.headings.get("exempt_fraction") or self.headings.get("water_fraction", "")
            faults.add(heading, "Water and exempt compounds together are at most 100 %.")
        if old is not None and values["stock_unit"] != old.stock_unit and old.pk in self.fixed:
            words = f"{old.name} is kept in {old.stock_unit}, and there are lots, packs or bookings in this unit."
            faults.add(self.headings["stock_unit"], f"{words} Leave it at {old.stock_unit}.")

    @property
    def fixed(self) -> set[int]:
        """Materials of which something is counted in their unit."""
        if self._fixed is None:
            self._fixed = {
                pk for model in (Lot, Pack, Booking) for pk in model.objects.values_list("material_id", flat=True).distinct()
            }
        return self._fixed

    def _compared(self, number: int, what: str, values: dict[str, Any], old: Material | None) -> PlannedRow:
        place = values.pop("usual_location", None)
        if place:
            place = self.places.known(place)
        fresh = Material(**values) if old is None else old
        changes = []
        changed: dict[str, Any] = {}
        for name, value in values.items():
            if old is None or (value != getattr(old, name) and one_line(str(value)) != one_line(str(getattr(old, name)))):
                changed[name] = value
                after = shown(_OUT[name](fresh)) if old is None else _after(old, name, value)
                before = "" if old is None else shown(_OUT[name](old))
                if after != before:
                    changes.append(Change(column=self.headings[name], old=before, new=after))
        if place is not None and place != (old.place if old else ""):
            changed["usual_location"] = place
            changes.append(Change(column=self.headings["usual_location"], old=old.place if old else "", new=place))
        state = State.NEW if old is None else State.CHANGED if changes else State.SAME
        return PlannedRow(number=number, what=what, state=state, changes=tuple(changes), action=(old, changed))


def _after(material: Material, name: str, value: Any) -> str:
    """How a value will be shown in its material."""
    kept = getattr(material, name)
    setattr(material, name, value)
    text = shown(_OUT[name](material))
    setattr(material, name, kept)
    return text


def write(plan: Plan, given: Given) -> Work[None]:
    """Write what was planned; the caller holds the transaction."""
    places = enter_places(plan.more["places"], given)
    new, changed = plan.to_do(State.NEW), plan.to_do(State.CHANGED)
    done, total = 0, len(new) + len(changed)
    for part in chunks(new):
        materials = [Material(**_placed(row.action[1], places)) for row in part]
        bulk_create_with_history(materials, Material, default_user=given.by, default_change_reason=given.words)
        done += len(part)
        yield Progress(words="Writing materials", done=done, total=total)
    for part in chunks(changed):
        for row in part:
            material, values = row.action
            for name, value in _placed(values, places).items():
                setattr(material, name, value)
            material._history_user, material._change_reason = given.by, given.words
            material.save(update_fields=list(values))
        done += len(part)
        yield Progress(words="Writing materials", done=done, total=total)


def _placed(values: dict[str, Any], places: Mapping[str, Location]) -> dict[str, Any]:
    """The values with the place itself instead of its name."""
    if "usual_location" not in values:
        return values
    return {**values, "usual_location": places[values["usual_location"]] if values["usual_location"] else None}
