"""Usage and VOC by month and over rolling twelve months, waste by kind, what was stored, and a job's certificate."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook
from pypdf import PdfReader

from costing.choices import RestCause
from costing.core.records import Month, Used, by_month, months_to, total
from costing.models import Job
from costing.records import record
from costing.services.batches import throw_away
from costing.services.coat_checks import BoothNotes
from finishing.models import Shop, User
from inventory.choices import WriteOffCause
from inventory.models import Lot
from inventory.services.ledger import IssueLine, issue, return_stock, write_off
from inventory.services.ledger import reverse as reverse_posting
from tests.costing.jobs.finish_shop import FinishShop, mix, spray, step, today

pytestmark = pytest.mark.django_db
D = Decimal
NOW = Month.of(timezone.localdate())


@pytest.fixture
def voc_shop(stocked: FinishShop) -> FinishShop:
    """Base of 420 g/L, flammable; hardener without a VOC content."""
    stocked.base.voc, stocked.base.flammable_category = D(420), 3
    stocked.base.save()
    return stocked


def taken(shop: FinishShop, litres: str, *, on: date | None = None) -> Any:
    line = IssueLine(material=shop.base, quantity=D(litres), lot=shop.lots["B2"])
    return issue(key=uuid4(), by=shop.by, on=on or today(), lines=[line], reference="job")


# ---------------------------------------------------------------- the core


def test_twelve_months_roll() -> None:
    last = Month(2030, 3)
    used = [Used(material="base", month=last.plus(-back), litres=D(1), voc_g_per_l=D(100)) for back in range(23)]
    lines = by_month(used, months_to(last, 12))
    assert [line.month for line in lines] == list(months_to(last, 12))
    assert lines[0].month == Month(2029, 4)
    assert {(line.own.litres, line.rolling.litres, line.rolling.voc_kg) for line in lines} == {(D(1), D(12), D("1.2"))}
    assert total([], recovered=D(0)).litres == 0


def test_a_recovered_share_is_taken_off_and_unknown_contents_are_named() -> None:
    used = [
        Used(material="base", month=NOW, litres=D(10), voc_g_per_l=D(500)),
        Used(material="secret", month=NOW, litres=D(5), voc_g_per_l=None),
    ]
    found = total(used, recovered=D("0.2"))
    assert (found.litres, found.voc_kg, found.unknown) == (D(15), D(4), frozenset({"secret"}))


def test_a_month_is_one_of_twelve() -> None:
    with pytest.raises(ValueError, match="a number from 1 to 12, not 13"):
        Month(2030, 13)
    assert (Month(2030, 12).after, Month(2030, 1).plus(-13)) == (date(2031, 1, 1), Month(2028, 12))


# ---------------------------------------------------------------- from the ledger


def test_what_came_back_or_was_reversed_is_not_used(voc_shop: FinishShop) -> None:
    taken(voc_shop, "3")
    mistake = taken(voc_shop, "2")
    reverse_posting(key=uuid4(), by=voc_shop.by, on=today(), posting=mistake, reason="typing")
    return_stock(key=uuid4(), by=voc_shop.by, on=today(), lot=voc_shop.lots["B2"], quantity=D(1), reference="job")
    found = record(NOW, today=today())
    assert (found.line.own.litres, found.line.own.voc_kg) == (D(2), D("0.84"))
    assert found.materials["Base"].voc_kg == D("0.84")


def test_a_kilogram_material_counts_by_its_density_and_without_voc_is_named(voc_shop: FinishShop) -> None:
    line = IssueLine(material=voc_shop.hardener, quantity=D("1.05"))
    issue(key=uuid4(), by=voc_shop.by, on=today(), lines=[line], reference="job")
    found = record(NOW, today=today())
    assert found.line.own.litres == 1
    assert found.line.rolling.unknown == {"Hardener"}


def test_last_month_counts_in_twelve_months_only(voc_shop: FinishShop) -> None:
    before = NOW.first - timedelta(days=1)
    taken(voc_shop, "1", on=max(before, today(-40)))
    taken(voc_shop, "2")
    found = record(NOW, today=today())
    assert (found.line.own.litres, found.line.rolling.litres) == (D(2), D(3))
    assert found.months[-2].own.litres == 1


def test_waste_is_told_by_kind(voc_shop: FinishShop, finisher: User) -> None:
    first = step(voc_shop.job(), "First coat")
    batch = mix(first, by=finisher, litres=D(1))
    throw_away(key=uuid4(), by=finisher, batch=batch, litres=D("0.4"), cause=RestCause.POT_LIFE, at=timezone.now(), today=today())
    lot = voc_shop.lots["B0"]
    write_off(key=uuid4(), by=voc_shop.by, on=today(), lot=lot, quantity=D(1), cause=WriteOffCause.EXPIRED, reason="")
    waste = {(line.kind, line.material): (line.amount, line.unit) for line in record(NOW, today=today()).waste}
    assert waste == {
        ("Mixed and thrown away: its pot life was over", ""): (D("0.4"), "L"),
        ("Written off: out of date", "Base"): (D(1), "L"),
    }


def test_stored_amounts_follow_the_days(voc_shop: FinishShop) -> None:
    taken(voc_shop, "4")
    stored = record(NOW, today=today()).stored
    base = sum(lot.on_hand for lot in Lot.objects.filter(material=voc_shop.base))
    hardener = Lot.objects.get(number="H1").on_hand / D("1.05")
    assert stored[-1].day == today()
    assert stored[-1].flammable == base
    assert stored[-1].total == base + hardener
    assert len(stored) == today().day
    if today().day > 1:
        assert stored[-2].flammable == base + 4


def test_the_number_of_queries_does_not_grow(voc_shop: FinishShop) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            record(NOW, today=today())
        return len(queries)

    taken(voc_shop, "0.1")
    few = asked()
    for _ in range(4):
        taken(voc_shop, "0.1")
    assert asked() == few


# ---------------------------------------------------------------- pages and files


def text(answer: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def paper(answer: Any) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(answer.content)).pages)


def test_page_pdf_and_workbook_say_the_same(
    as_: Callable[[User], Client], owner: User, finisher: User, voc_shop: FinishShop
) -> None:
    taken(voc_shop, "2.5")
    browser = as_(owner)
    said, printed = text(browser.get(reverse("records"))), paper(browser.get(reverse("records_pdf")))
    for words in ("2.5 L", "1.05 kg", "The shop’s own data", "the permit and the inspector decide"):
        assert words in said, words
        assert words in printed, words
    book = load_workbook(io.BytesIO(browser.get(reverse("records_xlsx")).content))
    months = [row for row in book["Months"].iter_rows(values_only=True) if row[0] == f"{NOW.year}-{NOW.number:02d}"]
    assert months[0][1:3] == (2.5, 1.05)
    assert str(months[0][3]).startswith("=SUM(B")
    assert as_(finisher).get(reverse("records")).status_code == 403


@pytest.mark.parametrize("month", ["2999-01", "soon", "2026-13", "1999-12"])
def test_a_month_that_makes_no_sense_is_told(as_: Callable[[User], Client], owner: User, shop: FinishShop, month: str) -> None:
    del shop
    assert "Write the month as year and number" in text(as_(owner).get(reverse("records"), {"month": month}, follow=True))


def test_the_certificate_names_lots_air_and_readings(as_: Callable[[User], Client], finisher: User, voc_shop: FinishShop) -> None:
    job: Job = voc_shop.job()
    first = step(job, "First coat")
    notes = BoothNotes(readings=(D(100), D(110)), temperature=D(21), humidity=D(48))
    batch = mix(first, by=finisher, litres=D(1), lots={"base": voc_shop.lots["B2"]})
    spray(first, (batch, D(1)), by=finisher, booth=notes)
    printed = paper(as_(finisher).get(reverse("certificate_pdf", args=[job.pk])))
    for words in ("Finishing record of a job", "Base, lot B2", "Hardener, lot H1", "21 °C, 48 %", "105 µm", "100 µm, 110 µm"):
        assert words in printed, words
    assert "L1" not in printed
    book = load_workbook(io.BytesIO(as_(finisher).get(reverse("certificate_xlsx", args=[job.pk])).content))
    row = next(row for row in book["Coats"].iter_rows(values_only=True) if row[0] == "First coat")
    assert row[3:8] == ("Base, lot B2; Hardener, lot H1", 21, 48, 105, "100.0, 110.0")
    Shop.objects.update(unit_system="us")
    assert "69.8 °F" in paper(as_(finisher).get(reverse("certificate_pdf", args=[job.pk])))
