"""Server time and number of queries of every page, with a short and with a long ledger.

Which pages there are is read from the address book, so that a new page is measured too. Both ledgers belong to the same shop;
their databases take turns, page by page. A page that asks the database more often when the ledger is longer is marked.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median
from time import perf_counter
from typing import Any

from django.db import connection
from django.test import Client, override_settings
from django.test.utils import CaptureQueriesContext
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from costing.bench.history import DRUM, grow_ledger
from costing.bench.measure import BenchError, Pair, Ratio, Size
from costing.bench.shop import BenchShop
from costing.bench.temporary import Databases
from costing.models import Customer, LabourClass, SpraySetup
from finishing.models import User
from inventory.choices import PostingKind
from inventory.models import Lot, Pack, Posting, Supplier

Args = Mapping[str, object]
FEW, MANY = "few-movements", "many-movements"
_NUMBER = re.compile(r"\d+")
FORM_ONLY = 405  # an address that answers to a form only

# Addresses that are no page of their own for somebody who is signed in.
LEFT_OUT: Mapping[str, str] = {
    "home": "sends a person on to the desk of their role",
    "login": "sends a person who is signed in on to their desk",
    "logout": "answers to a form only",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """An address that a person opens."""

    name: str
    path: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One request: how it was answered, after how many seconds and queries."""

    status: int
    seconds: float
    queries: tuple[str, ...] = ()  # empty when they were not counted


@dataclass(frozen=True, slots=True, kw_only=True)
class Growth:
    """The queries of a page with a short and with a long ledger."""

    page: Page
    few: tuple[str, ...]
    many: tuple[str, ...]

    @property
    def grows(self) -> bool:
        """True when the longer ledger takes more queries."""
        return len(self.many) > len(self.few)

    @property
    def extra(self) -> str:
        """What is asked more often with the longer ledger, to be looked for in the page's code."""
        few, many = (Counter(_NUMBER.sub("…", query) for query in queries) for queries in (self.few, self.many))
        more = "; ".join(f"{times} × {query[:400]}" for query, times in (many - few).most_common(3))
        return f"{self.page.name} ({self.page.path}): {len(self.few)} → {len(self.many)} queries. More often: {more}"


# ------------------------------------------------------------------- which pages


def every_page(shop: BenchShop) -> list[Page]:
    """Every address with a name that the owner can open, for objects of this shop.

    Raises ``BenchError`` for an address with arguments that nothing here knows to fill.
    """
    objects = _objects(shop)
    pages = []
    unknown = []
    for name, arguments in _named_addresses():
        if name in LEFT_OUT:
            continue
        if arguments and name not in objects:
            unknown.append(name)
            continue
        pages.append(Page(name=name, path=reverse(name, kwargs=dict(objects[name]) if arguments else None)))
    if unknown:
        raise BenchError(f"Say in costing/bench/pages.py for which object to open: {', '.join(unknown)}.")
    drum = Lot.objects.filter(number=DRUM).first()
    if drum is not None:
        pages.append(Page(name="lot, moved most", path=reverse("lot", args=[drum.pk])))
        pages.append(Page(name="recall, moved most", path=f"{reverse('recall')}?lot={drum.pk}"))
        pages.append(Page(name="material, moved most", path=reverse("material", args=[drum.material_id])))
    pages += [Page(name=f"{name}, last page", path=f"{reverse(name)}?page=999999") for name in ("stock_moves", "lots")]
    return sorted(pages, key=lambda page: page.name)


def _named_addresses() -> Iterator[tuple[str, tuple[str, ...]]]:
    """Names of the program's own addresses with the names of their arguments."""

    def walk(patterns: Sequence[Any]) -> Iterator[tuple[str, tuple[str, ...]]]:
        for pattern in patterns:
            if isinstance(pattern, URLResolver):
                yield from walk(pattern.url_patterns)
            elif isinstance(pattern, URLPattern) and pattern.name:
                yield pattern.name, tuple(pattern.pattern.converters)

    return walk(get_resolver().url_patterns)


