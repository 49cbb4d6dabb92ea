"""Lists that a shop brings in and takes out."""

from django.urls import path

from inventory.views import bringing_in

urlpatterns = [
    path("", bringing_in.bring_in, name="bring_in"),
    path("uploads/<int:pk>/", bringing_in.list_upload, name="list_upload"),
    path("uploads/<int:pk>/apply/", bringing_in.list_apply, name="list_apply"),
    path("<slug:kind>/", bringing_in.bring_in_list, name="bring_in_list"),
    path("<slug:kind>/template.<slug:form>", bringing_in.list_template, name="list_template"),
    path("<slug:kind>/list.<slug:form>", bringing_in.list_out, name="list_out"),
]
