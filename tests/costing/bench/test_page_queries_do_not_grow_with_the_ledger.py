"""Every page asks the database equally often with a short and with a long ledger."""

from __future__ import annotations

import types
from collections.abc import Iterator

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client, override_settings
from django.urls import include, path
from django.utils import timezone

from costing.bench import pages
from costing.bench.history import grow_ledger
from costing.bench.measure import BenchError
from costing.bench.pages import LEFT_OUT, Growth, Page, answering, count_queries, every_page, signed_in
from costing.bench.shop import BenchShop, load_bench_shop
from inventory.choices import PostingKind, WriteOffCause
from inventory.models import Lot, Movement, Posting

FEW, SOME, MANY = 400, 800, 2_000
PLANTED = Page(name="planted", path="/planted/")

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> BenchShop:
    """The demo shop with a short ledger."""
    loaded = load_bench_shop(timezone.localdate())
    grow_ledger(to=FEW, by=loaded.people["owner"], today=timezone.localdate(), leave_every=4)
    return loaded


@pytest.fixture
def client(shop: BenchShop) -> Client:
    return signed_in(shop.people["owner"])


@pytest.fixture
def planted_page() -> Iterator[None]:
    """An address book with a page that asks once for each lot, as no page should."""

    def planted(request: HttpRequest) -> HttpResponse:
        return HttpResponse(sum(lot.movements.count() for lot in Lot.objects.all()))

    book = types.ModuleType("planted_addresses")
    book.urlpatterns = [path("planted/", planted, name="planted"), path("", include("finishing.urls"))]  # type: ignore[attr-defined]
    with override_settings(ROOT_URLCONF=book):
        yield


def grown(shop: BenchShop, client: Client, opened: list[Page], *, to: int) -> list[Growth]:
    opened = list(answering(client, opened))
    few = count_queries(client, opened)
    held = grow_ledger(to=to, by=shop.people["owner"], today=timezone.localdate(), leave_every=4)
    assert held >= to
    many = count_queries(client, opened)
    return [Growth(page=page, few=queries, many=many[page]) for page, queries in few.items()]


@pytest.mark.slow
def test_no_page_asks_more_often_when_the_ledger_is_longer(shop: BenchShop, client: Client) -> None:
    growths = grown(shop, client, every_page(shop), to=MANY)
    assert len(growths) > 60
    assert all(growth.few for growth in growths)
    growing = [growth.extra for growth in growths if growth.grows]
    assert not growing, "\n".join(growing)


def test_a_page_that_asks_once_for_each_lot_is_found(shop: BenchShop, client: Client, planted_page: None) -> None:
    assert PLANTED in every_page(shop)
    (growth,) = grown(shop, client, [PLANTED], to=SOME)
    assert growth.grows
    assert len(growth.few) > 20
    assert "inventory_movement" in growth.extra


def test_no_page_is_passed_over(shop: BenchShop, client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(BenchError, match="answers with 404"):
        answering(client, [Page(name="lot", path="/lots/999999/")])
    known = pages._objects(shop)
    known.pop("lot")
    monkeypatch.setattr(pages, "_objects", lambda _shop: known)
    with pytest.raises(BenchError, match="for which object to open: lot"):
        every_page(shop)


def test_what_is_left_out_exists() -> None:
    assert set(LEFT_OUT) <= {name for name, _ in pages._named_addresses()}


def test_the_long_ledger_holds_every_kind_of_posting(shop: BenchShop) -> None:
    assert set(Posting.objects.values_list("kind", flat=True)) == {
        PostingKind.RECEIPT,
        PostingKind.ISSUE,
        PostingKind.RETURN,
        PostingKind.WRITE_OFF,
        PostingKind.TRANSFER,
        PostingKind.REVERSAL,
    }
    assert Posting.objects.filter(cause=WriteOffCause.EXPIRED).exists()
    before, lots = Movement.objects.count(), Lot.objects.in_stock().count()
    held = grow_ledger(to=before + 300, by=shop.people["owner"], today=timezone.localdate(), leave_every=4)
    assert before + 300 <= held == Movement.objects.count() < before + 400
    assert Lot.objects.in_stock().count() > lots  # some of them keep a little
