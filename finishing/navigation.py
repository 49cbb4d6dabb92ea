"""The list of desks: what stands in the navigation, and for whom.

Plain data: a desk has its opening page and entries; an entry has a label, the name of its URL and the permission that shows it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from django.urls import NoReverseMatch, reverse


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A link in the navigation."""

    label: str
    url_name: str
    permission: str  # empty: everyone who is signed in


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """A group of links under its opening page."""

    slug: str
    home: Entry
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownEntry:
    """A link as the page shows it."""

    label: str
    url: str
    current: str  # "page" on its own page, "true" on a page below it, empty elsewhere: the words of aria-current


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownDesk:
    """A group as the page shows it; ``url`` is empty for somebody who has links here but not the desk itself."""

    slug: str
    label: str
    url: str
    current: str
    entries: tuple[ShownEntry, ...]


DESKS: tuple[Desk, ...] = (
    Desk(
        slug="buying",
        home=Entry(label="Buying desk", url_name="desk_buying", permission="inventory.buy"),
        entries=(
            Entry(label="Reorder list", url_name="reorder_list", permission="inventory.buy"),
            Entry(label="Purchase orders", url_name="purchase_orders", permission="inventory.buy"),
            Entry(label="Receive a delivery", url_name="receive", permission="inventory.receive"),
            Entry(label="Materials", url_name="materials", permission="inventory.view"),
            Entry(label="Suppliers", url_name="suppliers", permission="inventory.view"),
            Entry(label="Bring in lists", url_name="bring_in", permission="inventory.bring_in"),
        ),
    ),
    Desk(
        slug="stock",
        home=Entry(label="Stock room", url_name="stock_room", permission="inventory.view"),
        entries=(
            Entry(label="Lots", url_name="lots", permission="inventory.view"),
            Entry(label="Expiry board", url_name="expiry_board", permission="inventory.view"),
            Entry(label="Places", url_name="locations", permission="inventory.view"),
            Entry(label="Issue stock", url_name="stock_issue", permission="inventory.issue"),
            Entry(label="Labels", url_name="labels", permission="inventory.issue"),
            Entry(label="Counts", url_name="stock_counts", permission="inventory.count"),
            Entry(label="Stock moves", url_name="stock_moves", permission="inventory.view"),
            Entry(label="Recall", url_name="recall", permission="costing.recall"),
            Entry(label="Stock value", url_name="stock_value", permission="costing.see_costs"),
        ),
    ),
    Desk(
        slug="pricing",
        home=Entry(label="Pricing desk", url_name="desk_pricing", permission="costing.estimate"),
        entries=(
            Entry(label="Spray setups", url_name="setups", permission="costing.view"),
            Entry(label="Labour classes", url_name="labour_classes", permission="costing.see_costs"),
            Entry(label="Coating systems", url_name="systems", permission="costing.view"),
            Entry(label="Estimates", url_name="estimates", permission="costing.see_costs"),
            Entry(label="Compare systems", url_name="comparison", permission="costing.see_costs"),
            Entry(label="Quotes", url_name="quotes", permission="costing.quote"),
            Entry(label="Follow up", url_name="follow_ups", permission="costing.quote"),
            Entry(label="Customers", url_name="customers", permission="costing.quote"),
        ),
    ),
    Desk(
        slug="spray-room",
        home=Entry(label="Spray room", url_name="spray_room", permission="costing.log_work"),
        entries=(
            Entry(label="Job board", url_name="board", permission="costing.view"),
            Entry(label="Jobs", url_name="jobs", permission="costing.view"),
            Entry(label="Defects", url_name="defects", permission="costing.see_costs"),
            Entry(label="Usage and VOC", url_name="records", permission="costing.see_costs"),
        ),
    ),
    Desk(
        slug="owner",
        home=Entry(label="Owner’s desk", url_name="desk_owner", permission="finishing.change_shop"),
        entries=(
            Entry(label="Shop settings", url_name="shop_settings", permission="finishing.change_shop"),
            Entry(label="People", url_name="people", permission="finishing.manage_people"),
        ),
    ),
)


def address_of(entry: Entry) -> str | None:
    """The entry's address; None where no page has that name, so that one missing page does not take all others down.

    A test holds every entry to a page that exists.
    """
    try:
        return reverse(entry.url_name)
    except NoReverseMatch:
        return None


def shown_desks(*, may: Callable[[str], bool], path: str) -> tuple[ShownDesk, ...]:
    """The desks with the links that ``may`` allows, the one that fits ``path`` best marked as current."""
    addresses = {
        entry: address
        for desk in DESKS
        for entry in (desk.home, *desk.entries)
        if (not entry.permission or may(entry.permission)) and (address := address_of(entry)) is not None
    }
    here = max((url for url in addresses.values() if _covers(url, path)), key=len, default=None)

    def shown(entry: Entry) -> ShownEntry:
        url = addresses.get(entry, "")
        return ShownEntry(label=entry.label, url=url, current=_current(url, here, path))

    desks = []
    for desk in DESKS:
        entries = tuple(shown(entry) for entry in desk.entries if entry in addresses)
        if entries or desk.home in addresses:
            top = shown(desk.home)
            desks.append(ShownDesk(slug=desk.slug, label=top.label, url=top.url, current=top.current, entries=entries))
    return tuple(desks)


def _covers(url: str, path: str) -> bool:
    """True when ``path`` is the page at ``url`` or lies below it; the front door covers only itself."""
    return path == url or (url != "/" and path.startswith(url))


def _current(url: str, here: str | None, path: str) -> str:
    if url != here:
        return ""
    return "page" if url == path else "true"
