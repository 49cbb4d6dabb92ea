"""Issue, return and write off."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_http_methods, require_safe

from finishing.models import Shop
from inventory.choices import PostingKind, WriteOffCause
from inventory.core.lots import ShortageError, choose_lots
from inventory.errors import StockError
from inventory.forms.moves import IssueForm, LotQuantityForm, ReturnForm, WriteOffForm, today
from inventory.lot_states import mark_of
from inventory.models import Lot, Material, Posting
from inventory.selectors import stock_lines
from inventory.services import ledger
from inventory.services.ledger import IssueLine
from inventory.views.common import crumbs, earlier_posting, may, person, to_posting
from inventory.views.lots import held, lot_crumbs

CHECK = "check"


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """Which lots an issue would take, or what is missing."""

    takes: tuple[tuple[Lot, Decimal], ...] = ()
    short_of: Decimal | None = None
    usable: Decimal = Decimal(0)


def propose(material: Material, wanted: Decimal) -> Proposal:
    """First expired first out over the usable lots of today. Reads only."""
    lots = {lot.pk: lot for lot in Lot.objects.filter(material=material).in_stock().with_state()}
    try:
        takes = choose_lots([lot.as_view() for lot in lots.values()], quantity=wanted, on=today())
    except ShortageError as error:
        return Proposal(short_of=error.wanted - error.usable, usable=error.usable)
    return Proposal(takes=tuple((lots[take.lot_id], take.quantity) for take in takes))


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.issue")
def stock_issue(request: HttpRequest) -> HttpResponse:
    """Choose a material, then say how much of it goes where; the lots that expire first go first."""
    chosen = request.GET.get("material", "")
    if not chosen:
        return _choose_material(request)
    material = get_object_or_404(Material, pk=chosen if chosen.isdecimal() and len(chosen) < 18 else 0)
    form = IssueForm(
        request.POST if request.method == "POST" else None,
        material=material,
        may_override=person(request).has_perm("inventory.override_lot"),
        initial={"lot": request.GET.get("lot")},
    )
    earlier = earlier_posting(request, PostingKind.ISSUE) if request.method == "POST" else None
    proposal = None
    if request.method == "POST" and form.is_valid():
        if request.POST.get("step") == CHECK:
            proposal = propose(material, form.cleaned_data["quantity"])
        else:
            posting = _issue(request, form)
            if posting is not None:
                return to_posting(request, posting, again=earlier is not None)
    elif earlier is not None:
        return to_posting(request, earlier, again=True)
    return _issue_page(request, material, form, proposal)


def _choose_material(request: HttpRequest) -> HttpResponse:
    lines = stock_lines(today())
    held_now = [material for material in Material.objects.all() if material.pk in lines and lines[material.pk].on_hand]
    rows = [(material, lines[material.pk]) for material in held_now]
    return render(request, "inventory/issue_choose.html", {"rows": rows})


def _issue(request: HttpRequest, form: IssueForm) -> Posting | None:
    data = form.cleaned_data
    line = IssueLine(material=form.material, quantity=data["quantity"], lot=data["lot"])
    try:
        return ledger.issue(
            key=data["key"],
            by=person(request),
            on=data["on"],
            lines=[line],
            reference=data["reference"],
            reason=data["reason"],
            override_reason=data.get("override_reason", ""),
            opens=data.get("opens", False),
        )
    except StockError as error:
        form.refuse(error)
        return None


def _issue_page(request: HttpRequest, material: Material, form: IssueForm, proposal: Proposal | None) -> HttpResponse:
    lots = Lot.objects.filter(material=material).in_stock().with_state().first_expired_first()
    window = Shop.current().expiring_days
    context = {
        "form": form,
        "material": material,
        "line": stock_lines(today()).get(material.pk),
        "proposal": proposal,
        "lots": [(lot, mark_of(lot, on=today(), window=window)) for lot in lots],
        "crumbs": [*crumbs(("Materials", "materials")), (material.name, material.get_absolute_url())],
    }
    return render(request, "inventory/issue.html", context)


@require_safe
@may("inventory.issue")
def issue_proposal(request: HttpRequest, pk: int) -> HttpResponse:
    """Which lots the quantity in the address would take: a part of the issue page, filled while one types."""
    material = get_object_or_404(Material, pk=pk)
    form = IssueForm(request.GET, material=material, may_override=False)
    form.full_clean()
    wanted, lot = form.cleaned_data.get("quantity"), form.cleaned_data.get("lot")
    proposal = propose(material, wanted) if wanted is not None and lot is None else None
    return render(request, "inventory/_proposal.html", {"proposal": proposal, "material": material})


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.return_stock")
def stock_return(request: HttpRequest, pk: int) -> HttpResponse:
    """Put back into a lot what was taken and not used."""
    lot = _lot(pk)
    form = ReturnForm(request.POST if request.method == "POST" else None, lot=lot)

    def do(data: dict[str, Any]) -> Posting:
        return ledger.return_stock(
            key=data["key"],
            by=person(request),
            on=data["on"],
            lot=lot,
            quantity=data["quantity"],
            reference=data["reference"],
            reason=data["reason"],
        )

    return _move(request, form, PostingKind.RETURN, do, title=f"Return to lot {lot.number}", button="Book the return")


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.write_off")
def stock_write_off(request: HttpRequest, pk: int) -> HttpResponse:
    """Take out of stock what nobody can use; an expired lot is offered whole."""
    lot = _lot(pk)
    until = lot.usable_until
    expired = until is not None and until < today()
    initial = {"quantity": lot.on_hand, "cause": WriteOffCause.EXPIRED} if expired else {}
    form = WriteOffForm(request.POST if request.method == "POST" else None, lot=lot, initial=initial)

    def do(data: dict[str, Any]) -> Posting:
        return ledger.write_off(
            key=data["key"],
            by=person(request),
            on=data["on"],
            lot=lot,
            quantity=data["quantity"],
            cause=data["cause"],
            reason=data["reason"],
        )

    return _move(request, form, PostingKind.WRITE_OFF, do, title=f"Write off lot {lot.number}", button="Write it off")


def _move(request: HttpRequest, form: LotQuantityForm, kind: PostingKind, do: Any, *, title: str, button: str) -> HttpResponse:
    earlier = earlier_posting(request, kind) if request.method == "POST" else None
    if request.method == "POST" and form.is_valid():
        try:
            return to_posting(request, do(form.cleaned_data), again=earlier is not None)
        except StockError as error:
            form.refuse(error)
    elif earlier is not None:
        return to_posting(request, earlier, again=True)
    context = {"form": form, "lot": form.lot, "title": title, "button": button, "words": f"{held(form.lot)} on hand."}
    return render(request, "inventory/lot_form.html", {**context, "crumbs": lot_crumbs(form.lot)})


def _lot(pk: int) -> Lot:
    return get_object_or_404(Lot.objects.with_state(), pk=pk)
