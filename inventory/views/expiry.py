"""The expiry board, and writing off what is out of date."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from finishing.show import money, percent
from inventory.errors import StockError
from inventory.expiry import expiry_board as board_of
from inventory.forms.expiry import WriteOffExpiredForm
from inventory.forms.moves import today
from inventory.models import Material
from inventory.selectors import ExpiryShare, expiry_shares
from inventory.services.expiry import write_off_expired
from inventory.views.common import crumbs, may, person, sees_costs

WRITE_OFF = "inventory.write_off"


@dataclass(frozen=True, slots=True, kw_only=True)
class Working:
    """How the expiry allowance of one material came about."""

    words: str
    formula: str
    inputs: tuple[tuple[str, str, str, str], ...]  # symbol, words, value, unit
    result: str
    note: str = ""
    section: str = "5"


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.view")
def expiry_board(request: HttpRequest) -> HttpResponse:
    """What goes out of date week by week, which jobs can use it up, what to write off; and the writing off itself."""
    form = WriteOffExpiredForm(request.POST if request.method == "POST" else None)
    if request.method == "POST":
        if not person(request).has_perm(WRITE_OFF):
            raise PermissionDenied
        if form.is_valid() and _written_off(request, form):
            return redirect("expiry_board")
    on, costs = today(), sees_costs(request)
    board = board_of(on)
    context = {
        "board": board,
        "form": form,
        "costs": costs,
        "window": len(board.weeks),
        "workings": workings(expiry_shares(on)) if costs else [],
        "crumbs": crumbs(("Lots", "lots")),
    }
    return render(request, "inventory/expiry/board.html", context)


def _written_off(request: HttpRequest, form: WriteOffExpiredForm) -> bool:
    data: dict[str, Any] = form.cleaned_data
    try:
        done = write_off_expired(
            key=data["key"],
            by=person(request),
            on=today(),
            lots=list(data["lots"]),
            reason=data["reason"],
            disposal=data["disposal"],
        )
    except StockError as error:
        form.refuse(error)
        return False
    what = f"{len(done)} lot is" if len(done) == 1 else f"{len(done)} lots are"
    messages.success(request, f"{what} written off: {', '.join(str(posting) for posting in done)}.")
    return True


def workings(shares: Mapping[int, ExpiryShare]) -> list[Working]:
    """For each material of which something went out of date: its expiry allowance, with the numbers that went in."""
    names = dict(Material.objects.filter(pk__in=shares).order_by("name").values_list("pk", "name"))
    return [_working(name, shares[pk]) for pk, name in names.items()]


def _working(name: str, share: ExpiryShare) -> Working:
    return Working(
        words=name,
        formula="x = lost / (used + lost)",
        inputs=(
            ("lost", "written off as out of date in the last 12 months, at the lots’ cost", money(share.lost), ""),
            ("used", "issued less returned in the last 12 months, at the lots’ cost", money(max(share.used, Decimal(0))), ""),
        ),
        result=percent(share.allowance),
        note="" if share.allowance else "Nothing was used in that time, so the loss can’t be laid upon any use.",
    )
