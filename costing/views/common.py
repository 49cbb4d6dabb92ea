"""What the costing pages share: a list with its filter, a form page, and who may do what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import django_filters
import django_tables2
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

PER_PAGE = 50
Crumbs = Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstStep:
    """What an empty list asks for, and the button that makes a new entry."""

    title: str
    text: str
    link_words: str
    url: str  # empty: this person may not make one


def list_page(
    request: HttpRequest,
    *,
    title: str,
    lead: str,
    table: django_tables2.Table,
    first: FirstStep,
    narrowed: django_filters.FilterSet | None = None,
    per_page: int = PER_PAGE,
) -> HttpResponse:
    """A list, sorted, paged and filtered by the address."""
    django_tables2.RequestConfig(request, paginate={"per_page": per_page}).configure(table)
    empty = not table.rows and not (narrowed is not None and any(request.GET.values()))
    context = {"title": title, "lead": lead, "table": table, "filter": narrowed, "first": first, "empty": empty}
    return render(request, "costing/catalogue/list.html", context)


def form_page(
    request: HttpRequest,
    form: Any,
    *,
    title: str,
    crumbs: Crumbs,
    back: str,
    lead: str = "",
    save_words: str = "Save",
    template: str = "costing/catalogue/form.html",
    **more: Any,
) -> HttpResponse:
    """A form in its groups; ``back`` is where to go without saving. A refused form answers 422 for scripts and tests to see."""
    context = {"form": form, "title": title, "crumbs": crumbs, "back": back, "lead": lead, "save_words": save_words, **more}
    return render(request, template, context, status=422 if form.is_bound and form.errors else 200)
