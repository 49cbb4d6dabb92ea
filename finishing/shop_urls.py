"""The shop's settings and people."""

from django.urls import URLPattern, path

from finishing import logo_views, shop_views

urlpatterns: list[URLPattern] = [
    path("settings/", shop_views.shop_settings, name="shop_settings"),
    path("settings/examples/", shop_views.shop_examples, name="shop_examples"),
    path("settings/logo/", logo_views.shop_logo, name="shop_logo"),
    path("settings/logo/remove/", logo_views.shop_logo_remove, name="shop_logo_remove"),
    path("people/", shop_views.people, name="people"),
    path("people/new/", shop_views.person_new, name="person_new"),
    path("people/<int:pk>/", shop_views.person, name="person"),
]
