"""The page on which the owner gives the shop's logo or takes it away."""

from __future__ import annotations

from base64 import b64encode

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from finishing.logo import LIMITS_IN_WORDS, MOST_BYTES, CleanLogo, LogoRefusedError, clean_logo
from finishing.models import ShopLogo

SETTINGS = "finishing.change_shop"


class LogoForm(forms.Form):
    """A picture in a file."""

    file = forms.FileField(
        label="The logo",
        help_text=LIMITS_IN_WORDS,
        allow_empty_file=True,  # told in our own words
        widget=forms.FileInput(attrs={"accept": ".png,.jpg,.jpeg,image/png,image/jpeg"}),
    )

    def clean_file(self) -> CleanLogo:
        """The picture, checked and written anew."""
        try:
            return clean_logo(self.cleaned_data["file"].read(MOST_BYTES + 1))
        except LogoRefusedError as error:
            raise forms.ValidationError(str(error), code="refused") from error


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required(SETTINGS, raise_exception=True)
def shop_logo(request: HttpRequest) -> HttpResponse:
    """The logo as it is, and a form to give another one."""
    form = LogoForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        ShopLogo.keep(form.cleaned_data["file"])
        messages.success(request, "The logo is saved. Quotes are printed with it from now on.")
        return redirect("shop_logo")
    kept = ShopLogo.current()
    context = {
        "form": form,
        "logo": kept,
        "source": f"data:image/png;base64,{b64encode(kept.data).decode('ascii')}" if kept else "",
        "crumbs": [("Shop settings", reverse("shop_settings"))],
    }
    return render(request, "finishing/shop_logo.html", context, status=422 if request.method == "POST" else 200)


@require_POST
@permission_required(SETTINGS, raise_exception=True)
def shop_logo_remove(request: HttpRequest) -> HttpResponse:
    """Quotes without a logo again."""
    ShopLogo.objects.all().delete()
    messages.success(request, "The logo is removed. Quotes are printed with the shop’s name alone.")
    return redirect("shop_logo")
