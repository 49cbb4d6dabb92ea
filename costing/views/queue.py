"""Answers to forms that a tablet kept while the network was gone: in JSON, with the words that a page would show."""

from __future__ import annotations

from pathlib import Path

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required, permission_required
from django.contrib.staticfiles import finders
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.cache import cache_control, never_cache
from django.views.decorators.http import require_safe

HEADER = "X-Queue"
FROM_PAGE = "page"  # the page that waits for the answer shows its words itself


def is_queued(request: HttpRequest) -> bool:
    """True for a form that the script of the queue sends."""
    return HEADER in request.headers


def accepted(request: HttpRequest, words: str, *, url: str) -> HttpResponse:
    """Say that it is done: in JSON to the queue, else on the page that comes next."""
    if not is_queued(request):
        messages.success(request, words)
        return redirect(url)
    if request.headers[HEADER] == FROM_PAGE:
        messages.success(request, words)
    return JsonResponse({"ok": True, "words": [words], "next": url})


def refused(form: forms.BaseForm, *, logged: int | None = None) -> HttpResponse:
    """Why it is not taken, field by field, for a person to mend it later. ``logged``: how many logs the step has, where that is
    why: a person who has read it may send the same entry all the same."""
    words = []
    for name, errors in form.errors.items():
        label = form.fields[name].label if name in form.fields else ""
        words += [f"{label}: {error}" if label else str(error) for error in errors]
    return JsonResponse({"ok": False, "words": words, "logged": logged}, status=422)


@never_cache
@require_safe
@permission_required("costing.log_work", raise_exception=True)
def queue_hello(request: HttpRequest) -> HttpResponse:
    """Whether the server is there, who is signed in, a fresh token for forms, and the server's clock."""
    return JsonResponse({"user": request.user.pk, "token": get_token(request), "now": timezone.now().isoformat()})


@cache_control(max_age=0, no_cache=True)
@login_not_required
@require_safe
def worker(request: HttpRequest) -> HttpResponse:  # noqa: ARG001 - a view
    """The script that keeps pages on the tablet. It stands at the root, since it may only keep what lies below itself."""
    found = finders.find("costing/worker.js")
    if not isinstance(found, str):
        raise Http404
    return HttpResponse(Path(found).read_bytes(), content_type="text/javascript")
