"""What was offered stays as it was offered, whatever happens to prices, systems, shop and takeoff afterwards."""

from __future__ import annotations

from decimal import Decimal

from costing.models import CoatComponent, Operation, QuoteOption, TakeoffRow
from costing.services.estimating import price
from costing.snapshots import read_snapshot
from finishing.models import Shop
from inventory.models import Material, Pack
from tests.costing.pricing.door_shop import DoorShop, set_shop

D = Decimal


def change_everything(doors: DoorShop) -> None:
    """All that a price rests on, made dearer, and renamed."""
    Pack.objects.update(price=D(500))
    Operation.objects.update(dry_film=D(90))
    CoatComponent.objects.update(parts=D(3))
    TakeoffRow.objects.update(pieces=99)
    Material.objects.update(name="Renamed")
    doors.system.name, doors.system.customer_text = "Renamed system", "Other words"
    doors.system.save()
    doors.customer.name = "Renamed customer"
    doors.customer.save()
    set_shop(margin=D("0.8"), tax_rate=D(0), currency="USD", tax_name="None", booth_rate=D(500))


def test_the_option_holds_the_price_of_the_day(doors: DoorShop) -> None:
    option = doors.quote().options.get()
    assert (option.cost, option.net, option.tax, option.total) == (D("186.93"), D(315), D("59.85"), D("374.85"))
    assert (option.system_name, option.customer_text, option.area) == (
        "Clear finish",
        "Clear finish, satin.",
        D("15.320436"),
    )


def test_nothing_reaches_a_frozen_quote(doors: DoorShop) -> None:
    quote = doors.quote(sent=True)
    before = QuoteOption.objects.values().get()
    snapshot = read_snapshot(quote.options.get())
    change_everything(doors)
    assert price(doors.estimate, doors.system).price.net > 10 * D(315)
    quote.refresh_from_db()
    assert QuoteOption.objects.values().get() == before
    assert read_snapshot(quote.options.get()) == snapshot
    assert (quote.currency, quote.tax_name, quote.tax_rate) == ("EUR", "VAT", D("0.19"))
    assert quote.customer_block == "Zoë Dvořák\n5 Rue de l’Été\nVille"


def test_a_new_quote_takes_the_new_prices(doors: DoorShop) -> None:
    doors.quote()
    set_shop(minimum_charge=D(1000))
    assert doors.quote().options.get().net == D(1000)


def test_the_customer_s_name_and_contact_are_printed_as_they_were(doors: DoorShop) -> None:
    doors.customer.contact = "Studio Ł"
    doors.customer.save()
    assert doors.quote().customer_block.splitlines()[:2] == ["Zoë Dvořák", "Studio Ł"]


def test_three_systems_are_kept_in_the_order_they_were_offered(doors: DoorShop) -> None:
    second, third = doors.add_system("Second"), doors.add_system("Third")
    for position, system in enumerate((second, third), start=2):
        doors.estimate.options.create(position=position, system=system)
    quote = doors.quote(third, doors.system, second)
    assert list(quote.options.values_list("position", "label")) == [(1, "Third"), (2, "Clear finish"), (3, "Second")]
    assert Shop.current().currency == quote.currency
