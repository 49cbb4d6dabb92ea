"""The table of what accepting a quote would do to each material."""

from __future__ import annotations

from datetime import date

from django.utils.html import format_html, format_html_join

from costing.tables.jobs import figure, text
from costing.tables.pricing import FixedTable
from finishing import show
from inventory.tables import badge
from inventory.what_if import MaterialEffect, WhatIf


def effects_table(found: WhatIf, *, caption: str, prefix: str) -> FixedTable:
    """Each material: what is needed, when it runs short without the job and with it, what to order, when the job could start."""
    rows = [_row(one) for one in sorted(found.effects, key=_urgency)]
    columns = [
        ("material", text("Material")),
        ("needed", figure("Needed")),
        ("usable", figure("Usable now")),
        ("without", text("Runs short without the job")),
        ("with_job", text("Runs short with it")),
        ("order", text("To order")),
        ("start", text("Here for a start on")),
    ]
    return FixedTable(rows, caption=caption, extra_columns=columns, prefix=prefix, empty_text="This job draws no material.")


def _row(one: MaterialEffect) -> dict[str, object]:
    unit, seen = one.material.stock_unit, one.effect
    return {
        "material": format_html('<a href="{}">{}</a>', one.material.get_absolute_url(), one.material),
        "needed": show.quantity(seen.need.quantity, unit),
        "usable": show.quantity(seen.before.usable, unit),
        "without": _short(seen.before.short_on),
        "with_job": badge("short", show.day(seen.after.short_on)) if seen.runs_short else _short(seen.after.short_on),
        "order": _order(one),
        "start": _start(one),
    }


def _short(on: date | None) -> str:
    return show.day(on)


def _urgency(one: MaterialEffect) -> tuple[bool, bool, bool, str]:
    """What delays the start comes first, then what must be ordered today, then what runs short."""
    return one.effect.days_late == 0, not one.must_order_today, not one.effect.runs_short, one.material.name


def _order(one: MaterialEffect) -> str:
    """Which packs, at what price, by when; or why none."""
    seen = one.effect.before
    coming = f"{show.quantity(seen.on_order, one.material.stock_unit)} on order" if seen.on_order else ""
    if one.packs:
        packs = format_html_join(", ", "{} × {}", ((pack.count, pack.pack.description) for pack in one.packs))
        by = badge("warning", "today") if one.must_order_today else f"by {show.day(one.order_by)}"
        return format_html("{}, {} {}{}", packs, show.money(one.amount), by, f"; {coming}" if coming else "")
    if one.order_by is None:
        return f"nothing more: {coming}" if coming else "nothing"
    return "no pack can be bought" if not one.can_be_bought else "no more would be used while fresh"


def _start(one: MaterialEffect) -> str:
    late = one.effect.days_late
    if late is None:
        return badge("bad", "can’t be told")
    return badge("warning", show.day(one.effect.earliest)) if late else badge("ok", show.day(one.effect.earliest))
