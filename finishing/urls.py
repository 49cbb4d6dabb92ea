"""The addresses of the program. Each department brings its own."""

from django.contrib.auth import views as auth
from django.contrib.auth.decorators import login_not_required
from django.urls import include, path

from finishing import views

urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", login_not_required(auth.LoginView.as_view(redirect_authenticated_user=True)), name="login"),
    path("sign-out/", auth.LogoutView.as_view(), name="logout"),
    path("password/", auth.PasswordChangeView.as_view(success_url="/password/changed/"), name="password_change"),
    path("password/changed/", auth.PasswordChangeDoneView.as_view(), name="password_change_done"),
    path("shop/", include("finishing.shop_urls")),
    path("", include("inventory.urls")),
    path("", include("costing.urls")),
]
