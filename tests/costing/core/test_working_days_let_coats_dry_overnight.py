"""Elapsed time laid out on working days: people go home, coats dry on."""

from __future__ import annotations

from dataclasses import replace

import pytest

from costing.core.calendar import LaidOut, lay_out
from costing.core.errors import CostingError
from costing.core.schedule import elapsed_steps
from costing.core.system import Operation, OperationKind, TimeLine
from tests.costing.core.workshop import COAT, reckon, spray, system_of


def work(hours: float, *, crew: int = 1) -> Operation:
    """An operation of so many person-hours."""
    return Operation(
        name="Work", kind=OperationKind.OTHER, labour_class="helper", crew=crew, time_lines=(TimeLine(minutes=60 * hours),)
    )


def coat(*, dry: float = 0, stacking: float = 0) -> Operation:
    """A coat of 43 min of work that dries so many hours."""
    return spray(replace(COAT, dry_minutes=60 * dry, stacking_minutes=60 * stacking))


def laid(*operations: Operation) -> LaidOut:
    """A system on days of eight hours."""
    return lay_out(elapsed_steps(reckon(system_of(*operations)).operations), hours_a_day=8)


def days(*operations: Operation, hours: float = 8) -> float:
    """Working days of a system."""
    return lay_out(elapsed_steps(reckon(system_of(*operations)).operations), hours_a_day=hours).days


COAT_HOURS = 43 / 60  # 30 min of spraying, 4 fills of 2 min, 5 min of mixing


def test_what_fits_into_a_day_is_a_share_of_it():
    assert days(work(2)) == pytest.approx(2 / 8)


def test_work_beyond_the_day_goes_on_next_morning():
    found = laid(work(20))
    assert found.days == pytest.approx(2.5)
    assert [(span.start / 60, span.end / 60) for span in found.steps[0].work] == [(0, 8), (24, 32), (48, 52)]


def test_a_coat_dries_through_the_night():
    # Sprayed by 0.72 h of the first day, dry 16 h later in the night; one hour of work on the second day.
    assert days(coat(dry=16), work(1)) == pytest.approx(1 + 1 / 8)


def test_drying_within_the_day_keeps_people_waiting():
    assert days(coat(dry=2), work(1)) == pytest.approx((COAT_HOURS + 2 + 1) / 8)


def test_what_ends_in_the_night_ends_with_the_day_before():
    assert days(work(6), coat(stacking=10)) == pytest.approx(1)


def test_more_people_take_less_of_the_day():
    assert days(work(8, crew=2)) == pytest.approx(0.5)


def test_work_that_ends_with_the_day_takes_just_that_day():
    found = laid(work(8), work(8))
    assert found.days == pytest.approx(2)
    assert found.steps[1].work[0].start == 24 * 60


def test_a_day_round_the_clock_is_plain_elapsed_time():
    result = reckon(system_of(work(30), coat(dry=20), work(7)))
    assert lay_out(elapsed_steps(result.operations), hours_a_day=24).end == pytest.approx(result.elapsed_minutes)


@pytest.mark.parametrize("hours", [0, -1, 25])
def test_a_day_has_some_hours_and_not_more_than_24(hours):
    with pytest.raises(CostingError):
        days(work(1), hours=hours)


def test_a_coat_holds_the_booth_while_sprayed_and_flashing_off_then_the_rack():
    step = laid(coat(dry=2), work(1)).steps[0]
    sprayed = step.work[0].end
    assert [(span.start, span.end) for span in step.booth] == [(0, sprayed), (sprayed, sprayed + 10)]
    assert (step.rack.start, step.rack.end) == (sprayed + 10, sprayed + 120)


def test_other_work_holds_neither_booth_nor_rack():
    step = laid(work(1)).steps[0]
    assert step.booth == ()
    assert step.rack is None
