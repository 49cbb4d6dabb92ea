"""A setup's figures follow from its finished coats; the owner adopts or leaves them, and nothing changes by itself."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from costing.choices import LearntFate, LearntKind
from costing.core.learning import Learnt
from costing.learning import as_setting, changes_by_adopting, learning_of
from costing.models import CoatLog, Estimate, Job, JobStep, LearntDecision, SpraySetup
from costing.services.coat_checks import BoothNotes
from costing.services.learnt import decide
from costing.services.work_errors import WorkError
from finishing.models import User
from tests.costing.jobs.finish_shop import MIXED, FinishShop, log, mix, spray, step

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def setup(stocked: FinishShop) -> SpraySetup:
    del stocked
    return SpraySetup.objects.get()


def measured(of: JobStep, *, by: User, at: Decimal | None = None, **more: Any) -> CoatLog:
    """A coat logged with gauge readings, by default of the film that was planned."""
    assert of.wet_film is not None
    return log(of, by=by, booth=BoothNotes(readings=(at or of.wet_film,)), **more)


def other_minutes(of: JobStep) -> Decimal:
    """Planned work of the coat that is no spraying: the model's 45.961308 min are."""
    return of.planned_minutes - D("45.961308")


def test_the_worked_example_shows_its_own_efficiency_and_rate(job: Job, setup: SpraySetup, finisher: User) -> None:
    first = step(job, "First coat")
    log(first, by=finisher, minutes=first.planned_minutes)
    [point] = learning_of(setup).points
    assert point.efficiency == pytest.approx(0.65, rel=1e-5)
    assert point.rate == pytest.approx(20, rel=1e-3)
    assert not point.measured


def test_readings_and_what_a_batch_gave_count(job: Job, setup: SpraySetup, finisher: User) -> None:
    first = step(job, "First coat")
    batch = mix(first, by=finisher, litres=D("3"))
    spray(first, (batch, D("2.2")), by=finisher, booth=BoothNotes(readings=(D(95), D(105))), fills=4)
    [point] = learning_of(setup).points
    # 15.320436 m² at a mean of 100 µm out of 2.2 L less 4 fills of 0.03 L and one batch of 0.05 L
    assert point.efficiency == pytest.approx(1.5320436 / (2.2 - 0.12 - 0.05), rel=1e-5)
    assert point.measured


def test_rework_unfinished_and_reversed_coats_are_no_points(job: Job, setup: SpraySetup, finisher: User) -> None:
    log(step(job, "First coat"), by=finisher, finishes_step=False)
    assert not learning_of(setup).points
    log(step(job, "Sand"), by=finisher)
    assert not learning_of(setup).points


def test_coats_move_the_figure_and_the_present_setting_holds_against_few(
    stocked: FinishShop, setup: SpraySetup, finisher: User
) -> None:
    stocked.deliver(stocked.base, "90", "B9", days=300)
    stocked.deliver(stocked.hardener, "9", "H9", days=300)
    values = []
    for _ in range(3):
        job = stocked.job()
        for name in ("First coat", "Second coat"):
            measured(step(job, name), by=finisher, mixed=D("3.5"))  # 1.685248 L on the work of 3.3 sprayed: 51 %
        values.append(learning_of(setup).figure(LearntKind.EFFICIENCY).learnt.value)
    assert 0.65 > values[0] > values[1] > values[2] > 0.5107
    figure = learning_of(setup).figure(LearntKind.EFFICIENCY)
    assert figure.learnt.count == 6
    assert figure.learnt.says_otherwise
    [system] = learning_of(setup).systems
    assert system.system == "Clear system"


def test_the_number_of_queries_stays_the_same(stocked: FinishShop, setup: SpraySetup, finisher: User) -> None:
    stocked.deliver(stocked.base, "90", "B9", days=300)
    stocked.deliver(stocked.hardener, "9", "H9", days=300)

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            learning_of(setup)
        return len(queries)

    log(step(stocked.job(), "First coat"), by=finisher)
    few = asked()
    for _ in range(2):
        log(step(stocked.job(), "First coat"), by=finisher)
    assert asked() == few


# ---------------------------------------------------------------- deciding


@pytest.fixture
def learnt(job: Job, setup: SpraySetup, finisher: User) -> Decimal:
    """The figure after one wasteful coat."""
    measured(step(job, "First coat"), by=finisher, mixed=D("3.5"))
    return as_setting(learning_of(setup).figure(LearntKind.EFFICIENCY).learnt.value, LearntKind.EFFICIENCY)


def taken(setup: SpraySetup, by: User, fate: LearntFate, shown: Decimal, key: Any = None) -> LearntDecision:
    return decide(key=key or uuid4(), by=by, setup=setup, kind=LearntKind.EFFICIENCY, fate=fate, shown=shown)


def test_adopting_changes_the_setup_once_and_is_written_down(setup: SpraySetup, owner: User, learnt: Decimal) -> None:
    key = uuid4()
    for _ in range(2):
        made = taken(setup, owner, LearntFate.ADOPTED, learnt, key)
    setup.refresh_from_db()
    assert setup.transfer_efficiency == learnt < D("0.65")
    assert (made.before, made.value, made.coats) == (D("0.65"), learnt, 1)
    assert LearntDecision.objects.count() == 1


def test_refusing_changes_nothing_and_is_written_down(setup: SpraySetup, owner: User, learnt: Decimal) -> None:
    taken(setup, owner, LearntFate.REFUSED, learnt)
    setup.refresh_from_db()
    assert setup.transfer_efficiency == D("0.65")
    assert LearntDecision.objects.get().fate == LearntFate.REFUSED


