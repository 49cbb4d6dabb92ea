"""Estimates and their takeoff."""

from django.urls import URLPattern, path

from costing.views import estimates, pieces, takeoff

urlpatterns: list[URLPattern] = [
    path("estimates/", estimates.estimates, name="estimates"),
    path("estimates/new/", estimates.estimate_new, name="estimate_new"),
    path("estimates/takeoff-template/", takeoff.takeoff_template, name="takeoff_template"),
    path("estimates/<int:pk>/edit/", estimates.estimate_edit, name="estimate_edit"),
    path("estimates/<int:pk>/takeoff/", takeoff.takeoff, name="takeoff"),
    path("estimates/<int:pk>/takeoff/total/", takeoff.takeoff_preview, name="takeoff_preview"),
    path("estimates/<int:pk>/takeoff/piece/", pieces.takeoff_piece, name="takeoff_piece"),
    path("estimates/pieces/<slug:template>.svg", pieces.piece_drawing, name="piece_drawing"),
    path("estimates/<int:pk>/takeoff/paste/", takeoff.takeoff_paste, name="takeoff_paste"),
    path("estimates/<int:pk>/takeoff/upload/", takeoff.takeoff_upload, name="takeoff_upload"),
]
