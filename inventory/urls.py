"""The addresses of the inventory pages."""

from django.urls import include, path

from inventory.views import desk, lots, materials, moves, postings, receiving, stock_room, suppliers, value

urlpatterns = [
    path("buying/", desk.desk_buying, name="desk_buying"),
    path("materials/", materials.materials, name="materials"),
    path("materials/new/", materials.material_new, name="material_new"),
    path("materials/<int:pk>/", materials.material, name="material"),
    path("materials/<int:pk>/edit/", materials.material_edit, name="material_edit"),
    path("materials/<int:pk>/packs/new/", materials.pack_new, name="pack_new"),
    path("materials/<int:pk>/packs/price/", materials.pack_price, name="pack_price"),
    path("packs/<int:pk>/edit/", materials.pack_edit, name="pack_edit"),
    path("suppliers/", suppliers.suppliers, name="suppliers"),
    path("suppliers/new/", suppliers.supplier_new, name="supplier_new"),
    path("suppliers/<int:pk>/", suppliers.supplier, name="supplier"),
    path("suppliers/<int:pk>/edit/", suppliers.supplier_edit, name="supplier_edit"),
    path("stock-room/", stock_room.stock_room, name="stock_room"),
    path("lots/", lots.lots, name="lots"),
    path("lots/<int:pk>/", lots.lot, name="lot"),
    path("lots/<int:pk>/open/", lots.lot_open, name="lot_open"),
    path("lots/<int:pk>/quarantine/", lots.lot_quarantine, name="lot_quarantine"),
    path("lots/<int:pk>/release/", lots.lot_release, name="lot_release"),
    path("lots/<int:pk>/return/", moves.stock_return, name="stock_return"),
    path("lots/<int:pk>/write-off/", moves.stock_write_off, name="stock_write_off"),
    path("receive/", receiving.receive, name="receive"),
    path("issue/", moves.stock_issue, name="stock_issue"),
    path("issue/<int:pk>/proposal/", moves.issue_proposal, name="issue_proposal"),
    path("", include("inventory.urls_reorder")),
    path("", include("inventory.urls_labels")),
    path("", include("inventory.urls_orders")),
    path("", include("inventory.urls_places")),
    path("stock-value/", value.value, name="stock_value"),
    path("stock-value/pdf/", value.value_pdf, name="stock_value_pdf"),
    path("stock-value/xlsx/", value.value_xlsx, name="stock_value_xlsx"),
    path("bring-in/", include("inventory.urls_bringing_in")),
    path("", include("inventory.urls_counts")),
    path("stock-moves/", postings.stock_moves, name="stock_moves"),
    path("stock-moves/<int:pk>/", postings.posting, name="posting"),
    path("stock-moves/<int:pk>/reverse/", postings.posting_reverse, name="posting_reverse"),
]
