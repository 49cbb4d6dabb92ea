"""``demo``: the main job on invented data, from an empty machine to the files that people send out."""

from __future__ import annotations

from argparse import ArgumentParser
from datetime import date
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from costing.demo.catalogue import PASSWORD, load_materials, load_shop, load_systems
from costing.demo.counts import load_counts
from costing.demo.files import OutputError, WrittenFile, write_documents
from costing.demo.orders import load_orders
from costing.demo.stock import demo_key, load_stock
from costing.demo.work import CUT_LIST, CutListError, Kitchen, kitchen_quote, load_customers, vanity_job
from costing.models import Quote
from finishing import show
from finishing.management.commands.serve import gather_static, serve
from finishing.models import Shop, User
from finishing.roles import Role
from inventory.models import Material
from inventory.reorder import ReorderList, reorder_list


class Command(BaseCommand):
    """Set up the demo shop, do the main job, write the files, serve the pages."""

    help = "Shows the program at work in an invented shop: estimate, quote and reorder list as files, then the pages."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """What to do and where."""
        parser.add_argument("--no-serve", action="store_true", help="stop after the files")
        parser.add_argument("--fresh", action="store_true", help="throw the demo shop away and start it anew")
        parser.add_argument("--output", type=Path, default=None, help="folder for the files")
        parser.add_argument("--host", default="127.0.0.1", help="address to serve on (default 127.0.0.1)")
        parser.add_argument("--port", type=int, default=8000, help="port to serve on (default 8000)")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Do it all, and say so."""
        if options["fresh"]:
            self._forget()
        call_command("migrate", verbosity=0, interactive=False)
        today = timezone.localdate()
        try:
            kitchen = self._load(today)
            reorder = reorder_list(today=today)
            files = write_documents(folder=options["output"] or settings.OUTPUT_DIR, quote=kitchen.quote, reorder=reorder)
        except (CutListError, OutputError) as error:
            raise CommandError(str(error)) from error
        self._tell(kitchen, reorder, files)
        self.stdout.write("\nSign-ins")
        for role in (Role.OFFICE, Role.ESTIMATOR, Role.FINISHER, Role.OWNER):
            self.stdout.write(f"  {role.desk:<14} sign in as {role.value:<10} password {PASSWORD}")
        if not options["no_serve"]:
            gather_static()
            self.stdout.write(f"\nPages: http://{options['host']}:{options['port']}/   (stop with Ctrl+C)")
            serve(options["host"], options["port"])

    def _forget(self) -> None:
        """Delete the demo's own database file."""
        name = Path(str(settings.DATABASES["default"]["NAME"]))
        if not settings.DEMO or "sqlite" not in settings.DATABASES["default"]["ENGINE"]:
            raise CommandError("--fresh only throws away the demo’s own database file. Unset DATABASE_URL first.")
        for ending in ("", "-wal", "-shm"):
            name.with_name(name.name + ending).unlink(missing_ok=True)

    def _load(self, today: date) -> Kitchen:
        """Fill the demo shop, or find it filled. Refuses a database that holds anything else."""
        quote = Quote.objects.select_related("estimate").filter(key=demo_key("kitchen quote")).first()
        if quote is not None:
            self.stdout.write("The invented shop is there already; nothing is loaded twice.")
            return Kitchen(estimate=quote.estimate, quote=quote, rows=quote.estimate.rows.count())
        if Material.objects.exists() or User.objects.exists():
            raise CommandError(
                "This database holds something other than the demo shop, so the demo leaves it alone. "
                "Run it without DATABASE_URL and FINISH_LEDGER_DATA_DIR: it then uses a file of its own."
            )
        self.stdout.write("Filling an invented shop …")
        with transaction.atomic():  # an interrupted start leaves nothing behind
            people = load_shop()
            materials = load_materials()
            systems = load_systems(materials)
            load_stock(people=people, materials=materials, today=today)
            load_orders(people=people, today=today)
            first, second = load_customers()
            vanity_job(people=people, systems=systems, customer=second, today=today)
            load_counts(people)
            return kitchen_quote(people=people, systems=systems, customer=first, today=today, cut_list=CUT_LIST)

    def _tell(self, kitchen: Kitchen, reorder: ReorderList, files: list[WrittenFile]) -> None:
        """The key figures and where the files are."""
        show.use(None)
        shop = Shop.current()
        self.stdout.write(
            f"\n{shop.name}\n{kitchen.estimate.number} {kitchen.estimate.name}: {kitchen.rows} rows of the cut list"
        )
        for option in kitchen.quote.options.all():
            self.stdout.write(
                f"  {option.label:<7} {option.system_name:<48} {show.area(option.area)}"
                f"  true cost {show.money(option.cost)}  price {show.money(option.net)}  with tax {show.money(option.total)}"
            )
        self.stdout.write(f"\nTo order today: {reorder.line_count} materials for {show.money(reorder.total)}")
        for order in reorder.orders:
            self.stdout.write(f"  {order.supplier.name}: {len(order.lines)} materials, {show.money(order.total)}")
        self.stdout.write("\nFiles")
        for file in files:
            self.stdout.write(f"  {file.what:<13} {file.path}")
