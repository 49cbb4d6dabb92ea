"""A recall as a spreadsheet, and the lots of one job: sheets to filter and to tick off; what stayed and totals are formulas."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.utils import timezone

from costing.models import Job
from costing.recall import JobPart, Recall, Trace
from costing.recall_words import balance_words, doubts, reach_words, stayed_words, title_of, what_words
from finishing.documents.sheet import DATE_FORMAT, MOMENT_FORMAT, Book, Formula, Sheet, Value, Width, ref
from finishing.models import Shop
from inventory.models import Lot

QUANTITY = "#,##0.######"
AMOUNTS = ("Logged on", "From", "To", "Taken", "Came back", "Stayed", "Unit")
MOVES = (
    *("Day", "What", "Lot", "Material", "Quantity", "After reversals", "Unit"),
    *("Job", "Coat", "Batch", "Mixed, L", "Logged for", "Logged by", "Reference"),
)
AMOUNT_WIDTHS = (
    *(Width(26), Width(12, DATE_FORMAT), Width(12, DATE_FORMAT)),
    *(Width(12, QUANTITY), Width(12, QUANTITY), Width(12, QUANTITY), Width(7)),
)


def recall_xlsx(found: Recall, *, shop: Shop, on: date) -> bytes:
    """The recall as a workbook of four sheets; ``on`` is the day on which it was looked up."""
    book = Book(title=f"Recall {title_of(found.lots)}", page_size=shop.page_size, author=shop.name)
    _customers(book, found, on=on)
    sheet = book.sheet("Jobs", columns=(Width(12), Width(34), Width(28), Width(34), *AMOUNT_WIDTHS), landscape=True)
    sheet.header(("Job", "Title", "Customer", "Material", *AMOUNTS))
    lead = [(part.job.number, part.job.title, part.job.customer_name, part.material.name) for part in found.parts]
    _amounts(sheet, found.parts, lead, by="D")
    _traces(book, found.traces)
    _held(book, found.lots)
    return book.to_bytes()


def job_lots_xlsx(job: Job, parts: Sequence[JobPart], *, shop: Shop, on: date) -> bytes:
    """The lots of a job as a workbook of two sheets."""
    book = Book(title=f"Lots of {job}", page_size=shop.page_size, author=shop.name)
    widths = (Width(34), Width(18), Width(28), Width(12, DATE_FORMAT), *AMOUNT_WIDTHS)
    sheet = book.sheet("Lots", columns=widths, landscape=True)
    sheet.heading(f"Lots of {job}")
    sheet.facts([("Customer", job.customer_name), ("Looked up", on)])
    sheet.blank()
    sheet.header(("Material", "Lot", "Supplier", "Received", *AMOUNTS))
    lots = [part.traces[0].lot for part in parts]
    lead = [(lot.material.name, lot.number, str(lot.supplier or ""), lot.received_on) for lot in lots]
    _amounts(sheet, parts, lead, by="A")
    traces = sorted((trace for part in parts for trace in part.traces), key=lambda trace: (trace.flow.on, trace.flow.pk))
    _traces(book, traces)
    return book.to_bytes()


def _customers(book: Book, found: Recall, *, on: date) -> None:
    widths = (Width(30), Width(24), Width(18), Width(30), Width(40), Width(40), Width(30), Width(12, DATE_FORMAT), Width(14))
    sheet = book.sheet("Customers to call", columns=widths, landscape=True)
    sheet.heading(f"Recall: {title_of(found.lots)}")
    sheet.facts([("Looked up", on), ("Customers to call", len(found.customers))])
    for words in (*(balance_words(balance) for balance in found.balances), *doubts(found)):
        sheet.text(words)
    sheet.blank()
    sheet.header(("Customer", "Contact", "Phone", "Email", "Address", "Jobs", "In their work", "Last used", "Called on"))
    for one in found.customers:
        customer = one.customer
        told = ("\n".join(str(job) for job in one.jobs), "\n".join(stayed_words(one)), one.last_day, None)
        sheet.row((customer.name, customer.contact, customer.phone, customer.email, customer.address, *told))


def _amounts(sheet: Sheet, parts: Sequence[JobPart], lead: Sequence[tuple[Value, ...]], *, by: str) -> None:
    """A row for each part, what stayed as a formula, and a total for each material by the words in column ``by``."""
    first = sheet.next_row
    for part, words in zip(parts, lead, strict=True):
        row = sheet.next_row
        stayed = Formula(f"={ref('H', row)}-{ref('I', row)}")
        sheet.row((*words, ", ".join(part.coats), *part.days, part.taken, part.back, stayed, part.material.stock_unit))
    last = sheet.next_row - 1
    names = f"{ref(by, first, fixed=True)}:{ref(by, last, fixed=True)}"
    for material in {part.material.pk: part.material for part in parts}.values():
        mine = ref("D", sheet.next_row)
        # Compared with =, since the wildcards * and ? in a name would match other names in SUMIF.
        sums = (
            Formula(f"=SUMPRODUCT(--({names}={mine}),{ref(column, first)}:{ref(column, last)})") for column in ("H", "I", "J")
        )
        sheet.total(("Total", None, None, material.name, None, None, None, *sums, material.stock_unit))


def _traces(book: Book, traces: Sequence[Trace]) -> None:
    widths = (
        *(Width(12, DATE_FORMAT), Width(26), Width(18), Width(34), Width(12, QUANTITY), Width(12, QUANTITY), Width(7)),
        *(Width(36), Width(24), Width(10), Width(12, QUANTITY), Width(18, MOMENT_FORMAT), Width(20), Width(40)),
    )
    sheet = book.sheet("Issues and returns", columns=widths, landscape=True)
    sheet.header(MOVES)
    for trace in traces:
        flow, log, material = trace.flow, trace.log, trace.lot.material
        logged: tuple[Value, ...] = (None, None, None, None, None)
        if log is not None:
            done = timezone.localtime(log.done_at).replace(tzinfo=None)
            coat = ", ".join(name for _, name in log.coats) if log.batch else log.step
            logged = (coat, log.batch or None, log.mixed, done, log.by)
        moved = (flow.on, what_words(trace), trace.lot.number, material.name, flow.quantity, flow.counts, material.stock_unit)
        sheet.row((*moved, str(trace.job) if trace.job else None, *logged, reach_words(trace) or flow.reference))


def _held(book: Book, lots: Sequence[Lot]) -> None:
    widths = (Width(18), Width(34), Width(28), Width(12, DATE_FORMAT), Width(24), Width(14, QUANTITY), Width(7))
    sheet = book.sheet("Lots", columns=widths, landscape=True)
    sheet.header(("Lot", "Material", "Supplier", "Received", "Place", "Still here", "Unit"))
    for lot in lots:
        about = (lot.number, lot.material.name, str(lot.supplier or ""), lot.received_on, lot.place)
        sheet.row((*about, lot.on_hand, lot.material.stock_unit))
