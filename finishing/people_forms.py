"""Forms of the people who sign in."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from finishing.models import User
from finishing.roles import Role, find_role

_WHAT = {
    Role.OFFICE: "office: materials, deliveries, stock, what to order, quotes",
    Role.ESTIMATOR: "estimator: coating systems, estimates, quotes",
    Role.FINISHER: "finisher: jobs, what to mix, the log",
    Role.OWNER: "owner: everything, and the shop’s settings and people",
}


def _password(**kwargs: Any) -> forms.CharField:
    widget = forms.PasswordInput(attrs={"autocomplete": "new-password"})
    return forms.CharField(strip=False, max_length=128, widget=widget, **kwargs)


class _PersonForm(forms.ModelForm):
    """Name and roles of a person."""

    roles = forms.TypedMultipleChoiceField(
        choices=[(role.value, words) for role, words in _WHAT.items()],
        coerce=find_role,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick at least one role: without one a person can do nothing here."},
    )

    class Meta:
        model = User
        fields = ["username", "first_name", "last_name", "email"]
        labels = {"username": "Sign-in name"}
        help_texts = {"username": "Letters, digits and @ . + - _ only. What the person types to sign in."}
        error_messages = {"username": {"unique": "Somebody has this sign-in name already."}}

    def _check_password(self, field: str) -> None:
        password = self.cleaned_data.get(field)
        if not password:
            return
        try:
            validate_password(password, self.instance)
        except ValidationError as error:
            self.add_error(field, error)

    def _post_clean(self) -> None:
        """The password is compared with the names, so it is checked when these are known."""
        super()._post_clean()  # type: ignore[misc]  # a hook that the stubs leave out
        self._check_password("password")


class NewPersonForm(_PersonForm):
    """A person who will sign in for the first time."""

    password = _password(
        label="First password", help_text="At least 10 letters. Tell it to the person, who changes it after signing in."
    )

    field_order = ["username", "first_name", "last_name", "email", "roles", "password"]


class PersonForm(_PersonForm):
    """A person's names, roles, and whether they may sign in."""

    is_active = forms.BooleanField(
        required=False, label="May sign in", help_text="Untick for somebody who has left. What they did stays in the books."
    )
    password = _password(label="New password", required=False, help_text="Empty: the password stays as it is.")

    field_order = ["username", "first_name", "last_name", "email", "roles", "is_active", "password"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.update(roles=[role.value for role in self.instance.roles], is_active=self.instance.is_active)
