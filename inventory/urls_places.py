"""Places, moves between them, and the expiry board."""

from django.urls import path

from inventory.views import expiry, places

urlpatterns = [
    path("places/", places.locations, name="locations"),
    path("places/new/", places.location_new, name="location_new"),
    path("places/<int:pk>/", places.location, name="location"),
    path("places/<int:pk>/edit/", places.location_edit, name="location_edit"),
    path("lots/<int:pk>/place/", places.lot_place, name="lot_place"),
    path("expiry/", expiry.expiry_board, name="expiry_board"),
]
