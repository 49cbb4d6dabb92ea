"""The spray room: what to do next, what is drying, which containers are open."""

from __future__ import annotations

from datetime import timedelta

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from costing.choices import JobStatus
from costing.models import Job
from costing.work import open_lots, open_pots, with_steps
from finishing.models import Shop
from inventory.choices import CountStatus
from inventory.lot_states import mark_of
from inventory.models import StockCount

NEXT_JOBS = 6
COMING = timedelta(days=14)


@require_safe
@permission_required("costing.log_work", raise_exception=True)
def spray_room(request: HttpRequest) -> HttpResponse:
    """Jobs in work and those that come next, each with the button that logs its next step."""
    today = timezone.localdate()
    shop = Shop.current()
    in_work = list(Job.objects.filter(status=JobStatus.IN_WORK).order_by("starts_on", "pk"))
    booked = Job.objects.filter(status=JobStatus.BOOKED).order_by("starts_on", "pk")
    views = with_steps([*in_work, *booked[:NEXT_JOBS]])
    materials = {line.material_id for view in views for step in view.steps for line in step.materials}
    context = {
        "now": timezone.localtime(),
        "in_work": [view for view in views if view.job.status == JobStatus.IN_WORK],
        "coming": [view for view in views if view.job.status == JobStatus.BOOKED],
        "more": max(booked.count() - NEXT_JOBS, 0),
        "drying": sorted((view for view in views if view.is_drying), key=lambda view: view.ready_at or timezone.now()),
        "pots": open_pots(),
        "counts": StockCount.objects.filter(status=CountStatus.OPEN).select_related("location"),
        "opened": [(lot, mark_of(lot, on=today, window=shop.expiring_days)) for lot in open_lots(materials, today)],
    }
    return render(request, "costing/desks/spray_room.html", context)
