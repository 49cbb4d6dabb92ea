"""Spray setups, labour classes, coating systems and customers."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
