"""Signing in, and permissions that follow from a person's roles."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.backends import ModelBackend

from finishing.roles import ALL_PERMISSIONS, permissions_of


class RoleBackend(ModelBackend):
    """Signs people in by password and answers permissions from their roles."""

    def get_user_permissions(self, user_obj: Any, obj: Any = None) -> set[str]:
        """Permission strings of an active person; none for one specific object."""
        if not user_obj.is_active or user_obj.is_anonymous or obj is not None:
            return set()
        return set(ALL_PERMISSIONS if user_obj.is_superuser else permissions_of(user_obj.roles))

    def get_group_permissions(self, user_obj: Any, obj: Any = None) -> set[str]:  # noqa: ARG002 - the framework's signature
        """Groups are not used."""
        return set()

    def get_all_permissions(self, user_obj: Any, obj: Any = None) -> set[str]:
        """The same as the person's own permissions."""
        return self.get_user_permissions(user_obj, obj)

    def has_perm(self, user_obj: Any, perm: str, obj: Any = None) -> bool:
        """True when one of the person's roles grants ``perm``."""
        return perm in self.get_user_permissions(user_obj, obj)

    def has_module_perms(self, user_obj: Any, app_label: str) -> bool:
        """True when any permission of the package is granted."""
        return any(perm.partition(".")[0] == app_label for perm in self.get_user_permissions(user_obj))
