"""Counts: opening, entering, the sheets, what differs, and what is due."""

from django.urls import path

from inventory.views import count_entry, count_finds, count_posting, count_sheets, counts

urlpatterns = [
    path("counts/", counts.stock_counts, name="stock_counts"),
    path("counts/new/", counts.count_new, name="count_new"),
    path("counts/due/", counts.counts_due, name="counts_due"),
    path("counts/due/tile/", counts.counts_due_tile, name="counts_due_tile"),
    path("counts/<int:pk>/", counts.stock_count, name="stock_count"),
    path("counts/<int:pk>/enter/", count_entry.count_enter, name="count_enter"),
    path("counts/<int:pk>/lines/<int:line>/", count_entry.count_line, name="count_line"),
    path("counts/<int:pk>/found/", count_finds.count_found, name="count_found"),
    path("counts/<int:pk>/found/<int:find>/", count_finds.count_find_remove, name="count_find_remove"),
    path("counts/<int:pk>/sheet.pdf", count_sheets.count_sheet_pdf, name="count_sheet_pdf"),
    path("counts/<int:pk>/sheet.xlsx", count_sheets.count_sheet_xlsx, name="count_sheet_xlsx"),
    path("counts/<int:pk>/upload/", count_sheets.count_upload, name="count_upload"),
    path("counts/<int:pk>/differences/", count_posting.count_differences, name="count_differences"),
    path("counts/<int:pk>/cancel/", count_posting.count_cancel, name="count_cancel"),
]
