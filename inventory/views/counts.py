"""Counts: the list, what is due, opening one, and its page."""

from __future__ import annotations

from datetime import timedelta
from typing import cast

from django.contrib import messages
from django.db.models import Count, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from finishing.show import percent
from inventory.choices import CountStatus
from inventory.core.counting import CUMULATIVE, INTERVAL_DAYS, TOLERANCE, CountClass
from inventory.counts import Reckoning, finds_of, lines_of, reckon
from inventory.counts_due import accuracy, counting_plan, due_materials
from inventory.errors import StockError
from inventory.filters_counts import CountFilter
from inventory.forms.counts import SHOP, CancelForm, DueForm, StartForm
from inventory.forms.moves import today
from inventory.models import Lot, Posting, StockCount
from inventory.services.counting import open_count, open_counts
from inventory.tables_counts import CountedTable, CountTable, DueTable, state_badge
from inventory.views.common import crumbs, may, paged, person, sees_costs

COUNT = may("inventory.count")
POST = "inventory.post_count"
TRAIL = ("Counts", "stock_counts")
YEAR = timedelta(days=365)
DUE_PER_PAGE = 100
RECORD_PER_PAGE = 50
_PEOPLE = ("location", "opened_by", "posted_by", "cancelled_by", "posting")


def with_progress(counts: QuerySet[StockCount]) -> QuerySet[StockCount]:
    """Each count with how many lines it has and how many of them somebody counted."""
    return counts.annotate(line_count=Count("lines"), entered=Count("lines", filter=Q(lines__counted__isnull=False))).order_by(
        "-pk"
    )


def find_count(pk: int) -> StockCount:
    """The count with its people and its place, or 404."""
    return get_object_or_404(StockCount.objects.select_related(*_PEOPLE), pk=pk)


