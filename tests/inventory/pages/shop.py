"""Helpers for the tests of the pages: people, lots on the shelf, what a page says."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from html import unescape
from typing import Any
from uuid import uuid4

from django.test import Client
from django.urls import reverse
from django.utils import timezone

from finishing.models import User
from inventory.models import Lot, Material, Movement, Posting, Supplier
from inventory.services import ledger
from inventory.services.ledger import IssueLine, ReceiptLine

D = Decimal


def person(role: str) -> User:
    """The one person of a role."""
    found, _ = User.objects.get_or_create(
        username=f"{role}-person", defaults={f"is_{role}": True, "first_name": role.title(), "last_name": "Person"}
    )
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """Puts lots on the shelf and takes from them, as ``by``."""

    by: User
    today: date

    def lot(
        self, material: Material, quantity: str = "10", *, number: str = "A-1", expires_in: int | None = 100, **more: Any
    ) -> Lot:
        """A lot received ``came`` days ago (10 unless said), good for another ``expires_in`` days."""
        came, supplier = more.pop("came", 10), more.pop("supplier", None)
        expires = None if expires_in is None else self.today + timedelta(days=expires_in)
        line = ReceiptLine(
            material=material,
            quantity=D(quantity),
            unit_cost=D(more.pop("cost", "20")),
            lot_number=number,
            expires_on=expires,
            **more,
        )
        posting = ledger.receive(
            key=uuid4(),
            by=self.by,
            on=self.today - timedelta(days=came),
            supplier=supplier,
            reference="DN 1",
            lines=[line],
            accept_expired_reason="for a test",
        )
        return posting.movements.get().lot

    def take(self, material: Material, quantity: str, *, lot: Lot | None = None) -> Posting:
        """Issue some."""
        line = IssueLine(material=material, quantity=D(quantity), lot=lot)
        return ledger.issue(key=uuid4(), by=self.by, on=self.today, lines=[line], reference="Job 1")


def words(response: Any) -> str:
    """What a page says, without its markup and with single blanks."""
    assert response.status_code == 200, response.status_code
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", response.text)).split())


def key() -> str:
    """A fresh key of a form."""
    return str(uuid4())


def rows(*given: dict[str, str], blank: int = 2) -> dict[str, str]:
    """The rows of a delivery as the browser sends them, with a few left empty."""
    every: Sequence[dict[str, str]] = [*given, *({} for _ in range(blank))]
    data = {"rows-TOTAL_FORMS": str(len(every)), "rows-INITIAL_FORMS": "0"}
    for place, row in enumerate(every):
        for name in ("item", "amount", "price", "lot_number", "made_on", "expires_on"):
            data[f"rows-{place}-{name}"] = row.get(name, "")
    return data


def delivery(today: date, *given: dict[str, str], supplier: Supplier | None = None, **head: str) -> dict[str, str]:
    """A whole delivery as the browser sends it."""
    return {
        "key": key(),
        "supplier": str(supplier.pk) if supplier else "",
        "reference": "DN 77" if supplier else "Opening stock",
        "on": today.isoformat(),
        **rows(*given),
        **head,
    }


def row_errors(response: Any, place: int = 0) -> dict[str, list[str]]:
    """What stands against one row of a delivery."""
    assert response.status_code == 200
    return {name: [str(e) for e in errors] for name, errors in response.context["delivery"].rows.forms[place].errors.items()}


def errors(response: Any) -> dict[str, list[str]]:
    """What stands against the page's form."""
    assert response.status_code == 200
    return {name: [str(e) for e in errors] for name, errors in response.context["form"].errors.items()}


def issue(client: Client, material: Material, **data: str) -> Any:
    """Send the issue form."""
    address = reverse("stock_issue", query={"material": material.pk})
    sent = {"key": key(), "quantity": "1", "reference": "Job 7", "lot": "", "on": this_day(), "reason": "", **data}
    return client.post(address, sent)


def this_day() -> str:
    """Today as a date box sends it."""
    return timezone.localdate().isoformat()


def booked() -> tuple[int, int, int]:
    """How many postings, movements and lots there are: the same before and after a refusal."""
    return Posting.objects.count(), Movement.objects.count(), Lot.objects.count()
