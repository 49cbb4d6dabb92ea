"""The line through logged coats and the conjugate update against a certified data set and worked figures."""

from __future__ import annotations

import pytest

from costing.core.learning import Belief, Line, fit_line
from tests.references.sources import Check, Known, Reference, check

NORRIS_SOURCE = "NIST Statistical Reference Datasets, linear regression, Norris (certified values)"
X = (
    *(0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6),
    *(556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5),
)
Y = (
    *(0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8),
    *(557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2),
)


def norris() -> Line:
    line = fit_line(list(zip(X, Y, strict=True)))
    assert line is not None
    return line


UPDATE = "prior mean .60 weight 2 shape 3 scale .005; data .62 .58 .66 .60 .64"
RELATION = "Normal-inverse-gamma update, Gelman et al., Bayesian Data Analysis, section 3.3 (from memory), own arithmetic"


def after() -> Belief:
    return Belief(mean=0.60, weight=2, shape=3, scale=0.005).learn((0.62, 0.58, 0.66, 0.60, 0.64))


CHECKS: tuple[Check, ...] = (
    check("ST1", "Norris, intercept", -0.262323073774029, 1e-9, NORRIS_SOURCE, Known.READ, lambda: norris().fixed),
    check("ST2", "Norris, its error", 0.232818234301152, 1e-9, NORRIS_SOURCE, Known.READ, lambda: norris().fixed_error),
    check("ST3", "Norris, slope", 1.00211681802045, 1e-12, NORRIS_SOURCE, Known.READ, lambda: norris().slope),
    check("ST4", "Norris, its error", 0.000429796848199937, 1e-12, NORRIS_SOURCE, Known.READ, lambda: norris().slope_error),
    check("ST5", "Norris, residual deviation", 0.884796396144373, 1e-9, NORRIS_SOURCE, Known.READ, lambda: norris().scatter),
    check("ST6", "Norris, R squared", 0.999993745883712, 1e-12, NORRIS_SOURCE, Known.READ, lambda: norris().explained),
    check("ST7", f"posterior mean, {UPDATE}", 0.6142857143, 1e-9, RELATION, Known.RELATION, lambda: after().mean),
    check("ST8", f"posterior scale, {UPDATE}", 0.0072857143, 1e-9, RELATION, Known.RELATION, lambda: after().scale),
    check("ST9", f"95 % from, {UPDATE}", 0.5840080187, 1e-8, RELATION, Known.RELATION, lambda: after().interval(0.95)[0]),
    check("ST10", f"95 % to, {UPDATE}", 0.6445634098, 1e-8, RELATION, Known.RELATION, lambda: after().interval(0.95)[1]),
    check("ST11", f"expected variance, {UPDATE}", 0.0016190476, 1e-9, RELATION, Known.RELATION, lambda: after().variance),
)
REFERENCES: tuple[Reference, ...] = tuple(entry.reference for entry in CHECKS)


@pytest.mark.parametrize("entry", CHECKS, ids=[entry.reference.id for entry in CHECKS])
def test_it_agrees_with_what_is_published(entry: Check) -> None:
    entry.run()
