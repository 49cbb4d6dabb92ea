"""Reading documents back: the text of a PDF, every part of a workbook, and a workbook recalculated by LibreOffice."""

from __future__ import annotations

import io
import subprocess
import zipfile
from pathlib import Path

from openpyxl import load_workbook
from openpyxl.workbook import Workbook
from pypdf import PdfReader


def pdf_text(data: bytes) -> str:
    """All words of a PDF, pages one after the other, without line breaks inside words' gaps."""
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)


def pdf_size(data: bytes) -> tuple[float, float]:
    """Width and height of the first page, in points."""
    box = PdfReader(io.BytesIO(data)).pages[0].mediabox
    return float(box.width), float(box.height)


def every_part(data: bytes) -> str:
    """Every file inside a workbook, as one text: cells, formulas, hidden sheets, properties, comments."""
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        return "\n".join(packed.read(name).decode("utf-8", errors="replace") for name in packed.namelist())


def workbook(data: bytes) -> Workbook:
    """The workbook with its formulas."""
    return load_workbook(io.BytesIO(data))


def recalculated(soffice: Path, data: bytes, folder: Path) -> Workbook:
    """The workbook after LibreOffice has opened it, reckoned everything and saved it again."""
    source, target = folder / "book.xlsx", folder / "out"
    source.write_bytes(data)
    profile = f"-env:UserInstallation=file://{folder}/profile"
    command = [str(soffice), "--headless", "--norestore", profile, "--convert-to", "xlsx", "--outdir", str(target), str(source)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    return load_workbook(target / "book.xlsx", data_only=True)


def rows_by_label(book: Workbook, sheet: str) -> dict[str, tuple[object, ...]]:
    """The rows of a sheet by the words in their first cell; the last one wins."""
    return {str(row[0]): row[1:] for row in book[sheet].iter_rows(values_only=True) if row and row[0] is not None}
