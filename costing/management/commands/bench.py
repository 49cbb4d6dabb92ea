"""``bench``: how long things take against a bare baseline, in the same run on the same machine."""

from __future__ import annotations

import warnings
from argparse import ArgumentParser
from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from costing.bench.measure import FULL, QUICK, BenchError, Ratio, Size, as_table
from costing.bench.pages import Growth
from costing.bench.shop import BenchShop, load_bench_shop
from costing.bench.temporary import Databases, temporary_databases

PARTS = (
    "estimates",
    "comparing",
    "postings",
    "deliveries",
    "quote",
    "sheet",
    "replenishment",
    "recall",
    "value",
    "imports",
    "spray",
    "pages",
)
SHOP = "shop"
READING = "A ratio says how many times as long ours takes as the baseline. Figures alone depend on the machine; compare ratios."


class Command(BaseCommand):
    """Measure in databases of its own, print one table, fail when a page's queries grow with the ledger."""

    help = (
        "Measures the program against bare baselines and prints a table of ratios. Works in temporary databases with invented "
        "data; the shop's own is never opened. Exits with 1 when a page asks the database more often with a longer ledger."
    )
    requires_system_checks: tuple[str, ...] = ()  # they would open the shop's database

    def add_arguments(self, parser: ArgumentParser) -> None:
        """What to measure, and how thoroughly."""
        parser.add_argument("--quick", action="store_true", help="a smaller run that shows that every part works")
        parser.add_argument("--only", action="append", choices=PARTS, help="measure this part only; can be given several times")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Measure, print, judge."""
        if settings.DEBUG or not settings.LOCAL:
            raise CommandError("The bench runs on a developer's machine only: in local mode, without FINISH_LEDGER_DEBUG.")
        warnings.filterwarnings("ignore", "No directory at", UserWarning)
        wanted = [part for part in PARTS if part in (options["only"] or PARTS)]
        try:
            with temporary_databases() as databases:
                ratios, growing = self._measure(databases, wanted, QUICK if options["quick"] else FULL)
        except BenchError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(as_table(ratios))
        self.stdout.write(f"\n{READING}")
        if growing:
            told = "\n".join(growth.extra for growth in growing)
            raise CommandError(f"Pages that ask the database more often when the ledger is longer:\n{told}")

    def _measure(self, databases: Databases, wanted: Sequence[str], size: Size) -> tuple[list[Ratio], Sequence[Growth]]:
        today = timezone.localdate()
        self._say("making a database with the demo shop")
        databases.make(SHOP)
        shop = load_bench_shop(today)
        ratios: list[Ratio] = []
        for part, measure in _plain_parts(databases, shop, size, today=today).items():
            if part in wanted:
                self._say(part)
                ratios += measure()
        if "pages" not in wanted:
            return ratios, ()
        from costing.bench.pages import measure_pages

        report = measure_pages(databases, SHOP, shop, size, today=today, say=self._say)
        return [*ratios, *report.ratios], report.growing

    def _say(self, words: str) -> None:
        """A line of progress, apart from the table."""
        self.stderr.write(f"bench: {words}", style_func=str)


def _plain_parts(databases: Databases, shop: BenchShop, size: Size, *, today: date) -> dict[str, Callable[[], list[Ratio]]]:
    from costing.bench.comparing import measure_comparing
    from costing.bench.deliveries import measure_deliveries
    from costing.bench.documents import measure_quote, measure_sheet
    from costing.bench.estimates import measure_estimates
    from costing.bench.imports import measure_imports
    from costing.bench.long_ledger import measure_recall, measure_value
    from costing.bench.postings import measure_postings
    from costing.bench.replenish import measure_replenishment
    from costing.bench.spray_room import measure_spray_room

    def in_the_shop(measure: Callable[[], list[Ratio]]) -> Callable[[], list[Ratio]]:
        def measured() -> list[Ratio]:
            databases.use(SHOP)
            return measure()

        return measured

    return {
        "estimates": in_the_shop(lambda: measure_estimates(shop.estimate, size)),
        "comparing": in_the_shop(lambda: measure_comparing(shop.estimate, size)),
        "postings": in_the_shop(lambda: measure_postings(databases, SHOP, size, today=today)),
        "deliveries": in_the_shop(lambda: measure_deliveries(databases, SHOP, size, today=today)),
        "quote": in_the_shop(lambda: measure_quote(shop.quote, size)),
        "sheet": in_the_shop(lambda: measure_sheet(size)),
        "replenishment": lambda: measure_replenishment(databases, size, today=today),
        "recall": in_the_shop(lambda: measure_recall(databases, SHOP, shop, size, today=today)),
        "value": in_the_shop(lambda: measure_value(databases, SHOP, shop, size, today=today)),
        "imports": in_the_shop(lambda: measure_imports(databases, SHOP, size, today=today)),
        "spray": in_the_shop(lambda: measure_spray_room(databases, SHOP, shop.job, size, today=today)),
    }
