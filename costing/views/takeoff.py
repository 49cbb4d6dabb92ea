"""The takeoff of an estimate: rows typed in, a list pasted or uploaded, and the template to fill in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import django_tables2
from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from costing.core.errors import CostingError
from costing.core.takeoff import Takeoff, Zone
from costing.core.takeoff_header import Header
from costing.core.takeoff_reading import Reading
from costing.core.takeoff_text import Sheet, join_text
from costing.forms.takeoff import PAGE_ROWS, PasteForm, TakeoffRows, TakeoffStateForm, UploadForm, empty_row, initial_rows
from costing.forms.takeoff_columns import ColumnsForm, columns_form, was_sent
from costing.models import Estimate, TakeoffRow
from costing.services.takeoff import TakeoffError, import_rows, put_rows, takeoff_of
from costing.services.takeoff_import import read_in_shop_units
from costing.tables.takeoff import ProblemTable, ReadRowTable

ESTIMATE = "costing.estimate"
MORE_ROWS = 5
SHOWN = 200  # rows of a list that a page shows before it is saved


@dataclass(frozen=True, slots=True, kw_only=True)
class Total:
    """What rows add up to."""

    takeoff: Takeoff
    unread: int = 0  # typed rows that cannot be reckoned yet

    @property
    def show_area(self) -> float:
        """Area of the show side, m²."""
        return self.takeoff.total(frozenset({Zone.SHOW})).area

    @property
    def hidden_area(self) -> float:
        """Area of the hidden side, m²."""
        return self.takeoff.total(frozenset({Zone.HIDDEN})).area


def _total(rows: list[TakeoffRow], unread: int = 0) -> Total:
    """Add up what can be reckoned; a stored row that the reckoning refuses is counted as not read."""
    good = []
    for row in rows:
        try:
            good.append(takeoff_of([row]).rows[0])
        except CostingError:
            unread += 1
    return Total(takeoff=Takeoff(rows=tuple(good)), unread=unread)


@permission_required(ESTIMATE, raise_exception=True)
def takeoff(request: HttpRequest, pk: int) -> HttpResponse:
    """The rows, a hundred at a time, as a form."""
    estimate = get_object_or_404(Estimate.objects.select_related("customer"), pk=pk)
    if request.method == "POST":
        return _save(request, estimate)
    stored = list(estimate.rows.all())
    start = _first_row(request.GET.get("from", ""), len(stored))
    shown = stored[start : start + PAGE_ROWS]
    state = TakeoffStateForm(initial={"seen": estimate.takeoff_key, "start": start, "stop": start + len(shown)})
    rows = TakeoffRows(prefix="rows", initial=initial_rows(shown))
    if start + PAGE_ROWS < len(stored):
        rows.extra = 0  # new rows go to the end of the list, so they are typed on its last page
    return _show(request, estimate, state, rows, _total(stored), stored=len(stored), start=start)


def _first_row(text: str, count: int) -> int:
    """The page that an address asks for, as the number of rows before it."""
    asked = int(text) if text.isascii() and text.isdigit() and len(text) < 6 else 0
    return min(asked, max(count - 1, 0)) // PAGE_ROWS * PAGE_ROWS


def _save(request: HttpRequest, estimate: Estimate) -> HttpResponse:
    state, rows = TakeoffStateForm(request.POST), _posted_rows(request)
    more = "more" in request.POST
    good = [state.is_valid(), rows.is_valid()]
    start, stop = state.cleaned_data.get("start") or 0, state.cleaned_data.get("stop") or 0
    if all(good) and not more:
        try:
            put_rows(
                estimate=estimate,
                rows=[form.row() for form in rows.kept()],
                start=start,
                stop=stop,
                key=state.cleaned_data["key"],
                seen=state.cleaned_data["seen"],
            )
        except TakeoffError as error:
            state.add_error(None, str(error))
        else:
            messages.success(request, "The takeoff is saved.")
            return redirect(_next_page(request, estimate))
    stored = list(estimate.rows.all())
    status = 200 if more and all(good) else 422
    return _show(request, estimate, state, rows, _typed_total(rows, stored, start, stop), len(stored), start, status=status)


def _posted_rows(request: HttpRequest) -> Any:
    """The rows as sent; the button for more rows, which works without script, adds empty ones."""
    count = request.POST.get("rows-TOTAL_FORMS", "")
    if "more" not in request.POST or not (count.isascii() and count.isdigit() and len(count) < 5):
        return TakeoffRows(request.POST, prefix="rows")
    data = request.POST.copy()
    data["rows-TOTAL_FORMS"] = str(int(count) + MORE_ROWS)
    for number in range(int(count), int(count) + MORE_ROWS):
        data.update(empty_row(f"rows-{number}"))
    return TakeoffRows(data, prefix="rows")


def _typed_total(rows: Any, stored: list[TakeoffRow], start: int, stop: int) -> Total:
    """The rows of the form as typed, with those of the other pages as stored."""
    kept = rows.kept() if rows.management_form.is_valid() else []
    good = [form.row() for form in kept if form.is_valid()]
    return _total([*stored[:start], *good, *stored[stop:]], unread=len(kept) - len(good))


def _next_page(request: HttpRequest, estimate: Estimate) -> str:
    go = request.POST.get("go", "")
    if go == "estimate":
        return estimate.get_absolute_url()
    start = _first_row(go or request.POST.get("start", ""), estimate.rows.count())
    return reverse("takeoff", args=[estimate.pk], query={"from": start} if start else None)


def _show(
    request: HttpRequest,
    estimate: Estimate,
    state: TakeoffStateForm,
    rows: Any,
    total: Total,
    stored: int,
    start: int,
    *,
    status: int = 200,
) -> HttpResponse:
    pages = [
        {"start": first, "words": f"{first + 1} to {min(first + PAGE_ROWS, stored)}", "is_here": first == start}
        for first in range(0, stored, PAGE_ROWS)
    ]
    context = {
        "estimate": estimate,
        "state": state,
        "rows": rows,
        "total": total,
        "pages": pages if len(pages) > 1 else [],
        "crumbs": _crumbs(estimate),
    }
    return render(request, "costing/takeoff/takeoff.html", context, status=status)


def _crumbs(estimate: Estimate, *, below: bool = False) -> list[tuple[str, str]]:
    crumbs = [("Estimates", reverse("estimates")), (f"{estimate.number} {estimate.name}", estimate.get_absolute_url())]
    return [*crumbs, ("Takeoff", reverse("takeoff", args=[estimate.pk]))] if below else crumbs


@require_POST
@permission_required(ESTIMATE, raise_exception=True)
def takeoff_preview(request: HttpRequest, pk: int) -> HttpResponse:
    """What the rows as typed add up to: a part of the page, nothing is saved."""
    estimate = get_object_or_404(Estimate, pk=pk)
    rows, state = TakeoffRows(request.POST, prefix="rows"), TakeoffStateForm(request.POST)
    rows.is_valid()
    state.is_valid()
    start, stop = state.cleaned_data.get("start") or 0, state.cleaned_data.get("stop") or 0
    total = _typed_total(rows, list(estimate.rows.all()), start, stop)
    return render(request, "costing/takeoff/total.html", {"total": total, "live": True})


# ------------------------------------------------------- a list from elsewhere


@permission_required(ESTIMATE, raise_exception=True)
def takeoff_paste(request: HttpRequest, pk: int) -> HttpResponse:
    """A pasted list: first what was understood of it, then all of it is saved, or nothing."""
    estimate = get_object_or_404(Estimate.objects.select_related("customer"), pk=pk)
    if request.method != "POST":
        return _show_list(request, estimate, PasteForm(initial={"seen": estimate.takeoff_key}))
    form = PasteForm(request.POST)
    if not form.is_valid():
        return _show_list(request, estimate, form)
    columns, reading = _read(request, form.sheet)
    is_unseen = columns is not None and columns.is_valid() and columns.was_changed()
    if "save" in request.POST and is_unseen:
        messages.warning(request, "The columns were chosen anew. Look at the rows, then save. Nothing was saved yet.")
    elif "save" in request.POST and reading is not None and reading.is_good:
        try:
            import_rows(
                estimate=estimate,
                rows=reading.rows,
                replace=form.cleaned_data["mode"] == "replace",
                key=form.cleaned_data["key"],
                seen=form.cleaned_data["seen"],
            )
        except TakeoffError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, f"{len(reading.rows)} rows are saved.")
            return redirect("takeoff", estimate.pk)
    return _show_list(request, estimate, form, reading, sheet=form.sheet, columns=columns)


def _read(request: HttpRequest, sheet: Sheet) -> tuple[ColumnsForm | None, Reading | None]:
    """Read a list by the columns that were chosen for it, else by their names; None while a choice has a fault."""
    columns = ColumnsForm(sheet.grid, request.POST) if was_sent(request.POST) else None
    if columns is None or not columns.is_about_this_list():
        return None, read_in_shop_units(sheet)
    if not columns.is_valid():
        return columns, None
    return columns, read_in_shop_units(sheet, columns.choice(), length_unit=columns.cleaned_data["length_unit"])


@permission_required(ESTIMATE, raise_exception=True)
def takeoff_upload(request: HttpRequest, pk: int) -> HttpResponse:
    """A file: its cells are shown as a list to check, and are saved from there."""
    estimate = get_object_or_404(Estimate.objects.select_related("customer"), pk=pk)
    form = UploadForm(request.POST, request.FILES) if request.method == "POST" else UploadForm()
    if form.is_bound and form.is_valid():
        paste = PasteForm(initial={"seen": estimate.takeoff_key, "text": join_text(form.sheet.grid)})
        return _show_list(request, estimate, paste, read_in_shop_units(form.sheet), sheet=form.sheet)
    context = {"form": form, "estimate": estimate, "crumbs": _crumbs(estimate, below=True)}
    return render(request, "costing/takeoff/upload.html", context, status=422 if request.method == "POST" else 200)


def _show_list(
    request: HttpRequest,
    estimate: Estimate,
    form: PasteForm,
    reading: Reading | None = None,
    *,
    sheet: Sheet | None = None,
    columns: ColumnsForm | None = None,
) -> HttpResponse:
    problems = reading.problems if reading else ()
    context: dict[str, Any] = {"form": form, "estimate": estimate, "reading": reading, "crumbs": _crumbs(estimate, below=True)}
    if problems:
        context["problems"] = ProblemTable(problems[:SHOWN])
        context["problem_count"], context["shown_count"] = len(problems), min(len(problems), SHOWN)
    elif reading:
        table = ReadRowTable(reading.rows[:SHOWN])
        context["more_rows"] = max(len(reading.rows) - SHOWN, 0)
        django_tables2.RequestConfig(request, paginate=False).configure(table)
        context["understood"] = table
        context["total"] = Total(takeoff=Takeoff(rows=tuple(row.row for row in reading.rows)))
    if sheet is not None:
        context |= _columns_step(sheet, reading, columns)
    context["notes"] = (*(sheet.notes if sheet else ()), *(reading.notes if reading else ()))
    refused = bool(problems) or (form.is_bound and not form.is_valid()) or (columns is not None and not columns.is_valid())
    return render(request, "costing/takeoff/list.html", context, status=422 if refused else 200)


def _columns_step(sheet: Sheet, reading: Reading | None, columns: ColumnsForm | None) -> dict[str, Any]:
    """The step in which columns are chosen: open where names were not known, and once it was used."""
    if columns is not None and not columns.is_valid():
        return {"columns": columns, "columns_open": True}
    form = columns_form(sheet.grid, reading or Reading(), columns)
    header = reading.header if reading else Header()
    return {"columns": form, "columns_open": columns is not None or bool(header.problems or header.unread)}


@require_safe
@permission_required(ESTIMATE, raise_exception=True)
def takeoff_template(request: HttpRequest) -> HttpResponse:  # noqa: ARG001
    """The workbook to fill in, with the columns in the shop's units."""
    from costing.services.takeoff_template import template_workbook

    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    headers = {"Content-Disposition": 'attachment; filename="cut-list-template.xlsx"'}
    return HttpResponse(template_workbook(), content_type=kind, headers=headers)
