"""Tables of an estimate: systems side by side, and the whole breakdown of one of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import django_tables2 as tables

Row = dict[str, Any]
NUM = {"th": {"class": "num"}, "td": {"class": "num"}, "tf": {"class": "num"}}


def figure(words: str, **kwargs: Any) -> tables.Column:
    """A column of figures that stand right."""
    return tables.Column(verbose_name=words, attrs=NUM, orderable=False, **kwargs)


def text(words: str, **kwargs: Any) -> tables.Column:
    """A column of words."""
    return tables.Column(verbose_name=words, orderable=False, **kwargs)


class FixedTable(tables.Table):
    """A table that shows what it is given, in that order, on one page."""

    def __init__(self, data: Any, *, caption: str, hide_caption: bool = False, **kwargs: Any) -> None:
        super().__init__(data, orderable=False, **kwargs)
        self.caption, self.caption_hidden = caption, hide_caption

    class Meta:
        template_name = "tables/house.html"


def side_by_side(
    rows: Sequence[Row], names: Sequence[str], *, caption: str, first: str, prefix: str, total: Row | None = None
) -> FixedTable:
    """One column of figures for each system, under a heading that says what it is; a row is ``words``, ``s0``, ``s1`` …"""
    columns = [("words", first, False), *((f"s{number}", name, True) for number, name in enumerate(names))]
    return plain_table(columns, rows, caption=caption, prefix=prefix, total=total, hide_caption=True)


def plain_table(
    columns: Sequence[tuple[str, str, bool]],
    rows: Sequence[Row],
    *,
    caption: str,
    prefix: str,
    empty: str = "Nothing here.",
    total: Row | None = None,
    hide_caption: bool = False,
) -> FixedTable:
    """A table of ready words: each column is (key, heading, whether it holds figures); ``total`` stands at its foot.

    The caption may be hidden where a heading above the table says the same.
    """
    made = []
    for key, words, is_figure in columns:
        foot = {"footer": total.get(key, "")} if total is not None else {}
        made.append((key, figure(words, **foot) if is_figure else text(words, **foot)))
    return FixedTable(rows, caption=caption, hide_caption=hide_caption, extra_columns=made, prefix=prefix, empty_text=empty)
