"""The invented shop's work: a job in the spray room, and a kitchen refinish to be priced and quoted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path

from django.conf import settings
from django.utils import timezone

from costing.choices import QuoteStatus
from costing.demo.catalogue import FIXTURES, read
from costing.demo.stock import demo_key
from costing.models import CoatingSystem, Customer, Estimate, Job, JobStep, JobStepMaterial, Quote, TakeoffRow
from costing.services.batches import mix_batch
from costing.services.coat_checks import BatchTake
from costing.services.coat_log import Use, log_coat
from costing.services.estimates import create_estimate
from costing.services.jobs import accept_quote
from costing.services.quoting import Offer, OptionChoice, create_quote, send_quote
from costing.services.takeoff import import_rows, put_rows
from costing.services.takeoff_import import read_file, read_in_shop_units
from finishing.models import Shop, User

D = Decimal
LEFT_IN_THE_POT = D("0.125")
LABELS = ("Good", "Better", "Best")


class CutListError(ValueError):
    """The cut list can't be read; the message lists what is wrong, row by row."""


def load_customers() -> list[Customer]:
    """The invented customers."""
    return [Customer.objects.get_or_create(name=row["name"], defaults=row)[0] for row in read("stock.json")["customers"]]


def vanity_job(*, people: dict[str, User], systems: list[CoatingSystem], customer: Customer, today: date) -> Job:
    """A small job that was quoted and accepted, with its first steps logged."""
    by = people["estimator"]
    estimate = create_estimate(
        Estimate(name="Bathroom vanity, two doors and a tall cabinet", customer=customer),
        new_customer="",
        systems=systems[:2],
        by=by,
        key=demo_key("vanity estimate"),
    )
    put_rows(estimate=estimate, rows=_vanity_rows(), start=0, stop=0, key=demo_key("vanity rows"), seen=estimate.takeoff_key)
    quote = _sent(estimate, systems[:2], customer, by=by, what="vanity", on=today - timedelta(days=4))
    option = quote.options.get(position=2)
    job = accept_quote(
        key=demo_key("vanity job"),
        by=by,
        quote=quote,
        option=option,
        starts_on=today,
        today=today,
    )
    _log_first_steps(job, by=people["finisher"], today=today)
    return job


def _vanity_rows() -> list[TakeoffRow]:
    def panel(label: str, pieces: int, length: int, width: int) -> TakeoffRow:
        return TakeoffRow(label=label, pieces=pieces, length=D(length), width=D(width), thickness=D(19))

    return [
        panel("Door", 2, 620, 396),
        panel("Door, tall cabinet", 2, 1180, 396),
        panel("Drawer front", 2, 180, 396),
        panel("Side", 2, 1900, 380),
    ]


def _log_first_steps(job: Job, *, by: User, today: date) -> None:
    """Everything before the first coat, and the first coat out of a batch that was mixed for it; a little is still in the pot."""
    for step in job.steps.prefetch_related("materials__material"):
        lines = list(step.materials.all())
        takes = [_mixed_for(step, lines, by=by, today=today)] if step.is_coat else []
        log_coat(
            key=demo_key(f"vanity step {step.position}"),
            by=by,
            step=step,
            done_at=_moment(today),
            mixed=None,
            components=[],
            supplies=[Use(line=line, amount=line.planned) for line in lines if line.parts is None],
            from_batches=takes,
            fills=step.planned_fills,
            minutes=round(step.planned_minutes, 0),
            wet_film=step.wet_film,
            note="",
            override_reason="",
            today=today,
        )
        if step.is_coat:
            return


def _mixed_for(step: JobStep, lines: list[JobStepMaterial], *, by: User, today: date) -> BatchTake:
    batch = mix_batch(
        key=demo_key(f"vanity batch {step.position}"),
        by=by,
        step=step,
        mixed_at=_moment(today) - timedelta(minutes=25),
        litres=step.planned_mix or D(1),
        components=[Use(line=line) for line in lines if line.parts is not None],
        override_reason="",
        today=today,
    )
    return BatchTake(batch=batch, litres=batch.litres * (1 - LEFT_IN_THE_POT))


def _moment(today: date) -> datetime:
    """Now, or the very beginning of the day that the demo takes for today."""
    now = timezone.localtime()
    return now if now.date() == today else timezone.make_aware(datetime.combine(today, time(0, 1)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Kitchen:
    """The main job of the demo."""

    estimate: Estimate
    quote: Quote
    rows: int


def kitchen_quote(
    *, people: dict[str, User], systems: list[CoatingSystem], customer: Customer, today: date, cut_list: Path
) -> Kitchen:
    """Read the cut list of a kitchen, price it under three systems, and send the quote."""
    by = people["estimator"]
    estimate = create_estimate(
        Estimate(name="Kitchen refinish, oak to white", customer=customer),
        new_customer="",
        systems=systems,
        by=by,
        key=demo_key("kitchen estimate"),
    )
    reading = read_in_shop_units(read_file(cut_list.read_bytes(), limit=settings.UPLOAD_LIMIT))
    if reading.problems:
        told = "; ".join(f"row {problem.row}: {problem.wrong} {problem.right}" for problem in reading.problems)
        raise CutListError(f"{cut_list.name} can’t be read. {told}")
    import_rows(estimate=estimate, rows=reading.rows, replace=True, key=demo_key("kitchen rows"), seen=estimate.takeoff_key)
    quote = _sent(estimate, systems, customer, by=by, what="kitchen", on=today)
    return Kitchen(estimate=estimate, quote=quote, rows=len(reading.rows))


def _sent(estimate: Estimate, systems: list[CoatingSystem], customer: Customer, *, by: User, what: str, on: date) -> Quote:
    shop = Shop.current()
    quote = create_quote(
        key=demo_key(f"{what} quote"),
        by=by,
        estimate=estimate,
        offer=Offer(
            customer=customer,
            valid_until=on + timedelta(days=shop.quote_days),
            options=[OptionChoice(system=system, label=LABELS[place]) for place, system in enumerate(systems)],
            introduction="Thank you for asking us. We offer the following finishes for the pieces that we measured.",
            terms=shop.quote_terms,
        ),
        on=on,
    )
    return send_quote(quote=quote, on=on) if quote.status == QuoteStatus.DRAFT else quote


CUT_LIST = FIXTURES / "cut-list.xlsx"
