"""The shop that is measured: the demo's materials, systems, stock and work, loaded into an empty database."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import date

from costing.bench.measure import BenchError
from costing.demo.catalogue import load_materials, load_shop, load_systems
from costing.demo.stock import load_stock
from costing.demo.work import CUT_LIST, kitchen_quote, load_customers, vanity_job
from costing.models import Batch, Estimate, Job, Quote
from finishing.models import User
from finishing.steps import finish
from inventory.bringing_in.files import list_file
from inventory.bringing_in.lists import LISTS
from inventory.bringing_in.plan import Given
from inventory.choices import ListKind
from inventory.models import ListUpload, Lot, Material, Pack, PurchaseOrder, StockCount
from inventory.services.bringing_in import Upload, take_in
from inventory.services.counting import Entry, enter_lines, note_find, open_count
from inventory.services.orders import WantedLine, create_order, send_order


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchShop:
    """What the parts need of the shop."""

    people: dict[str, User]  # by role
    estimate: Estimate  # a kitchen, priced under three systems
    quote: Quote  # of that estimate, sent
    job: Job  # another one, with its first steps logged
    batch: Batch  # mixed for that job
    draft: PurchaseOrder
    order: PurchaseOrder  # sent, nothing has come yet
    upload: ListUpload  # the shop's own materials, read and not applied
    count: StockCount  # open


def load_bench_shop(today: date) -> BenchShop:
    """Fill the database in use. Raises ``BenchError`` where it holds anything already: a shop's data are not measured on."""
    if User.objects.exists() or Material.objects.exists() or Lot.objects.exists():
        raise BenchError("This database holds a shop's data. The bench fills empty databases of its own only.")
    people = load_shop()
    materials = load_materials()
    systems = load_systems(materials)
    load_stock(people=people, materials=materials, today=today)
    first, second = load_customers()[:2]
    job = vanity_job(people=people, systems=systems, customer=second, today=today)
    kitchen = kitchen_quote(people=people, systems=systems, customer=first, today=today, cut_list=CUT_LIST)
    draft, order = (_order(people["office"], number) for number in (1, 2))
    send_order(order=order, by=people["office"], on=today)
    batch = Batch.objects.get(step__job=job)
    return BenchShop(
        people=people,
        estimate=kitchen.estimate,
        quote=kitchen.quote,
        job=job,
        batch=batch,
        draft=draft,
        order=order,
        upload=_upload(people["office"], today),
        count=_count(people["office"]),
    )


def _upload(by: User, today: date) -> ListUpload:
    content = list_file(LISTS[ListKind.MATERIALS], "csv")
    given = Given(by=by, on=today, file_name="materials.csv", key=uuid.UUID(int=1))
    return finish(take_in(Upload(kind=ListKind.MATERIALS, content=content, most_bytes=len(content), given=given)))


def _count(by: User) -> StockCount:
    """An open count with a counted line and a find, so that its pages have something to show."""
    count = open_count(key=uuid.UUID(int=3), by=by)
    first = count.lines.order_by("pk")[0]
    enter_lines(count=count, by=by, entries=[Entry(line=first.pk, counted=first.book + 1)])
    note_find(count=count, by=by, number="F-1", material=None, amount="1 can")
    return count


def _order(by: User, number: int) -> PurchaseOrder:
    pack = Pack.objects.select_related("supplier", "material").order_by("pk")[0]
    wanted = [WantedLine(pack=pack, packs=number)]
    return create_order(key=uuid.UUID(int=number), by=by, supplier=pack.supplier, lines=wanted)
