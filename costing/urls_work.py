"""Jobs and the log."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
