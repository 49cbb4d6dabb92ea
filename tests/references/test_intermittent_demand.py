"""Forecasts of intermittent demand against published forms, and against an implementation written another way."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.demand import DemandClass, ForecastMethod, Shape, croston, forecast, shape, smoothed, syntetos_boylan
from tests.references.sources import Check, Known, check

CROSTON = "J. D. Croston, Operational Research Quarterly 23 (1972): z and p renewed in periods with demand"
BIAS = "A. A. Syntetos and J. E. Boylan, International Journal of Forecasting 21 (2005): (1 − α/2) z/p"
CLASSES = "A. A. Syntetos, J. E. Boylan and J. D. Croston, J. Operational Research Society 56 (2005): cuts 1.32 and 0.49"
FPP = "R. J. Hyndman and G. Athanasopoulos, Forecasting: Principles and Practice, 2nd ed., section 12.2"
SHORT = (0, 0, 5, 0, 0, 0, 3, 0, 4, 0, 0, 6)
MONTHS = (*(0, 2, 0, 1, 0, 11, 0, 0, 0, 0, 2, 0, 6, 3, 0, 0, 0, 0, 0, 7), *(0, 0, 0, 0, 0, 0, 0, 3, 1, 0, 0, 1, 0, 1, 0, 0))


def shape_of(weeks: tuple[int, ...]) -> Shape:
    found = shape(weeks)
    assert found is not None
    return found


CHECKS: tuple[Check, ...] = (
    check("RPL-20", "Croston, α 0.1, twelve periods", 1.6208625878, 1e-9, CROSTON, Known.RELATION, lambda: croston(SHORT)),
    check("RPL-21", "Syntetos–Boylan, α 0.1, the same", 1.5398194584, 1e-9, BIAS, Known.RELATION, lambda: syntetos_boylan(SHORT)),
    check("RPL-22", "Croston, α 0.2, the same", 1.6118598383, 1e-9, CROSTON, Known.RELATION, lambda: croston(SHORT, alpha=0.2)),
    check(
        "RPL-23",
        "Syntetos–Boylan, α 0.2, the same",
        1.4506738544,
        1e-9,
        BIAS,
        Known.RELATION,
        lambda: syntetos_boylan(SHORT, alpha=0.2),
    ),
    check(
        "RPL-24",
        "Croston, α 0.1, 36 months",
        0.9845965214,
        1e-8,
        f"{FPP}: the data; the book prints 2.750/2.793 = 0.985 (from memory)",
        Known.RELATION,
        lambda: croston(MONTHS),
    ),
    check(
        "RPL-25",
        "Syntetos–Boylan, α 0.1, the same",
        0.9353666953,
        1e-8,
        f"{FPP}: the data; {BIAS}; computed with statsforecast 2.1.1",
        Known.RELATION,
        lambda: syntetos_boylan(MONTHS),
    ),
    check(
        "RPL-26",
        "mean interval of these months",
        34 / 11,
        1e-12,
        f"{FPP}: the data",
        Known.EXACT,
        lambda: shape_of(MONTHS).interval,
    ),
    check(
        "RPL-27",
        "squared coefficient of variation, population form",
        0.79778,
        1e-5,
        f"{FPP}: the data",
        Known.RELATION,
        lambda: shape_of(MONTHS).spread,
    ),
)
REFERENCES = tuple(one.reference for one in CHECKS)


@pytest.mark.parametrize("one", CHECKS, ids=[one.reference.id for one in CHECKS])
def test_intermittent_demand(one: Check) -> None:
    one.run()


def test_the_class_of_the_published_months_is_lumpy() -> None:
    found = forecast(MONTHS)
    assert found is not None
    assert (found.demand_class, found.method) == (DemandClass.LUMPY, ForecastMethod.SYNTETOS_BOYLAN), CLASSES


def in_closed_form(values: list[float], alpha: float, start: float) -> float:
    """Exponential smoothing as one weighted sum: (1 − α)^n of the start and α (1 − α)^(n − k) of the k-th value."""
    count = len(values)
    return (1 - alpha) ** count * start + sum(
        alpha * (1 - alpha) ** (count - 1 - place) * value for place, value in enumerate(values)
    )


@given(st.lists(st.sampled_from([0.0, 0.0, 0.0, 1.0, 2.5, 7.0]), min_size=1, max_size=52), st.sampled_from([0.05, 0.1, 0.3]))
def test_croston_agrees_with_sizes_and_gaps_smoothed_apart(weeks: list[float], alpha: float) -> None:
    """The sizes and the gaps between them as two lists, each smoothed in closed form."""
    places = [place for place, week in enumerate(weeks) if week]
    sizes = [weeks[place] for place in places]
    gaps = [float(place - before) for before, place in zip([-1, *places[:-1]], places, strict=True)] if places else []
    expected = in_closed_form(sizes[1:], alpha, sizes[0]) / in_closed_form(gaps[1:], alpha, gaps[0]) if places else 0.0
    assert croston(weeks, alpha=alpha) == pytest.approx(expected, rel=1e-9)
    assert syntetos_boylan(weeks, alpha=alpha) == pytest.approx((1 - alpha / 2) * expected, rel=1e-9)


@given(st.lists(st.floats(0, 100), min_size=4, max_size=52), st.sampled_from([0.05, 0.1, 0.3]))
def test_smoothing_agrees_with_its_closed_form(weeks: list[float], alpha: float) -> None:
    expected = in_closed_form(weeks[4:], alpha, sum(weeks[:4]) / 4)
    assert smoothed(weeks, alpha=alpha) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("interval", "spread", "expected"),
    [
        (1.31, 0.48, DemandClass.SMOOTH),
        (1.31, 0.49, DemandClass.ERRATIC),
        (1.32, 0.48, DemandClass.INTERMITTENT),
        (1.32, 0.49, DemandClass.LUMPY),
    ],
)
def test_classes_are_cut_where_they_are_published(interval: float, spread: float, expected: DemandClass) -> None:
    assert Shape(interval=interval, spread=spread).demand_class is expected, CLASSES
