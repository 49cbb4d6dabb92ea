"""Lots that were found and are not on the list: in the books elsewhere, used up by the books, or not known to them."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from finishing.show import quantity
from inventory.counts import lines_of
from inventory.errors import StockError
from inventory.errors_counts import CountClosedError, LotNotAddableError
from inventory.forms.counts import FindForm
from inventory.models import CountFind, CountLine, Lot, StockCount
from inventory.services.counting import add_lot, note_find, remove_find
from inventory.views.common import crumbs, person
from inventory.views.counts import COUNT, TRAIL, find_count

SHOWN = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A lot of the number that was typed, and what the books know of it."""

    lot: Lot
    line: CountLine | None  # on this count already
    move_to: str  # the address that notes that it was moved here; empty where that is not needed
    place_here: str  # the same for a lot of which nobody has noted where it stands
    words: str


@require_http_methods(["GET", "HEAD", "POST"])
@COUNT
def count_found(request: HttpRequest, pk: int) -> HttpResponse:
    """Look a lot number up; add its lot to the count, or note that the books do not know it."""
    count = find_count(pk)
    if not count.is_open:
        messages.error(request, str(CountClosedError(count)))
        return redirect(count)
    number = request.GET.get("number", "").strip()[:40]
    form = FindForm(request.POST if request.method == "POST" and "lot" not in request.POST else None, initial={"number": number})
    if request.method == "POST":
        done = _add(request, count) if "lot" in request.POST else _note(request, count, form)
        if done is not None:
            return done
    lots = Lot.objects.filter(number__iexact=number).with_state().order_by("-on_hand", "pk") if number else Lot.objects.none()
    lines = {line.lot_id: line for line in lines_of(count)}
    context = {
        "count": count,
        "number": number,
        "form": form,
        "candidates": [_candidate(count, lot, lines.get(lot.pk)) for lot in lots[:SHOWN]],
        "crumbs": [*crumbs(TRAIL), (count.label, count.get_absolute_url())],
    }
    return render(request, "inventory/counts/found.html", context, status=422 if request.method == "POST" else 200)


def _candidate(count: StockCount, lot: Lot, line: CountLine | None) -> Candidate:
    left = quantity(lot.on_hand, lot.material.stock_unit)
    where = f"in {lot.place}" if lot.place else "without a place"
    words = f"{left} in the books, {where}" if lot.on_hand else "used up by the books"
    to_here = ""
    if lot.on_hand and count.location_id and lot.location_id != count.location_id and line is None:
        to_here = reverse("lot_place", args=[lot.pk], query={"to": count.location_id})
    is_placed = lot.location_id is not None
    return Candidate(
        lot=lot, line=line, move_to=to_here if is_placed else "", place_here="" if is_placed else to_here, words=words
    )


def _to_line(count: StockCount, line: CountLine) -> HttpResponse:
    return redirect(reverse("count_enter", args=[count.pk], query={"line": line.pk}, fragment=f"line-{line.pk}"))


def _add(request: HttpRequest, count: StockCount) -> HttpResponse | None:
    """Add a lot that the books know, and go to its field; nothing when it was refused."""
    asked = request.POST["lot"]
    lot = get_object_or_404(Lot, pk=int(asked) if asked.isascii() and asked.isdecimal() and len(asked) < 19 else 0)
    try:
        line = add_lot(count=count, lot=lot)
    except (LotNotAddableError, StockError) as error:
        messages.error(request, str(error))
        return None
    messages.success(request, f"Lot {lot.number} is on {count.label}. Enter what you found of it.")
    return _to_line(count, line)


def _note(request: HttpRequest, count: StockCount, form: FindForm) -> HttpResponse | None:
    """Note a lot that the books do not know; nothing when the form says what is missing."""
    if not form.is_valid():
        return None
    data = form.cleaned_data
    try:
        note_find(
            count=count,
            by=person(request),
            number=data["number"],
            material=data["material"],
            amount=data["amount"],
            note=data["note"],
        )
    except StockError as error:
        form.refuse(error)
        return None
    messages.success(request, f"Lot {data['number']} is noted on {count.label}. The office books it as a delivery.")
    return redirect(count)


@require_POST
@COUNT
def count_find_remove(request: HttpRequest, pk: int, find: int) -> HttpResponse:
    """Take a note of a find back."""
    count = find_count(pk)
    noted = get_object_or_404(CountFind, pk=find, count=count)
    try:
        remove_find(count=count, find=noted)
    except StockError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"The note of lot {noted.number} is taken back.")
    return redirect(count)
