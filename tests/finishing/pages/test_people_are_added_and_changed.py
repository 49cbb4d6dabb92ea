"""The owner adds people, changes their roles and shuts their door; one owner who can sign in always stays."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from finishing.models import User
from finishing.people import LastOwnerError, change_person
from finishing.roles import Role
from tests.finishing.pages.visitors import PASSWORD, browser, person


@pytest.fixture
def boss(db: None) -> User:
    return person("boss", "owner")


@pytest.fixture
def owner(boss: User) -> Client:
    return browser(boss)


NEW = {
    "username": "sam",
    "first_name": "Sam",
    "last_name": "Sample",
    "roles": ["office", "finisher"],
    "password": "quiet-lacquer-9",
}


def test_a_new_person_can_sign_in_with_their_roles(owner: Client) -> None:
    response = owner.post(reverse("person_new"), NEW)

    assert response.status_code == 302
    made = User.objects.get(username="sam")
    assert made.roles == {Role.OFFICE, Role.FINISHER}
    newcomer = Client()
    newcomer.post(reverse("login"), {"username": "sam", "password": "quiet-lacquer-9"})
    assert newcomer.get(reverse("customers")).status_code == 200


@pytest.mark.parametrize(
    ("changed", "field", "message"),
    [
        ({"username": "boss"}, "username", "Somebody has this sign-in name already."),
        ({"username": "two words"}, "username", "Enter a valid username."),
        ({"roles": []}, "roles", "Tick at least one role: without one a person can do nothing here."),
        ({"roles": ["king"]}, "roles", "Choose one of those listed."),
        ({"password": "short"}, "password", "This password is too short."),
        ({"password": "samsample-sam"}, "password", "The password is too similar to the"),
        ({"password": ""}, "password", "Fill this in."),
        ({"email": "at home"}, "email", "Write an e-mail address, for example office@example.com."),
    ],
)
def test_what_cannot_be_is_told_at_its_field(owner: Client, changed: dict[str, object], field: str, message: str) -> None:
    if changed.get("password") == "samsample-sam":
        changed = changed | {"username": "samsample"}
    response = owner.post(reverse("person_new"), NEW | changed)

    assert response.status_code == 422
    assert list(response.context["form"].errors) == [field]
    assert response.context["form"].errors[field][0].startswith(message)
    assert 'value="Sample"' in response.text
    assert "quiet-lacquer-9" not in response.text
    assert User.objects.count() == 1


def edit(owner: Client, someone: User, **changed: object) -> object:
    data = {"username": someone.username, "roles": [role.value for role in someone.roles], "is_active": "on", "password": ""}
    sent = {name: value for name, value in (data | changed).items() if value is not None}
    return owner.post(reverse("person", args=[someone.pk]), sent)


def test_roles_and_password_are_changed(owner: Client) -> None:
    sam = person("sam", "office")

    edit(owner, sam, roles=["estimator"], password="another-door-7")

    sam.refresh_from_db()
    assert sam.roles == {Role.ESTIMATOR}
    assert sam.check_password("another-door-7")


def test_an_empty_password_stays_as_it_is(owner: Client) -> None:
    sam = person("sam", "office")

    edit(owner, sam)

    sam.refresh_from_db()
    assert sam.check_password(PASSWORD)


def test_somebody_who_left_is_shut_out_at_once(owner: Client) -> None:
    sam = person("sam", "office")
    at_the_desk = browser(sam)
    assert at_the_desk.get(reverse("customers")).status_code == 200

    edit(owner, sam, is_active=None)

    assert at_the_desk.get(reverse("customers")).status_code == 302
    assert "no longer" in owner.get(reverse("people")).text


@pytest.mark.parametrize(("changed", "field"), [({"is_active": None}, "is_active"), ({"roles": ["office"]}, "roles")])
def test_the_last_owner_stays(owner: Client, boss: User, changed: dict[str, object], field: str) -> None:
    person("gone", "owner")
    User.objects.filter(username="gone").update(is_active=False)

    response = edit(owner, boss, **changed)

    assert response.status_code == 422  # type: ignore[attr-defined]
    told = response.context["form"].errors[field][0]  # type: ignore[attr-defined]
    assert told.startswith("boss is the only owner who can sign in. Make somebody else an owner first")
    boss.refresh_from_db()
    assert boss.is_owner
    assert boss.is_active


def test_with_a_second_owner_the_first_may_step_down(owner: Client, boss: User) -> None:
    person("second", "owner")

    edit(owner, boss, roles=["office"])

    boss.refresh_from_db()
    assert boss.roles == {Role.OFFICE}
    with pytest.raises(LastOwnerError):
        change_person(User.objects.get(username="second"), roles=[Role.OFFICE], is_active=True)


def test_the_owner_stays_signed_in_after_changing_their_own_password(owner: Client, boss: User) -> None:
    edit(owner, boss, password="another-door-7")

    assert owner.get(reverse("people")).status_code == 200
    boss.refresh_from_db()
    assert boss.check_password("another-door-7")


def test_the_list_names_everybody_with_their_roles_in_few_queries(owner: Client) -> None:
    with CaptureQueriesContext(connection) as few:
        owner.get(reverse("people"))
    for number in range(10):
        person(f"sam{number}", "office", "finisher")
    with CaptureQueriesContext(connection) as many:
        text = owner.get(reverse("people")).text

    assert len(few) == len(many)
    assert "finisher, office" in text
    assert "sam9" in text


@pytest.mark.parametrize("role", ["office", "estimator", "finisher"])
def test_others_are_refused(boss: User, role: str) -> None:
    client = browser(person(role, role))

    for there in (reverse("people"), reverse("person_new"), reverse("person", args=[boss.pk])):
        assert client.get(there).status_code == 403
    assert client.post(reverse("person_new"), NEW).status_code == 403
    assert edit(client, boss, roles=["office"]).status_code == 403  # type: ignore[attr-defined]
    assert not User.objects.filter(username="sam").exists()


def test_somebody_not_signed_in_is_asked_to(boss: User) -> None:
    assert browser(None).get(reverse("people")).url.startswith(reverse("login"))
