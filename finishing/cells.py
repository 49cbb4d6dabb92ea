"""From text to a grid of cells: pasted from a spreadsheet, or a CSV file. Imports no Django."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from datetime import date

MOST_LINES = 20_000
_DECIMAL_COMMA = re.compile(r"([+-]?\d+),(\d+)(?=\D*$)")
_CONTROLS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
_QUOTED = re.compile(r'(?<![^,;\t])"(?:[^"]|"")*"(?![^,;\t])')
_FORMULA_SIGNS = ("=", "+", "-", "@")
_SHEET_ERROR = re.compile(r"#(?:REF!|DIV/0!|VALUE!|NAME\?|N/A|NUM!|NULL!|SPILL!|CALC!)", re.IGNORECASE)
_ISO_DAY = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[ T][\d:.]+)?")
_NUMBERS_DAY = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4})")
_NAMED_DAY = re.compile(
    r"(?:(?P<d1>\d{1,2})\.?[ -](?P<m1>[a-z]+)\.?|(?P<m2>[a-z]+)\.?[ -](?P<d2>\d{1,2}),?)[ -](?P<y>\d{4})", re.IGNORECASE
)
_MONTHS = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)


class TextRefusedError(ValueError):
    """Text that is no list; the message says what would be right."""


class CellRefusedError(ValueError):
    """A cell that can't be read; the message says what is wrong and what would be right."""


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
    head = [_QUOTED.sub("", line) for line in text.split("\n", 40) if line.strip()][:10]
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


# ------------------------------------------------------------ single cells


def guarded(text: str) -> str:
    """Text that no spreadsheet program takes for a formula; ``plain_text`` gives it back.

    >>> guarded("=1+1"), guarded("5 L can")
    ("'=1+1", '5 L can')
    """
    return f"'{text}" if text.lstrip("' ").startswith(_FORMULA_SIGNS) else text


def plain_text(cell: str) -> str:
    """The text of a cell without the sign that keeps a spreadsheet program from reckoning.

    >>> plain_text("'=1+1"), plain_text("'tis")
    ('=1+1', "'tis")
    """
    return cell[1:] if cell.startswith("'") and cell.lstrip("' ").startswith(_FORMULA_SIGNS) else cell


def refuse_leftovers(cell: str) -> None:
    """Formulas and the errors of a spreadsheet are no values. Raises ``CellRefusedError``."""
    if cell.startswith("="):
        raise CellRefusedError(f"“{cell[:40]}” is a formula. Put its value in its place.")
    if _SHEET_ERROR.fullmatch(cell):
        raise CellRefusedError(f"“{cell}” is an error of the spreadsheet. Mend it there, then upload the file again.")


def read_day(text: str) -> date:
    """A day as spreadsheets and people write it: 2026-12-31, 31.12.2026, 12/31/2026, 31 Dec 2026, Dec 31, 2026.

    Two numbers that could both be the month are refused rather than guessed. Raises ``CellRefusedError``.

    >>> read_day("31.12.2026"), read_day("Feb 3, 2027")
    (datetime.date(2026, 12, 31), datetime.date(2027, 2, 3))
    """
    right = "Write the year first, for example 2026-12-31."
    if match := _ISO_DAY.fullmatch(text):
        year, month, day = (int(part) for part in match.groups())
    elif match := _NUMBERS_DAY.fullmatch(text):
        first, sign, second, year = int(match[1]), match[2], int(match[3]), int(match[4])
        if sign != "." and first <= 12 and second <= 12 and first != second:
            raise CellRefusedError(f"“{text}” can be read as two different days. {right}")
        day, month = (second, first) if sign != "." and second > 12 else (first, second)
    elif match := _NAMED_DAY.fullmatch(text):
        word = (match["m1"] or match["m2"]).lower()
        found = [place for place, name in enumerate(_MONTHS, start=1) if len(word) >= 3 and name.startswith(word)]
        if word == "sept":
            found = [9]
        if not found:
            raise CellRefusedError(f"“{text[:40]}” names no month known here. {right}")
        year, month, day = int(match["y"]), found[0], int(match["d1"] or match["d2"])
    elif re.fullmatch(r"\d{5}(?:\.\d+)?", text):
        raise CellRefusedError(f"“{text}” is a number and no date. Format the column as a date. {right}")
    else:
        raise CellRefusedError(f"“{text[:40]}” can’t be read as a date. {right}")
    try:
        return date(year, month, day)
    except ValueError:
        raise CellRefusedError(f"There is no such day as “{text}”. {right}") from None
