"""``add_person`` makes a sign-in from the command line, and says plainly what it cannot use."""

from __future__ import annotations

import io

import pytest
from django.core.management import CommandError, call_command

from finishing.models import User
from finishing.roles import Role


@pytest.fixture
def piped(monkeypatch: pytest.MonkeyPatch) -> io.StringIO:
    """The password as a pipe would give it."""
    given = io.StringIO("quiet-lacquer-9\n")
    monkeypatch.setattr("sys.stdin", given)
    return given


def test_it_adds_a_person_with_several_roles(db: None, piped: io.StringIO) -> None:
    out = io.StringIO()

    call_command("add_person", "sam", "--role", "office", "--role", "Owner", "--full-name", "Sam Sample", stdout=out)

    sam = User.objects.get()
    assert sam.roles == {Role.OFFICE, Role.OWNER}
    assert str(sam) == "Sam Sample"
    assert sam.check_password("quiet-lacquer-9")
    assert "sam can sign in as office, owner." in out.getvalue()


def test_it_lists_the_roles_when_one_is_unknown(db: None, piped: io.StringIO) -> None:
    with pytest.raises(CommandError, match=r"There is no role “king”\. The roles are: office, estimator, finisher, owner\."):
        call_command("add_person", "sam", "--role", "king")
    assert not User.objects.exists()


def test_a_role_must_be_given(db: None, piped: io.StringIO) -> None:
    with pytest.raises(CommandError, match="--role"):
        call_command("add_person", "sam")


def test_a_name_that_is_taken_or_cannot_be_is_told(db: None, piped: io.StringIO) -> None:
    User.objects.create_user("sam")

    with pytest.raises(CommandError, match="already exists"):
        call_command("add_person", "sam", "--role", "office")
    with pytest.raises(CommandError, match="Enter a valid username"):
        call_command("add_person", "two words", "--role", "office")
    assert User.objects.count() == 1


def test_a_weak_password_is_refused(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("short\n"))

    with pytest.raises(CommandError, match="too short"):
        call_command("add_person", "sam", "--role", "office")
    assert not User.objects.exists()


def test_at_a_terminal_the_password_is_asked_for_twice(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    answers = iter(["quiet-lacquer-9", "quiet-lacquer-8", "quiet-lacquer-9", "quiet-lacquer-9"])
    monkeypatch.setattr("sys.stdin", Terminal())
    monkeypatch.setattr("getpass.getpass", lambda _prompt: next(answers))

    with pytest.raises(CommandError, match="The two passwords differ"):
        call_command("add_person", "sam", "--role", "office")
    assert not User.objects.exists()
    call_command("add_person", "sam", "--role", "office", stdout=io.StringIO())
    assert User.objects.get().check_password("quiet-lacquer-9")
