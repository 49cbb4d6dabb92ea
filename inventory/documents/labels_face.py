"""What stands on one label, in words, before anything is drawn."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from finishing.documents.letterhead import printable
from finishing.show import day
from inventory.choices import SignalWord
from inventory.core.gs1 import is_gtin, label_text
from inventory.models import Location, Lot, Material, Pack

SEE_SHEET = "See the safety data sheet."


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """What the safety data sheet says, in brief."""

    signal: str = ""
    codes: tuple[str, ...] = ()
    see_sheet: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """One label. Empty: that line is left out."""

    name: str
    number: str  # the lot number; the material's own code on a shelf label; the name of a place
    number_label: str  # "Lot" or ""
    until: str = ""  # the last day of use, in words; never shortened
    alarm: str = ""  # why the lot can't be used now
    write: bool = False  # a line to write on when the container is opened
    keeps: str = ""  # how long it keeps once opened
    place: str = ""
    hazard: Hazard
    square: str  # the text of the QR code
    bars: str = ""  # the text of the Code 128, where there is room for it


def _one_line(text: str) -> str:
    return " ".join(printable(text).split())


def lot_face(lot: Lot, *, gtin: str, today: date) -> Face:
    """The label of a container: the day on it is the last day of use as the program knows it today, in words and in the code."""
    material, until = lot.material, lot.usable_until
    return Face(
        name=_one_line(material.name),
        number=_one_line(lot.number),
        number_label="Lot",
        until=_until_words(lot, until),
        alarm=_alarm(lot, until, today),
        write=material.is_liquid or material.open_life_days is not None,
        keeps=f"Keeps {material.open_life_days} days once opened." if material.open_life_days else "",
        place=_one_line(lot.place),
        square=label_text(lot=lot.number, gtin=gtin, use_until=until, today=today),
        bars=lot.number if lot.number.isascii() and lot.number.isprintable() else "",
        hazard=_hazard(material),
    )


def shelf_face(material: Material, *, gtin: str) -> Face:
    """The label of a shelf: what belongs there. Its code is the GTIN of the usual pack, or the material's own code."""
    return Face(
        name=_one_line(material.name),
        number=material.code,
        number_label="",
        place=_one_line(material.place),
        square=f"01{gtin.zfill(14)}" if is_gtin(gtin) else material.code,
        hazard=_hazard(material),
    )


def place_face(place: Location) -> Face:
    """The label of a place: its name, never shortened, what it is for where the name does not say it, and the name as a code."""
    name, kind = _one_line(place.name), place.get_kind_display()
    told = "" if name.casefold() == kind.casefold() else kind
    return Face(name="", number=name, number_label="", place=told, square=name, hazard=Hazard())


def _until_words(lot: Lot, until: date | None) -> str:
    if until is None:
        return "No expiry stated"
    if until != lot.expires_on:
        return f"Opened: use by {_unbroken(until)}"
    return f"Expires {_unbroken(until)}"


def _unbroken(when: date) -> str:
    """A day that is never parted at the end of a line."""
    return day(when).replace(" ", "\u00a0")


def _alarm(lot: Lot, until: date | None, today: date) -> str:
    if lot.is_set_aside:
        return "IN QUARANTINE"
    return "OUT OF DATE" if until is not None and until < today else ""


def _hazard(material: Material) -> Hazard:
    signal, codes = SignalWord(material.signal_word), material.h_code_list
    told = bool(signal or codes or material.is_liquid or material.sds_reference)
    return Hazard(signal=signal.label.upper() if signal else "", codes=codes, see_sheet=told)


# ------------------------------------------------------------ whose GTIN


def gtins_of_lots(lots: Iterable[Lot]) -> Mapping[int, str]:
    """The GTIN of each lot's pack by the lot's key, where it is known for sure. Two queries.

    It is the pack that the delivery named. Where that named none, the pack is known when the lot's supplier sells the material
    in just one. Anything else would be a guess, and a label must not guess.
    """
    lots = list(lots)
    named = dict(Pack.objects.filter(pk__in={lot.pack_id for lot in lots if lot.pack_id}).values_list("pk", "gtin"))
    offered = defaultdict(list)
    for pack in Pack.objects.filter(material__in={lot.material_id for lot in lots if not lot.pack_id}, is_active=True):
        offered[pack.material_id, pack.supplier_id].append(pack.gtin)
    found = {}
    for lot in lots:
        gtins = [named[lot.pack_id]] if lot.pack_id else offered.get((lot.material_id, lot.supplier_id or 0), [])
        if len(gtins) == 1 and is_gtin(gtins[0]):
            found[lot.pk] = gtins[0]
    return found


def gtins_of_materials(materials: Iterable[Material]) -> Mapping[int, str]:
    """The GTIN of the pack that the shop usually buys, by the material's key. One query."""
    usual = Pack.objects.filter(material__in={material.pk for material in materials}, is_usual=True)
    return {pack.material_id: pack.gtin for pack in usual if is_gtin(pack.gtin)}


def faces_of(wanted: Iterable[tuple[Lot | Material | Location, int]], *, today: date) -> list[Face]:
    """One face for each label, in the order given; three queries however many there are."""
    asked = [(subject, count) for subject, count in wanted if count]
    lots = [subject for subject, _ in asked if isinstance(subject, Lot)]
    of_lots, of_shelves = gtins_of_lots(lots), gtins_of_materials([one for one, _ in asked if isinstance(one, Material)])
    faces = []
    for subject, count in asked:
        if isinstance(subject, Lot):
            face = lot_face(subject, gtin=of_lots.get(subject.pk, ""), today=today)
        elif isinstance(subject, Location):
            face = place_face(subject)
        else:
            face = shelf_face(subject, gtin=of_shelves.get(subject.pk, ""))
        faces += [face] * count
    return faces
