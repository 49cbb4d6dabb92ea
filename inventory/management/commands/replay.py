"""``replay FILE``: what the reorder list's policy would have done with a demand history, beside two fixed policies."""

from __future__ import annotations

import time
from argparse import ArgumentParser, ArgumentTypeError
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from finishing.uploads import FileRefusedError, Limits, read_upload
from inventory.core.histories import History, HistoryRefusedError, read_history

if TYPE_CHECKING:
    from inventory.core.replay import Report, Setting

LIMITS = Limits(
    what="table of demand histories", most_bytes=30_000_000, most_rows=10_000, most_columns=600, too_many="Replay a part of them."
)
BAR = 30  # characters
CHARTS, TABLES = (".svg",), (".csv", ".xlsx")
READING = (
    "Cycles: share of order cycles in which nobody waited. Fill rate: share of units served at once. Equal: the least stock "
    "value at which a setting of a fixed policy, chosen with hindsight, gives the cycle service that this policy reached."
)


class Command(BaseCommand):
    """Read, run, print one table, write it and its chart."""

    help = (
        "Replays a table of demand histories (CSV or XLSX; first column the name, one column a period, oldest first) under the "
        "reorder list's policy and under two fixed ones. The first half tunes, the second half counts; nobody looks ahead."
    )
    requires_system_checks: tuple[str, ...] = ()  # no database is opened

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The file, and what it is run under."""
        add = parser.add_argument
        add("file", type=Path, help="the table")
        add(
            "--lead",
            action="append",
            type=_leads,
            metavar="N[,N…]",
            help="lead time in periods; of several with commas each order draws one. Repeatable; default 0, 1, 2, 3",
        )
        add(
            "--shelf",
            action="append",
            type=_whole(0, 600),
            metavar="N",
            help="shelf life in periods, 0 where it keeps. Repeatable; default 0",
        )
        add("--target", type=_number(50, 99.9), default=95.0, help="percent of order cycles without a stock-out; default 95")
        add(
            "--freshness",
            type=_number(1, 100),
            default=80.0,
            help="percent of the shelf life to use a purchase up in; default 80",
        )
        add("--order-cost", type=_number(0, 1e9), default=0.0, help="what an order costs, for the economic quantity; default 0")
        add("--periods-a-year", type=_number(1, 366), default=12.0, help="default 12: months")
        add("--draws", type=_whole(2_000, 100_000), default=2_000, help="default 2000")
        add("--seed", type=_whole(0, 2**63 - 1), default=1, help="default 1; the same seed gives the same table")
        add("--table", type=_path(TABLES), help="where to write the table, .csv or .xlsx")
        add("--chart", type=_path(CHARTS), help="where to write the chart, .svg; one for each setting")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Run every setting and tell what came of it."""
        begun = time.perf_counter()
        found = _read(options["file"])
        from inventory.core.replay import LEAST_PERIODS, replay

        if len(found.periods) < LEAST_PERIODS:
            raise CommandError(
                f"The table has {len(found.periods)} periods. A replay needs {LEAST_PERIODS}: one half to tune on, one to count."
            )
        import numpy as np

        runs = _settings(options)
        bar = _Bar(self._say, runs=len(runs), live=bool(getattr(self.stderr, "isatty", lambda: False)()))
        reports = []
        for setting in runs:
            reports.append(replay(np.array(found.rows), np.array(found.prices), setting, progress=bar.step))
            bar.next_run()
        seconds = time.perf_counter() - begun
        for words in found.notes:
            self.stdout.write(f"Note: {words}")
        for report in reports:
            self.stdout.write(_shown(report))
        self.stdout.write(f"\n{READING}")
        self.stdout.write(f"Seed {options['seed']}, {options['draws']} draws, {seconds:.0f} seconds.")
        for path in _write(reports, options, seconds):
            self.stdout.write(f"Written: {path}")

    def _say(self, words: str, end: str) -> None:
        self.stderr.write(words, style_func=str, ending=end)
        self.stderr.flush()


def _read(path: Path) -> History:
    try:
        content = path.read_bytes()
    except IsADirectoryError:
        raise CommandError(f"{path} is a folder. Name the file with the table.") from None
    except FileNotFoundError:
        raise CommandError(f"There is no file {path}.") from None
    except OSError as error:
        raise CommandError(f"Can’t read {path}: {error.strerror or error}.") from error
    try:
        return read_history(read_upload(content, LIMITS).grid)
    except (FileRefusedError, HistoryRefusedError) as error:
        raise CommandError(f"{path} can’t be replayed.\n{error}") from error


def _settings(options: dict[str, Any]) -> list[Setting]:
    from inventory.core.replay import Setting

    return [
        Setting(
            seed=options["seed"],
            leads=leads,
            service=options["target"] / 100,
            shelf=shelf or None,
            freshness=options["freshness"] / 100,
            draws=options["draws"],
            order_cost=options["order_cost"],
            periods_a_year=options["periods_a_year"],
        )
        for shelf in options["shelf"] or [0]
        for leads in options["lead"] or [(0,), (1,), (2,), (3,)]
    ]


# ------------------------------------------------------------------------ what is shown


