"""The standard normal quantile. Pure: the standard library's own, wrapped with its bounds."""

from __future__ import annotations

from statistics import NormalDist

_STANDARD = NormalDist()


def quantile(share: float) -> float:
    """z such that a standard normal value lies below it with probability ``share``, 0 < share < 1.

    >>> round(quantile(0.95), 6)
    1.644854
    """
    if not 0 < share < 1:
        raise ValueError(f"a service target lies between 0 and 1, not at {share:g}")
    return _STANDARD.inv_cdf(share)
