"""The shop's settings and people."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
