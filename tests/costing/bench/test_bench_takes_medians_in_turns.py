"""Ours and the baseline take turns, the median counts, and what is no measurement is refused."""

from __future__ import annotations

import math

import pytest

from costing.bench import measure
from costing.bench.measure import BenchError, Pair, Ratio, as_table, take_turns


def a_ratio(**changes: object) -> Ratio:
    given = {"name": "Estimate", "ours": 2.5, "baseline": 5.0, "unit": "systems/s", "times": 2.0, "against": "bare", **changes}
    return Ratio(**given)  # type: ignore[arg-type]


def test_the_one_who_begins_changes_from_round_to_round() -> None:
    told: list[str] = []
    take_turns(lambda: told.append("ours"), lambda: told.append("base"), rounds=4)
    warm, rest = told[:2], told[2:]
    assert sorted(warm) == ["base", "ours"]
    assert rest == ["base", "ours", "ours", "base", "base", "ours", "ours", "base"]


def test_one_slow_round_does_not_move_the_result(monkeypatch: pytest.MonkeyPatch) -> None:
    def seconds_of(work: object) -> float:
        return float(work())  # type: ignore[operator]

    ours, baseline = iter([0, 3, 900, 3]), iter([0, 1, 1, 70])  # the first of each warms up
    monkeypatch.setattr(measure, "seconds_of", seconds_of)
    assert take_turns(lambda: next(ours), lambda: next(baseline), rounds=3) == Pair(ours=3, baseline=1)


def test_a_ratio_says_how_many_times_as_long_ours_takes() -> None:
    pair = Pair(ours=0.5, baseline=0.1)
    rate = pair.rates("Postings", pieces=20, unit="1/s", against="raw")
    assert (rate.ours, rate.baseline, rate.times) == (40, pytest.approx(200), 5)
    page = pair.milliseconds("Page", against="short ledger", grows=True)
    assert (page.ours, page.baseline, page.times, page.grows) == (500, 100, 5, True)


@pytest.mark.parametrize("figure", [0.0, -1.0, math.nan, math.inf])
@pytest.mark.parametrize("field", ["ours", "baseline", "times"])
def test_what_is_no_measurement_is_refused(field: str, figure: float) -> None:
    with pytest.raises(BenchError, match="no measurement"):
        a_ratio(**{field: figure})


def test_the_table_shows_every_column_and_marks_what_grows() -> None:
    lines = as_table([a_ratio(), a_ratio(name="Page lots", ours=1234.5, grows=True)]).splitlines()
    assert lines[0].split() == ["what", "ours", "baseline", "unit", "ratio", "the", "baseline", "is"]
    assert lines[2].split() == ["Estimate", "2.50", "5.00", "systems/s", "2.00", "bare"]
    assert lines[3].split() == ["Page", "lots", "1,234", "5.00", "systems/s", "2.00", "bare", "GROWS"]
