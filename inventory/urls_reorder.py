"""The reorder list."""

from django.urls import path

from inventory.views import reorder, reorder_lines, reorder_snoozes

urlpatterns = [
    path("reorder/", reorder.reorder_page, name="reorder_list"),
    path("reorder/order/", reorder.reorder_order, name="reorder_order"),
    path("reorder/tile/", reorder.reorder_tile, name="reorder_tile"),
    path("reorder/materials/<int:pk>/cover/", reorder_lines.reorder_cover, name="reorder_cover"),
    path("reorder/materials/<int:pk>/stock.svg", reorder_lines.reorder_chart, name="reorder_chart"),
    path("reorder/materials/<int:pk>/snooze/", reorder_snoozes.reorder_snooze, name="reorder_snooze"),
    path("reorder/snoozes/", reorder_snoozes.reorder_snoozes, name="reorder_snoozes"),
    path("reorder/snoozes/<int:pk>/end/", reorder_snoozes.reorder_snooze_end, name="reorder_snooze_end"),
    path("reorder/list.pdf", reorder.reorder_pdf, name="reorder_pdf"),
    path("reorder/list.xlsx", reorder.reorder_xlsx, name="reorder_xlsx"),
]
