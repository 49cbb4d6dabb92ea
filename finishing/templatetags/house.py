"""Template tags of the house look: signs, badges, cards, cautions, form cells, table heads and bars.

Tags that only show a part with its parameters are plain includes (``templates/parts/``); what needs a little thought is here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django import template
from django.forms import BoundField
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

register = template.Library()

# Drawn on a 24 by 24 grid in strokes; the stylesheet gives colour and width.
_ICONS: Mapping[str, str] = {
    "menu": "M4 7h16M4 12h16M4 17h16",
    "check": "M5 12.5l4.5 4.5L19 7.5",
    "warning": "M12 4.5L21 19.5H3zM12 10v4.5M12 17v.1",
    "note": "M12 3.5a8.5 8.5 0 1 0 0 17a8.5 8.5 0 1 0 0-17M12 11v5M12 8v.1",
    "clock": "M12 3.5a8.5 8.5 0 1 0 0 17a8.5 8.5 0 1 0 0-17M12 7.5V12l3 2",
    "cross": "M6.5 6.5l11 11M17.5 6.5l-11 11",
    "hold": "M8.5 5.5v13M15.5 5.5v13",
    "plus": "M12 5v14M5 12h14",
    "down": "M12 4.5v12M7 12l5 5l5-5M5 20.5h14",
    "print": "M7 9V4h10v5M7 17H4.5V9h15v8H17M7 14h10v6H7z",
    "pencil": "M5 19l1-4.5L16.5 4l3.5 3.5L9.5 18zM14 6.5l3.5 3.5",
    "drop": "M12 3.5s6 6.5 6 11a6 6 0 0 1-12 0c0-4.5 6-11 6-11z",
    "dot": "M12 9.5a2.5 2.5 0 1 0 0 5a2.5 2.5 0 1 0 0-5",
}


@register.simple_tag
def icon(name: str) -> SafeString:
    """A decorative sign; the words beside it carry the meaning. An unknown name is a ``KeyError``."""
    path = _ICONS[name]
    return format_html('<svg class="icon" viewBox="0 0 24 24" aria-hidden="true" focusable="false"><path d="{}"/></svg>', path)


@dataclass(frozen=True, slots=True, kw_only=True)
class BadgeLook:
    """How a state looks: a tone of the stylesheet, a sign, and the words when none are given."""

    tone: str
    sign: str
    words: str


BADGES: Mapping[str, BadgeLook] = {
    "ok": BadgeLook(tone="ok", sign="check", words="ok"),
    "fresh": BadgeLook(tone="ok", sign="check", words="fresh"),
    "soon": BadgeLook(tone="warn", sign="clock", words="expires soon"),
    "expired": BadgeLook(tone="bad", sign="cross", words="expired"),
    "quarantined": BadgeLook(tone="hold", sign="hold", words="quarantined"),
    "short": BadgeLook(tone="bad", sign="warning", words="short"),
    "warning": BadgeLook(tone="warn", sign="warning", words="look here"),
    "bad": BadgeLook(tone="bad", sign="cross", words="refused"),
    "done": BadgeLook(tone="ok", sign="check", words="done"),
    "waiting": BadgeLook(tone="warn", sign="clock", words="waiting"),
    "empty": BadgeLook(tone="note", sign="dot", words="empty"),
    "note": BadgeLook(tone="note", sign="dot", words="note"),
}


@register.inclusion_tag("parts/badge.html")
def badge(kind: str, words: str = "") -> dict[str, str]:
    """A state in words with a sign, for example ``{% badge "soon" "expires 3 Aug" %}``; kinds are the keys of ``BADGES``."""
    look = BADGES[kind]
    return {"tone": look.tone, "sign": look.sign, "words": words or look.words}


@register.simple_block_tag
def card(content: SafeString, title: str = "", css: str = "") -> SafeString:
    """A sheet of paper around content, with a heading when ``title`` is given."""
    head = format_html('<div class="card-head"><h2>{}</h2></div>', title) if title else ""
    return format_html('<section class="card {}">{}{}</section>', css, head, content)


@register.simple_block_tag
def caution(content: SafeString, title: str = "Caution", source: str = "") -> SafeString:
    """A hazard in brief with its public source; it always defers to the safety data sheet."""
    cited = format_html(" Source: {}", source) if source else ""
    return format_html(
        '<aside class="caution" aria-label="{}"><p class="caution-title">{} {}</p>{}<p class="caution-source">'
        "Follow the product’s safety data sheet, local codes and licensed practice first.{}</p></aside>",
        title,
        icon("warning"),
        title,
        content,
        cited,
    )


# ---------------------------------------------------------------- forms


@register.filter
def widget_kind(field: BoundField) -> str:
    """The shape of a field for the stylesheet: check, textarea, select, or the input's type."""
    widget = field.field.widget
    kind = getattr(widget, "input_type", None) or type(widget).__name__.lower()
    return {"checkbox": "check", "clearablefileinput": "file"}.get(kind, kind)


