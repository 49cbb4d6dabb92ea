"""The cost sheet as PDF, for the shop: groups, price steps, coats, materials, operations, VOC. From a snapshot alone."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from costing.cautions import Caution
from costing.core.calendar import LaidOut, lay_out
from costing.core.schedule import ElapsedStep
from costing.documents.currency import per_unit, shown_in
from costing.snapshots import FrozenPrice, FrozenStep, Snapshot
from costing.wording import GROUP_WORDS, LIMIT_NOTE, zones_in_words
from finishing import show
from finishing.documents import pdf
from finishing.documents.letterhead import letterhead_of
from finishing.models import Shop

NUM: Any = "right"


def cost_sheet_pdf(
    snapshot: Snapshot, shop: Shop, *, reference: str = "", cautions: Sequence[Caution] = (), invariant: bool = False
) -> bytes:
    """The finished document. ``reference`` is the quote that it belongs to."""
    with shown_in(snapshot.currency):
        story = _story(snapshot, cautions)
    return pdf.document(
        title="Cost sheet",
        number=reference or f"E-{snapshot.estimate_id:04d}",
        date=show.day(snapshot.made_on),
        letterhead=letterhead_of(shop),
        page_size=shop.page_size,
        meta=_meta(snapshot, shop),
        story=story,
        invariant=invariant,
    )


def _story(snapshot: Snapshot, cautions: Sequence[Caution]) -> list[Any]:
    return [
        pdf.para("For the shop only: do not hand this to the customer.", "strong"),
        *_cost(snapshot),
        *_price(snapshot),
        *_operations(snapshot),
        *_coats(snapshot),
        *_uses(snapshot),
        *_voc(snapshot),
        *_notes(snapshot, cautions),
    ]


def _meta(snapshot: Snapshot, shop: Shop) -> list[tuple[str, str]]:
    takeoff = snapshot.takeoff
    days = show.number(_laid_out(snapshot, shop).days, 1)
    return [
        ("Estimate", snapshot.estimate_name),
        ("Coating system", snapshot.system_name),
        ("Finished area", f"{show.area(takeoff.area)}, {show.number(takeoff.pieces, 0)} pieces"),
        ("Labour", show.minutes(snapshot.labour_minutes)),
        ("Elapsed", f"{show.minutes(snapshot.elapsed_minutes)}, {days} working days"),
        ("In the booth", show.minutes(snapshot.booth_minutes)),
    ]


def _laid_out(snapshot: Snapshot, shop: Shop) -> LaidOut:
    """The frozen operations on the shop's working days."""
    steps = [
        ElapsedStep(
            operation=step.name,
            labour_minutes=float(step.labour_minutes),
            crew=step.crew,
            working_minutes=float(step.labour_minutes) / step.crew,
            waiting_minutes=float(step.waiting_minutes),
            is_coat=step.coat is not None,
        )
        for step in snapshot.steps
        if step.performed
    ]
    return lay_out(steps, hours_a_day=float(shop.working_hours))


def _cost(snapshot: Snapshot) -> list[Any]:
    area, cost = snapshot.takeoff.area, snapshot.true_cost
    rows = [
        (
            GROUP_WORDS[group.group],
            show.money(group.shown),
            show.percent(group.shown / cost) if cost else show.NOTHING,
            show.per_area(group.shown / area if area else None),
        )
        for group in snapshot.groups
    ]
    total = (
        "True cost",
        show.money(cost),
        show.percent(Decimal(1)) if cost else show.NOTHING,
        show.per_area(snapshot.cost_per_m2),
    )
    columns = (
        pdf.Column(words="Cost group", share=3),
        pdf.Column(words="Money", share=1.4, align=NUM),
        pdf.Column(words="Share", share=1, align=NUM),
        pdf.Column(words="Per m²", share=1.4, align=NUM),
    )
    return [pdf.heading("True cost"), pdf.table(columns, rows, totals=(total,))]


def _price_rows(price: FrozenPrice, tax_name: str) -> list[tuple[str, str, str]]:
    """The steps from cost to the total: words, how, amount."""
    step = f"rounded up to {show.money(price.price_step)}" if price.price_step else "rounded to the smallest coin"
    return [
        ("True cost", "sum of the groups as shown", show.money(price.cost)),
        ("Price", f"{price.basis} {show.percent(price.rate)}", show.money(price.calculated)),
        ("After the minimum charge", f"at least {show.money(price.minimum_charge)}", show.money(price.after_minimum)),
        ("Price before tax", step, show.money(price.net)),
        (tax_name, show.percent(price.tax_rate, 2), show.money(price.tax)),
    ]


def _price(snapshot: Snapshot) -> list[Any]:
    columns = (
        pdf.Column(words="Step", share=2.4),
        pdf.Column(words="How", share=2.4),
        pdf.Column(words="Money", share=1.4, align=NUM),
    )
    rows = _price_rows(snapshot.price, snapshot.tax_name)
    total = ("Price with tax", "", show.money(snapshot.price.total))
    return [pdf.keep(pdf.heading("From cost to price"), pdf.table(columns, rows, totals=(total,)))]


