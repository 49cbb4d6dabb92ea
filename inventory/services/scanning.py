"""From a scanned code to what a delivery needs to know: which pack, which lot, which days, how much.

What is found is shown to the person before anything is booked.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction

from finishing.fields import to_step
from finishing.show import day, quantity
from finishing.units import Kind, convert, plain_number
from inventory.core.gs1 import NetContent, Scan, ScanForm, ScanProblem, is_gtin, read_scan, same_gtins
from inventory.models import Material, Pack

_KINDS = {"kg": Kind.MASS, "lb": Kind.MASS, "L": Kind.VOLUME, "qt": Kind.VOLUME, "gal": Kind.VOLUME}


@dataclass(frozen=True, slots=True, kw_only=True)
class Understood:
    """What a code means in this shop. Empty or None: it says nothing about that, or the shop does not know it."""

    scan: Scan
    gtin: str  # 14 digits, when the code is about an article
    pack: Pack | None
    item: str  # the key of what came, as the rows of a delivery name it
    amount: str  # as one would type it: packs, or an amount with its unit
    lot_number: str
    made_on: date | None
    expires_on: date | None
    notes: tuple[str, ...]  # readings taken, and what to look at

    @property
    def material(self) -> Material | None:
        """The material in the pack that was found."""
        return self.pack.material if self.pack else None

    @property
    def is_unknown_article(self) -> bool:
        """The code names an article that no pack here has."""
        return bool(self.gtin) and self.pack is None


def find_pack(scan: Scan, *, awaited: Collection[int] = ()) -> Pack | None:
    """The pack with the scanned GTIN, however many digits were stored: one that is awaited, then one on sale, before others."""
    if not scan.gtin:
        return None
    same = Pack.objects.filter(gtin__in=same_gtins(scan.gtin)).select_related("material", "supplier")
    found = list(same.order_by("-is_active", "pk"))
    return next((pack for pack in found if pack.pk in awaited), found[0] if found else None)


def understand(text: str, *, today: date) -> Understood | ScanProblem:
    """Read a code and look up what it names; refused in words when it can't be read."""
    scan = read_scan(text, today=today)
    if isinstance(scan, ScanProblem):
        return scan
    pack = find_pack(scan)
    is_lot = scan.form is ScanForm.UNCLEAR and pack is None
    item, amount = _what_came(scan, pack)
    return Understood(
        scan=scan,
        gtin="" if is_lot else scan.gtin,
        pack=pack,
        item=item,
        amount=amount,
        lot_number="" if scan.form is ScanForm.UNCLEAR and pack else scan.lot,
        made_on=scan.made_on or scan.packed_on,
        expires_on=scan.expires_on or scan.best_before,
        notes=tuple(note for say in _NOTES for note in say(scan, pack, today)),
    )


@transaction.atomic
def enter_gtin(*, pack: Pack, gtin: str) -> Pack:
    """Write a GTIN on a pack, so that its code is known from now on.

    Raises ``ValidationError`` when it is no GTIN or another pack has it, in whatever number of digits.
    """
    if not is_gtin(gtin):
        raise ValidationError(f"{gtin} is no GTIN: a digit is wrong.")
    other = Pack.objects.filter(gtin__in=same_gtins(gtin)).exclude(pk=pack.pk).first()
    if other is not None:
        raise ValidationError(f"“{other}” of {other.material.name} has this GTIN.")
    pack.gtin = gtin
    pack.full_clean()
    pack.save(update_fields=["gtin"])
    return pack


# ------------------------------------------------------------ how much


def _what_came(scan: Scan, pack: Pack | None) -> tuple[str, str]:
    """The row's key and amount: packs, or the amount printed on a pack that holds a varying one."""
    if pack is None:
        return "", ""
    if not pack.material.is_active:
        return "", ""
    by_amount = amount_on_label(scan, pack)
    if by_amount:
        return f"material:{pack.material_id}", by_amount
    if not pack.is_active:
        return f"material:{pack.material_id}", ""
    return f"pack:{pack.pk}", str(packs_in(scan, pack))


def packs_in(scan: Scan, pack: Pack) -> int:
    """How many packs the code stands for: one, unless it is of a carton or counts them."""
    if scan.is_contained:
        return scan.count or 1
    return 1 if _counts_pieces(pack) else scan.variable_count or 1


def _counts_pieces(pack: Pack) -> bool:
    return pack.material.unit.measure is Kind.COUNT


def amount_on_label(scan: Scan, pack: Pack) -> str:
    """The amount on the label where it is not the pack's own content; empty otherwise."""
    if _counts_pieces(pack) and scan.variable_count and scan.variable_count != pack.content:
        return f"{scan.variable_count} pcs"
    for content in scan.contents:
        unit = _unit_for(content, pack.material.unit.measure)
        if unit and not scan.is_contained and not _is_content(content.value, unit, pack):
            return f"{plain_number(content.value)} {unit}"
    return ""


