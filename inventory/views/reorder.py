"""The reorder list: page, PDF and spreadsheet."""

from __future__ import annotations

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from finishing.models import Shop
from inventory.reorder import reorder_list

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@require_safe
@permission_required("inventory.buy", raise_exception=True)
def reorder_page(request: HttpRequest) -> HttpResponse:
    """What to buy today, with the reasons."""
    shop = Shop.current()
    found = reorder_list(today=timezone.localdate(), shop=shop)
    return render(request, "inventory/reorder/list.html", {"found": found, "shop": shop})


@require_safe
@permission_required("inventory.buy", raise_exception=True)
def reorder_pdf(request: HttpRequest) -> HttpResponse:  # noqa: ARG001
    """The list as a PDF."""
    from inventory.documents.reorder_pdf import reorder_pdf as write

    shop = Shop.current()
    found = reorder_list(today=timezone.localdate(), shop=shop)
    return _file(write(found, shop=shop), "application/pdf", f"reorder-list-{found.on.isoformat()}.pdf")


@require_safe
@permission_required("inventory.buy", raise_exception=True)
def reorder_xlsx(request: HttpRequest) -> HttpResponse:  # noqa: ARG001
    """The list as a spreadsheet."""
    from inventory.documents.reorder_xlsx import reorder_xlsx as write

    shop = Shop.current()
    found = reorder_list(today=timezone.localdate(), shop=shop)
    return _file(write(found, shop=shop), XLSX, f"reorder-list-{found.on.isoformat()}.xlsx")


def _file(content: bytes, content_type: str, name: str) -> HttpResponse:
    return HttpResponse(content, content_type=content_type, headers={"Content-Disposition": f'attachment; filename="{name}"'})