def _objects(shop: BenchShop) -> dict[str, Args]:
    """For each address with arguments: the object to open. The objects are the same with any length of ledger."""
    lot = Lot.objects.get(number="NYW-731")
    step = shop.job.steps.order_by("-position")[0]
    system = shop.estimate.options.order_by("position")[0].system
    priced = {"pk": shop.estimate.pk, "system_pk": system.pk}
    option = {"pk": shop.quote.pk, "position": 1}
    by_object: list[tuple[int, str]] = [
        (lot.material_id, "material material_edit pack_new pack_price issue_proposal reorder_cover reorder_chart reorder_snooze"),
        (lot.location_id or 0, "location location_edit"),
        (Pack.objects.filter(material=lot.material_id)[0].pk, "pack_edit"),
        (Supplier.objects.order_by("pk")[0].pk, "supplier supplier_edit"),
        (lot.pk, "lot lot_open lot_quarantine lot_release lot_place stock_return stock_write_off"),
        (Posting.objects.filter(kind=PostingKind.RECEIPT).order_by("pk")[0].pk, "posting posting_reverse"),
        (lot.pk, "price_take_over"),
        (shop.draft.pk, "purchase_order_edit purchase_order_send"),
        (shop.order.pk, "purchase_order purchase_order_promise purchase_order_close purchase_order_cancel"),
        (shop.order.pk, "purchase_order_receive purchase_order_scan purchase_order_pdf purchase_order_xlsx"),
        (shop.upload.pk, "list_upload list_apply"),
        (shop.count.pk, "stock_count count_enter count_found count_sheet_pdf count_sheet_xlsx count_upload"),
        (shop.count.pk, "count_differences count_cancel"),
        (SpraySetup.objects.order_by("pk")[0].pk, "setup setup_edit setup_learning setup_learnt"),
        (LabourClass.objects.order_by("pk")[0].pk, "labour_class_edit"),
        (system.pk, "system system_edit system_copy operation_new"),
        (system.operations.order_by("position")[0].pk, "operation_edit operation_delete operation_move"),
        (Customer.objects.order_by("pk")[0].pk, "customer customer_edit"),
        (shop.estimate.pk, "estimate estimate_edit estimate_chart estimate_assumptions estimate_beside quote_new"),
        (shop.estimate.pk, "takeoff takeoff_preview takeoff_paste takeoff_upload takeoff_piece"),
        (shop.quote.pk, "quote quote_send quote_decline quote_revise quote_accept quote_pdf quote_xlsx quote_follow_up"),
        (shop.job.pk, "job job_cost certificate_pdf certificate_xlsx job_status job_lots job_lots_pdf job_lots_xlsx"),
        (step.pk, "log_coat ticket ticket_pdf defect_new"),
        (shop.batch.pk, "batch"),
        (step.job.steps.filter(logs__isnull=False)[0].logs.all()[0].pk, "log_take_back"),
        (shop.people["finisher"].pk, "person"),
    ]
    found: dict[str, Args] = {name: {"pk": pk} for pk, names in by_object for name in names.split()}
    found.update(dict.fromkeys(("estimate_option", "cost_sheet_pdf", "cost_sheet_xlsx"), priced))
    found.update(dict.fromkeys(("estimate_schedule", "estimate_risk", "estimate_risk_chances", "estimate_risk_drivers"), priced))
    found.update(dict.fromkeys(("quote_cost_sheet_pdf", "quote_cost_sheet_xlsx"), option))
    found["estimate_workings"] = {**priced, "part": "coats"}
    found["quote_what_if"] = {"pk": shop.quote.pk}
    found["reorder_snooze_end"] = {"pk": 1}  # answers to a form only, whichever it is
    found["bring_in_list"] = {"kind": "materials"}
    found["list_template"] = found["list_out"] = {"kind": "materials", "form": "csv"}
    found["count_line"] = {"pk": shop.count.pk, "line": shop.count.lines.earliest("pk").pk}
    found["count_find_remove"] = {"pk": shop.count.pk, "find": shop.count.finds.earliest("pk").pk}
    found["setup_learning_chart"] = {"pk": SpraySetup.objects.order_by("pk")[0].pk, "kind": "efficiency"}
    found["piece_drawing"] = {"template": "shaker-door"}
    found["gtin_new"] = {"gtin": "00000000000017"}  # no real article's number, with a right check digit
    return found


