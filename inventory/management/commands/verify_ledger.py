"""``python manage.py verify_ledger``: does the shelf in the books agree with what moved?"""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from finishing.show import money
from inventory.services.verify import check_ledger


class Command(BaseCommand):
    """Prints what was checked and every disagreement; ends with 1 when there is one."""

    help = "Recompute all balances and values from the movements and list every disagreement."

    def handle(self, *_args: Any, **_options: Any) -> None:
        """Check and print."""
        report = check_ledger()
        self.stdout.write(
            f"Checked {report.lots} lots, {report.postings} postings, {report.movements} movements, {report.bookings} bookings; "
            f"stock is worth {money(report.value)}."
        )
        for line in report.disagreements:
            self.stdout.write(line)
        if report.disagreements:
            count = len(report.disagreements)
            raise CommandError(f"{count} disagreement{'s' if count > 1 else ''}.", returncode=1)
        self.stdout.write("No disagreement.")
