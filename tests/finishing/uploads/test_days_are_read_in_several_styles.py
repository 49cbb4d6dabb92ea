"""Days are read as spreadsheets and people write them; what could be two days, or none, is refused."""

from __future__ import annotations

import contextlib
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.cells import CellRefusedError, guarded, plain_text, read_day

NEW_YEARS_EVE = date(2026, 12, 31)


@pytest.mark.parametrize(
    "text",
    [
        "2026-12-31",
        "2026/12/31",
        "2026-12-31 00:00:00",
        "2026-12-31T00:00:00",
        "31.12.2026",
        "31/12/2026",
        "12/31/2026",
        "12-31-2026",
        "31 Dec 2026",
        "31-Dec-2026",
        "31. December 2026",
        "Dec 31, 2026",
        "december 31 2026",
    ],
)
def test_a_day_is_read(text: str) -> None:
    assert read_day(text) == NEW_YEARS_EVE


def test_a_day_with_points_has_its_day_first_and_a_doubled_number_is_clear() -> None:
    assert read_day("04.05.2026") == date(2026, 5, 4)
    assert read_day("05/05/2026") == date(2026, 5, 5)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("04/05/2026", "two different days"),
        ("04-05-2026", "two different days"),
        ("31.12.26", "can’t be read as a date"),
        ("46387", "is a number and no date"),
        ("46387.5", "is a number and no date"),
        ("30.02.2026", "There is no such day"),
        ("2026-13-01", "There is no such day"),
        ("31 Foo 2026", "names no month"),
        ("31 Ju 2026", "names no month"),
        ("next week", "can’t be read as a date"),
        ("0000-01-01", "There is no such day"),
        ("12/2026", "can’t be read as a date"),
    ],
)
def test_what_is_no_clear_day_is_refused(text: str, words: str) -> None:
    with pytest.raises(CellRefusedError, match=words):
        read_day(text)


@pytest.mark.parametrize("style", ["%Y-%m-%d", "%d.%m.%Y", "%d %b %Y", "%B %d, %Y"])
@given(day=st.dates(min_value=date(1000, 1, 1)))
def test_any_day_comes_back_from_every_clear_style(style: str, day: date) -> None:
    assert read_day(day.strftime(style)) == day


@given(st.text())
def test_any_text_is_read_or_refused(text: str) -> None:
    with contextlib.suppress(CellRefusedError):
        assert isinstance(read_day(text), date)


@given(st.text(alphabet="'=+-@ ab"))
def test_a_guarded_text_is_no_formula_and_comes_back(text: str) -> None:
    assert not guarded(text).startswith(("=", "+", "-", "@"))
    assert plain_text(guarded(text)) == text