# ------------------------------------------------------------------- asking


def signed_in(user: User) -> Client:
    """A browser of this person; its requests see errors as exceptions."""
    client = Client()
    client.force_login(user)
    return client


def ask(client: Client, page: Page, *, count: bool = False) -> Answer:
    """Open a page once."""
    if not count:
        start = perf_counter()
        response = client.get(page.path)
        return Answer(status=response.status_code, seconds=perf_counter() - start)
    with CaptureQueriesContext(connection) as captured:
        start = perf_counter()
        response = client.get(page.path)
        seconds = perf_counter() - start
    queries = tuple(query["sql"] for query in captured.captured_queries)
    return Answer(status=response.status_code, seconds=seconds, queries=queries)


def answering(client: Client, pages: Sequence[Page], *, count: bool = False) -> dict[Page, Answer]:
    """The pages among these addresses, each opened once. Raises ``BenchError`` where one answers with an error."""
    answers = {page: ask(client, page, count=count) for page in pages}
    for page, answer in answers.items():
        if answer.status not in (200, 302, FORM_ONLY):
            raise BenchError(f"{page.name} ({page.path}) answers with {answer.status}.")
    return {page: answer for page, answer in answers.items() if answer.status != FORM_ONLY}


def count_queries(client: Client, pages: Sequence[Page]) -> dict[Page, tuple[str, ...]]:
    """The queries of each page. Open the pages once before: whatever a first request fills is not to be counted."""
    return {page: answer.queries for page, answer in answering(client, pages, count=True).items()}


# ------------------------------------------------------------------- measuring


@dataclass(frozen=True, slots=True, kw_only=True)
class PageReport:
    """Times of all pages, and those whose queries grow."""

    ratios: tuple[Ratio, ...]
    growing: tuple[Growth, ...]


def measure_pages(
    databases: Databases, source: str, shop: BenchShop, size: Size, *, today: date, say: Callable[[str], None]
) -> PageReport:
    """Every page of the shop in the database ``source``, with few and with many movements."""
    by = shop.people["owner"]
    databases.copy(source, FEW)
    databases.use(FEW)
    few = grow_ledger(to=size.few_movements, by=by, today=today)
    with override_settings(ALLOWED_HOSTS=["testserver"]):
        client = signed_in(by)
        pages = [page for page in every_page(shop) if not size.pages or page.name in size.pages]
        databases.copy(FEW, MANY)
        databases.use(MANY)
        say(f"pages: growing the ledger from {few:,} to {size.many_movements:,} movements")
        many = grow_ledger(to=size.many_movements, by=by, today=today)
        say(f"pages: counting queries of {len(pages)} addresses")
        pages = list(answering(client, pages))
        short, long = (_counted(databases, name, client, pages) for name in (FEW, MANY))
        say(f"pages: {size.page_rounds} rounds of {len(short)} pages")
        times = _times(databases, client, list(short), rounds=size.page_rounds)
    growths = [Growth(page=page, few=queries, many=long[page]) for page, queries in short.items()]
    return PageReport(
        ratios=tuple(
            times[growth.page].milliseconds(
                f"Page {growth.page.name}, {many:,} movements",
                against=f"{few:,} movements; queries {len(growth.few)} → {len(growth.many)}",
                grows=growth.grows,
            )
            for growth in growths
        ),
        growing=tuple(growth for growth in growths if growth.grows),
    )


def _counted(databases: Databases, name: str, client: Client, pages: Sequence[Page]) -> dict[Page, tuple[str, ...]]:
    databases.use(name)
    return count_queries(client, pages)


def _times(databases: Databases, client: Client, pages: Sequence[Page], *, rounds: int) -> dict[Page, Pair]:
    seconds: dict[str, dict[Page, list[float]]] = {name: {page: [] for page in pages} for name in (MANY, FEW)}
    for number in range(rounds):
        for page in pages:
            for name in (MANY, FEW) if number % 2 else (FEW, MANY):
                databases.use(name)
                seconds[name][page].append(ask(client, page).seconds)
    return {page: Pair(ours=median(seconds[MANY][page]), baseline=median(seconds[FEW][page])) for page in pages}
