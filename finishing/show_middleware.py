"""Reads the shop's way of showing things afresh for every request."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from finishing import show


class PreferencesMiddleware:
    """Forget what the last request on this thread was shown in, so that a changed setting counts at once."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Clear before and after."""
        show.use(None)
        try:
            return self.get_response(request)
        finally:
            show.use(None)
