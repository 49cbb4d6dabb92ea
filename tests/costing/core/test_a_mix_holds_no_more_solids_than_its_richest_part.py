"""Rounding never makes a mix richer than what it is mixed from."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from costing.core.film import mix_volume_solids

parts = st.lists(st.tuples(st.floats(0.01, 100), st.floats(0, 100)), min_size=1, max_size=5)


def test_parts_of_pure_solids_mix_to_pure_solids() -> None:
    assert mix_volume_solids((3.3, 0.3, 1), (100, 100, 100)) == 100


@given(parts)
def test_it_lies_below_the_richest_part(mix: list[tuple[float, float]]) -> None:
    assert mix_volume_solids([part for part, _ in mix], [solids for _, solids in mix]) <= max(solids for _, solids in mix)
