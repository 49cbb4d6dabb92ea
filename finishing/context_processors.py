"""What every page knows: the desks of the person, the shop's name, and whether the data is invented."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from finishing.navigation import ShownDesk, shown_desks


def house(request: HttpRequest) -> dict[str, Any]:
    """Names for the base template; the navigation is worked out only when a page shows it."""

    def desks() -> tuple[ShownDesk, ...]:
        user = getattr(request, "user", None)
        if user is None or not user.is_authenticated:
            return ()
        return shown_desks(may=user.has_perm, path=request.path)

    return {"house_nav": SimpleLazyObject(desks), "house_demo": settings.DEMO}
