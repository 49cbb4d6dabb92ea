"""What the inventory views share: permissions, tables, the key of a form that was sent before."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar, cast
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.db.models import Count, OuterRef, Prefetch, QuerySet, Subquery
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django_tables2 import RequestConfig

from finishing.models import User
from inventory.choices import PostingKind
from inventory.models import Movement, Posting
from inventory.tables import PER_PAGE, SHOWN_MOVEMENTS, HouseTable

View = TypeVar("View", bound=Callable[..., HttpResponseBase])
SEE_COSTS = "costing.see_costs"


def may(permission: str) -> Callable[[View], View]:
    """Only for people with this permission; others get the page that says so, with status 403."""
    return cast("Callable[[View], View]", permission_required(permission, raise_exception=True))


def person(request: HttpRequest) -> User:
    """Who is signed in; every page here needs somebody."""
    return cast(User, request.user)


def sees_costs(request: HttpRequest) -> bool:
    """Whether prices and values are shown."""
    return person(request).has_perm(SEE_COSTS)


def paged(request: HttpRequest, table: HouseTable, per_page: int = PER_PAGE) -> HouseTable:
    """The table sorted and paged as the address says."""
    RequestConfig(request, paginate={"per_page": per_page}).configure(table)
    return table


def with_movement_count(postings: QuerySet[Posting]) -> QuerySet[Posting]:
    """Each posting with ``movement_count``, counted for the rows of one page only and not for the whole table."""
    counted = Movement.objects.filter(posting=OuterRef("pk")).order_by().values("posting").annotate(n=Count("pk")).values("n")
    return postings.annotate(movement_count=Subquery(counted))


def with_first_movements(postings: QuerySet[Posting]) -> QuerySet[Posting]:
    """Each posting with ``first_movements``, as many as the list shows. One query for a page, however long its postings."""
    first = Movement.objects.select_related("lot__material").order_by("pk")[:SHOWN_MOVEMENTS]
    return postings.prefetch_related(Prefetch("movements", first, to_attr="first_movements"))


def crumbs(*pairs: tuple[str, str]) -> list[tuple[str, str]]:
    """Where a page stands: words and names of addresses, below the buying desk's lists."""
    return [(words, reverse(name)) for words, name in pairs]


def sent_key(request: HttpRequest) -> UUID | None:
    """The key of the form that was sent; None when there is none that can be read."""
    try:
        return UUID(request.POST.get("key", ""))
    except ValueError:
        return None


def earlier_posting(request: HttpRequest, kind: PostingKind) -> Posting | None:
    """The posting that this very form made before, when this person sends it again."""
    key = sent_key(request)
    return None if key is None else Posting.objects.filter(key=key, by=person(request), kind=kind).first()


def to_posting(request: HttpRequest, posting: Posting, *, again: bool) -> HttpResponse:
    """Show what was booked, and say so when the form came a second time."""
    if again:
        messages.info(request, "This form was booked before. Here is what it booked; nothing was booked again.")
    else:
        messages.success(request, f"{posting} is booked.")
    return redirect("posting", posting.pk)
