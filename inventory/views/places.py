"""Places: the list, one place with what stands in it, and moving lots there."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from finishing.models import Shop
from finishing.show import preferences, quantity, volume
from inventory.choices import FlammableCategory, LocationKind, PostingKind
from inventory.core.flammables import BOOTH_SOURCE, CABINET_READING, CABINET_SOURCE, OPEN_SOURCE, Flammables, Load
from inventory.errors import StockError
from inventory.filters import LocationFilter
from inventory.forms.moves import today
from inventory.forms.places import LocationForm, MoveForm, cabinet_limits
from inventory.history import changes_of
from inventory.models import Location, Lot, LotEvent, Material, Posting
from inventory.place_loads import PlaceLoad, over_with, place_loads
from inventory.services.transfers import move
from inventory.tables import LotTable
from inventory.tables_places import LocationTable
from inventory.views.common import crumbs, may, paged, person, sees_costs, sent_key
from inventory.views.lots import held, lot_crumbs

SET_ASIDE = "inventory.quarantine"
SOURCES = {LocationKind.FLAMMABLES: CABINET_SOURCE, LocationKind.BOOTH: BOOTH_SOURCE}  # of the amounts, by kind of place
RECENT = 8
WIDE = Decimal(1000)  # the width of a bar in its own units


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A piece of a bar: so much of one category."""

    words: str
    figure: str
    fill: int
    x: str
    width: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadBar:
    """What a place holds against one limit: a sentence, and a bar that shows the same."""

    title: str
    words: str
    over: str  # how much above the limit, in words; empty within it
    segments: tuple[Segment, ...]
    mark: str  # where the limit stands in the bar; empty without one


def bars(found: Flammables) -> list[LoadBar]:
    """One bar for each limit that was entered; one for all categories when there is none."""
    pairs = [("Categories 1 to 3", found.strict), ("All categories, 1 to 4", found.all)]
    shown = [(title, load) for title, load in pairs if load.limit is not None] or pairs[1:]
    return [_bar(title, load, found) for title, load in shown]


def _bar(title: str, load: Load, found: Flammables) -> LoadBar:
    limit = load.limit
    reach = max(load.litres, limit or Decimal(0))
    segments, start = [], Decimal(0)
    for category in load.categories:
        litres = found.by_category[category]
        width = WIDE * litres / reach if reach else Decimal(0)
        label, figure = FlammableCategory(category).label, volume(litres)
        segments.append(Segment(words=label, figure=figure, fill=category, x=f"{start:.2f}", width=f"{width:.2f}"))
        start += width
    entered = "no limit is entered" if limit is None else f"of {volume(limit)} entered as limit"
    return LoadBar(
        title=title,
        words=f"{volume(load.litres)}{';' if limit is None else ''} {entered}",
        over=f"{volume(load.over)} over the limit entered" if load.over else "",
        segments=tuple(segments),
        mark=f"{WIDE * limit / reach:.2f}" if limit is not None and load.over else "",
    )


@require_safe
@may("inventory.view")
def locations(request: HttpRequest) -> HttpResponse:
    """All places with what stands in them."""
    chosen = LocationFilter(request.GET, queryset=Location.objects.all())
    rows = place_loads(chosen.qs)
    context = {
        "table": paged(request, LocationTable(rows, costs=sees_costs(request))),
        "filter": chosen,
        "over": [row for row in rows if row.flammables.is_over],
        "homeless": Lot.objects.in_stock().filter(location=None).count(),
        "is_empty": not rows and not Location.objects.exists(),
    }
    return render(request, "inventory/places/list.html", context)


@require_safe
@may("inventory.view")
def location(request: HttpRequest, pk: int) -> HttpResponse:
    """One place: its flammable liquids against the limits, what stands in it, what came and went, what was changed."""
    shown = get_object_or_404(Location, pk=pk)
    (load,) = place_loads([shown])
    costs = sees_costs(request)
    moves = LotEvent.objects.filter(to_location=shown) | LotEvent.objects.filter(from_location=shown)
    table = LotTable(
        list(load.lots), on=today(), window=Shop.current().expiring_days, costs=costs, exclude=("place",), orderable=False
    )
    context = {
        "location": shown,
        "load": load,
        "bars": bars(load.flammables),
        "source": SOURCES.get(LocationKind(shown.kind), OPEN_SOURCE),
        "lots": paged(request, table),
        "materials": Material.objects.filter(usual_location=shown, is_active=True),
        "moves": moves.select_related("lot__material", "from_location", "to_location", "by").order_by("-pk")[:RECENT],
        "costs": costs,
        "changes": changes_of(shown, subject="This place"),
        "crumbs": crumbs(("Places", "locations")),
    }
    return render(request, "inventory/places/location.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.change_materials")
