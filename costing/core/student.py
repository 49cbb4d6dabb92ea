"""Student's t distribution: probability and quantile. Pure: no Django, no library beyond the standard one.

The probability comes from the regularised incomplete beta function by its continued fraction (NIST Digital Library of
Mathematical Functions, 8.17.22, cited from memory), evaluated by Lentz's method. The tests compare it with a library.
"""

from __future__ import annotations

from math import exp, lgamma, log, log1p

SMALLEST = 1e-300
TERMS = 500


def incomplete_beta(a: float, b: float, x: float) -> float:
    """I_x(a, b), 0 <= x <= 1, a and b above 0. ValueError outside."""
    if not 0 <= x <= 1 or a <= 0 or b <= 0:
        raise ValueError("the incomplete beta function needs a > 0, b > 0 and 0 <= x <= 1")
    if x in {0.0, 1.0}:
        return x
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x))
    # The fraction converges fast on this side only; the other follows by symmetry.
    if x < (a + 1) / (a + b + 2):
        return front * _fraction(a, b, x) / a
    return 1 - front * _fraction(b, a, 1 - x) / b


def _fraction(a: float, b: float, x: float) -> float:
    upper, lower = 1.0, 1 - (a + b) * x / (a + 1)
    lower = 1 / (lower if abs(lower) > SMALLEST else SMALLEST)
    value = lower
    for step in range(1, TERMS):
        even = step * (b - step) * x / ((a + 2 * step - 1) * (a + 2 * step))
        odd = -(a + step) * (a + b + step) * x / ((a + 2 * step) * (a + 2 * step + 1))
        for part in (even, odd):
            lower = 1 + part * lower
            upper = 1 + part / upper
            lower = 1 / (lower if abs(lower) > SMALLEST else SMALLEST)
            upper = upper if abs(upper) > SMALLEST else SMALLEST
            value *= lower * upper
        if abs(lower * upper - 1) < 1e-15:
            break
    return value


def probability(t: float, degrees: float) -> float:
    """The chance that a t value with so many degrees of freedom (above 0) lies below ``t``."""
    square = t * t
    if square < degrees:  # near the middle the tail is 1 less something tiny, which would be lost
        half = incomplete_beta(0.5, degrees / 2, square / (degrees + square)) / 2
        return 0.5 - half if t < 0 else 0.5 + half
    tail = incomplete_beta(degrees / 2, 0.5, degrees / (degrees + square)) / 2
    return tail if t < 0 else 1 - tail


def quantile(share: float, degrees: float) -> float:
    """t such that a value lies below it with probability ``share``, 0 < share < 1.

    >>> round(quantile(0.95, 10), 6)
    1.812461
    """
    if not 0 < share < 1 or degrees <= 0:
        raise ValueError("a quantile needs a share between 0 and 1 and degrees of freedom above 0")
    if share < 0.5:
        return -quantile(1 - share, degrees)
    low, high = 0.0, 1.0
    while probability(high, degrees) < share:
        low, high = high, high * 2
    for _ in range(200):
        middle = (low + high) / 2
        if middle in {low, high}:
            break
        low, high = (middle, high) if probability(middle, degrees) < share else (low, middle)
    return (low + high) / 2
