"""Tables of an estimate: systems side by side, and the whole breakdown of one of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import django_tables2 as tables

NUM = {"th": {"class": "num"}, "td": {"class": "num"}, "tf": {"class": "num"}}


def figure(words: str, **kwargs: Any) -> tables.Column:
    """A column of figures that stand right."""
    return tables.Column(verbose_name=words, attrs=NUM, orderable=False, **kwargs)


def text(words: str, **kwargs: Any) -> tables.Column:
    """A column of words."""
    return tables.Column(verbose_name=words, orderable=False, **kwargs)


class FixedTable(tables.Table):  # type: ignore[misc] # the library has no types
    """A table that shows what it is given, in that order, on one page."""

    def __init__(self, data: Any, *, caption: str, hide_caption: bool = False, **kwargs: Any) -> None:
        super().__init__(data, orderable=False, **kwargs)
        self.caption, self.caption_hidden = caption, hide_caption

    class Meta:
        template_name = "tables/house.html"


def side_by_side(
    rows: Sequence[dict[str, Any]], names: Sequence[str], *, caption: str, first: str = "", prefix: str = ""
) -> FixedTable:
    """One column of figures for each system; a row is ``words`` and ``s0``, ``s1`` …"""
    columns = [("words", text(first))]
    columns += [(f"s{number}", figure(name)) for number, name in enumerate(names)]
    return FixedTable(rows, caption=caption, extra_columns=columns, prefix=prefix)


def plain_table(
    columns: Sequence[tuple[str, str, bool]], rows: Sequence[dict[str, Any]], *, caption: str, prefix: str, empty: str = ""
) -> FixedTable:
    """A table of ready words: each column is (key, heading, whether it holds figures)."""
    made = [(key, figure(words) if is_figure else text(words)) for key, words, is_figure in columns]
    return FixedTable(rows, caption=caption, extra_columns=made, prefix=prefix, empty_text=empty or "Nothing here.")
