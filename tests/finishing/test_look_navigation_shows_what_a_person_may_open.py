"""The list of desks: every entry leads to a page, each person sees their own, the current one is marked."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from finishing import navigation
from finishing.models import User
from finishing.navigation import DESKS, Desk, Entry, shown_desks
from finishing.roles import ALL_PERMISSIONS, Role, permissions_of

ENTRIES = [entry for desk in DESKS for entry in (desk.home, *desk.entries)]


def may(role: Role) -> Callable[[str], bool]:
    return lambda permission: permission in permissions_of(frozenset({role}))


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.label)
def test_every_entry_leads_to_a_page(entry: Entry) -> None:
    assert reverse(entry.url_name).startswith("/")


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.label)
def test_every_entry_asks_for_a_permission_that_exists(entry: Entry) -> None:
    assert entry.permission in ALL_PERMISSIONS | {""}


@pytest.mark.django_db
@pytest.mark.parametrize("role", Role)
def test_every_entry_that_a_person_sees_opens_for_them(client: Client, role: Role) -> None:
    client.force_login(User.objects.create_user(username="person", **{f"is_{role}": True}))
    desks = shown_desks(may=may(role), path="/")
    pages = {link.label: link.url for desk in desks for link in (desk, *desk.entries) if link.url}
    assert pages
    answers = {label: client.get(url).status_code for label, url in pages.items()}
    assert answers == dict.fromkeys(pages, 200)


@pytest.fixture
def two_desks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages that surely exist, so that the rules can be seen without the rest of the program."""
    owners = "finishing.change_shop"
    first = Desk(slug="one", home=Entry(label="One", url_name="login", permission=""), entries=())
    second = Desk(
        slug="two",
        home=Entry(label="Two", url_name="home", permission=owners),
        entries=(
            Entry(label="Password", url_name="password_change", permission=""),
            Entry(label="Sign out", url_name="logout", permission=owners),
            Entry(label="Not built", url_name="no_such_page", permission=""),
        ),
    )
    third = Desk(slug="three", home=Entry(label="Three", url_name="home", permission=owners), entries=())
    monkeypatch.setattr(navigation, "DESKS", (first, second, third))


@pytest.mark.usefixtures("two_desks")
def test_each_person_sees_the_links_that_their_role_allows() -> None:
    def seen(role: Role) -> dict[str, list[str]]:
        return {desk.label: [entry.label for entry in desk.entries] for desk in shown_desks(may=may(role), path="/")}

    assert seen(Role.FINISHER) == {"One": [], "Two": ["Password"]}
    assert seen(Role.OWNER) == {"One": [], "Two": ["Password", "Sign out"], "Three": []}


@pytest.mark.usefixtures("two_desks")
def test_a_desk_that_is_not_the_person_s_own_is_words_without_a_link() -> None:
    assert [desk.url for desk in shown_desks(may=may(Role.FINISHER), path="/")] == [reverse("login"), ""]


@pytest.mark.usefixtures("two_desks")
def test_the_current_page_is_marked_and_so_is_the_list_above_it() -> None:
    def marks(path: str, role: Role = Role.FINISHER) -> dict[str, str]:
        desks = shown_desks(may=may(role), path=path)
        return {link.label: link.current for desk in desks for link in (desk, *desk.entries) if link.current}

    assert marks(reverse("login")) == {"One": "page"}
    assert marks(reverse("password_change")) == {"Password": "page"}
    assert marks(reverse("password_change") + "below/") == {"Password": "true"}
    assert marks("/elsewhere/") == marks("/elsewhere/", Role.OWNER) == {}
