"""Labels: choose lots, shelves and places, describe the sheet, get the PDF. And codes: read one, enter a GTIN on a pack."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from finishing.models import Shop
from inventory.documents.labels_sheet import PRESETS, Sheet
from inventory.filters import LotFilter
from inventory.forms.labels import MOST_SUBJECTS, FindForm, LabelsForm, Subjects, named_in
from inventory.forms.moves import today
from inventory.models import Location, Lot, Material
from inventory.services.labels import FIELDS, last_sheet, remember_sheet
from inventory.views.common import crumbs, may

PRESET = "preset"


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.issue")
def labels(request: HttpRequest) -> HttpResponse:
    """Choose what gets a label and on which sheet; sending it gives the PDF."""
    if request.method == "POST":
        subjects = _sent(request.POST)
        if request.POST.get("step") == PRESET:
            return _page(request, LabelsForm(subjects=subjects, initial=_with_preset(request.POST)), subjects)
        form = LabelsForm(request.POST, subjects=subjects)
        if form.is_valid():
            made = _file(form)
            if made is not None:
                return made
        return _page(request, form, subjects)
    subjects = _chosen(request.GET)
    sheet = last_sheet(paper=Shop.current().page_size)
    return _page(request, LabelsForm(subjects=subjects, initial=_measures(sheet)), subjects)


def _page(request: HttpRequest, form: LabelsForm, subjects: Subjects) -> HttpResponse:
    context = {
        "form": form,
        "subjects": subjects,
        "find": FindForm(request.GET or None),
        "searched": bool(request.GET) or request.method == "POST",
        "is_empty": not Material.objects.exists(),
        "crumbs": crumbs(("Lots", "lots")),
    }
    return render(request, "inventory/labels/labels.html", context)


def _measures(sheet: Sheet) -> dict[str, Any]:
    return {name: getattr(sheet, name) for name in FIELDS}


def _with_preset(sent: QueryDict) -> dict[str, Any]:
    """What was typed, with the measures of the chosen division in place of the old ones."""
    kept: dict[str, Any] = {name: value for name, value in sent.items() if name not in {"csrfmiddlewaretoken", "step"}}
    preset = PRESETS.get(sent.get("preset", ""))
    return {**kept, **_measures(preset)} if preset else kept


def _file(form: LabelsForm) -> HttpResponse | None:
    """The PDF; None when a label can't hold what must stand on it, which is then told in the form."""
    from inventory.documents.labels import labels_pdf
    from inventory.documents.labels_draw import NoRoomError
    from inventory.documents.labels_face import faces_of

    assert form.sheet is not None  # noqa: S101 - the form is valid
    data = form.cleaned_data
    faces = faces_of(form.wanted(data), today=today())
    try:
        content = labels_pdf(faces, form.sheet, first=data["first"], edges=data["edges"])
    except NoRoomError as error:
        form.add_error(None, f"There is {error}. Take larger labels.")
        return None
    remember_sheet(sheet=form.sheet)
    name = f"labels-{today().isoformat()}.pdf"
    return HttpResponse(
        content, content_type="application/pdf", headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )


# ------------------------------------------------------------ what gets a label


def _lots() -> QuerySet[Lot]:
    return Lot.objects.with_state().first_expired_first()


def _sent(sent: QueryDict) -> Subjects:
    named = named_in(sent)
    return Subjects(
        lots=_in_order(_lots().filter(pk__in=named["lot"][:MOST_SUBJECTS])),
        shelves=tuple(Material.objects.select_related("usual_location").filter(pk__in=named["shelf"][:MOST_SUBJECTS])),
        places=tuple(Location.objects.filter(pk__in=named["place"][:MOST_SUBJECTS])),
        fill=False,
    )


def _chosen(asked: QueryDict) -> Subjects:
    """What the address names: lots, a posting, shelves, places, the filter of the list of lots, or words to look for."""
    if asked.get("from") == "lots":
        shop = Shop.current()
        return _cut(LotFilter(asked, queryset=_lots(), on=today(), shop=shop).qs, Material.objects.none())
    if "what" in asked or "find" in asked:
        return _found(FindForm(asked))
    named = Q(pk__in=_numbers(asked, "lot")) | Q(movements__posting__in=_numbers(asked, "posting"))
    return _cut(
        _lots().filter(named).distinct(),
        Material.objects.select_related("usual_location").filter(pk__in=_numbers(asked, "shelf")),
        Location.objects.filter(pk__in=_numbers(asked, "place")),
    )


def _numbers(asked: QueryDict, name: str) -> list[int]:
    return [int(value) for value in asked.getlist(name) if value.isascii() and value.isdigit() and len(value) <= 12]


def _found(form: FindForm) -> Subjects:
    if not form.is_valid():
        return Subjects()
    words, what = form.cleaned_data["find"], form.cleaned_data["what"] or "lots"
    lots, shelves, places = _lots().none(), Material.objects.none(), Location.objects.none()
    if what in {"lots", "both"}:
        about = Q(number__icontains=words) | Q(material__name__icontains=words) | Q(location__name__icontains=words)
        lots = _lots().filter(about, on_hand__gt=0)
    if what in {"shelves", "both"}:
        about = Q(name__icontains=words) | Q(code__icontains=words) | Q(usual_location__name__icontains=words)
        shelves = Material.objects.select_related("usual_location").filter(about, is_active=True)
    if what in {"places", "both"}:
        places = Location.objects.filter(name__icontains=words, is_active=True)
    return _cut(lots, shelves, places, fill=False)


def _in_order(lots: Iterable[Lot]) -> tuple[Lot, ...]:
    """By the last day of use as the page shows it; lots without one come last."""
    return tuple(sorted(lots, key=lambda lot: (lot.usable_until or date.max, lot.received_on, lot.pk)))


def _cut(
    lots: QuerySet[Lot], shelves: QuerySet[Material], places: QuerySet[Location] | None = None, *, fill: bool = True
) -> Subjects:
    """No more than one page holds."""
    shown = _in_order(lots[:MOST_SUBJECTS])
    also = tuple(shelves[: MOST_SUBJECTS - len(shown)])
    asked = Location.objects.none() if places is None else places
    last = tuple(asked[: MOST_SUBJECTS - len(shown) - len(also)])
    left_out = lots.count() + shelves.count() + asked.count() - len(shown) - len(also) - len(last)
    return Subjects(lots=shown, shelves=also, places=last, left_out=left_out, fill=fill)
