"""Usable stock over the next days as a chart: the path, what arrives, what is booked, what goes out of date.

Import this module inside the function that draws: it brings the drawing library along.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from reportlab.graphics.shapes import Drawing

from finishing import show
from finishing.charts import Series, Sticks, line_chart
from inventory.core.projection import Projection
from inventory.core.reorder import Advice, Cover
from inventory.models import Material

MARK_EVERY = 18  # days
WIDTH, HEIGHT = 720.0, 280.0


def stock_drawing(material: Material, advice: Advice, *, bought: Cover | None = None, point: float | None = None) -> Drawing:
    """The chart of one material from its advice, in the shop's units.

    With ``bought`` a second line says what buying so much today would do. ``point`` is the reorder point to draw.
    """
    buys = bought is not None and bought.quantity > 0
    seen = bought.projection if bought is not None and buys else advice.projection
    series = [_path("Usable stock, nothing bought" if buys else "Usable stock", advice.projection, material)]
    if buys:
        series.append(_path("With this purchase", seen, material))
    if point is not None:
        level = show.stock_figure(point, material.stock_unit)
        series.append(Series(words="Reorder point", points=((0.0, level), (float(len(seen.path) - 1), level))))
    return line_chart(
        series,
        x_words="day",
        y_words=show.stock_unit_shown(material.stock_unit),
        width=WIDTH,
        height=HEIGHT,
        sticks=_sticks(material, advice, bought if buys else None, seen),
        x_marks=[(place, show.day(seen.path[place].on)) for place in _marks(len(seen.path))],
    )


def stock_words(material: Material, advice: Advice) -> str:
    """What the chart shows, for those who don't see it."""
    path = advice.projection.path
    lowest = min(path, key=lambda day: day.usable)
    said = (
        f"{_amount(path[0].usable, material)} usable today, {_amount(path[-1].usable, material)} on {show.day(path[-1].on)}, "
        f"the least {_amount(lowest.usable, material)} on {show.day(lowest.on)}, if nothing is bought."
    )
    return f"{said} Runs short on {show.day(advice.short_on)}." if advice.short_on else said


def _amount(value: float, material: Material) -> str:
    return show.quantity(Decimal(str(round(value, 1 if material.stock_unit == "pcs" else 2))), material.stock_unit)


def _path(words: str, seen: Projection, material: Material) -> Series:
    unit = material.stock_unit
    return Series(words=words, points=tuple((float(at), show.stock_figure(day.usable, unit)) for at, day in enumerate(seen.path)))


def _sticks(material: Material, advice: Advice, bought: Cover | None, seen: Projection) -> list[Sticks]:
    """Arrivals, bookings and expiries on their days; a kind that does not occur is left out."""
    today, days, unit = advice.today, len(seen.path), material.stock_unit
    arrivals = [(max((one.on - today).days, 0), float(one.quantity)) for one in advice.facts.arrivals]
    if bought is not None:
        arrivals.append(((bought.arrives_on - today).days, float(bought.quantity)))
    kinds = (
        ("Arrives", arrivals),
        ("Booked by jobs", [(at, day.booked) for at, day in enumerate(seen.path)]),
        ("Out of date, unused", [(at, day.expired) for at, day in enumerate(seen.path)]),
    )
    found = [
        Sticks(
            words=words,
            sign=sign,
            points=tuple((float(at), show.stock_figure(amount, unit)) for at, amount in pairs if amount > 0 and at < days),
        )
        for sign, (words, pairs) in enumerate(kinds)
    ]
    return [one for one in found if one.points]


def _marks(days: int) -> Sequence[int]:
    """Where a day is named: today, and every so often up to the last that has room."""
    every = MARK_EVERY * max(1, round(days / 90))
    return range(0, days, every)
