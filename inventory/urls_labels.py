"""Labels."""

from django.urls import path

from inventory.views import labels

urlpatterns = [
    path("labels/", labels.labels, name="labels"),
]
