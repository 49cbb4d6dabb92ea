"""What a replay found, as a table for a spreadsheet and as a chart."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from finishing.charts import Series, line_chart, svg
from finishing.documents.sheet import Book, Width, csv_text
from inventory.core.replay import Report
from inventory.core.simulate import Outcome

HEADS = (
    *("Lead time, periods", "Shelf life, periods", "Policy", "Settings"),
    *("Cycle service", "Fill rate", "Mean stock value", "Orders", "Value expired"),
    *("Stock value at our cycle service", "Order cycles", "Cycle service with open cycles", "Periods in stock"),
)
Cell = str | int | float | None


def table_rows(reports: Sequence[Report]) -> list[tuple[Cell, ...]]:
    """The table, a row a policy and setting."""
    return [row for report in reports for row in _rows(report)]


def _rows(report: Report) -> list[tuple[Cell, ...]]:
    equal = {rival.tuned.policy: rival.equal_stock for rival in report.rivals}
    equal[report.ours.policy] = report.ours.outcome.stock_value
    leads = ", ".join(map(str, report.setting.leads))
    return [
        (leads, report.setting.shelf, one.policy, one.how, *_figures(one.outcome, equal.get(one.policy)))
        for one in report.results
    ]


def _figures(outcome: Outcome, equal: float | None) -> tuple[Cell, ...]:
    return (
        round(outcome.cycle_service, 4),
        round(outcome.fill_rate, 4),
        round(outcome.stock_value, 2),
        outcome.orders,
        round(outcome.expired_value, 2),
        None if equal is None else round(equal, 2),
        outcome.cycles,
        round(outcome.cycle_service_with_open, 4),
        round(outcome.period_service, 4),
    )


def facts_of(reports: Sequence[Report], *, name: str, seconds: float) -> list[tuple[str, str | int | float]]:
    """What the replay was run under."""
    first = reports[0]
    setting = first.setting
    return [
        ("File", name),
        ("Materials", first.materials),
        ("Periods", f"{first.periods}, of which the last {first.periods - first.half} count"),
        ("Service target", f"{setting.service:.1%} of order cycles"),
        ("Seed", setting.seed),
        ("Draws", setting.draws),
        ("Cost of an order", setting.order_cost),
        ("Seconds", round(seconds, 1)),
    ]


def table_csv(reports: Sequence[Report], *, name: str, seconds: float) -> str:
    """The table as CSV, the settings below it."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(HEADS)
    for row in (*table_rows(reports), (), *facts_of(reports, name=name, seconds=seconds)):
        writer.writerow([csv_text(cell) if cell is None or isinstance(cell, str) else cell for cell in row])
    return out.getvalue()


def table_xlsx(reports: Sequence[Report], *, name: str, seconds: float) -> bytes:
    """The table as a workbook."""
    book = Book(title=f"Replay of {name}", page_size="A4")
    share, money = "0.00%", "#,##0.00"
    formats = ("0", "0", None, None, share, share, money, "#,##0", money, money, "#,##0", share, share)
    widths = (12, 12, 40, 60, 12, 10, 14, 10, 14, 18, 12, 14, 12)
    columns = tuple(Width(width, shape) if shape else Width(width) for width, shape in zip(widths, formats, strict=True))
    sheet = book.sheet("Replay", columns=columns, landscape=True)
    sheet.heading(f"Replay of {name}")
    sheet.facts(facts_of(reports, name=name, seconds=seconds))
    sheet.blank()
    sheet.header(HEADS)
    for row in table_rows(reports):
        sheet.row(row)
    return book.to_bytes()


def chart_svg(report: Report) -> str:
    """Mean stock value over cycle service: what each policy can reach at any of its settings.

    Empty where no policy has two settings that differ: there is nothing to draw then.
    """
    curves = [("This policy", report.curve), *((rival.name, rival.curve) for rival in report.rivals)]
    lines = [Series(words=f"{name}, best settings", points=points) for name, curve in curves if len(points := _front(curve)) > 1]
    if not lines:
        return ""
    setting = report.setting
    shelf = f", shelf life {setting.shelf} periods" if setting.shelf else ""
    leads = ", ".join(map(str, setting.leads))
    drawing = line_chart(
        lines, x_words="Cycle service, %", y_words=f"Mean stock value; lead time {leads} periods{shelf}", width=760, height=420
    )
    reached = "; ".join(
        f"{one.policy} {one.outcome.cycle_service:.1%} at {one.outcome.stock_value:,.0f}" for one in report.results
    )
    return svg(drawing, title="Stock value over cycle service", description=reached)


def _front(curve: Sequence[Outcome]) -> tuple[tuple[float, float], ...]:
    """The settings that no other beats: more service for more stock, from 70 % on."""
    points: list[tuple[float, float]] = []
    for value, service in sorted((one.stock_value, one.cycle_service) for one in curve):
        if service >= 0.7 and (not points or service > points[-1][0] / 100):
            points.append((100 * service, value))
    return tuple(points)
