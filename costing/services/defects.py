"""Defects of coats: noted where they are seen; what mends them is logged as rework and costs what it costs."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from uuid import UUID

from django.db import transaction

from costing.choices import DefectCause, DefectKind
from costing.models import Defect, JobStep
from costing.services.coat_log import day_of
from costing.services.work_errors import WorkError
from finishing.models import User
from inventory.errors import KeyUsedError


@transaction.atomic
def note_defect(
    *,
    key: UUID,
    by: User,
    step: JobStep,
    kind: DefectKind,
    cause: DefectCause,
    area: Decimal | None,
    found_at: datetime,
    today: date,
    note: str = "",
) -> Defect:
    """Note a defect on a coat. ``area`` m² is what it is on; None: not measured. Also on a closed job: defects are found late.

    The same key by the same person gives the first one again. Raises WorkError for a step that is no coat, a day that makes no
    sense, or more area than the coat has.
    """
    made = Defect.objects.filter(key=key).first()
    if made is not None:
        if made.by_id != by.pk or made.step_id != step.pk:
            raise KeyUsedError("This form has noted something else already.")
        return made
    if not step.is_coat:
        raise WorkError(f"{step.name} is no coat. Note the defect on the coat that shows it.", field="step")
    day_of(found_at, today, field="found_at")
    if area is not None and area > step.area:
        raise WorkError("This is more than the whole coat. Give the area that shows it.", field="area")
    defect = Defect(key=key, step=step, kind=kind, cause=cause, area=area, found_at=found_at, by=by, note=note)
    defect.full_clean(exclude=["step", "by"])
    defect.save()
    return defect
