"""Wet, drying, ready: what the log says, told at any moment; and the day's work in an order that lets things dry."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.board import BoardStep, JobToPlan, Stand, day_in_order, standing

NOON = datetime(2030, 5, 1, 12, 0)


def at(minutes: float) -> datetime:
    return NOON + timedelta(minutes=minutes)


def coat(*, done: float | None = None, dry: float = 60, begun: bool = False, flash: float = 0) -> BoardStep:
    return BoardStep(
        kind="coat",
        is_done=done is not None,
        is_begun=begun or done is not None,
        last_done_at=None if done is None else at(done),
        dry_minutes=dry,
        flash_minutes=flash,
    )


def step(kind: str, *, done: float | None = None) -> BoardStep:
    return BoardStep(
        kind=kind, is_done=done is not None, is_begun=done is not None, last_done_at=None if done is None else at(done)
    )


@pytest.mark.parametrize(
    ("minutes", "stand"),
    [(0, Stand.WET), (14, Stand.WET), (15, Stand.DRYING), (59, Stand.DRYING), (60, Stand.READY_TO_ABRADE)],
)
def test_a_coat_is_wet_then_dries_then_may_be_abraded(minutes: float, stand: Stand) -> None:
    found = standing([coat(done=0), step("abrade"), coat()], now=at(minutes))
    assert (found.stand, found.next_step, found.ready_at) == (stand, 1, at(60))


def test_its_own_flash_off_says_how_long_it_is_wet() -> None:
    assert standing([coat(done=0, flash=30), coat()], now=at(29)).stand is Stand.WET
    assert standing([coat(done=0, flash=30), coat()], now=at(31)).stand is Stand.DRYING


@pytest.mark.parametrize(
    ("steps", "stand"),
    [
        ([step("abrade"), coat()], Stand.TO_BEGIN),
        ([step("abrade", done=-5), coat()], Stand.READY_TO_COAT),
        ([step("abrade", done=-5), coat(begun=True)], Stand.SPRAYING),
        ([coat(done=-100), step("inspect")], Stand.READY),
        ([coat(done=-100), step("inspect", done=-1)], Stand.FINISHED),
        ([coat(done=-10)], Stand.WET),
        ([coat(done=-30)], Stand.DRYING),
    ],
)
def test_each_state_has_its_place(steps: list[BoardStep], stand: Stand) -> None:
    assert standing(steps, now=NOON).stand is stand


def test_a_coat_logged_early_on_a_wet_one_waits_for_both() -> None:
    found = standing([coat(done=0, dry=300), coat(done=10, dry=20), step("abrade")], now=at(40))
    assert (found.stand, found.ready_at) == (Stand.DRYING, at(300))


def test_hands_go_to_another_job_while_one_dries() -> None:
    one = JobToPlan(steps=((0, 30, 60), (1, 20, 0)), ready_at=NOON)
    two = JobToPlan(steps=((4, 25, 0),), ready_at=at(10))
    planned = day_in_order([one, two], now=NOON, until=at(600))
    assert [(work.job, work.step, work.begins, work.waits) for work in planned] == [
        (0, 0, NOON, False),
        (1, 4, at(30), False),
        (0, 1, at(90), True),
    ]


def test_the_day_ends() -> None:
    job = JobToPlan(steps=((0, 30, 0), (1, 30, 0), (2, 30, 0)), ready_at=NOON)
    assert [work.step for work in day_in_order([job], now=NOON, until=at(60))] == [0, 1]


@given(
    st.lists(st.tuples(st.lists(st.tuples(st.integers(1, 90), st.integers(0, 300)), max_size=4), st.integers(0, 200)), max_size=5)
)
def test_nothing_overlaps_and_nothing_begins_before_it_is_dry(drawn: list[tuple[list[tuple[int, int]], int]]) -> None:
    jobs = [
        JobToPlan(steps=tuple((index, work, dry) for index, (work, dry) in enumerate(steps)), ready_at=at(ready))
        for steps, ready in drawn
    ]
    planned = day_in_order(jobs, now=NOON, until=at(100_000))
    assert len(planned) == sum(len(job.steps) for job in jobs)
    for before, after in pairwise(planned):
        assert after.begins >= before.ends
    for index, job in enumerate(jobs):
        ready = job.ready_at
        for work, (step_index, _, dry) in zip([w for w in planned if w.job == index], job.steps, strict=True):
            assert work.step == step_index
            assert work.begins >= ready
            ready = work.ends + timedelta(minutes=dry)