def _operations(snapshot: Snapshot) -> list[Any]:
    columns = (
        pdf.Column(words="No.", share=0.5, align=NUM),
        pdf.Column(words="Operation", share=3),
        pdf.Column(words="Zones", share=1.6),
        pdf.Column(words="Area", share=1.3, align=NUM),
        pdf.Column(words="Labour", share=1.4, align=NUM),
        pdf.Column(words="Labour class", share=1.6),
        pdf.Column(words="Waits", share=1.4, align=NUM),
    )
    rows = [
        (
            str(step.position),
            step.name,
            zones_in_words(step.zones),
            show.area(step.area),
            show.minutes(step.labour_minutes) if step.performed else "left out",
            step.labour_class,
            show.minutes(step.waiting_minutes) if step.waiting_minutes else show.NOTHING,
        )
        for step in snapshot.steps
    ]
    return [pdf.heading("Operations"), pdf.table(columns, rows)]


def _coats(snapshot: Snapshot) -> list[Any]:
    coats = [step for step in snapshot.steps if step.coat is not None]
    if not coats:
        return []
    columns = (
        pdf.Column(words="Coat and mix", share=3),
        pdf.Column(words="Wet film", share=1.1, align=NUM),
        pdf.Column(words="On the work", share=1.2, align=NUM),
        pdf.Column(words="Overspray", share=1.2, align=NUM),
        pdf.Column(words="Residue", share=1.1, align=NUM),
        pdf.Column(words="Mixed", share=1.1, align=NUM),
        pdf.Column(words="Fills", share=0.7, align=NUM),
        pdf.Column(words="Batches", share=0.9, align=NUM),
    )
    return [pdf.heading("Coats"), pdf.table(columns, [_coat(step) for step in coats])]


def _coat(step: FrozenStep) -> tuple[str, ...]:
    coat = step.coat
    if coat is None:
        raise ValueError(f"the step {step.name!r} is no coat")
    mix = ", ".join(f"{part.name} {show.number(part.parts, 3)}" for part in coat.components)
    return (
        f"{step.name}: {mix}; {coat.setup_name}",
        show.film(coat.wet_film),
        show.volume(coat.on_surface),
        show.volume(coat.overspray),
        show.volume(coat.residue),
        show.volume(coat.mixed),
        str(coat.fills),
        str(coat.batches),
    )


def _uses(snapshot: Snapshot) -> list[Any]:
    columns = (
        pdf.Column(words="Item", share=3),
        pdf.Column(words="Quantity", share=1.4, align=NUM),
        pdf.Column(words="Price per unit", share=1.6, align=NUM),
        pdf.Column(words="Expiry", share=1, align=NUM),
        pdf.Column(words="Cost", share=1.4, align=NUM),
    )
    drawn = [
        (
            use.name,
            show.volume(use.film_litres + use.overspray_litres + use.residue_litres + use.heel_litres),
            per_unit(use.litre_price, "L"),
            show.percent(use.expiry_allowance),
            show.money(use.film + use.overspray + use.residue + use.heel + use.expiry),
        )
        for use in snapshot.material_uses
    ]
    supplies = [
        (use.name, show.quantity(use.quantity, use.unit), per_unit(use.price, use.unit), show.NOTHING, show.money(use.cost))
        for use in snapshot.supply_uses
    ]
    labour = [
        (use.name, show.minutes(use.minutes), f"{show.money(use.loaded_rate)}/h", show.NOTHING, show.money(use.cost))
        for use in snapshot.labour
    ]
    rows: list[tuple[str, ...]] = []
    strong = []
    for title, listed in (("Coating materials", drawn), ("Supplies", supplies), ("Labour", labour)):
        if listed:
            strong.append(len(rows))
            rows += [(title, "", "", "", ""), *listed]
    return [pdf.heading("Materials, supplies and labour"), pdf.table(columns, rows, strong=strong)] if rows else []


def _voc(snapshot: Snapshot) -> list[Any]:
    rows = [
        (step.name, show.voc(step.coat.voc_actual), show.voc(step.coat.voc_less_water))
        for step in snapshot.steps
        if step.coat is not None
    ]
    if not rows:
        return []
    limit = show.voc(snapshot.voc_limit) if snapshot.voc_limit is not None else "none"
    columns = (
        pdf.Column(words="Coat as applied", share=3),
        pdf.Column(words="VOC with water", share=1.5, align=NUM),
        pdf.Column(words="Less water and exempt", share=1.7, align=NUM),
    )
    emitted = f"Emitted, all liquids together: {show.quantity(snapshot.voc_kg, 'kg')}. Limit entered: {limit}."
    return [pdf.keep(pdf.heading("VOC"), pdf.table(columns, rows), pdf.para(emitted), pdf.para(LIMIT_NOTE, "small"))]


def _notes(snapshot: Snapshot, cautions: Sequence[Caution]) -> list[Any]:
    story: list[Any] = []
    if snapshot.warnings:
        story += [pdf.heading("What to know about these figures"), *pdf.bullets(snapshot.warnings)]
    story += [pdf.caution(entry.title, entry.text, source=entry.source) for entry in cautions]
    return story
