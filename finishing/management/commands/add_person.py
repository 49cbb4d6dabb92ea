"""Add a person who may sign in: ``python manage.py add_person NAME --role office``."""

from __future__ import annotations

import getpass
import sys
from argparse import ArgumentParser
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from finishing.models import User
from finishing.people import add_person
from finishing.roles import Role, UnknownRoleError, find_role


class Command(BaseCommand):
    """Makes a sign-in with one or more roles. The password is asked for, or read from the first line of the input."""

    help = "Add a person who may sign in. The password is asked for, or read from the first line of a piped input."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The sign-in name and the roles."""
        parser.add_argument("name", help="what the person types to sign in")
        parser.add_argument(
            "--role", action="append", required=True, dest="roles", help=f"one of {', '.join(Role)}; repeat it for several"
        )
        parser.add_argument("--full-name", default="", help="first and last name, as pages show it")

    def handle(self, *args: Any, **options: Any) -> None:  # noqa: ARG002 - the framework's signature
        """Set the database up when this is the first command, check everything, then ask for the password."""
        call_command("migrate", verbosity=0, interactive=False)
        try:
            roles = [find_role(name) for name in options["roles"]]
        except UnknownRoleError as error:
            raise CommandError(str(error)) from error
        first, _, last = str(options["full_name"]).strip().partition(" ")
        person = User(username=options["name"], first_name=first, last_name=last.strip())
        try:
            person.full_clean(exclude=["password"])
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error
        password = self._password(person)
        add_person(person, roles=roles, password=password)
        words = ", ".join(role.value for role in roles)
        self.stdout.write(self.style.SUCCESS(f"{person.username} can sign in as {words}."))

    def _password(self, person: User) -> str:
        if sys.stdin.isatty():
            password = getpass.getpass("Password: ")
            if getpass.getpass("Once more: ") != password:
                raise CommandError("The two passwords differ. Nothing was saved.")
        else:
            password = sys.stdin.readline().rstrip("\r\n")
        try:
            validate_password(password, person)
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error
        return password
