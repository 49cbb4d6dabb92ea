"""One form, one object: what a form makes carries the form's key, so that a form sent twice makes it once."""

from __future__ import annotations

from typing import Any, TypeVar
from uuid import UUID

from django.db import IntegrityError, models, transaction

_M = TypeVar("_M", bound=models.Model)


def made_by(model: type[_M], key: UUID | None) -> _M | None:
    """What the form with this key has made already, or None."""
    if key is None:
        return None
    found: _M | None = model._default_manager.filter(key=key).first()
    return found


def create_once(instance: _M, *, key: UUID) -> _M:
    """Save a new object under the key of its form; when the key was used before, give what was made then."""
    made: Any = instance
    made.key = key
    try:
        with transaction.atomic():
            instance.save()
    except IntegrityError:
        earlier = made_by(type(instance), key)
        if earlier is None:
            raise
        return earlier
    return instance
