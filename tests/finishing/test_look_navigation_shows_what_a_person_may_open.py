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

ENTRIES = [entry for desk in DESKS for entry in desk.entries]


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
    entries = [entry for desk in shown_desks(may=may(role), path="/") for entry in desk.entries]
    assert entries
    answers = {entry.label: client.get(entry.url, follow=True).status_code for entry in entries}
    assert answers == dict.fromkeys(answers, 200)


@pytest.fixture
def two_desks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages that surely exist, so that the rules can be seen without the rest of the program."""
    first = Desk(slug="one", label="One", entries=(Entry(label="Home", url_name="home", permission=""),))
    second = Desk(
        slug="two",
        label="Two",
        entries=(
            Entry(label="Password", url_name="password_change", permission="finishing.change_shop"),
            Entry(label="Not built", url_name="no_such_page", permission=""),
        ),
    )
    monkeypatch.setattr(navigation, "DESKS", (first, second))


@pytest.mark.usefixtures("two_desks")
def test_a_desk_without_a_link_for_the_person_is_left_out() -> None:
    assert [desk.label for desk in shown_desks(may=may(Role.FINISHER), path="/")] == ["One"]
    assert [desk.label for desk in shown_desks(may=may(Role.OWNER), path="/")] == ["One", "Two"]


@pytest.mark.usefixtures("two_desks")
def test_an_entry_without_a_page_is_left_out() -> None:
    labels = [entry.label for desk in shown_desks(may=may(Role.OWNER), path="/") for entry in desk.entries]
    assert labels == ["Home", "Password"]


@pytest.mark.usefixtures("two_desks")
def test_the_current_page_is_marked_and_so_is_the_list_above_it() -> None:
    def marks(path: str) -> list[str]:
        return [entry.current for desk in shown_desks(may=may(Role.OWNER), path=path) for entry in desk.entries]

    assert marks("/") == ["page", ""]
    assert marks(reverse("password_change")) == ["", "page"]
    assert marks(reverse("password_change") + "below/") == ["", "true"]
    assert marks("/elsewhere/") == ["", ""]
