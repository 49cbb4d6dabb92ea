"""The addresses of the costing pages, by desk."""

from django.urls import include, path

urlpatterns = [
    path("", include("costing.urls_catalogue")),
    path("", include("costing.urls_takeoff")),
    path("", include("costing.urls_pricing")),
    path("", include("costing.urls_work")),
]
