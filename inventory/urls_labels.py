"""Labels, and the codes on them."""

from django.urls import path

from inventory.views import labels, scanning

urlpatterns = [
    path("labels/", labels.labels, name="labels"),
    path("receive/scan/", scanning.scan, name="scan"),
    path("receive/gtin/<str:gtin>/", scanning.gtin_new, name="gtin_new"),
]
