"""File names of documents, and answers that offer them for download."""

from __future__ import annotations

from django.http import HttpResponse
from django.utils.http import content_disposition_header
from django.utils.text import slugify

from costing.models import Quote
from costing.snapshots import Snapshot

PDF_TYPE = "application/pdf"
SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def quote_name(quote: Quote, ending: str) -> str:
    """quote-Q-0007.pdf, or quote-Q-0007-rev2.pdf for a revision."""
    return f"quote-{_number(quote)}.{ending}"


def cost_sheet_name(snapshot: Snapshot, ending: str, *, quote: Quote | None = None) -> str:
    """cost-sheet-E-0001-clear-waterborne.pdf, or with the quote's number for a frozen one."""
    source = _number(quote) if quote is not None else f"E-{snapshot.estimate_id:04d}"
    system = slugify(snapshot.system_name)[:60].strip("-") or f"system-{snapshot.system_id}"
    return f"cost-sheet-{source}-{system}.{ending}"


def _number(quote: Quote) -> str:
    plain = f"Q-{quote.number:04d}"
    return plain if quote.revision == 1 else f"{plain}-rev{quote.revision}"


def pdf_response(data: bytes, name: str) -> HttpResponse:
    """A PDF to keep."""
    return _response(data, name, PDF_TYPE)


def sheet_response(data: bytes, name: str) -> HttpResponse:
    """A spreadsheet to keep."""
    return _response(data, name, SHEET_TYPE)


def _response(data: bytes, name: str, content_type: str) -> HttpResponse:
    disposition = content_disposition_header(as_attachment=True, filename=name) or "attachment"
    return HttpResponse(data, content_type=content_type, headers={"Content-Disposition": disposition})
