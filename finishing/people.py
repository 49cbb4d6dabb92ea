"""People who sign in: adding them, changing their roles, and keeping one owner at least."""

from __future__ import annotations

from collections.abc import Collection

from django.db import transaction

from finishing.models import User
from finishing.roles import Role


class LastOwnerError(ValueError):
    """A change that would leave the shop without an owner who can sign in."""

    def __init__(self, person: User) -> None:
        self.person = person
        super().__init__(
            f"{person} is the only owner who can sign in. Make somebody else an owner first, "
            "or nobody could change the shop’s settings any more."
        )


def set_roles(person: User, roles: Collection[Role]) -> None:
    """Give a person exactly these roles; not saved yet."""
    for role in Role:
        setattr(person, f"is_{role.value}", role in roles)


@transaction.atomic
def add_person(person: User, *, roles: Collection[Role], password: str) -> User:
    """Save a new person with roles and a first password."""
    set_roles(person, roles)
    person.set_password(password)
    person.save()
    return person


@transaction.atomic
def change_person(person: User, *, roles: Collection[Role], is_active: bool, password: str = "") -> User:
    """Change a person's roles, whether they may sign in, and, when one is given, their password.

    Raises LastOwnerError when no active owner would be left; the owners are locked first, so that two of them cannot
    step down at the same moment.
    """
    owners = set(User.objects.select_for_update().filter(is_owner=True, is_active=True).values_list("pk", flat=True))
    stays_owner = is_active and Role.OWNER in roles
    if owners == {person.pk} and not stays_owner:
        raise LastOwnerError(person)
    set_roles(person, roles)
    person.is_active = is_active
    if password:
        person.set_password(password)
    person.save()
    return person
