"""Columns that show measures and money the shop's way."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import django_tables2

RIGHT = {"th": {"class": "num"}, "td": {"class": "num"}, "tf": {"class": "num"}}


class FigureColumn(django_tables2.Column):
    """A number on the right, shown by a function of the house such as ``show.area``."""

    def __init__(self, shown: Callable[[Any], str], **kwargs: Any) -> None:
        self.shown = shown
        super().__init__(**{"attrs": RIGHT, "default": "–", **kwargs})

    def render(self, value: Any) -> str:
        """The number in the shop's units or currency."""
        return self.shown(value)


class InUseColumn(django_tables2.Column):
    """Whether an entry is still offered, in words."""

    def render(self, value: bool) -> str:
        """Yes or no."""
        return "yes" if value else "no longer"
