"""Tables of a recall: customers to call, jobs, single issues and returns, lots."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from costing.models import Customer
from costing.recall import CustomerToCall, JobPart, Trace
from costing.recall_words import amount_words, coat_words, days_words, reach_words, stayed_words, what_words
from finishing.show import NOTHING, day, quantity
from inventory.models import Lot
from inventory.tables import FIGURE, HouseTable, badge

NOWRAP = {"td": {"class": "nowrap"}}
BREAK = SafeString("<br>")


def _job_link(record: Any) -> str:
    return str(record.job.get_absolute_url())


class CustomerTable(HouseTable):
    """Whom to call, and how."""

    caption = "Customers to call"

    customer = tables.Column(accessor="customer__name", verbose_name="Customer")
    reach = tables.Column(verbose_name="How to reach them", empty_values=())
    jobs = tables.Column(empty_values=())
    stayed = tables.Column(verbose_name="In their work", empty_values=())
    last_day = tables.Column(verbose_name="Last used", attrs=NOWRAP)

    class Meta:
        orderable = False
        empty_text = "Nobody: nothing of these lots stayed in a customer’s work, as far as the books say."

    def render_reach(self, record: CustomerToCall) -> str:
        """The contact, a number to touch, an address to write to."""
        return format_html_join(BREAK, "{}", ((part,) for part in _reach(record.customer))) or "nothing noted"

    def render_jobs(self, record: CustomerToCall) -> str:
        """Each job with a link."""
        return format_html_join(BREAK, '<a href="{}">{}</a>', ((job.get_absolute_url(), job) for job in record.jobs))

    def render_stayed(self, record: CustomerToCall) -> str:
        """How much of what."""
        return format_html_join(BREAK, "{}", ((words,) for words in stayed_words(record)))

    def render_last_day(self, value: date) -> str:
        """The last issue for them."""
        return day(value)


def _reach(customer: Customer) -> list[str]:
    phone = format_html('<a href="tel:{}">{}</a>', "".join(customer.phone.split()), customer.phone) if customer.phone else ""
    email = format_html('<a href="mailto:{}">{}</a>', customer.email, customer.email) if customer.email else ""
    return [part for part in (customer.contact, phone, email, *customer.address.splitlines()) if part]


class JobPartTable(HouseTable):
    """Jobs that something went into."""

    caption = "Jobs"

    job = tables.Column(linkify=_job_link)
    customer = tables.Column(accessor="job__customer_name")
    material = tables.Column()
    coats = tables.Column(verbose_name="Logged on", empty_values=())
    days = tables.Column(verbose_name="When", empty_values=(), attrs=NOWRAP)
    taken = tables.Column(attrs=FIGURE)
    back = tables.Column(verbose_name="Came back", attrs=FIGURE)
    stayed = tables.Column(verbose_name="Stayed in it", attrs=FIGURE)

    class Meta:
        orderable = False
        empty_text = "The books name no job."

    def render_coats(self, record: JobPart) -> str:
        """The steps, in their order."""
        return ", ".join(record.coats) or NOTHING

    def render_days(self, record: JobPart) -> str:
        """The first and the last day."""
        return days_words(record)

    def render_taken(self, value: Decimal, record: JobPart) -> str:
        """Issued, less what was reversed."""
        return amount_words(value, record.material)

    def render_back(self, value: Decimal, record: JobPart) -> str:
        """What was brought back."""
        return amount_words(value, record.material)

    def render_stayed(self, value: Decimal, record: JobPart) -> str:
        """The rest, with what is still in the pot."""
        return amount_words(value, record.material)


class TraceTable(HouseTable):
    """Single issues and returns, the oldest first."""

    caption = "Issues and returns"

    on = tables.Column(accessor="flow__on", verbose_name="Day", attrs=NOWRAP)
    what = tables.Column(empty_values=(), linkify=lambda record: reverse("posting", args=[record.flow.posting_id]))
    lot = tables.Column(linkify=True, attrs=NOWRAP)
    quantity = tables.Column(accessor="flow__quantity", attrs=FIGURE)
    counts = tables.Column(accessor="flow__counts", verbose_name="After reversals", attrs=FIGURE)
    job = tables.Column(verbose_name="Job or reference", empty_values=())
    coat = tables.Column(verbose_name="Coat and mix", empty_values=())

    class Meta:
        orderable = False
        empty_text = "Nothing was issued."

    def render_on(self, value: date) -> str:
        """The day it counts for."""
        return day(value)

    def render_what(self, record: Trace) -> str:
        """Issue or return, and whether it was taken back."""
        return what_words(record)

    def render_quantity(self, value: Decimal, record: Trace) -> str:
        """Out of stock; with a minus, back into it."""
        return amount_words(value, record.lot.material)

    def render_counts(self, value: Decimal, record: Trace) -> str:
        """What stands of it."""
        return amount_words(value, record.lot.material)

    def render_coat(self, record: Trace) -> str:
        """The step, what was mixed for it, when and by whom."""
        return coat_words(record)

    def render_job(self, record: Trace) -> str:
        """The job, or what somebody wrote where the books name none."""
        if record.job is None:
            return reach_words(record) or record.flow.reference or NOTHING
        return format_html('<a href="{}">{}</a>', record.job.get_absolute_url(), record.job)


class RecalledLotTable(HouseTable):
    """The lots that a recall is about."""

    caption = "Lots"

    lot = tables.Column(accessor="number", linkify=lambda record: record.get_absolute_url(), attrs=NOWRAP)
    material = tables.Column(linkify=True)
    supplier = tables.Column(default="not noted", linkify=True)
    received_on = tables.Column(verbose_name="Received", attrs=NOWRAP)
    place = tables.Column(default=NOTHING)
    on_hand = tables.Column(verbose_name="Still here", attrs=FIGURE)
    only = tables.Column(verbose_name="", empty_values=())

    class Meta:
        orderable = False

    def __init__(self, *args: Any, sets_aside: bool, **kwargs: Any) -> None:
        self.sets_aside = sets_aside
        super().__init__(*args, **kwargs)

    def render_received_on(self, value: date) -> str:
        """The day it came in."""
        return day(value)

    def render_on_hand(self, value: Decimal, record: Lot) -> str:
        """What is left, and whether it is set aside."""
        shown = quantity(value, record.material.stock_unit)
        return format_html("{} {}", shown, badge("quarantined", "in quarantine")) if record.is_set_aside and value else shown

    def render_only(self, record: Lot) -> str:
        """The recall of this lot alone, and the way to set it aside."""
        links = []
        if len(self.data) > 1:
            links.append((f"{reverse('recall')}?lot={record.pk}", f"Only lot {record.number}"))
        if self.sets_aside and record.on_hand and not record.is_quarantined:
            links.append((reverse("lot_quarantine", args=[record.pk]), "Set aside"))
        return format_html_join(BREAK, '<a href="{}">{}</a>', links)


class JobLotTable(HouseTable):
    """All lots of a job."""

    caption = "Lots of this job"

    material = tables.Column(linkify=lambda record: record.material.get_absolute_url())
    lot = tables.Column(empty_values=(), linkify=lambda record: record.traces[0].lot.get_absolute_url(), attrs=NOWRAP)
    supplier = tables.Column(empty_values=())
    coats = tables.Column(verbose_name="Logged on", empty_values=())
    days = tables.Column(verbose_name="When", empty_values=(), attrs=NOWRAP)
    taken = tables.Column(attrs=FIGURE)
    back = tables.Column(verbose_name="Came back", attrs=FIGURE)
    stayed = tables.Column(verbose_name="Stayed in it", attrs=FIGURE)

    class Meta:
        orderable = False
        empty_text = "Nothing was taken for this job yet."

    render_coats = JobPartTable.render_coats
    render_days = JobPartTable.render_days
    render_taken = JobPartTable.render_taken
    render_back = JobPartTable.render_back
    render_stayed = JobPartTable.render_stayed

    def render_lot(self, record: JobPart) -> str:
        """The number on the can."""
        return record.traces[0].lot.number

    def render_supplier(self, record: JobPart) -> str:
        """Who sold it."""
        return str(record.traces[0].lot.supplier or NOTHING)
