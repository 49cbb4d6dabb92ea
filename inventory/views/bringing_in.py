"""Bringing lists in: choose one, upload it, see what it would change, apply it; templates and lists to take out."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from finishing.uploads import FileRefusedError, limits_in_words
from finishing.working import Task, answer
from inventory.bringing_in.files import CSV_TYPE, FORMS, list_file, template_file
from inventory.bringing_in.lists import LISTS, BroughtList
from inventory.bringing_in.plan import PlannedRow, State
from inventory.choices import ListKind
from inventory.errors import StockError
from inventory.forms.bringing_in import UploadListForm
from inventory.models import ListUpload
from inventory.services.bringing_in import apply_list, take_in
from inventory.tables_bringing_in import STATE_WORDS, ListUploadTable, PlanTable
from inventory.views.common import crumbs, may, paged, person

RECENT = 10
ROWS = 50
TYPES = {"csv": CSV_TYPE, "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}


def _list_or_404(kind: str) -> BroughtList:
    try:
        return LISTS[ListKind(kind)]
    except (ValueError, KeyError):
        raise Http404 from None


@require_safe
@may("inventory.bring_in")
def bring_in(request: HttpRequest) -> HttpResponse:
    """The lists, and what was uploaded last."""
    latest = ListUpload.objects.select_related("by", "supplier").defer("named", "report")[:RECENT]
    context = {"lists": list(LISTS.values()), "uploads": ListUploadTable(latest)}
    return render(request, "inventory/bringing_in/lists.html", context)


def _asked(request: HttpRequest) -> dict[str, Any]:
    """What the address says already: whose price list it will be."""
    supplier = request.GET.get("supplier", "")
    return {"supplier": int(supplier)} if supplier.isascii() and supplier.isdigit() and len(supplier) < 10 else {}


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.bring_in")
def bring_in_list(request: HttpRequest, kind: str) -> HttpResponseBase:
    """Upload one list; the answer is its dry run."""
    brought = _list_or_404(kind)
    bound = request.method == "POST"
    form = (
        UploadListForm(request.POST, request.FILES, brought=brought)
        if bound
        else UploadListForm(brought=brought, initial=_asked(request))
    )
    if bound and form.is_valid():
        task = Task(
            work=take_in(form.upload(person(request))),
            title=f"Reading the {brought.what}",
            result=lambda made: made.get_absolute_url(),
            back=request.path,
            refusals=(FileRefusedError,),
            link_words="Show what it would change",
        )
        try:
            return answer(request, task)
        except FileRefusedError as error:
            form.refuse(error)
    context = {
        "form": form,
        "list": brought,
        "limits": limits_in_words(brought.limits(settings.UPLOAD_LIMIT)),
        "crumbs": crumbs(("Bring in lists", "bring_in")),
    }
    return render(request, "inventory/bringing_in/upload.html", context, status=422 if bound else 200)


@require_safe
@may("inventory.bring_in")
def list_upload(request: HttpRequest, pk: int) -> HttpResponse:
    """What an uploaded list would change, or changed, row by row."""
    upload = get_object_or_404(ListUpload.objects.select_related("by", "applied_by", "supplier").defer("named"), pk=pk)
    kept = upload.report.get("rows", [])
    chosen = request.GET.get("show", "")
    state = State(chosen) if chosen in set(State) else State.WRONG if upload.counts.get(State.WRONG) and not chosen else None
    rows = [PlannedRow.from_json(row) for row in kept if state is None or row[2] == state]
    todo = sum(upload.counts.get(one, 0) for one in (State.NEW, State.CHANGED))
    tabs = [("all", "all rows", len(kept), state is None)]
    tabs += [
        (one.value, words, upload.counts[one], one is state) for one, (_, words) in STATE_WORDS.items() if upload.counts.get(one)
    ]
    context = {
        "upload": upload,
        "list": LISTS[ListKind(upload.kind)],
        "notes": upload.report.get("notes", []),
        "earlier": _applied_before(upload),
        "wrong": upload.counts.get(State.WRONG, 0),
        "todo": todo,
        "striking": sum(PlannedRow.from_json(row).is_striking for row in kept),
        "tabs": tabs,
        "table": paged(request, PlanTable(rows, applied=upload.applied_at is not None), ROWS),
        "crumbs": [
            *crumbs(("Bring in lists", "bring_in")),
            (upload.get_kind_display(), reverse("bring_in_list", args=[upload.kind])),
        ],
    }
    return render(request, "inventory/bringing_in/report.html", context)


def _applied_before(upload: ListUpload) -> ListUpload | None:
    """The last time that this very file was applied, byte by byte."""
    same = ListUpload.objects.filter(kind=upload.kind, digest=upload.digest, applied_at__isnull=False).exclude(pk=upload.pk)
    return same.select_related("applied_by").defer("named", "report").first()


@require_POST
@may("inventory.bring_in")
def list_apply(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Write what the dry run showed. The upload itself is the key: it is applied once."""
    upload = get_object_or_404(ListUpload.objects.select_related("supplier"), pk=pk)
    task = Task(
        work=apply_list(upload=upload, by=person(request), looked="looked" in request.POST),
        title=f"Writing the {LISTS[ListKind(upload.kind)].what}",
        result=lambda made: made.get_absolute_url(),
        back=upload.get_absolute_url(),
        refusals=(StockError,),
    )
    try:
        return answer(request, task)
    except StockError as error:
        messages.error(request, str(error))
        return redirect(upload)


@require_safe
@may("inventory.bring_in")
def list_template(request: HttpRequest, kind: str, form: str) -> HttpResponse:  # noqa: ARG001
    """A file to fill in."""
    return _download(_list_or_404(kind), form, "template")


@require_safe
@may("inventory.bring_in")
def list_out(request: HttpRequest, kind: str, form: str) -> HttpResponse:  # noqa: ARG001
    """What the books hold, as a file that could be brought in again."""
    return _download(_list_or_404(kind), form, "list")


def _download(brought: BroughtList, form: str, what: str) -> HttpResponse:
    if form not in FORMS or (what == "list" and brought.rows_out is None):
        raise Http404
    content = template_file(brought, form) if what == "template" else list_file(brought, form)
    name = f"{brought.file_name}-template.{form}" if what == "template" else f"{brought.file_name}.{form}"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(content, content_type=TYPES[form], headers=headers)
