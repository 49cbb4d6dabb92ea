"""Entering what was found: the page of big fields, and each field saved as it is left."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from django.contrib import messages
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from inventory.counts import lines_of
from inventory.errors import StockError
from inventory.errors_counts import CountClosedError
from inventory.forms.counts import EntrySheet, LineForm, WhenForm
from inventory.models import CountLine, StockCount
from inventory.services.counting import enter_lines
from inventory.views.common import crumbs, may, person
from inventory.views.counts import COUNT, TRAIL, find_count

PER_PAGE = 40


@require_http_methods(["GET", "HEAD", "POST"])
@COUNT
def count_enter(request: HttpRequest, pk: int) -> HttpResponse:
    """The lines of a count, forty at a time; all that was typed is saved at once, in case the page has no script."""
    count = find_count(pk)
    if not count.is_open:
        messages.error(request, str(CountClosedError(count)))
        return redirect(count)
    lines = lines_of(count)
    start = _first(request, lines)
    shown = lines[start : start + PER_PAGE]
    when = WhenForm(request.POST if request.method == "POST" else None, count=count)
    sheet = EntrySheet(shown, request.POST if request.method == "POST" else None)
    if request.method == "POST" and when.is_valid():
        try:
            entered = enter_lines(
                count=count, by=person(request), entries=sheet.entries(), counted_at=when.cleaned_data["counted_at"]
            )
        except CountClosedError as error:
            messages.error(request, str(error))
            return redirect(count)
        except StockError as error:
            when.refuse(error)
        else:
            sheet.take(entered)
            if not sheet.problems:
                return _saved(request, count, len(entered.saved))
    return _page(request, count, lines, start, when, sheet)


def _first(request: HttpRequest, lines: Sequence[CountLine]) -> int:
    """The lines before the page that the address asks for, or before the line that it names."""
    asked, line = request.GET.get("from", ""), request.GET.get("line", "")
    number = int(asked) if asked.isascii() and asked.isdecimal() and len(asked) < 7 else 0
    number = next((at for at, one in enumerate(lines) if str(one.pk) == line), number)
    return min(number, max(len(lines) - 1, 0)) // PER_PAGE * PER_PAGE


def _saved(request: HttpRequest, count: StockCount, number: int) -> HttpResponse:
    """On to the page that the button names."""
    words = "Nothing new was typed." if not number else f"{number} line{'s' if number > 1 else ''} saved."
    messages.success(request, words)
    go = request.POST.get("go", "")
    if go == "count":
        return redirect(count)
    at = go if go.isascii() and go.isdecimal() else request.GET.get("from", "")
    return redirect(reverse("count_enter", args=[count.pk], query={"from": at} if at else None))


def _page(
    request: HttpRequest, count: StockCount, lines: Sequence[CountLine], start: int, when: WhenForm, sheet: EntrySheet
) -> HttpResponse:
    following = start + PER_PAGE
    fresh = {form.line.pk: form.line for form in sheet.forms}
    groups = groupby(sheet.forms, key=lambda form: form.line.lot.place)
    context = {
        "count": count,
        "when": when,
        "places": [(place or "No place noted", list(found)) for place, found in groups],
        "problems": sheet.problems,
        "done": sum(fresh.get(line.pk, line).counted is not None for line in lines),
        "total": len(lines),
        "first": start + 1,
        "last": min(following, len(lines)),
        "previous": start - PER_PAGE if start else None,
        "next": following if following < len(lines) else None,
        "crumbs": [*crumbs(TRAIL), (count.label, count.get_absolute_url())],
    }
    status = 422 if sheet.problems or when.errors else 200
    return render(request, "inventory/counts/enter.html", context, status=status)


@require_POST
@may("inventory.count")
def count_line(request: HttpRequest, pk: int, line: int) -> HttpResponse:
    """Save one line as it is left; the answer is what stands beside it. Without script nobody comes here."""
    count = find_count(pk)
    found = count.lines.select_related("lot__material", "lot__location", "counted_by").filter(pk=line).first()
    if found is None:
        return HttpResponse("This line is not on the count.", status=404)
    when, form = WhenForm(request.POST, count=count), LineForm(request.POST, line=found)
    if form.is_touched and form.is_valid() and when.is_valid():
        try:
            entered = enter_lines(
                count=count, by=person(request), entries=[form.entry()], counted_at=when.cleaned_data["counted_at"]
            )
        except StockError as error:
            form.add_error("counted", str(error))
        else:
            sheet = EntrySheet([])
            sheet.forms = [form]
            sheet.take(entered)
            (form,) = sheet.forms
    elif when.errors:
        form.add_error("counted", "Not saved: look at “Counted at” at the top of the page.")
    tally = count.lines.aggregate(done=Count("counted"), total=Count("pk"))
    return render(request, "inventory/counts/_line_saved.html", {"form": form, "line": form.line, **tally})
