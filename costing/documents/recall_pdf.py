"""A recall on paper: whom to call, which jobs, every issue and return; and the lots of one job."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from costing.models import Job
from costing.recall import JobPart, Recall, Trace
from costing.recall_words import (
    amount_words,
    balance_words,
    coat_words,
    days_words,
    doubts,
    reach_lines,
    reach_words,
    stayed_words,
    title_of,
    what_words,
)
from finishing import show
from finishing.documents.letterhead import letterhead_of
from finishing.documents.pdf import Column, document, facts, heading, para, table
from finishing.models import Shop

NUM: Any = "right"
MOST_TRACES = 400  # about twenty pages, and a second or two of drawing
CUSTOMERS = (
    Column(words="Customer", share=2),
    Column(words="How to reach them", share=2.6),
    Column(words="Jobs", share=2.2),
    Column(words="In their work", share=2),
    Column(words="Last used", share=1.2),
)
PARTS = (Column(words="Job", share=2.2), Column(words="Customer", share=1.8), Column(words="Material", share=1.8))
LOTS = (Column(words="Material", share=2.2), Column(words="Lot", share=1.4), Column(words="Supplier", share=1.8))
AMOUNTS = (
    Column(words="Logged on", share=1.8),
    Column(words="When", share=1.6),
    Column(words="Taken", share=1, align=NUM),
    Column(words="Back", share=0.9, align=NUM),
    Column(words="Stayed", share=1, align=NUM),
)
TRACES = (
    Column(words="Day", share=1.1),
    Column(words="What", share=1.3),
    Column(words="Lot", share=1.2),
    Column(words="Quantity", share=1, align=NUM),
    Column(words="After reversals", share=1, align=NUM),
    Column(words="Job or reference", share=2),
    Column(words="Coat and mix", share=2.4),
)
HELD = (
    Column(words="Lot", share=1.2),
    Column(words="Material", share=2),
    Column(words="Supplier", share=1.8),
    Column(words="Received", share=1.1),
    Column(words="Place", share=1.4),
    Column(words="Still here", share=1, align=NUM),
)


def recall_pdf(found: Recall, *, shop: Shop, on: date, invariant: bool = False) -> bytes:
    """The recall as a PDF on the shop's paper; ``on`` is the day on which it was looked up."""
    story: list[Any] = [
        facts([("Recalled", title_of(found.lots)), ("Customers to call", str(len(found.customers)))]),
        *(para(balance_words(balance)) for balance in found.balances),
        *(para(words, "strong") for words in doubts(found)),
        heading("Customers to call"),
        _customers(found),
        heading("Jobs"),
        _parts(found.parts),
        heading("Lots"),
        _held(found),
        heading("Issues and returns"),
        *_some(found.traces),
    ]
    return _finished("Recall", story, shop=shop, on=on, invariant=invariant, number=found.lots[0].number)


def job_lots_pdf(job: Job, parts: Sequence[JobPart], *, shop: Shop, on: date, invariant: bool = False) -> bytes:
    """The lots of a job as a PDF on the shop's paper."""
    rows = [(part.material.name, _lot(part).number, str(_lot(part).supplier or show.NOTHING), *_amounts(part)) for part in parts]
    traces = sorted((trace for part in parts for trace in part.traces), key=lambda trace: (trace.flow.on, trace.flow.pk))
    story: list[Any] = [
        facts([("Job", str(job)), ("Customer", job.customer_name)]),
        heading("Lots"),
        table((*LOTS, *AMOUNTS), rows) if rows else para("Nothing was taken for this job yet."),
    ]
    if traces:
        story += [heading("Issues and returns"), _traces(traces)]
    return _finished("Lots of a job", story, shop=shop, on=on, invariant=invariant, number=job.number)


def _finished(title: str, story: list[Any], *, shop: Shop, on: date, invariant: bool, number: str) -> bytes:
    return document(
        title=title,
        number=number,
        date=show.day(on),
        letterhead=letterhead_of(shop),
        page_size=shop.page_size,
        story=story,
        invariant=invariant,
    )


def _customers(found: Recall) -> Any:
    if not found.customers:
        return para("Nobody: nothing of these lots stayed in a customer’s work, as far as the books say.")
    rows = [
        (
            one.customer.name,
            reach_lines(one),
            "\n".join(str(job) for job in one.jobs),
            "\n".join(stayed_words(one)),
            show.day(one.last_day),
        )
        for one in found.customers
    ]
    return table(CUSTOMERS, rows)


def _parts(parts: Sequence[JobPart]) -> Any:
    if not parts:
        return para("The books name no job.")
    return table(
        (*PARTS, *AMOUNTS), [(str(part.job), part.job.customer_name, part.material.name, *_amounts(part)) for part in parts]
    )


def _amounts(part: JobPart) -> tuple[str, ...]:
    shown = (amount_words(value, part.material) for value in (part.taken, part.back, part.stayed))
    return (", ".join(part.coats) or show.NOTHING, days_words(part), *shown)


def _lot(part: JobPart) -> Any:
    return part.traces[0].lot


def _held(found: Recall) -> Any:
    rows = [
        (
            lot.number,
            lot.material.name,
            str(lot.supplier or show.NOTHING),
            show.day(lot.received_on),
            lot.place or show.NOTHING,
            show.quantity(lot.on_hand, lot.material.stock_unit),
        )
        for lot in found.lots
    ]
    return table(HELD, rows)


def _some(traces: Sequence[Trace]) -> list[Any]:
    """The issues and returns, the latest ones only where they would fill a book."""
    if len(traces) <= MOST_TRACES:
        return [_traces(traces)]
    words = f"The latest {MOST_TRACES} of {len(traces):,}; the spreadsheet lists all. Customers and jobs above count them all."
    return [para(words, "strong"), _traces(traces[-MOST_TRACES:])]


def _traces(traces: Sequence[Trace]) -> Any:
    rows = []
    for trace in traces:
        flow = trace.flow
        work = str(trace.job) if trace.job else reach_words(trace) or flow.reference or show.NOTHING
        amounts = (amount_words(value, trace.lot.material) for value in (flow.quantity, flow.counts))
        rows.append((show.day(flow.on), what_words(trace), trace.lot.number, *amounts, work, coat_words(trace)))
    return table(TRACES, rows) if rows else para("Nothing was issued.")
