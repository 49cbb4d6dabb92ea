"""A comparison reckons with the setups' own figures, or with what the log of finished coats shows."""

from __future__ import annotations

from decimal import Decimal

import pytest

from costing.choices import LearntKind
from costing.comparison_words import basis
from costing.learning import learning_of
from costing.models import Job, SpraySetup
from costing.services.coat_checks import BoothNotes
from costing.services.comparing import Compared, Pieces, Question, compare_systems
from finishing.models import Shop, User
from tests.costing.jobs.finish_shop import FinishShop, log, step, today

pytestmark = pytest.mark.django_db
D = Decimal


def compared(shop: FinishShop, *, learnt: bool) -> Compared:
    question = Question(systems=[shop.system], pieces=Pieces(), low=D(2), high=D(50), at=D(20), learnt=learnt)
    return compare_systems(question, shop=Shop.current(), today=today())


def cost(found: Compared) -> Decimal:
    return found.ranked[0][1].cost


def test_without_a_log_the_stated_figures_hold(stocked: FinishShop) -> None:
    assert cost(compared(stocked, learnt=True)) == cost(compared(stocked, learnt=False))
    assert "as it is set, since no coat is logged with it" in basis(compared(stocked, learnt=True))


def test_it_costs_what_a_setup_with_the_learnt_figures_would(stocked: FinishShop, job: Job, finisher: User) -> None:
    first = step(job, "First coat")
    assert first.wet_film is not None
    log(first, by=finisher, mixed=D("3.5"), minutes=first.planned_minutes, booth=BoothNotes(readings=(first.wet_film,)))
    stated, found = compared(stocked, learnt=False), compared(stocked, learnt=True)
    assert cost(found) > cost(stated)
    setup = SpraySetup.objects.get()
    figures = {kind: learning_of(setup).figure(kind).learnt.value for kind in LearntKind}
    assert found.comparison is not None
    coat = found.comparison.candidates[0].system.coats[0].coat
    assert coat is not None
    assert coat.setup.transfer_efficiency == pytest.approx(figures[LearntKind.EFFICIENCY])
    assert coat.setup.spray_rate == pytest.approx(figures[LearntKind.RATE])
    told = basis(found)
    assert "From the log: " in told
    assert "of the solids land" in told
    assert "From the log" not in basis(stated)
    setup.refresh_from_db()
    assert setup.transfer_efficiency == D("0.65")
