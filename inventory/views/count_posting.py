"""What differs, with its value and reasons; posting it; giving a count up."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from finishing.show import money, percent
from inventory.core.counting import LARGE_SHARE, LARGE_VALUE, TOLERANCE
from inventory.counts import Reckoned, Reckoning, finds_of, lines_of, reckon
from inventory.errors import StockError
from inventory.errors_counts import CountClosedError, LinesError
from inventory.forms.counts import CancelForm, PostForm
from inventory.models import StockCount
from inventory.services.count_posting import post_count
from inventory.services.counting import Entry, cancel_count, enter_lines
from inventory.views.common import crumbs, may, person, sees_costs
from inventory.views.counts import POST, TRAIL, count_page, find_count


@require_http_methods(["GET", "HEAD", "POST"])
@may(POST)
def count_differences(request: HttpRequest, pk: int) -> HttpResponse:
    """What the count would change and what that is worth; posts it as it was looked at."""
    count = find_count(pk)
    if request.method == "POST":
        again = request.POST.get("again", "")
        if again.isascii() and again.isdecimal() and len(again) < 19:
            return _count_again(request, count, int(again))
        return _post(request, count)
    if not count.is_open:
        return redirect(count)
    return _page(request, count, PostForm())


def _post(request: HttpRequest, count: StockCount) -> HttpResponse:
    form = PostForm(request.POST)
    if not form.is_valid():
        return _page(request, count, form)
    data, problems = form.cleaned_data, {}
    try:
        posted = post_count(key=data["key"], by=person(request), count=count, seen=data["seen"], reasons=form.reasons())
    except CountClosedError as error:
        messages.error(request, str(error))
        return redirect(count)
    except LinesError as error:
        problems = error.lines
    except StockError as error:
        form.add_error(None, str(error))
    else:
        if posted.again:
            messages.info(request, f"{posted.count.label} was posted before. Nothing was posted again.")
        else:
            messages.success(request, f"{posted.count.label} is posted. {_done_words(posted.count)}")
        return redirect(count)
    return _page(request, count, form, problems)


def _done_words(count: StockCount) -> str:
    if count.posting is None:
        return "The shelf agrees with the books; nothing had to be changed."
    return f"The differences are in the books as {count.posting}."


def _count_again(request: HttpRequest, count: StockCount, line: int) -> HttpResponse:
    """Take a line's entry back, and go to its field."""
    try:
        entered = enter_lines(count=count, by=person(request), entries=[Entry(line=line, counted=None)])
    except CountClosedError as error:
        messages.error(request, str(error))
        return redirect(count)
    if entered.problems:
        messages.error(request, entered.problems[line])
        return redirect("count_differences", count.pk)
    messages.info(request, f"The entry of lot {entered.lines[line].lot.number} is taken back. Count it again.")
    return redirect(reverse("count_enter", args=[count.pk], query={"line": line}, fragment=f"line-{line}"))


def _page(request: HttpRequest, count: StockCount, form: PostForm, problems: dict[int, str] | None = None) -> HttpResponse:
    if not count.is_open:
        messages.error(request, str(CountClosedError(count)))
        return redirect(count)
    lines = lines_of(count)
    reckoning = reckon(lines)
    finds = finds_of(count, lines)
    context = {
        "count": count,
        "form": form,
        "reckoning": reckoning,
        "rows": _rows(reckoning, form.reasons() if form.is_bound else {}, problems or {}),
        "problems": problems,
        "open_finds": [found for found in finds if found.line is None],
        "costs": sees_costs(request),
        "large": f"more than {percent(LARGE_SHARE, 0)} of the books and more than {money(LARGE_VALUE)}",
        "tolerance": percent(TOLERANCE, 0),
        "crumbs": [*crumbs(TRAIL), (count.label, count.get_absolute_url())],
    }
    return render(request, "inventory/counts/differences.html", context, status=422 if form.is_bound else 200)


def _rows(reckoning: Reckoning, typed: dict[int, str], problems: dict[int, str]) -> list[tuple[Reckoned, str, str]]:
    """Each difference with its reason as typed, and what stands against it."""
    return [(row, typed.get(row.line.pk, row.line.reason), problems.get(row.line.pk, "")) for row in reckoning.differing]


@require_POST
@may(POST)
def count_cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a count up, with a reason; it stays as a record."""
    count = find_count(pk)
    form = CancelForm(request.POST)
    if not form.is_valid():
        return count_page(request, count, cancel=form)
    try:
        done = cancel_count(count=count, by=person(request), reason=form.cleaned_data["reason"])
    except CountClosedError as error:
        messages.error(request, str(error))
    except StockError as error:
        form.refuse(error)
        return count_page(request, count, cancel=form)
    else:
        messages.success(request, f"{done.label} is cancelled. It stays in the list of counts.")
    return redirect(count)