@register.filter
def unit_hint(field: BoundField) -> str:
    """The unit that a bare number in this field is read in; empty when the field has none."""
    return str(field.field.widget.attrs.get("data-unit", ""))


@register.filter
def is_figure(field: BoundField) -> bool:
    """True for a field that takes a number, so that its column stands right."""
    attrs = field.field.widget.attrs
    if "data-unit" in attrs or "data-money" in attrs or attrs.get("inputmode") in {"decimal", "numeric"}:
        return True
    return getattr(field.field.widget, "input_type", "") == "number"


@register.filter
def cell(field: BoundField, number: int | str) -> SafeString:
    """The input of a field inside a table row: named by column and row, since no label stands beside it."""
    label = "Remove" if field.name == "DELETE" else field.label
    attrs: dict[str, str | bool] = {"aria-label": f"{label}, row {number}"}
    described = []
    if field.help_text and field.form.prefix:
        described.append(f"{field.form.prefix.rpartition('-')[0]}-{field.name}-help")
    if field.errors:
        described.append(f"{field.auto_id}_error")
    if described:
        attrs["aria-describedby"] = " ".join(described)
    return field.as_widget(attrs=attrs)


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorLink:
    """One problem of a form: what it is called, where it stands (an element id or nothing) and what would be right."""

    label: str
    target: str
    message: str


@register.filter
def error_links(form: Any) -> list[ErrorLink]:
    """Every problem of a bound form in the order of its fields, those of the whole form first."""
    if not form.is_bound or not form.errors:
        return []
    found = [ErrorLink(label="", target="", message=str(message)) for message in form.non_field_errors()]
    for field in form:
        target = "" if field.is_hidden else field.id_for_label or field.auto_id
        found += [ErrorLink(label=str(field.label), target=target, message=str(message)) for message in field.errors]
    return found


# ---------------------------------------------------------------- tables


@register.filter
def table_id(table: Any) -> str:
    """The id of a table's block on the page, so that sorting, pages and filters replace just that."""
    return f"table-{table.prefix.strip('-')}" if table.prefix else "table"


@register.filter
def table_caption(table: Any) -> str:
    """What a table shows, in words: ``caption`` on the table, its class or the class's ``Meta``."""
    return str(getattr(table, "caption", "") or getattr(getattr(table, "Meta", None), "caption", "") or "Table")


@register.filter
def aria_sort(column: Any) -> str:
    """The word that tells a screen reader how a column is sorted."""
    if not column.is_ordered:
        return "none"
    return "descending" if column.order_by_alias.is_descending else "ascending"


# ------------------------------------------------------ workings and bars


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkingRow:
    """One number that went into a figure."""

    symbol: str
    words: str
    value: Any
    unit: str


@register.filter
def working_inputs(working: Any) -> list[WorkingRow]:
    """The inputs of a working as rows, whether it holds tuples or objects with the same names."""
    rows = []
    for given in working.inputs:
        symbol, words, value, unit = given if isinstance(given, tuple) else (given.symbol, given.words, given.value, given.unit)
        rows.append(WorkingRow(symbol=symbol, words=words, value=value, unit=unit))
    return rows


@register.inclusion_tag("parts/timeline.html")
def timeline(parts: Iterable[tuple[str, Any, str]], *, slim: bool = False) -> dict[str, Any]:
    """A bar of ``(words, amount, figure)``: widths follow the amounts, the list beside it says each in words and figures.

    Nothing is drawn for an amount of nought, but it stays in the list; a negative amount is a ``ValueError``.
    """
    rows = [(words, float(amount), figure) for words, amount, figure in parts]
    if any(amount < 0 for _, amount, _ in rows):
        raise ValueError("a bar has no room for a negative amount")
    total = sum(amount for _, amount, _ in rows)
    shown, start = [], 0.0
    for number, (words, amount, figure) in enumerate(rows, start=1):
        width = 1000 * amount / total if total else 0.0
        shown.append(
            {
                "number": number,
                "words": words,
                "figure": figure,
                "fill": (number - 1) % 6 + 1,
                "x": f"{start:.2f}",
                "width": f"{width:.2f}",
            }
        )
        start += width
    return {"parts": shown, "slim": slim}


@register.filter
def lines(text: str) -> SafeString:
    """Text with its line breaks kept, everything else escaped."""
    return mark_safe("<br>".join(format_html("{}", line) for line in str(text).splitlines()))  # noqa: S308 - parts are escaped
