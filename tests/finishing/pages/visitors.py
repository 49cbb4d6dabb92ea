"""People of each role at the shop's own pages."""

from __future__ import annotations

from django.test import Client

from finishing.models import User
from finishing.roles import Role

PASSWORD = "made-up-for-tests-1"


def person(name: str, *roles: str) -> User:
    """Somebody who can sign in."""
    return User.objects.create_user(name, password=PASSWORD, **{f"is_{role}": True for role in roles})


def browser(who: User | None) -> Client:
    """A browser in which that person is signed in."""
    client = Client()
    if who is not None:
        client.force_login(who, backend="finishing.auth.RoleBackend")
    return client


ROLES = tuple(role.value for role in Role)
