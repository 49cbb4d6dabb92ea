"""A cut list as text and back: what the house reads of any list, and how a grid is shown to be edited. Imports no Django."""

from __future__ import annotations

from collections.abc import Sequence

from finishing.cells import Sheet, TextRefusedError, decode, one_line, split_text

__all__ = ["Sheet", "TextRefusedError", "decode", "join_text", "split_text"]


def join_text(grid: Sequence[Sequence[str]]) -> str:
    """A grid as text with tabs, as a spreadsheet would paste it; row numbers stay the same."""
    return "\n".join("\t".join(_quoted(one_line(cell)) for cell in row).rstrip("\t") for row in grid).rstrip("\n")


def _quoted(cell: str) -> str:
    """A cell that begins with a quotation mark would be taken for a quoted one."""
    return '"' + cell.replace('"', '""') + '"' if cell.startswith('"') else cell
