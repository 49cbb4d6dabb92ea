"""The schedule of a system drawn: a bar for each operation over the working days, drying, and when booth and rack are held.

A night takes a small share of a day's width, since nobody works in it. Import inside the function that draws.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import floor

from reportlab.graphics.shapes import Drawing

from costing.core.calendar import DAY, LaidOut, Span
from finishing.span_chart import Bar, BarRow, Field, span_chart

NIGHT = 0.16  # of a day's width
MOST_DAYS = 60  # drawn; a longer schedule is cut and the table has the rest
PARTS = ("work", "drying", "booth held", "rack held")


def schedule_chart(laid: LaidOut, *, width: float) -> Drawing:
    """The bars; a schedule without operations is an empty day."""
    days = min(max(floor(laid.end / DAY - 1e-9) + 1, 1), MOST_DAYS)
    rows = [
        BarRow(
            words=one.step.operation,
            bars=(
                *_bars(laid, one.work, part=0, days=days),
                *_bars(laid, [one.drying] if one.drying else (), part=1, days=days, thin=True),
            ),
        )
        for one in laid.steps
    ]
    booth = [span for one in laid.steps for span in one.booth]
    rack = [one.rack for one in laid.steps if one.rack]
    rows.append(BarRow(words="Booth", bars=_bars(laid, booth, part=2, days=days)))
    rows.append(BarRow(words="Rack", bars=_bars(laid, rack, part=3, days=days)))
    nights = [] if laid.hours_a_day >= 24 else list(range(days))
    fields = [Field(words=f"day {day + 1}", start=day, end=day + 1) for day in range(days)]
    fields += [Field(words="", start=day + 1 - NIGHT, end=day + 1, shaded=True) for day in nights]
    return span_chart(rows, fields, PARTS, width=width)


def _bars(laid: LaidOut, spans: Iterable[Span], *, part: int, days: int, thin: bool = False) -> tuple[Bar, ...]:
    return tuple(
        Bar(start=_place(laid, span.start), end=min(_place(laid, span.end), days), part=part, thin=thin)
        for span in spans
        if _place(laid, span.start) < days
    )


def _place(laid: LaidOut, moment: float) -> float:
    """Where a moment lies on the scale of the chart, in days."""
    day = floor(moment / DAY + 1e-9)
    within, window = moment - day * DAY, laid.hours_a_day * 60
    if window >= DAY:
        return moment / DAY
    if within <= window:
        return day + (1 - NIGHT) * max(within, 0.0) / window
    return day + 1 - NIGHT + NIGHT * (within - window) / (DAY - window)
