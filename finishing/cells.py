"""From text to a grid of cells: pasted from a spreadsheet, or a CSV file. Imports no Django."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass

MOST_LINES = 20_000
_DECIMAL_COMMA = re.compile(r"([+-]?\d+),(\d+)(?=\D*$)")
_CONTROLS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")


class TextRefusedError(ValueError):
    """Text that is no list; the message says what would be right."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """Cells as texts, row by row, and what people should know about how they were read."""

    grid: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...] = ()


def decode(content: bytes) -> tuple[str, tuple[str, ...]]:
    """The text of a file: UTF-8 with or without its mark, else Windows-1252, which is told.

    Raises TextRefusedError for what is neither.
    """
    if b"\x00" in content[:4096] or content[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        raise TextRefusedError("This is not a text file in UTF-8. Save it as “CSV UTF-8”, or as XLSX.")
    try:
        return content.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        pass
    try:
        return content.decode("cp1252"), ("The file is not in UTF-8 and was read as Windows-1252: check accents and fractions.",)
    except UnicodeDecodeError:
        raise TextRefusedError("The letters of this file can’t be read. Save it as “CSV UTF-8”, or as XLSX.") from None


def split_text(text: str, *, strict: bool = True, what: str = "list") -> Sheet:
    """Split lines into cells at tabs, semicolons or commas, whichever the text uses.

    In a list with semicolons or tabs a number such as ``596,9`` has its decimals behind the comma.
    ``strict`` refuses a quotation mark that is never closed (a file cut short); without it such text is split at plain tabs.
    ``what`` the text should be is named in refusals.
    """
    if _CONTROLS.search(text):
        raise TextRefusedError("This holds signs that no text has. Save it as “CSV UTF-8”, or as XLSX.")
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if text.count("\n") > MOST_LINES:
        raise TextRefusedError(f"This has more than {MOST_LINES} lines. Copy only the {what}.")
    separator = _separator(text)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    except csv.Error:
        if strict:
            raise TextRefusedError(
                "The text breaks off inside quotation marks: the file is cut short or damaged. Save it again."
            ) from None
        rows = [line.split(separator) for line in text.split("\n")]
    notes: tuple[str, ...] = ()
    if separator != ",":
        rows, commas = _decimal_points(rows)
        if commas:
            notes = ("Commas in numbers were read as decimal points.",)
    return Sheet(grid=tuple(tuple(one_line(cell) for cell in row) for row in rows), notes=notes)


def one_line(text: str) -> str:
    """Text with single blanks and without line breaks."""
    return " ".join(text.split())


def _separator(text: str) -> str:
    head = [line for line in text.split("\n") if line.strip()][:10]
    if any("\t" in line for line in head):
        return "\t"
    return max((";", ","), key=lambda sign: sum(line.count(sign) for line in head))


def _decimal_points(rows: list[list[str]]) -> tuple[list[list[str]], bool]:
    """Cells such as 596,9 or 596,9 mm with a point; 1,234 in thousands cannot be told apart and is left to be refused."""
    found = False
    mended = []
    for row in rows:
        line = []
        for cell in row:
            match = _DECIMAL_COMMA.match(cell.strip())
            if match and len(match[2]) != 3 and "." not in cell:
                found = True
                line.append(cell.strip().replace(",", ".", 1))
            else:
                line.append(cell)
        mended.append(line)
    return mended, found
