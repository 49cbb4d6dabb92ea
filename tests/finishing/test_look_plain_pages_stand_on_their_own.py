"""Sign-in, sign-out, lock-out and error pages: whole pages in plain words, even when little else works."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.contrib.auth.models import AnonymousUser
from django.template.loader import get_template, render_to_string
from django.test import RequestFactory
from pytest_django import Settings

from finishing.models import User

PAGES = {
    "400.html": "could not be read",
    "403.html": "not for your sign-in",
    "403_csrf.html": "too old to send",
    "404.html": "no such page",
    "500.html": "went wrong",
    "registration/locked_out.html": "Too many sign-in attempts",
    "registration/logged_out.html": "signed out",
}


def shown(name: str, user: Any = None) -> str:
    request = RequestFactory().get("/somewhere/")
    request.user = user or AnonymousUser()
    return render_to_string(name, {}, request=request)


@pytest.mark.parametrize(("name", "words"), PAGES.items())
def test_a_plain_page_is_whole_and_says_what_happened(name: str, words: str) -> None:
    html = shown(name)
    assert html.lstrip().startswith("<!doctype html>")
    assert html.count("<h1>") == html.count("<main") == 1
    assert words in re.sub(r"<[^>]+>", "", html.partition("<h1>")[2].partition("</h1>")[0])
    assert "finishing/house.css" in html


@pytest.mark.parametrize("name", PAGES)
def test_a_plain_page_shows_no_navigation_even_to_the_owner(name: str) -> None:
    assert 'id="desks"' not in shown(name, User(username="owner", is_owner=True))


def test_an_ordinary_page_shows_the_owner_the_navigation() -> None:
    assert 'id="desks"' in shown("registration/password_change_done.html", User(username="owner", is_owner=True))
    assert 'id="desks"' not in shown("registration/password_change_done.html")


def test_the_page_for_faults_needs_no_context() -> None:
    assert "not half saved" in get_template("500.html").render()


@pytest.mark.parametrize(("demo", "count"), [(True, 1), (False, 0)])
def test_a_demo_shop_says_that_its_data_is_invented(settings: Settings, demo: bool, count: int) -> None:
    settings.DEMO = demo
    assert shown("404.html").count("Demo shop: invented data.") == count


def test_every_page_has_a_way_past_the_navigation() -> None:
    html = shown("404.html")
    assert re.search(r'<body[^>]*>\s*<a class="skip" href="#main">', html)
    assert 'id="main"' in html
