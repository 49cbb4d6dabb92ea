"""No template needs inline style or script: the content policy would refuse it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

TEMPLATES = Path(__file__).resolve().parents[2] / "templates"
FORBIDDEN = {
    "a style attribute": re.compile(r"<[^>]*\sstyle\s*=", re.IGNORECASE),
    "a style element": re.compile(r"<style\b", re.IGNORECASE),
    "script in the page": re.compile(r"<script\b(?![^>]*\bsrc\s*=)", re.IGNORECASE),
    "an event attribute": re.compile(r"<[^>]*\s(?:on[a-z]+|hx-on[:a-z-]*)\s*=", re.IGNORECASE),
    "a javascript address": re.compile(r"javascript:", re.IGNORECASE),
    "a foreign host": re.compile(r"(?:src|href)\s*=\s*[\"'](?:https?:)?//", re.IGNORECASE),
}


def without_template_code(text: str) -> str:
    """The markup alone: comparisons inside tags would end a tag for the patterns."""
    return re.sub(r"{#.*?#}|{%.*?%}|{{.*?}}", "", text, flags=re.DOTALL)


def templates() -> list[Path]:
    return sorted(TEMPLATES.rglob("*.html"))


def test_there_are_templates_to_look_at() -> None:
    assert TEMPLATES / "base.html" in templates()


@pytest.mark.parametrize("path", templates(), ids=lambda path: str(path.relative_to(TEMPLATES)))
def test_a_template_has_nothing_inline(path: Path) -> None:
    text = without_template_code(path.read_text(encoding="utf-8"))
    assert {what: found[0] for what, pattern in FORBIDDEN.items() if (found := pattern.findall(text))} == {}


@pytest.mark.parametrize(
    "bad",
    [
        '<p class="a" style="color:red">',
        "<style>p{}</style>",
        "<script>go()</script>",
        '<script type="text/javascript">',
        '<button type="button" onclick="go()">',
        '<a href="javascript:go()">',
        '<link href="https://cdn.example/x.css">',
        '<form hx-on:submit="go()">',
    ],
)
def test_the_patterns_see_what_is_inline(bad: str) -> None:
    assert any(pattern.search(bad) for pattern in FORBIDDEN.values())


def test_a_script_of_our_own_file_is_allowed() -> None:
    good = '<script src="" defer></script><p class="style">The style = plain</p>'
    assert not any(pattern.search(good) for pattern in FORBIDDEN.values())