def _unit_for(content: NetContent, measure: Kind) -> str:
    """The unit in which the material takes this content; empty when it is kept by another measure."""
    if content.unit == "oz":
        return {Kind.MASS: "oz", Kind.VOLUME: "fl oz"}.get(measure, "")
    return content.unit if _KINDS[content.unit] is measure else ""


def _is_content(value: Decimal, unit: str, pack: Pack) -> bool:
    exact = convert(value, from_unit=unit, to_unit=pack.material.stock_unit)
    return to_step(Decimal(exact.numerator) / Decimal(exact.denominator)) == pack.content


# ------------------------------------------------------------ in words


def about_no_pack(scan: Scan) -> Iterator[str]:
    """What is to be done about a code for which no pack was found."""
    if scan.gtin and scan.form is not ScanForm.UNCLEAR:
        yield f"No pack has the GTIN {scan.gtin}. Choose what came, and enter the GTIN on its pack so that it is known next time."
    elif scan.form is ScanForm.UNCLEAR:
        yield f"{scan.lot} is taken as a lot number: no pack has it as its GTIN."
    elif scan.form is ScanForm.ELEMENTS:
        yield "The code names no article. Choose what came."


def _about_article(scan: Scan, pack: Pack | None, _today: date) -> Iterator[str]:
    if pack is None:
        yield from about_no_pack(scan)
    elif not pack.material.is_active:
        yield f"{pack.material.name} is not in use any more, so it can’t be received. Take it into use again first."
    elif not pack.is_active:
        yield f"The pack “{pack}” of {pack.material.name} is not on sale any more. Write the amount that came."


def about_count(scan: Scan, pack: Pack | None) -> Iterator[str]:
    """How a number on the code is read."""
    if scan.count is not None and not scan.is_contained:
        yield "The code gives a count but not of what is in a carton, so it was not used."
    if pack is not None and scan.is_contained:
        yield f"This is the code of a carton: {packs_in(scan, pack)} × {pack} inside."
    elif pack is not None and scan.variable_count and not _counts_pieces(pack):
        yield f"The code counts {scan.variable_count}: taken as so many packs. Correct it if it means something else."


def _about_amount(scan: Scan, pack: Pack | None, _today: date) -> Iterator[str]:
    yield from about_count(scan, pack)
    if pack is None:
        return
    yield from about_measure(scan, pack)
    if amount_on_label(scan, pack):
        usual = quantity(pack.content, pack.material.stock_unit)
        yield f"The amount is the one on the label; the pack “{pack}” holds {usual}."


def about_measure(scan: Scan, pack: Pack) -> Iterator[str]:
    """An amount on the label that is in another measure than the material is kept by, or in ounces."""
    kept = [content for content in scan.contents if _unit_for(content, pack.material.unit.measure)]
    if scan.contents and not kept:
        read = scan.contents[0]
        unit = pack.material.unit.label
        yield f"The code says {plain_number(read.value)} {read.unit}, but the material is kept in {unit}. Compare the amount."
    elif any(content.unit == "oz" for content in kept) and pack.material.unit.measure is Kind.VOLUME:
        yield "Ounces of a liquid are taken as US fluid ounces."


def about_days(scan: Scan, _pack: Pack | None, today: date) -> Iterator[str]:
    """How the days on the code are read, and which of them have passed."""
    for name in sorted(scan.month_only):
        yield f"The code gives a month without a day: its last day is meant, {day(getattr(scan, name))}."
    if scan.packed_on and not scan.made_on:
        yield f"Packed on {day(scan.packed_on)}: taken as the day it was made."
    if scan.best_before:
        yield from _about_quality(scan, scan.best_before, today)
    if scan.expires_on and scan.expires_on < today:
        yield f"It is out of date: it expired on {day(scan.expires_on)}."


def _about_quality(scan: Scan, best: date, today: date) -> Iterator[str]:
    """Best before is a statement about quality; expiry is a limit of use."""
    words = f"Best before {day(best)} is about quality"
    if scan.expires_on:
        yield f"{words}; the limit of use is the expiry, {day(scan.expires_on)}."
    else:
        yield f"{words}, not a limit of use. It is filled in as the expiry, so that later use needs a test and a reason."
    if best < today:
        yield "That day has passed: test the material before it is used."


def about_rest(scan: Scan, _pack: Pack | None, _today: date) -> Iterator[str]:
    """What else the code says, so that nothing is dropped unseen."""
    if scan.additional_id:
        yield f"The maker’s own number on it: {scan.additional_id}."
    if scan.others:
        yield "Not used here: " + ", ".join(f"{other.title} {other.value}" for other in scan.others) + "."


_NOTES: tuple[Callable[[Scan, Pack | None, date], Iterator[str]], ...] = (_about_article, _about_amount, about_days, about_rest)
