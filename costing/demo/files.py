"""Writes the demo's documents into the output folder."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from costing.cautions import cautions_of
from costing.models import Quote
from costing.snapshots import read_snapshot
from finishing.models import Shop
from inventory.reorder import ReorderList


class OutputError(OSError):
    """The output folder can't be written to; the message names it and says what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenFile:
    """A document on disk."""

    path: Path
    what: str


def write_documents(*, folder: Path, quote: Quote, reorder: ReorderList) -> list[WrittenFile]:
    """The quote, the cost sheet of each option, and the reorder list: each as PDF and XLSX. Raises ``OutputError``."""
    from costing.documents.cost_sheet_pdf import cost_sheet_pdf
    from costing.documents.cost_sheet_xlsx import cost_sheet_xlsx
    from costing.documents.files import cost_sheet_name, quote_name
    from costing.documents.quote_pdf import quote_pdf
    from costing.documents.quote_xlsx import quote_xlsx
    from inventory.documents.reorder_pdf import reorder_pdf
    from inventory.documents.reorder_xlsx import reorder_xlsx

    shop = Shop.current()
    contents: list[tuple[str, str, bytes]] = [
        (quote_name(quote, "pdf"), "quote", quote_pdf(quote, shop)),
        (quote_name(quote, "xlsx"), "quote", quote_xlsx(quote, shop)),
    ]
    for option in quote.options.all():
        snapshot = read_snapshot(option)
        contents += [
            (
                cost_sheet_name(snapshot, "pdf", quote=quote),
                "cost sheet",
                cost_sheet_pdf(snapshot, shop, reference=quote.label, cautions=cautions_of(snapshot)),
            ),
            (
                cost_sheet_name(snapshot, "xlsx", quote=quote),
                "cost sheet",
                cost_sheet_xlsx(snapshot, shop, reference=quote.label),
            ),
        ]
    contents += [
        (f"reorder-list-{reorder.on.isoformat()}.pdf", "reorder list", reorder_pdf(reorder, shop=shop)),
        (f"reorder-list-{reorder.on.isoformat()}.xlsx", "reorder list", reorder_xlsx(reorder, shop=shop)),
    ]
    return [_write(folder, name, what, data) for name, what, data in contents]


def _write(folder: Path, name: str, what: str, data: bytes) -> WrittenFile:
    path = folder / name
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    except OSError as error:
        reason = error.strerror or str(error)
        raise OutputError(
            f"Can’t write {path}: {reason}. Close the file if it is open, or name another folder in FINISH_LEDGER_OUTPUT_DIR."
        ) from error
    return WrittenFile(path=path, what=what)