@require_safe
@COUNT
def stock_counts(request: HttpRequest) -> HttpResponse:
    """All counts, and how well the books agreed."""
    chosen = CountFilter(request.GET, queryset=with_progress(StockCount.objects.select_related("location", "opened_by")))
    table = paged(request, CountTable(chosen.qs, costs=sees_costs(request)))
    lately = accuracy(since=timezone.now() - YEAR)
    context = {
        "table": table,
        "filter": chosen,
        "is_empty": not table.rows and not StockCount.objects.exists(),
        "accuracy": lately,
        "share": percent(lately.share),
        "tolerance": percent(TOLERANCE),
    }
    return render(request, "inventory/counts/list.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@COUNT
def count_new(request: HttpRequest) -> HttpResponse:
    """Open a count for each chosen place, or one for the whole shop."""
    initial = {"places": request.GET.getlist("place")} if "place" in request.GET else {}
    form = StartForm(request.POST if request.method == "POST" else None, initial=initial)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        common = {"key": data["key"], "by": person(request), "is_blind": data["is_blind"], "note": data["note"]}
        places = [] if data["scope"] == SHOP else list(data["places"])
        try:
            made = open_counts(locations=places, **common) if places else [open_count(**common)]
        except StockError as error:
            form.refuse(error)
        else:
            return _opened(request, made, passed_over=max(len(places) - len(made), 0))
    is_empty = not Lot.objects.in_stock().exists()
    context = {"form": form, "is_empty": is_empty, "crumbs": crumbs(TRAIL)}
    return render(request, "inventory/counts/new.html", context, status=422 if form.is_bound else 200)


def _opened(request: HttpRequest, made: list[StockCount], *, passed_over: int = 0) -> HttpResponse:
    labels = ", ".join(count.label for count in made)
    words = f"{labels} {'is' if len(made) == 1 else 'are'} open. Print the sheet, or enter what you find."
    if passed_over:
        words += f" {passed_over} of the places hold nothing in the books and {'is' if passed_over == 1 else 'are'} left out."
    messages.success(request, words)
    return redirect(made[0]) if len(made) == 1 else redirect("stock_counts")


@require_http_methods(["GET", "HEAD", "POST"])
@COUNT
def counts_due(request: HttpRequest) -> HttpResponse:
    """Which materials are due for counting, by value and movement; those that are ticked are counted."""
    on = today()
    plan = counting_plan(on=on)
    due = {entry.pk for entry in plan if entry.due.due_on <= on and entry.being_counted is None}
    form = DueForm(request.POST if request.method == "POST" else None, initial={"materials": due})
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            common = {"key": data["key"], "by": person(request), "is_blind": data["is_blind"], "note": data["note"]}
            return _opened(request, [open_count(materials=data["materials"], **common)])
        except StockError as error:
            form.refuse(error)
    shown = plan if "all" in request.GET else [entry for entry in plan if entry.pk in due or entry.being_counted]
    context = {
        "form": form,
        "table": paged(request, DueTable(shown, on=on, ticked=form.ticked, costs=sees_costs(request)), per_page=DUE_PER_PAGE),
        "due": len(due),
        "total": len(plan),
        "shows_all": "all" in request.GET,
        "rules": [_rule(one) for one in CountClass],
        "longest": max(INTERVAL_DAYS.values()),
        "crumbs": crumbs(TRAIL),
    }
    return render(request, "inventory/counts/due.html", context, status=422 if form.is_bound else 200)


def _rule(count_class: CountClass) -> str:
    """What belongs to a class, and how often it is counted."""
    days = f"every {INTERVAL_DAYS[count_class]} days"
    if count_class is CountClass.A:
        return f"A, {days}: the materials that make up the first {percent(CUMULATIVE[count_class], 0)} of a year’s use by value"
    if count_class is CountClass.B:
        return f"B, {days}: those up to {percent(CUMULATIVE[count_class], 0)}"
    return f"C, {days}: the rest, and what nobody used in a year"


@require_safe
@COUNT
def counts_due_tile(request: HttpRequest) -> HttpResponse:
    """A part of the buying desk that comes after the page: how many counts are open, how many materials due."""
    due = len(due_materials(on=today()))
    words = "material" if due == 1 else "materials"
    context = {
        "open_counts": StockCount.objects.filter(status=CountStatus.OPEN).count(),
        "due": due,
        "words": words,
        "note": f"{due} {words} due" if due else "nothing else is due",
    }
    return render(request, "inventory/counts/_due_tile.html", context)


@require_safe
@COUNT
def stock_count(request: HttpRequest, pk: int) -> HttpResponse:
    """One count: how far it is, what can be done with it; once it is over, its record."""
    return count_page(request, find_count(pk))


def count_page(request: HttpRequest, count: StockCount, *, cancel: CancelForm | None = None) -> HttpResponse:
    """The page of a count, with a form that was refused in its place."""
    lines = lines_of(count)
    undone = Posting.objects.filter(movements__reverses__posting=count.posting_id) if count.posting_id else Posting.objects.none()
    reckoning = reckon(lines, frozen=True) if count.status == CountStatus.POSTED else None
    context = {
        "count": count,
        "badge": state_badge(count),
        "total": len(lines),
        "done": sum(line.counted is not None for line in lines),
        "open_lines": [line for line in lines if line.counted is None],
        "lines": lines,
        "reckoning": reckoning,
        "table": _record(request, count, reckoning) if reckoning else None,
        "undone_by": undone.first(),
        "finds": finds_of(count, lines),
        "may_post": person(request).has_perm(POST),
        "costs": sees_costs(request),
        "cancel": cancel or CancelForm(),
        "crumbs": crumbs(TRAIL),
    }
    return render(request, "inventory/counts/count.html", context, status=422 if cancel is not None else 200)


def _record(request: HttpRequest, count: StockCount, reckoning: Reckoning) -> CountedTable:
    """What was counted; the place only where there are several."""
    hidden = ("place",) if count.location else ()
    table = CountedTable(reckoning.counted, costs=sees_costs(request), exclude=hidden, prefix="lines-")
    return cast(CountedTable, paged(request, table, per_page=RECORD_PER_PAGE))