class _Bar:
    """How far all runs are: a bar that is drawn over itself on a terminal, else a line every tenth."""

    def __init__(self, say: Callable[[str, str], None], *, runs: int, live: bool) -> None:
        self.say, self.runs, self.live = say, runs, live
        self.done, self.told, self.width = 0, -1, 0

    def step(self, words: str, done: int, total: int) -> None:
        """So much of one run; what a run does first takes half of its time."""
        from inventory.core.replay import STAGES

        begins, share = STAGES.get(words, (0.0, 0.0))
        self._show((self.done + begins + share * done / max(total, 1)) / self.runs, words)

    def next_run(self) -> None:
        """One run is over."""
        self.done += 1
        self._show(self.done / self.runs, "done")
        if self.live and self.done == self.runs:
            self.say("", "\n")

    def _show(self, share: float, words: str) -> None:
        percent = int(100 * share + 1e-9)
        if percent <= self.told and not (self.live and words):
            return
        if self.live:
            filled = BAR * percent // 100
            run = f"run {min(self.done + 1, self.runs)} of {self.runs}"
            line = f"[{'#' * filled}{'.' * (BAR - filled)}] {percent:3d} %  {run}: {words}"
            self.say(f"\r{line.ljust(self.width)}", "")
            self.width = len(line)
        elif percent // 10 > self.told // 10:
            self.say(f"replay: {percent} %", "\n")
        self.told = percent


def _shown(report: Report) -> str:
    """One setting as a table in plain text."""
    setting = report.setting
    leads = " or ".join(map(str, setting.leads))
    shelf = f", shelf life {setting.shelf} periods" if setting.shelf else ""
    counted = f"last {report.periods - report.half} of {report.periods} periods"
    head = f"\n{report.materials} materials, {counted}; lead time {leads} periods{shelf}."
    equal = {rival.tuned.policy: rival.equal_stock for rival in report.rivals}
    rows = [("policy", "cycles", "fill rate", "stock value", "orders", "expired", "equal")]
    for one in report.results:
        outcome, same = one.outcome, equal.get(one.policy)
        rows.append(
            (
                one.policy,
                f"{outcome.cycle_service:.2%}",
                f"{outcome.fill_rate:.2%}",
                f"{outcome.stock_value:,.1f}",
                f"{outcome.orders:,}",
                f"{outcome.expired_value:,.1f}",
                f"{same:,.1f}" if same is not None else "never" if one.policy in equal else "",
            )
        )
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    lines = [_line(row, widths) for row in rows]
    verdict = (
        f"Target {setting.service:.1%}: {'within two points' if report.reaches_service else 'MISSED by more than two points'}. "
        f"Stock value {'below' if report.beats_rivals else 'NOT BELOW'} both fixed policies at equal service."
    )
    rule = "  ".join("-" * width for width in widths)
    return "\n".join([head, lines[0], rule, *lines[1:], verdict])


def _line(row: Sequence[str], widths: Sequence[int]) -> str:
    pairs = list(zip(row, widths, strict=True))
    return "  ".join([pairs[0][0].ljust(pairs[0][1]), *(cell.rjust(width) for cell, width in pairs[1:])]).rstrip()


# --------------------------------------------------------------------------- what is written


def _write(reports: Sequence[Report], options: dict[str, Any], seconds: float) -> list[Path]:
    from inventory.documents.replay_files import chart_svg, table_csv, table_xlsx

    stem = options["file"].stem
    table: Path = options["table"] or Path(settings.OUTPUT_DIR) / f"replay-{stem}.xlsx"
    chart: Path = options["chart"] or Path(settings.OUTPUT_DIR) / f"replay-{stem}.svg"
    name = options["file"].name
    if table.suffix.lower() == ".csv":
        files = [(table, table_csv(reports, name=name, seconds=seconds).encode("utf-8-sig"))]
    else:
        files = [(table, table_xlsx(reports, name=name, seconds=seconds))]
    for report in reports:
        path = chart if len(reports) == 1 else chart.with_stem(f"{chart.stem}-{_label(report)}")
        drawn = chart_svg(report)
        if drawn:
            files.append((path, drawn.encode()))
    for path, content in files:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        except OSError as error:
            reason = error.strerror or str(error)
            raise CommandError(f"Can’t write {path}: {reason}. Name another place with --table and --chart.") from error
    return [path for path, _ in files]


def _label(report: Report) -> str:
    leads = "-".join(map(str, report.setting.leads))
    return f"lead-{leads}" + (f"-shelf-{report.setting.shelf}" if report.setting.shelf else "")


# ------------------------------------------------------------------------------ what is typed


def _leads(text: str) -> tuple[int, ...]:
    return tuple(_whole(0, 60)(part) for part in text.split(","))


def _whole(low: int, high: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        try:
            value = int(text)
        except ValueError:
            raise ArgumentTypeError(f"“{text}” is not a whole number") from None
        if not low <= value <= high:
            raise ArgumentTypeError(f"{value} does not lie between {low} and {high}")
        return value

    return read


def _number(low: float, high: float) -> Callable[[str], float]:
    def read(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            raise ArgumentTypeError(f"“{text}” is not a number") from None
        if not low <= value <= high:
            raise ArgumentTypeError(f"{text} does not lie between {low:g} and {high:g}")
        return value

    return read


def _path(endings: Sequence[str]) -> Callable[[str], Path]:
    def read(text: str) -> Path:
        path = Path(text)
        if path.suffix.lower() not in endings:
            raise ArgumentTypeError(f"“{text}” does not end in {' or '.join(endings)}")
        return path

    return read
