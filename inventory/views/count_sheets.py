"""Count sheets: printed, downloaded, and uploaded once they are filled in."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_http_methods, require_safe

from finishing.models import Shop
from inventory.count_reading import ReadSheet, read_count_sheet
from inventory.counts import lines_of
from inventory.errors import StockError
from inventory.errors_counts import CountClosedError, LinesError
from inventory.forms.counts import SheetForm
from inventory.models import StockCount
from inventory.services.counting import enter_sheet
from inventory.views.common import crumbs, person
from inventory.views.counts import COUNT, TRAIL, find_count

PDF = "application/pdf"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
SHOWN = 100  # rows with something against them that a page lists


@require_safe
@COUNT
def count_sheet_pdf(request: HttpRequest, pk: int) -> HttpResponse:  # noqa: ARG001
    """The sheet to print and write on."""
    from inventory.documents.count_pdf import count_pdf

    count, printed = find_count(pk), timezone.now()
    content = count_pdf(count, lines_of(count), shop=Shop.current(), printed=printed)
    return _file(content, PDF, f"count-sheet-{count.label}.pdf")


@require_safe
@COUNT
def count_sheet_xlsx(request: HttpRequest, pk: int) -> HttpResponse:  # noqa: ARG001
    """The sheet to fill in and upload."""
    from inventory.documents.count_xlsx import count_xlsx

    count, printed = find_count(pk), timezone.now()
    content = count_xlsx(count, lines_of(count), shop=Shop.current(), printed=printed)
    return _file(content, XLSX, f"count-sheet-{count.label}.xlsx")


def _file(content: bytes, content_type: str, name: str) -> HttpResponse:
    disposition = content_disposition_header(as_attachment=True, filename=name) or "attachment"
    return HttpResponse(content, content_type=content_type, headers={"Content-Disposition": disposition})


@require_http_methods(["GET", "HEAD", "POST"])
@COUNT
def count_upload(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a filled sheet: all of it, or nothing, with what stands against each row."""
    count = find_count(pk)
    if not count.is_open:
        messages.error(request, str(CountClosedError(count)))
        return redirect(count)
    is_sent = request.method == "POST"
    form = (
        SheetForm(request.POST, request.FILES, count=count)
        if is_sent
        else SheetForm(count=count, initial={"counted_at": timezone.localtime()})
    )
    read = None
    is_right = is_sent and form.is_valid()
    if is_sent and "file" not in form.errors:
        # Also when the moment is missing: what stands against the rows is told at the same time.
        read = read_count_sheet(form.sheet, count=count, lines=lines_of(count))
        if is_right and not read.problems and _taken(request, count, form, read):
            return redirect(count)
    problems = read.problems if read else []
    context = {
        "form": form,
        "count": count,
        "problems": sorted(problems, key=lambda one: one.row)[:SHOWN],
        "more": max(len(problems) - SHOWN, 0),
        "notes": form.sheet.notes if read else (),
        "crumbs": [*crumbs(TRAIL), (count.label, count.get_absolute_url())],
    }
    return render(request, "inventory/counts/upload.html", context, status=422 if is_sent else 200)


def _taken(request: HttpRequest, count: StockCount, form: SheetForm, read: ReadSheet) -> bool:
    try:
        entered = enter_sheet(count=count, by=person(request), entries=read.entries, counted_at=form.cleaned_data["counted_at"])
    except LinesError as error:
        read.blame(error.lines)
        return False
    except StockError as error:
        form.refuse(error)
        return False
    same = len(read.entries) - len(entered.saved)
    words = f"{_lines(len(entered.saved), 'is', 'are')} entered from the sheet."
    if same:
        words += f" {same} said what was entered already."
    if read.empty:
        words += f" {read.empty} {'was' if read.empty == 1 else 'were'} left empty."
    messages.success(request, words)
    return True


def _lines(number: int, one: str, many: str) -> str:
    return f"{number} line {one}" if number == 1 else f"{number} lines {many}"
