"""The shop's settings and people."""

from django.urls import URLPattern, path

from finishing import shop_views

urlpatterns: list[URLPattern] = [
    path("settings/", shop_views.shop_settings, name="shop_settings"),
    path("settings/examples/", shop_views.shop_examples, name="shop_examples"),
    path("people/", shop_views.people, name="people"),
    path("people/new/", shop_views.person_new, name="person_new"),
    path("people/<int:pk>/", shop_views.person, name="person"),
]
