"""A page for work that takes longer: its lines come one by one while the work is done, within the same answer.

No queue and no second process: what takes under a second is answered as usual. For what takes longer the page begins, shows how
far the work is, and ends with a link to the result, which is followed by itself where there is script. Somebody who leaves the
page stops the work, and a transaction that is open is undone. The program is served by threads (WSGI): one answer runs in one
thread from its beginning to its end, so the transaction stays on one connection.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from django.http import HttpRequest, HttpResponseBase, StreamingHttpResponse
from django.shortcuts import redirect
from django.template.loader import render_to_string
from django.utils.html import format_html

from finishing.show import number
from finishing.steps import Begun, Progress, Work, try_for

T = TypeVar("T")
PATIENCE = 1.0  # seconds after which somebody is told how far the work is
_HERE = "<!-- the lines come here -->"
_FAILED = "The program failed at this point. Nothing was written. Please tell whoever looks after it."
log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Task(Generic[T]):
    """Work with the words of its page and where to go after it."""

    work: Work[T]
    title: str
    result: Callable[[T], str]  # the address that shows the result
    back: str  # the address to go back to when it was refused
    refusals: tuple[type[Exception], ...]  # refusals whose message is for people
    link_words: str = "Show the result"


def answer(request: HttpRequest, task: Task[T]) -> HttpResponseBase:
    """Go to the result, or to a page that shows how far the work is. A refusal within the first moment is raised."""
    first = try_for(task.work, PATIENCE)
    if not isinstance(first, Begun):
        return redirect(task.result(first))
    page = render_to_string("finishing/working.html", {"title": task.title, "here": _HERE}, request)
    response = StreamingHttpResponse(_lines(page, first.progress, task))
    response["Cache-Control"] = "no-store"
    response["X-Accel-Buffering"] = "no"  # a proxy in front must not hold the lines back
    return response


def _lines(page: str, first: Progress, task: Task[Any]) -> Iterator[str]:
    above, below = page.split(_HERE)
    work = task.work
    try:
        yield above + _line(first)
        while True:
            try:
                yield _line(next(work))
            except StopIteration as end:
                yield _end(task.result(end.value), task.link_words)
                break
            except task.refusals as error:
                yield _refusal(str(error), task.back)
                break
            except Exception:
                log.exception("work behind a page failed")
                yield _refusal(_FAILED, task.back)
                break
        yield below
    finally:
        work.close()  # of a page that nobody waits for: an open transaction is undone


def _line(progress: Progress) -> str:
    if progress.total is None:
        return format_html("<p>{}: {}<progress></progress></p>\n", progress.words, number(progress.done, 0))
    words = "<p>{}: {} of {}<progress max='{}' value='{}'></progress></p>\n"
    done, total = progress.done, progress.total
    return format_html(words, progress.words, number(done, 0), number(total, 0), total, done)


def _end(url: str, words: str) -> str:
    return format_html('<p>It is done. <a class="button button-main" href="{}" data-follow>{}</a></p>\n', url, words)


def _refusal(words: str, back: str) -> str:
    link = '<div class="error-summary" role="alert"><h2>Nothing was written</h2><p>{}</p><p><a href="{}">Go back</a></p></div>\n'
    return format_html(link, words, back)
