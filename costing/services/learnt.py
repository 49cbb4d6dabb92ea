"""Adopting or refusing what the log teaches. Nothing changes by itself."""

from __future__ import annotations

from decimal import Decimal
from uuid import UUID

from django.db import transaction

from costing.choices import LearntFate, LearntKind
from costing.learning import Figure, as_setting, learning_of, setting_of
from costing.models import LearntDecision, SpraySetup
from costing.services.work_errors import WorkError
from finishing import show
from finishing.models import User
from inventory.errors import KeyUsedError


@transaction.atomic
def decide(*, key: UUID, by: User, setup: SpraySetup, kind: LearntKind, fate: LearntFate, shown: Decimal) -> LearntDecision:
    """Take the learnt figure as the setup's setting from now on, or leave it; either way it is written down.

    ``shown`` is the figure that the person saw: where the log has moved on since, WorkError asks to look again. The same key by
    the same person gives the first decision again.
    """
    setup = SpraySetup.objects.select_for_update().get(pk=setup.pk)
    made = LearntDecision.objects.filter(key=key).first()
    if made is not None:
        if made.by_id != by.pk or made.setup_id != setup.pk:
            raise KeyUsedError("This form has decided something else already.")
        return made
    figure = learning_of(setup).figure(kind)
    value = as_setting(figure.learnt.value, kind)
    if value != shown:
        raise WorkError(
            f"The log has moved on since the page was shown: the figure is {words_of(value, kind)} now. Look and decide again."
        )
    if not figure.learnt.count:
        raise WorkError("No coat is logged with this setup yet, so there is nothing to decide.")
    if fate == LearntFate.ADOPTED and not figure.learnt.is_usable:
        raise WorkError("These figures are not usable: more would land than was sprayed. Look at readings, amounts and areas.")
    if fate == LearntFate.ADOPTED and value == setting_of(setup, kind):
        raise WorkError(f"The setup reckons with {words_of(value, kind)} already.")
    decision = _decision(figure, key=key, by=by, setup=setup, fate=fate, value=value)
    decision.save()
    if fate == LearntFate.ADOPTED:
        name = "transfer_efficiency" if kind == LearntKind.EFFICIENCY else "spray_rate"
        setattr(setup, name, value)
        setup.full_clean()
        setup.save(update_fields=[name])
    return decision


def _decision(figure: Figure, *, key: UUID, by: User, setup: SpraySetup, fate: LearntFate, value: Decimal) -> LearntDecision:
    learnt = figure.learnt
    return LearntDecision(
        key=key,
        setup=setup,
        kind=figure.kind,
        fate=fate,
        before=setting_of(setup, figure.kind),
        value=value,
        low=round(Decimal(str(learnt.low)), 4),
        high=round(Decimal(str(learnt.high)), 4),
        coats=learnt.count,
        by=by,
    )


def words_of(value: Decimal | float, kind: LearntKind) -> str:
    """A learnt figure as people read it."""
    return show.percent(value) if kind == LearntKind.EFFICIENCY else f"{show.area(value)}/h"
