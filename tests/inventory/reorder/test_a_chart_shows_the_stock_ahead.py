"""The chart of a line: usable stock over the next days with bookings, arrivals and expiries, on the page and on paper."""

from __future__ import annotations

import io
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader
from reportlab.graphics.shapes import Polygon, PolyLine, String

from finishing.models import Shop, User
from inventory.core.projection import Projection
from inventory.models import Material, Pack
from inventory.reorder import ReorderLine, reorder_list
from inventory.services.bookings import book
from inventory.stock_chart import HEIGHT, stock_drawing
from tests.inventory.reorder.shelf import deliver

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def line(clear: Material, office: User, today: date) -> ReorderLine:
    """3 L that end in 10 days, and a job that needs 6 L in 20."""
    deliver(clear, "3", by=office, expires=today + timedelta(days=3))
    book(material=clear, quantity=D(6), needed_on=today + timedelta(days=20), holder="J-1")
    return reorder_list(today=today).orders[0].lines[0]


def words_of(line: ReorderLine, **more: float) -> set[str]:
    return {shape.text for shape in stock_drawing(line.material, line.advice, **more).contents if isinstance(shape, String)}


def test_bookings_and_expiries_stand_on_it(line: ReorderLine) -> None:
    assert {"Usable stock", "Booked by jobs", "Out of date, unused", "L"} <= words_of(line)
    assert "Arrives" not in words_of(line)
    assert "Reorder point" in words_of(line, point=4.0)


def test_the_line_follows_the_projection(line: ReorderLine) -> None:
    drawing = stock_drawing(line.material, line.advice)
    [path] = [shape for shape in drawing.contents if isinstance(shape, PolyLine)]
    heights = path.points[1::2]
    seen: Projection = line.advice.projection
    assert len(heights) == len(seen.path) == 90
    usable = [day.usable for day in seen.path]
    first, last = heights[0], heights[-1]
    scale = (first - last) / (usable[0] - usable[-1])
    assert heights == pytest.approx([first + (value - usable[0]) * scale for value in usable])
    assert 0 < min(heights) < max(heights) < HEIGHT


def test_a_purchase_arrives_on_its_day(line: ReorderLine) -> None:
    drawing = stock_drawing(line.material, line.advice, bought=line.advice.if_bought(D(10)))
    words = {shape.text for shape in drawing.contents if isinstance(shape, String)}
    assert {"Usable stock, nothing bought", "With this purchase", "Arrives"} <= words
    plain, bought = (shape.points for shape in drawing.contents if isinstance(shape, PolyLine))
    assert plain[13] == bought[13]  # on the sixth day
    assert bought[15] > plain[15]  # on the seventh, when it comes


def test_every_kind_has_a_sign_of_its_own(line: ReorderLine) -> None:
    drawing = stock_drawing(line.material, line.advice, bought=line.advice.if_bought(D(10)))
    signs = [shape for shape in drawing.contents if isinstance(shape, Polygon)]
    outlines = {tuple(round(value - shape.points[place % 2], 3) for place, value in enumerate(shape.points)) for shape in signs}
    assert len(outlines) == 3


def test_the_page_shows_it_in_the_lines_details(client: Client, office: User, line: ReorderLine) -> None:
    client.force_login(office)
    page = client.get(reverse("reorder_list")).text
    address = reverse("reorder_chart", args=[line.material.pk])
    assert f'src="{address}?point=' in page
    pack = Pack.objects.get()
    answer = client.get(address, {"point": "4.2", f"packs-{pack.pk}": "2"})
    assert answer["Content-Type"].startswith("image/svg+xml")
    assert "style=" not in answer.text
    for words in ("With this purchase", "Reorder point", "Runs short on", "Usable stock of Clear over the next 90 days"):
        assert words in answer.text, words


@pytest.mark.parametrize("nonsense", ["", "nan", "inf", "-1", "x", "1e99"])
def test_a_reorder_point_that_is_no_number_is_left_out(client: Client, office: User, line: ReorderLine, nonsense: str) -> None:
    client.force_login(office)
    answer = client.get(reverse("reorder_chart", args=[line.material.pk]), {"point": nonsense})
    assert answer.status_code == 200
    assert "Reorder point" not in answer.text


def test_the_chart_speaks_the_shops_units(line: ReorderLine, client: Client, office: User) -> None:
    shop = Shop.current()
    shop.unit_system = "us"
    shop.save()
    client.force_login(office)
    assert ">gal<" in client.get(reverse("reorder_chart", args=[line.material.pk])).text


def test_the_pdf_prints_every_reason_and_the_chart(client: Client, office: User, line: ReorderLine) -> None:
    client.force_login(office)
    pages = PdfReader(io.BytesIO(client.get(reverse("reorder_pdf")).content)).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    for reason in line.reasons:
        assert " ".join(reason.figure.split()) in text, reason
    assert "With this purchase" in text
