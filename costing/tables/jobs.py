"""Tables of jobs: the list, the steps, the material and the log of one of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import django_tables2 as tables
from django.db.models import QuerySet
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from costing.choices import JobStatus
from costing.models import CoatLog, Job
from costing.tables.columns import RIGHT
from costing.tables.pricing import FixedTable, figure, text
from costing.work import Booked, StepView, Wanted
from finishing import show
from finishing.templatetags.house import BADGES

STATUS_BADGES = {
    JobStatus.BOOKED: "waiting",
    JobStatus.IN_WORK: "note",
    JobStatus.DONE: "done",
    JobStatus.CANCELLED: "empty",
}


def badge(kind: str, words: str) -> SafeString:
    """A badge of the house inside a table cell."""
    look = BADGES[kind]
    shown: SafeString = render_to_string("parts/badge.html", {"tone": look.tone, "sign": look.sign, "words": words})
    return shown


def clock(moment: Any) -> str:
    """A moment as day and time in the shop's time zone."""
    local = timezone.localtime(moment)
    return f"{show.day(local.date())}, {local:%H:%M}"


class JobTable(tables.Table):
    """All jobs, those in work on top."""

    job = tables.Column(accessor="number", linkify=lambda record: record.get_absolute_url(), order_by="pk")
    title = tables.Column()
    customer_name = tables.Column(verbose_name="Customer")
    starts_on = tables.Column(verbose_name="Starts")
    status = tables.Column()
    progress = tables.Column(accessor="done_count", verbose_name="Steps done", attrs=RIGHT)

    class Meta:
        model = Job
        fields = ["job", "title", "customer_name", "starts_on", "status", "progress"]
        caption = "Jobs"
        empty_text = "No job fits. Show all."

    def render_starts_on(self, value: Any) -> str:
        """A day."""
        return show.day(value)

    def render_status(self, record: Job) -> SafeString:
        """The status in words with a sign."""
        return badge(STATUS_BADGES[JobStatus(record.status)], record.get_status_display())

    def render_progress(self, record: Any) -> str:
        """So many of so many."""
        return f"{record.done_count} of {record.step_count}"

    def order_starts_on(self, queryset: QuerySet[Job], is_descending: bool) -> tuple[QuerySet[Job], bool]:
        """By day, then by number."""
        sign = "-" if is_descending else ""
        return queryset.order_by(f"{sign}starts_on", f"{sign}pk"), True


def wanted_table(wanted: Iterable[Wanted], *, caption: str, prefix: str) -> FixedTable:
    """What a job would book and what of it is missing today."""
    rows = [
        {
            "material": format_html('<a href="{}">{}</a>', line.material.get_absolute_url(), line.material),
            "wanted": show.quantity(line.wanted, line.material.stock_unit),
            "usable": show.quantity(line.usable, line.material.stock_unit),
            "before": show.quantity(line.before, line.material.stock_unit),
            "short": _short(line.short, line.material.stock_unit),
        }
        for line in wanted
    ]
    columns = [
        ("material", text("Material")),
        ("wanted", figure("Will be booked")),
        ("usable", figure("Usable now")),
        ("before", figure("Booked for jobs before it")),
        ("short", figure("Short now")),
    ]
    return FixedTable(rows, caption=caption, extra_columns=columns, prefix=prefix, empty_text="This job draws no material.")


def _short(short: Any, unit: str) -> Any:
    return badge("short", f"{show.quantity(short, unit)} short") if short else badge("ok", "enough")


def booked_table(booked: Iterable[Booked]) -> FixedTable:
    """The material of a job: planned, drawn, still booked."""
    rows = [
        {
            "material": format_html('<a href="{}">{}</a>', line.material.get_absolute_url(), line.material),
            "planned": show.quantity(line.planned, line.material.stock_unit),
            "drawn": show.quantity(line.drawn, line.material.stock_unit),
            "held": show.quantity(line.held, line.material.stock_unit),
            "short": _short(line.short, line.material.stock_unit) if line.held else "–",
        }
        for line in booked
    ]
    columns = [
        ("material", text("Material")),
        ("planned", figure("Planned")),
        ("drawn", figure("Drawn")),
        ("held", figure("Still booked")),
        ("short", figure("On the shelf")),
    ]
    return FixedTable(
        rows,
        caption="Material",
        hide_caption=True,
        extra_columns=columns,
        prefix="material-",
        empty_text="This job draws no material.",
    )


def steps_table(steps: Sequence[StepView], *, may_log: bool) -> FixedTable:
    """The steps in order with what is planned and what is logged."""
    rows = [_step_row(view, may_log=may_log) for view in steps]
    narrow = {"td": {"class": "nowrap"}}
    columns = [("name", text("Step")), ("state", text("State", attrs=narrow))]
    if may_log:
        columns.append(("log", text("Log", attrs=narrow)))
    columns += [
        ("mix", figure("Mixed of planned")),
        ("time", figure("Worked of planned")),
        ("dry", figure("Dries")),
        ("area", figure("Area")),
    ]
    return FixedTable(
        rows, caption="Steps", hide_caption=True, extra_columns=columns, prefix="steps-", empty_text="This job has no step."
    )


