"""The certificate of a job: which lots went into each coat, in what air, and what the gauge read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Prefetch

from costing.models import BatchUse, CoatLog, Job
from finishing import show
from finishing.documents import pdf
from finishing.documents.letterhead import letterhead_of
from finishing.documents.sheet import Book, Width
from finishing.models import Shop
from inventory.models import Movement, Posting

OWN_DATA = (
    "Readings, temperatures and humidity are as the shop’s finishers noted them; lots are those of its stock ledger. "
    "A dash: nobody took a reading."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatNote:
    """One logged coat."""

    log: CoatLog
    lots: tuple[str, ...]

    @property
    def readings(self) -> str:
        """Each reading, or a dash."""
        return ", ".join(show.film(Decimal(str(reading))) for reading in self.log.readings) or show.NOTHING


def coats_of(job: Job) -> tuple[CoatNote, ...]:
    """The coats of a job that count, in order of time, with the lots of their mixes. Five queries."""
    moves = Prefetch("movements", Movement.objects.select_related("lot__material").order_by("pk"))
    postings = Posting.objects.prefetch_related(moves)
    uses = Prefetch("batch_uses", BatchUse.objects.select_related("batch").prefetch_related(Prefetch("batch__posting", postings)))
    logs = (
        CoatLog.objects.standing()
        .filter(step__job=job, step__kind="coat")
        .select_related("step", "by")
        .prefetch_related(uses, Prefetch("posting", postings), "step__materials")
        .order_by("done_at", "pk")
    )
    return tuple(CoatNote(log=log, lots=tuple(_lots(log))) for log in logs)


def _lots(log: CoatLog) -> Iterable[str]:
    components = {line.material_id for line in log.step.materials.all() if line.parts is not None}
    seen = dict[str, None]()
    postings = [use.batch.posting for use in log.batch_uses.all()]
    if log.posting is not None:
        postings.append(log.posting)
    for posting in postings:
        for move in posting.movements.all():
            if move.lot.material_id in components and move.quantity < 0:
                seen[f"{move.lot.material.name}, lot {move.lot.number}"] = None
    return seen


def _air(log: CoatLog) -> str:
    parts = [show.temperature(log.temperature)] if log.temperature is not None else []
    if log.humidity is not None:
        parts.append(f"{show.number(log.humidity, 0)} %")
    return ", ".join(parts) or show.NOTHING


def certificate_pdf(job: Job, *, shop: Shop, invariant: bool = False) -> bytes:
    """The certificate on the shop's paper."""
    columns = (
        pdf.Column(words="Coat", share=2),
        pdf.Column(words="Done", share=1.5),
        pdf.Column(words="Lots", share=3),
        pdf.Column(words="Air", share=1.2),
        pdf.Column(words="Wet film", share=1.1, align="right"),
        pdf.Column(words="Readings", share=2),
    )
    rows = [
        (
            note.log.step.name,
            f"{show.day(note.log.done_at)}, {note.log.done_local:%H:%M}",
            "\n".join(note.lots) or show.NOTHING,
            _air(note.log),
            show.film(note.log.wet_film),
            note.readings,
        )
        for note in coats_of(job)
    ]
    story: list[Any] = [
        pdf.facts([("Job", str(job)), ("Customer", job.customer_name), ("Coating system", job.quote_option.system_name)]),
        pdf.table(columns, rows or [("No coat is logged yet.", "", "", "", "", "")]),
        pdf.space(6),
        pdf.para(OWN_DATA, "small"),
    ]
    return pdf.document(
        title="Finishing record of a job",
        number=job.number,
        letterhead=letterhead_of(shop),
        page_size=shop.page_size,
        story=story,
        invariant=invariant,
    )


def certificate_xlsx(job: Job, *, shop: Shop) -> bytes:
    """The same as a workbook; readings in µm, temperature in °C."""
    book = Book(title=f"Finishing record of {job.number}", page_size=shop.page_size, author=shop.name)
    widths = (Width(28), Width(18), Width(18), Width(60), Width(12, "0.0"), Width(12, "0"), Width(12, "0.0"), Width(30))
    sheet = book.sheet("Coats", columns=widths, landscape=True)
    sheet.heading(f"Finishing record of {job}")
    sheet.text(OWN_DATA)
    sheet.blank()
    sheet.header(("Coat", "Done", "By", "Lots", "Air, °C", "Humidity, %", "Wet film, µm", "Readings, µm"))
    for note in coats_of(job):
        log = note.log
        sheet.row(
            (
                log.step.name,
                f"{log.done_local:%Y-%m-%d %H:%M}",
                str(log.by),
                "; ".join(note.lots),
                log.temperature,
                log.humidity,
                log.wet_film,
                ", ".join(str(reading) for reading in log.readings),
            )
        )
    return book.to_bytes()
