"""Reads the shop's way of showing things afresh for every request."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from finishing import show


class PreferencesMiddleware:
    """Forget what the last request on this thread was shown in, so that a changed setting counts at once."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Clear before and after."""
        show.use(None)
        try:
            with self._clock(request):
                return self.get_response(request)
        finally:
            show.use(None)

    def _clock(self, request: HttpRequest) -> AbstractContextManager[None]:
        """The shop's own time zone for everybody who is signed in; without one, or with one unknown here, the server's."""
        if not request.user.is_authenticated:
            return nullcontext()
        try:
            name = show.preferences().time_zone
            return timezone.override(ZoneInfo(name)) if name else nullcontext()
        except (ZoneInfoNotFoundError, ValueError):
            return nullcontext()
