"""The shop's settings and its people."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from finishing import show
from finishing.choices import CURRENCIES
from finishing.models import Shop, User
from finishing.people import LastOwnerError, add_person, change_person
from finishing.people_forms import NewPersonForm, PersonForm
from finishing.shop_form import ShopForm, locale_choices
from finishing.units import UnitSystem

SETTINGS, PEOPLE = "finishing.change_shop", "finishing.manage_people"


@permission_required(SETTINGS, raise_exception=True)
def shop_settings(request: HttpRequest) -> HttpResponse:
    """All settings of the shop on one page, with an example of how things look."""
    shop = Shop.current()
    form = ShopForm(request.POST or None, instance=shop)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "The settings are saved and count from now on. Quotes that are written stay as they are.")
        return redirect("shop_settings")
    examples = _examples(show.preferences_of(Shop.current()), timezone.localdate())
    context = {"form": form, "examples": examples}
    return render(request, "finishing/shop_settings.html", context, status=422 if form.is_bound else 200)


@require_safe
@permission_required(SETTINGS, raise_exception=True)
def shop_examples(request: HttpRequest) -> HttpResponse:
    """How money, dates and measures would look with the choices in the address: a part of the settings page."""
    stored = show.preferences_of(Shop.current())
    currency, locale, units = (request.GET.get(name, "") for name in ("currency", "locale", "unit_system"))
    chosen = show.Preferences(
        currency=currency if currency in dict(CURRENCIES()) else stored.currency,
        locale=locale if locale in dict(locale_choices(stored.locale)) else stored.locale,
        units=UnitSystem(units) if units in set(UnitSystem) else stored.units,
    )
    return render(request, "finishing/shop_examples.html", {"examples": _examples(chosen, timezone.localdate())})


def _examples(chosen: show.Preferences, today: date) -> list[tuple[str, str]]:
    """The same few things as every page would show them."""
    show.use(chosen)
    try:
        return [
            ("An amount", show.money(Decimal("1234.5"))),
            ("A number", show.number(Decimal("12345.678"))),
            ("Today", show.day(today)),
            ("A door", f"{show.length(Decimal(715))} × {show.length(Decimal(397))}"),
            ("Wet film", show.film(Decimal(110))),
            ("An area", show.area(Decimal("15.32"))),
            ("A can", show.volume(Decimal(5))),
            ("Cost", show.per_area(Decimal("23.8"))),
        ]
    finally:
        show.use(None)


# ------------------------------------------------------------------ people


class PeopleTable(tables.Table):
    """Everybody who has a sign-in."""

    username = tables.Column(verbose_name="Sign-in name", linkify=lambda record: reverse("person", args=[record.pk]))
    full_name = tables.Column(accessor="get_full_name", verbose_name="Name", orderable=False)
    roles = tables.Column(orderable=False)
    is_active = tables.Column(verbose_name="May sign in")
    last_login = tables.Column(verbose_name="Last signed in", default="never")

    class Meta:
        model = User
        fields = ["username", "full_name", "roles", "is_active", "last_login"]
        caption = "People"
        order_by = "username"

    def render_roles(self, value: Any) -> str:
        """The roles in words."""
        return ", ".join(sorted(role.value for role in value)) or "none"

    def render_is_active(self, value: bool) -> str:
        """Yes or no."""
        return "yes" if value else "no longer"

    def render_last_login(self, value: Any) -> str:
        """The day."""
        return show.day(value)


@require_safe
@permission_required(PEOPLE, raise_exception=True)
def people(request: HttpRequest) -> HttpResponse:
    """Everybody who may sign in, or could once."""
    table = PeopleTable(User.objects.all())
    tables.RequestConfig(request, paginate={"per_page": 50}).configure(table)
    return render(request, "finishing/people.html", {"table": table})


@permission_required(PEOPLE, raise_exception=True)
def person_new(request: HttpRequest) -> HttpResponse:
    """Add a person with roles and a first password."""
    form = NewPersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = add_person(form.save(commit=False), roles=form.cleaned_data["roles"], password=form.cleaned_data["password"])
        messages.success(request, f"{made} can sign in as {made.username}.")
        return redirect("people")
    return _person_page(request, form, title="New person")


@permission_required(PEOPLE, raise_exception=True)
def person(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a person. One owner who can sign in always stays."""
    found = get_object_or_404(User, pk=pk)
    title = str(found)
    form = PersonForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            changed = change_person(
                form.save(commit=False), roles=data["roles"], is_active=data["is_active"], password=data["password"]
            )
        except LastOwnerError as error:
            form.add_error("is_active" if not data["is_active"] else "roles", str(error))
        else:
            if changed.pk == request.user.pk and data["password"]:
                update_session_auth_hash(request, changed)
            messages.success(request, f"{changed} is saved.")
            return redirect("people" if request.user.pk != changed.pk else "home")
    return _person_page(request, form, title=title)


def _person_page(request: HttpRequest, form: Any, *, title: str) -> HttpResponse:
    context = {"form": form, "title": title, "crumbs": [("People", reverse("people"))]}
    return render(request, "finishing/people_form.html", context, status=422 if form.is_bound else 200)
