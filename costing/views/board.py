"""The job board: what is wet, what dries, what may go on."""

from __future__ import annotations

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from costing.board import board
from costing.work import open_pots


@require_safe
@permission_required("costing.view", raise_exception=True)
def job_board(request: HttpRequest) -> HttpResponse:
    """Open jobs by where their work stands, and the day's work in order. The page asks for itself anew every minute."""
    now = timezone.now()
    context = {
        "board": board(now=now),
        "now": timezone.localtime(now),
        "pots": open_pots(),
        "may_log": request.user.has_perm("costing.log_work"),
    }
    return render(request, "costing/desks/board.html", context)
