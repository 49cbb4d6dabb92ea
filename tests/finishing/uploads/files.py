"""Files that come to an upload: good ones in many guises, and what is no list at all."""

from __future__ import annotations

import csv
import functools
import io
import re
import struct
import zipfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from openpyxl import Workbook

Row = Sequence[Any]
SHEET = "xl/worksheets/sheet1.xml"


def csv_file(rows: Iterable[Row], delimiter: str = ",", encoding: str = "utf-8") -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter).writerows(rows)
    return out.getvalue().encode(encoding)


def xlsx_file(rows: Iterable[Row], change: Callable[[Any], None] = lambda _book: None) -> bytes:
    book = Workbook()
    for row in rows:
        book.active.append(list(row))
    change(book)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def with_member(content: bytes, name: str, data: bytes) -> bytes:
    out = io.BytesIO(content)
    with zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, data)
    return out.getvalue()


def replaced(content: bytes, name: str, change: Callable[[bytes], bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for member in old.infolist():
            data = old.read(member)
            new.writestr(member.filename, change(data) if member.filename == name else data)
    return out.getvalue()


def without(content: bytes, name: str) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for member in old.infolist():
            if member.filename != name:
                new.writestr(member.filename, old.read(member))
    return out.getvalue()


def archive_of(**members: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name.replace("__", "/"), data)
    return out.getvalue()


def understated(content: bytes, name: str) -> bytes:
    """The archive with a member that claims to unpack to 100 bytes."""
    data = bytearray(content)
    place = data.rfind(name.encode())  # in the directory at the end
    struct.pack_into("<I", data, place - 46 + 24, 100)
    first = data.find(name.encode())
    struct.pack_into("<I", data, first - 30 + 22, 100)
    return bytes(data)


def many_rows(rows: Sequence[Row], count: int) -> bytes:
    """A workbook that repeats its last row, written as text: the library would take too long."""
    content = xlsx_file(rows)

    def repeat(old: bytes) -> bytes:
        start = old.rindex(b"<row ")
        end = old.index(b"</row>", start) + len(b"</row>")
        row = old[start:end]
        bare = row.replace(b' r="%d"' % len(rows), b"")
        for column in range(1, len(rows[0]) + 1):
            bare = bare.replace(b' r="%s%d"' % (chr(64 + column).encode(), len(rows)), b"")
        return old[:end] + bare * count + old[end:]

    return replaced(content, SHEET, repeat)


def far_below(rows: Sequence[Row]) -> bytes:
    last = b"%d" % len(rows)

    def move(old: bytes) -> bytes:
        return old.replace(b'<row r="%s"' % last, b'<row r="1048576"').replace(b'%s"' % last, b'1048576"', 0)

    return replaced(xlsx_file(rows), SHEET, move)


# What no upload takes, with words of the refusal. Each is made of a good list of that upload.
REFUSED: Mapping[str, tuple[Callable[[Sequence[Row]], bytes], str]] = {
    "nothing": (lambda _: b"", "The file is empty"),
    "blanks": (lambda _: b" \r\n\t \n", "The file is empty"),
    "a mark and nothing": (lambda _: b"\xef\xbb\xbf", "No row with the names|Nothing|nothing in it"),
    "four bytes of an archive": (lambda _: b"PK\x03\x04", "cut short or damaged"),
    "a workbook cut after 30 bytes": (lambda rows: xlsx_file(rows)[:30], "cut short or damaged"),
    "half a workbook": (lambda rows: xlsx_file(rows)[:2500], "cut short or damaged"),
    "a workbook without its last bytes": (lambda rows: xlsx_file(rows)[:-60], "cut short or damaged"),
    "a workbook with its middle overwritten": (
        lambda rows: (lambda data: data[:600] + b"\x00" * 400 + data[1000:])(xlsx_file(rows)),
        "cut short or damaged|damaged or of an unknown make",
    ),
    "macros": (lambda rows: with_member(xlsx_file(rows), "xl/vbaProject.bin", b"x"), "holds macros"),
    "macros in other letters": (lambda rows: with_member(xlsx_file(rows), "xl/VBAPROJECT.BIN", b"x"), "holds macros"),
    "a sheet of macros": (lambda rows: with_member(xlsx_file(rows), "xl/macrosheets/sheet1.xml", b"<x/>"), "holds macros"),
    "a zip bomb": (lambda rows: with_member(xlsx_file(rows), "xl/media/a.bin", b"\0" * 41_000_000), "far larger inside"),
    "a zip bomb in the sheet": (
        lambda rows: replaced(xlsx_file(rows), SHEET, lambda old: old + b" " * 41_000_000),
        "far larger inside",
    ),
    "a zip bomb that states a small size": (
        lambda rows: understated(replaced(xlsx_file(rows), SHEET, lambda old: old + b" " * 9_000_000), SHEET),
        "cut short or damaged",
    ),
    "thousands of members": (
        lambda rows: functools.reduce(lambda data, n: with_member(data, f"x/{n}", b""), range(2), _padded(xlsx_file(rows))),
        "far larger inside",
    ),
    "entities that grow": (
        lambda rows: replaced(xlsx_file(rows), SHEET, lambda _: b'<!DOCTYPE x [<!ENTITY a "aaaa">]><x>&a;</x>'),
        "declarations that no spreadsheet writes",
    ),
    "an entity that reads a file": (
        lambda rows: replaced(xlsx_file(rows), "xl/workbook.xml", lambda _: b'<!DOCTYPE x SYSTEM "file:///etc/passwd"><x/>'),
        "declarations that no spreadsheet writes",
    ),
    "entities in UTF-16": (
        lambda rows: replaced(xlsx_file(rows), SHEET, lambda _: '<!DOCTYPE x [<!ENTITY a "b">]><x/>'.encode("utf-16")),
        "declarations that no spreadsheet writes",
    ),
    "a workbook without its sheet": (lambda rows: without(xlsx_file(rows), SHEET), "damaged or of an unknown make|no sheet"),
    "a sheet cut short inside": (
        lambda rows: replaced(xlsx_file(rows), SHEET, lambda old: old[: len(old) // 2]),
        "damaged or of an unknown make",
    ),
    "a sheet of no XML": (lambda rows: replaced(xlsx_file(rows), SHEET, lambda _: b"hello"), "damaged or of an unknown make"),
    "100,000 rows in a workbook": (lambda rows: many_rows(rows, 100_000), "more than [0-9,]+ rows"),
    "100,000 rows in a CSV file": (lambda rows: csv_file([rows[0]]) + b"1,2\n" * 100_000, "more than [0-9,]+ (rows|lines)"),
    "a row at the end of the sheet": (lambda rows: far_below(rows), "goes on below row"),
    "more bytes than the limit": (lambda rows: csv_file(rows) + b"x," * 1_100_000, "larger than"),
    "an old workbook": (lambda _: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "of an old kind, or one locked"),
    "a PDF": (lambda _: b"%PDF-1.7\n1 0 obj\n", "This is a PDF"),
    "a picture": (lambda _: b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "not a text file"),
    "a photograph": (lambda _: b"\xff\xd8\xff\xe0\x00\x10JFIF\0", "not a text file"),
    "a compressed file": (lambda _: b"\x1f\x8b\x08\0\0\0\0\0\0\x03abc", "not a text file"),
    "a text document": (lambda _: archive_of(word__document=b"<x/>"), "not an XLSX workbook"),
    "another office's sheet": (lambda _: archive_of(content=b"<x/>", mimetype=b"spreadsheet"), "not an XLSX workbook"),
    "an archive of nothing": (lambda _: b"PK\x05\x06" + b"\0" * 18, "not a text file"),
    "UTF-16 with its mark": (lambda rows: csv_file(rows, encoding="utf-16"), "not a text file in UTF-8"),
    "UTF-16 without its mark": (lambda rows: csv_file(rows, encoding="utf-16-le"), "not a text file in UTF-8"),
    "UTF-16 the other way round": (lambda rows: b"\xfe\xff" + csv_file(rows, encoding="utf-16-be"), "not a text file in UTF-8"),
    "UTF-32": (lambda rows: csv_file(rows, encoding="utf-32"), "not a text file in UTF-8"),
    "letters of no encoding": (lambda rows: csv_file(rows) + b"\x81\x8d\x8f\x90\x9d", "can’t be read"),
    "control signs": (lambda rows: csv_file(rows) + b"a\x07b", "signs that no text has"),
    "a zero far inside": (lambda rows: csv_file(rows) + b"a," * 4000 + b"\0", "signs that no text has"),
    "a quotation mark that is never closed": (lambda rows: csv_file(rows) + b'"Door', "breaks off inside quotation marks"),
    "a web page": (lambda _: b"<html><body><table><tr><td>1</td></tr></table></body></html>", "names of the columns"),
    "a program's data": (lambda _: b'{"rows": [{"code": "A"}]}', "names of the columns"),
    "a letter": (lambda _: b"Dear Sir, here is our list.\nYours", "names of the columns"),
    "more columns than any list": (lambda rows: csv_file([[*rows[0], *["x"] * 80], *rows[1:]]), "more than [0-9]+ columns"),
    "rows without names": (lambda rows: csv_file(rows[1:]), "names of the columns"),
    "names without rows": (lambda rows: csv_file(rows[:1]), "no rows below them"),
    "one cell of a megabyte": (lambda _: b"x" * 1_000_000, "names of the columns|breaks off"),
}


def _padded(content: bytes) -> bytes:
    out = io.BytesIO(content)
    with zipfile.ZipFile(out, "a") as archive:
        for number in range(600):
            archive.writestr(f"docProps/{number}.bin", b"")
    return out.getvalue()


# The same list in other guises, which every upload reads as it reads the plain one.
READ: Mapping[str, Callable[[Sequence[Row]], bytes]] = {
    "a plain CSV file": csv_file,
    "a plain workbook": xlsx_file,
    "UTF-8 with its mark": lambda rows: csv_file(rows, encoding="utf-8-sig"),
    "Windows-1252, as older programs save": lambda rows: csv_file(_accented(rows), encoding="cp1252"),
    "semicolons": lambda rows: csv_file(rows, ";"),
    "tabs": lambda rows: csv_file(rows, "\t"),
    "line ends of an old computer": lambda rows: csv_file(rows).replace(b"\r\n", b"\r"),
    "a title above": lambda rows: csv_file([["Our list"], [], *rows]),
    "empty rows between": lambda rows: xlsx_file([rows[0], [], [], *rows[1:], []]),
    "columns that nobody knows": lambda rows: csv_file([[*row, "extra"] for row in rows]),
    "another sheet behind": lambda rows: xlsx_file(rows, lambda book: book.create_sheet("Notes")),
    "a sheet that understates its extent": lambda rows: replaced(
        xlsx_file(rows), SHEET, lambda old: re.sub(rb'<dimension ref="[^"]*"', b'<dimension ref="A1:A1"', old)
    ),
    "a remark beside": lambda rows: xlsx_file(rows, lambda book: _remark(book)),
    "no-break spaces": lambda rows: csv_file([[f"\u00a0{cell}\u00a0" for cell in row] for row in rows]),
    "names in capitals": lambda rows: csv_file([[str(cell).upper() for cell in rows[0]], *rows[1:]]),
}


def _accented(rows: Sequence[Row]) -> list[Row]:
    """The list with a letter that two encodings write differently, in a column that is not read."""
    return [[*rows[0], "Größe"], *([*row, "groß"] for row in rows[1:])]


def _remark(book: Any) -> None:
    from openpyxl.comments import Comment

    book.active["A2"].comment = Comment("Look here", "Somebody")