def test_a_figure_that_has_moved_on_is_not_adopted_unseen(
    job: Job, setup: SpraySetup, owner: User, finisher: User, learnt: Decimal
) -> None:
    measured(step(job, "Second coat"), by=finisher, mixed=D("3.5"))
    with pytest.raises(WorkError, match="The log has moved on since the page was shown"):
        taken(setup, owner, LearntFate.ADOPTED, learnt)
    setup.refresh_from_db()
    assert setup.transfer_efficiency == D("0.65")


def test_coats_that_were_adopted_do_not_count_again(
    job: Job, setup: SpraySetup, owner: User, finisher: User, learnt: Decimal
) -> None:
    taken(setup, owner, LearntFate.ADOPTED, learnt)
    setup.refresh_from_db()
    after = learning_of(setup).figure(LearntKind.EFFICIENCY).learnt
    assert as_setting(after.value, LearntKind.EFFICIENCY) == learnt
    assert after.prior == 0.65
    with pytest.raises(WorkError, match="already"):
        taken(setup, owner, LearntFate.ADOPTED, learnt)
    measured(step(job, "Second coat"), by=finisher, mixed=D("3.5"))
    taken(setup, owner, LearntFate.ADOPTED, as_setting(figure_of(setup).value, LearntKind.EFFICIENCY))
    setup.refresh_from_db()
    assert figure_of(setup).prior == 0.65  # followed back over both
    setup.transfer_efficiency = D("0.7")  # written by hand since
    setup.save()
    assert figure_of(setup).prior == 0.7


def figure_of(setup: SpraySetup) -> Learnt:
    return learning_of(setup).figure(LearntKind.EFFICIENCY).learnt


def test_a_film_that_nobody_measured_teaches_the_rate_only(job: Job, setup: SpraySetup, finisher: User) -> None:
    first = step(job, "First coat")
    log(first, by=finisher, mixed=D("3.5"), minutes=first.planned_minutes)
    found = learning_of(setup)
    assert [found.figure(kind).learnt.count for kind in (LearntKind.EFFICIENCY, LearntKind.RATE)] == [0, 1]
    assert figure_of(setup).value == pytest.approx(0.65)


def test_more_landed_than_was_sprayed_is_marked_and_not_usable(
    as_: Callable[[User], Client], job: Job, setup: SpraySetup, owner: User, finisher: User
) -> None:
    measured(step(job, "First coat"), by=finisher, at=D(1200))
    found = figure_of(setup)
    assert (found.count, found.outliers, found.is_usable) == (0, {0}, False)
    said = text(as_(owner).get(reverse("setup_learning", args=[setup.pk])))
    assert "not usable" in said
    assert "outlier: transfer efficiency" in said
    assert said.count("the setting fits") <= 1  # of the rate


def test_nothing_logged_is_nothing_to_decide(setup: SpraySetup, owner: User) -> None:
    with pytest.raises(WorkError, match="nothing to decide"):
        taken(setup, owner, LearntFate.ADOPTED, D("0.65"))


def test_it_shows_what_adopting_would_change_in_open_estimates_only(
    stocked: FinishShop, setup: SpraySetup, owner: User, learnt: Decimal
) -> None:
    quote = stocked.quote()  # sent, no job yet: its estimate is open
    [change] = changes_by_adopting(setup, LearntKind.EFFICIENCY, learnt)
    assert change.estimate == quote.estimate
    assert change.after > change.before
    taken(setup, owner, LearntFate.ADOPTED, learnt)
    setup.refresh_from_db()
    assert changes_by_adopting(setup, LearntKind.EFFICIENCY, learnt) == ()
    assert Estimate.objects.count() == 2
    [back] = changes_by_adopting(setup, LearntKind.EFFICIENCY, D("0.65"))
    assert back.difference == -change.difference


# ---------------------------------------------------------------- pages


def text(answer: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def test_the_page_shows_figures_points_and_decides(
    as_: Callable[[User], Client], owner: User, office: User, finisher: User, setup: SpraySetup, job: Job, learnt: Decimal
) -> None:
    log(step(job, "Second coat"), by=finisher, mixed=MIXED)
    page = reverse("setup_learning", args=[setup.pk])
    answer = as_(owner).get(page)
    said = text(answer)
    for words in ("90 % between", "set now: 65 %", f"{job.number} First coat", "assumed as stated", "By coating system"):
        assert words in said, words
    [figure, _] = answer.context["figures"]
    form = {"key": str(figure["key"]), "kind": "efficiency", "shown": str(figure["value"]), "fate": "adopted"}
    assert as_(office).post(reverse("setup_learnt", args=[setup.pk]), form).status_code == 403
    said = text(as_(owner).post(reverse("setup_learnt", args=[setup.pk]), form, follow=True))
    assert "from now on. Sent quotes stay as they are" in said
    setup.refresh_from_db()
    assert setup.transfer_efficiency == figure["value"]
    said = text(as_(owner).post(reverse("setup_learnt", args=[setup.pk]), {**form, "shown": "x"}, follow=True))
    assert "out of date" in said
    chart = as_(owner).get(reverse("setup_learning_chart", args=[setup.pk, "efficiency"]))
    assert chart["Content-Type"] == "image/svg+xml"
    assert as_(finisher).get(page).status_code == 403


def test_a_setup_without_coats_says_what_to_do(as_: Callable[[User], Client], owner: User, setup: SpraySetup) -> None:
    assert "No finished coat yet" in text(as_(owner).get(reverse("setup_learning", args=[setup.pk])))