def location_new(request: HttpRequest) -> HttpResponse:
    """Enter a place; one asked for as a flammables cabinet comes with the limits of the rule, to be looked at."""
    asked = request.GET.get("kind", "")
    kind = asked if asked in LocationKind.values else LocationKind.SHELF.value
    limits = cabinet_limits(preferences().units) if kind == LocationKind.FLAMMABLES else {}
    return _location_form(request, Location(kind=kind, **limits))


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.change_materials")
def location_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a place; a cabinet without limits can be shown with those of the rule, to be looked at and saved."""
    subject = get_object_or_404(Location, pk=pk)
    if request.GET.get("limits") == "rule" and not subject.has_limits:
        for name, litres in cabinet_limits(preferences().units).items():
            setattr(subject, name, litres)
    return _location_form(request, subject)


def _location_form(request: HttpRequest, subject: Location) -> HttpResponse:
    is_new, trail, name = subject.pk is None, crumbs(("Places", "locations")), subject.name
    if not is_new:
        trail.append((name, subject.get_absolute_url()))
    form = LocationForm(request.POST or None, instance=subject)
    if request.method == "POST" and form.is_valid():
        saved = form.save()
        messages.success(request, f"{saved.name} is saved.")
        return redirect(saved)
    context = {
        "form": form,
        "title": "New place" if is_new else f"Change {name}",
        "cancel": reverse("locations") if is_new else reverse("location", args=[subject.pk]),
        "limits": [volume(litres) for litres in cabinet_limits(preferences().units).values()],
        "offer": _offer(request, subject, is_new=is_new),
        "source": CABINET_SOURCE,
        "reading": CABINET_READING,
        "crumbs": trail,
    }
    return render(request, "inventory/places/form.html", context)


def _offer(request: HttpRequest, subject: Location, *, is_new: bool) -> str:
    """Where the limits of the rule come filled in; empty where they are, or where it is about another kind of place."""
    if is_new:
        return "" if request.GET.get("kind") == LocationKind.FLAMMABLES else f"{reverse('location_new')}?kind=flammables"
    fits = subject.kind == LocationKind.FLAMMABLES and not subject.has_limits
    return f"{reverse('location_edit', args=[subject.pk])}?limits=rule" if fits else ""


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.issue")
def lot_place(request: HttpRequest, pk: int) -> HttpResponse:
    """Move a lot, or a part of it, to another place."""
    of = get_object_or_404(Lot.objects.with_state(), pk=pk)
    may_set_aside = person(request).has_perm(SET_ASIDE)
    if of.location is not None and of.location.is_quarantine and not may_set_aside:
        raise PermissionDenied
    form = MoveForm(
        request.POST if request.method == "POST" else None,
        lot=of,
        may_set_aside=may_set_aside,
        initial={"quantity": of.on_hand, "to_location": request.GET.get("to")},
    )
    if request.method == "POST":
        # Before the form is read: what it moved the first time changes what can be chosen.
        if _was_moved(request, of):
            messages.info(request, "This form was sent before. Nothing was moved again.")
            return redirect(of)
        if form.is_valid():
            done = _moved(request, of, form)
            if done is not None:
                return done
    context = {
        "form": form,
        "lot": of,
        "words": f"{held(of)} on hand. " + (f"It stands in {of.place}." if of.place else "Nobody has noted where it stands."),
        "title": f"Move lot {of.number}",
        "over": [over_words(load) for load in over_with(of, of.on_hand, places=_other_places(of))],
        "has_places": _other_places(of).exists(),
        "crumbs": lot_crumbs(of),
    }
    return render(request, "inventory/places/move.html", context)


def _was_moved(request: HttpRequest, of: Lot) -> bool:
    """Whether this very form has moved the lot, or a part of it, already."""
    key = sent_key(request)
    if key is None:
        return False
    parted = Posting.objects.filter(key=key, by=person(request), kind=PostingKind.TRANSFER, movements__lot=of)
    return parted.exists() or LotEvent.objects.filter(key=key, by=person(request), lot=of).exists()


def _moved(request: HttpRequest, of: Lot, form: MoveForm) -> HttpResponse | None:
    data = form.cleaned_data
    try:
        moved = move(
            key=data["key"],
            by=person(request),
            on=data["on"],
            lot=of,
            quantity=data["quantity"],
            to_location=data["to_location"],
            reason=data["reason"],
        )
    except StockError as error:
        form.refuse(error)
        return None
    amount = quantity(data["quantity"], of.material.stock_unit)
    words = f"{amount} of lot {moved.lot.number}: now in {moved.lot.place}."
    if data["to_location"].is_quarantine:
        words += " Nothing is taken from there until it is moved again."
    messages.success(request, words)
    for load in over_with(moved.lot, Decimal(0), places=[data["to_location"]]):
        messages.warning(request, f"{over_words(load)} The local fire code decides how much may be kept there.")
    return redirect(moved.lot)


def _other_places(of: Lot) -> QuerySet[Location]:
    return Location.objects.filter(is_active=True).exclude(pk=of.location_id or 0)


def over_words(load: PlaceLoad) -> str:
    """By how much a place is over the limit that the shop entered for it."""
    strict, every = load.flammables.strict, load.flammables.all
    what, one = ("categories 1 to 3", strict) if strict.over else ("categories 1 to 4", every)
    over, limit = volume(one.over), volume(one.limit or Decimal(0))
    return f"{load.location.name}: {volume(one.litres)} of flammable liquid of {what}, {over} over the limit entered, {limit}."
