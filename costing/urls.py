"""The addresses of the costing pages."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