def _step_row(view: StepView, *, may_log: bool) -> dict[str, Any]:
    step = view.step
    row = {
        "name": f"{step.position}. {step.name}",
        "area": show.area(step.area),
        "mix": f"{show.volume(view.mixed)} of {show.volume(step.planned_mix)}" if step.is_coat else "–",
        "time": f"{show.minutes(view.minutes)} of {show.minutes(step.planned_minutes)}",
        "dry": show.minutes(step.dry_minutes) if step.dry_minutes else "–",
        "state": _state(view),
    }
    if may_log:
        row["log"] = format_html(
            '<a class="button button-small" href="{}">Log<span class="visually-hidden"> {}</span></a>',
            reverse("log_coat", args=[step.pk]),
            step.name,
        )
    return row


def _state(view: StepView) -> SafeString:
    if view.is_done:
        return badge("done", "done")
    return badge("waiting", "begun") if view.is_begun else badge("note", "to do")


def log_table(
    logs: Sequence[CoatLog], *, sees_postings: bool, may_take_back: Callable[[CoatLog], bool] = lambda _log: False
) -> FixedTable:
    """Everything that was logged, with the lots that were used."""
    rows = [
        {
            **_log_row(log, sees_postings=sees_postings),
            "mend": "" if log.is_reversed or not may_take_back(log) else _take_back(log),
        }
        for log in logs
    ]
    columns = [
        ("at", text("Done at")),
        ("step", text("Step")),
        ("by", text("By")),
        ("mixed", figure("Mixed, or out of a batch")),
        ("minutes", figure("Time")),
        ("film", figure("Wet film")),
        ("used", text("Taken from")),
        ("note", text("Note")),
        *([("mend", text(""))] if any(row["mend"] for row in rows) else []),
    ]
    return FixedTable(
        rows, caption="Log", hide_caption=True, extra_columns=columns, prefix="log-", empty_text="Nothing is logged yet."
    )


def _log_row(log: Any, *, sees_postings: bool) -> dict[str, Any]:
    step = format_html("{}", log.step.name)
    if log.is_reversed:
        step = format_html("{} {}", log.step.name, badge("bad", "reversed, does not count"))
    elif not log.finishes_step:
        step = format_html("{} {}", log.step.name, badge("waiting", "a part"))
    return {
        "at": clock(log.done_at),
        "step": step,
        "by": str(log.by),
        "mixed": _sprayed(log),
        "minutes": show.minutes(log.minutes),
        "film": show.film(log.wet_film),
        "used": _used(log, sees_postings=sees_postings),
        "note": _notes(log),
    }


def _take_back(log: CoatLog) -> SafeString:
    return format_html('<a href="{}">Take back</a>', reverse("log_take_back", args=[log.pk]))


def _sprayed(log: Any) -> SafeString | str:
    """What was mixed with the log, or what it took of batches that were mixed before."""
    uses = log.batch_uses.all()
    if not uses:
        return show.pour(log.mixed)
    linked = ((show.pour(use.litres), use.batch.get_absolute_url(), use.batch.number) for use in uses)
    return format_html_join(SafeString("<br>"), '{} of <a href="{}">{}</a>', linked)


def _notes(log: Any) -> SafeString | str:
    """The note, the air, and the reasons that were asked for."""
    air = [
        words
        for value, words in (
            (log.temperature, show.temperature(log.temperature)),
            (log.humidity, f"{show.number(log.humidity, 0)} % humidity"),
        )
        if value is not None
    ]
    lines = [
        log.note,
        ", ".join(air),
        f"Begun early: {log.early_reason}" if log.early_reason else "",
        *(f"After pot life: {use.late_reason}" for use in log.batch_uses.all() if use.late_reason),
        f"Mends: {log.reworks}" if log.reworks_id else "",
        f"Taken back: {log.withdrawn_reason}" if log.withdrawn_reason else "",
    ]
    said = [(line,) for line in lines if line]
    return format_html_join(SafeString("<br>"), "{}", said) if said else "–"


def _used(log: CoatLog, *, sees_postings: bool) -> SafeString | str:
    if log.posting is None:
        return "–"
    taken = format_html_join(
        SafeString("<br>"),
        "{} of {}, lot {}{}",
        (
            (
                show.quantity(-move.quantity, move.lot.material.stock_unit),
                move.lot.material,
                move.lot.number,
                f" ({move.override_reason})" if move.override_reason else "",
            )
            for move in log.posting.movements.all()
        ),
    )
    if sees_postings:
        return format_html('{}<br><a href="{}">{}</a>', taken, reverse("posting", args=[log.posting.pk]), log.posting)
    return taken
