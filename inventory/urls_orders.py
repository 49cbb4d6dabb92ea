"""Purchase orders and prices that were paid."""

from django.urls import path

from inventory.views import order_receipts, orders
from inventory.views import order_scanning as scanning

urlpatterns = [
    path("orders/", orders.purchase_orders, name="purchase_orders"),
    path("orders/new/", orders.purchase_order_new, name="purchase_order_new"),
    path("orders/<int:pk>/", orders.purchase_order, name="purchase_order"),
    path("orders/<int:pk>/edit/", orders.purchase_order_edit, name="purchase_order_edit"),
    path("orders/<int:pk>/send/", orders.purchase_order_send, name="purchase_order_send"),
    path("orders/<int:pk>/promise/", orders.purchase_order_promise, name="purchase_order_promise"),
    path("orders/<int:pk>/close/", orders.purchase_order_close, name="purchase_order_close"),
    path("orders/<int:pk>/cancel/", orders.purchase_order_cancel, name="purchase_order_cancel"),
    path("orders/<int:pk>/receive/", order_receipts.purchase_order_receive, name="purchase_order_receive"),
    path("orders/<int:pk>/receive/scan/", scanning.purchase_order_scan, name="purchase_order_scan"),
    path("orders/<int:pk>/order.pdf", orders.purchase_order_pdf, name="purchase_order_pdf"),
    path("orders/<int:pk>/order.xlsx", orders.purchase_order_xlsx, name="purchase_order_xlsx"),
    path("lots/<int:pk>/price/", order_receipts.price_take_over, name="price_take_over"),
]
