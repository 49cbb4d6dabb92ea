"""The batch ticket on paper: to weigh or measure by, with a code that opens its page."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from reportlab.graphics.shapes import Drawing, Rect
from reportlab.lib.colors import black, white
from reportlab.platypus import Table

from costing.tickets import Ticket, TicketLine
from costing.wear import SOURCE as WEAR_SOURCE
from finishing import show
from finishing.documents import pdf
from finishing.documents.letterhead import letterhead_of
from finishing.models import Shop
from inventory.documents.labels_draw import square_modules

QUIET = 4  # modules of white around the code
MODULE = 2.16  # points: three hundredths of an inch, as on labels


def ticket_pdf(ticket: Ticket, *, shop: Shop, address: str, made_at: datetime, invariant: bool = False) -> bytes:
    """The ticket of one batch. ``address`` is what the code says."""
    step = ticket.step
    story: list[Any] = [
        pdf.para(f"{step.job}, step {step.position}: {step.name}", "lead"),
        _beside(pdf.facts(_head(ticket), columns=2), address, page_size=shop.page_size),
        pdf.heading(f"Mix {show.pour(ticket.litres)}, in this order"),
        pdf.table(_COLUMNS, [_row(line) for line in ticket.lines]),
    ]
    if ticket.is_short:
        story.append(pdf.para("The usable lots do not hold all of it: see the page of this ticket.", "strong"))
    story += [pdf.heading("Spray"), pdf.facts(_spray(ticket), columns=2), pdf.space(6)]
    story.append(
        pdf.keep(pdf.facts([("Mixed at", "_" * 22), ("By", "_" * 22), ("Good until", "_" * 22), ("Left over", "_" * 22)]))
    )
    if ticket.wear:
        words = " ".join(f"{each.material} ({', '.join(each.codes)}): {each.words}." for each in ticket.wear)
        story.append(pdf.caution("Wear, by the materials’ H-codes", words, source=WEAR_SOURCE))
    story += [pdf.caution(entry.title, entry.text, source=entry.source) for entry in ticket.cautions]
    return pdf.document(
        title="Batch ticket",
        number=f"{step.job.number} · {step.position}",
        date=f"{show.day(made_at)}, {made_at:%H:%M}",
        letterhead=letterhead_of(shop),
        page_size=shop.page_size,
        story=story,
        invariant=invariant,
    )


def _beside(head: Any, address: str, *, page_size: str) -> Table:
    """The facts at the left, the code that opens the ticket at the right."""
    drawing = code(address)
    width = pdf.page_width(page_size)
    opens = [drawing, pdf.para(address, "small")]
    made = Table([[head, opens]], colWidths=[width - drawing.width - 12, drawing.width + 12])
    made.setStyle(
        [("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (0, 0), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 0)]
    )
    return made


_COLUMNS = (
    pdf.Column(words="Material", share=2.6),
    pdf.Column(words="Parts", share=0.8, align="right"),
    pdf.Column(words="Measure", share=1.2, align="right"),
    pdf.Column(words="Weigh", share=1.1, align="right"),
    pdf.Column(words="Scale shows", share=1.2, align="right"),
    pdf.Column(words="From lot", share=2.4),
)


def _row(line: TicketLine) -> tuple[str, ...]:
    return (
        f"{line.number}. {line.material.name}",
        show.number(line.line.parts, 3),
        show.pour(line.amount.litres),
        show.grams(line.amount.kilograms),
        show.grams(line.amount.up_to_kilograms),
        lots_words(line),
    )


def lots_words(line: TicketLine) -> str:
    """The lots of a component: “B1 (2 L, shelf 3), then B2 (0.4 L)”."""
    unit = line.material.stock_unit
    parts = [
        f"{take.lot.number} ({show.quantity(take.quantity, unit)}{f', {take.lot.place}' if take.lot.place else ''})"
        for take in line.proposal.takes
    ]
    words = ", then ".join(parts)
    if line.proposal.short:
        words = f"{words}; {show.quantity(line.proposal.short, unit)} is short" if words else "nothing usable is here"
    return words


def _head(ticket: Ticket) -> list[tuple[str, str]]:
    step = ticket.step
    rows = [
        ("Customer", step.job.customer_name),
        ("Area", show.area(step.area)),
        ("The coat still needs", show.pour(ticket.view.mix_left)),
        ("Mixings to come", show.number(ticket.batches_left, 0)),
    ]
    if ticket.view.ratio:
        rows.append(("Mix", f"{ticket.view.ratio} by volume"))
    return rows


def _spray(ticket: Ticket) -> list[tuple[str, str]]:
    step, setup = ticket.step, ticket.step.setup
    rows = [
        ("Strainer", ", ".join(ticket.strainers) or "–"),
        ("Stand after mixing", show.minutes(step.induction_min) if step.induction_min else "none"),
        ("Pot life", show.minutes(step.pot_life_min) if step.pot_life_min else "none"),
        ("Wet film to aim at", show.film(step.wet_film)),
        ("Setup", step.setup_name),
    ]
    if setup is not None:
        rows.append(("Gun, tip, cup", setup.description or "–"))
        rows.append(("Cup holds", show.pour(setup.cup_capacity)))
        if setup.start_pressure_kpa is not None:
            rows.append(("Pressure to start from", show.pressure(setup.start_pressure_kpa)))
    return rows


def code(text: str) -> Drawing:
    """A QR code as a drawing, its quiet zone included; modules of a row are joined, so that no hairline opens."""
    modules = square_modules(text)
    side = (len(modules) + 2 * QUIET) * MODULE
    drawing = Drawing(side, side)
    drawing.add(Rect(0, 0, side, side, fillColor=white, strokeColor=None))
    for number, row in enumerate(modules):
        bottom = side - (QUIET + number + 1) * MODULE
        start = None
        for place, dark in enumerate((*row, 0)):
            if dark and start is None:
                start = place
            elif not dark and start is not None:
                left, width = (QUIET + start) * MODULE, (place - start) * MODULE
                drawing.add(Rect(left, bottom, width, MODULE, fillColor=black, strokeColor=None))
                start = None
    return drawing
