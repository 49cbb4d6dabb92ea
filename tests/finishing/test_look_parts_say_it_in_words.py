"""Badges, bars, workings, cautions and tiles: colour is never the only carrier of meaning."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import pytest
from django.template import Context, Template

from finishing.templatetags.house import BADGES, timeline


def drawn(source: str, **values: Any) -> str:
    return Template("{% load house %}" + source).render(Context(values))


def words_of(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


@dataclass(frozen=True)
class Working:
    """A figure with what went into it."""

    words: str = "Sprayed"
    formula: str = "V = a w / 1000"
    inputs: tuple[Any, ...] = (("a", "area", "15.3", "m²"), ("w", "wet film <thick>", "110", "µm"))
    result: str = "2.593 L"
    section: str = "4"
    source: str = "ISO 4618"


@pytest.mark.parametrize("kind", sorted(BADGES))
def test_every_badge_has_words_and_a_sign(kind: str) -> None:
    html = drawn("{% badge kind %}", kind=kind)
    assert words_of(html) == BADGES[kind].words
    assert '<svg class="icon"' in html


def test_no_two_badges_of_a_lot_share_their_sign() -> None:
    states = [BADGES[kind] for kind in ("fresh", "soon", "expired", "quarantined")]
    assert len({state.sign for state in states}) == len({state.tone for state in states}) == 4


def test_a_badge_takes_other_words_and_escapes_them() -> None:
    assert words_of(drawn("{% badge 'soon' words %}", words="expires 3 Aug")) == "expires 3 Aug"
    assert "<i>" not in drawn("{% badge 'soon' words %}", words="<i>")


def test_an_unknown_badge_or_sign_is_an_error() -> None:
    with pytest.raises(KeyError):
        drawn("{% badge 'nonsense' %}")
    with pytest.raises(KeyError):
        drawn("{% icon 'nonsense' %}")


def test_a_bar_is_as_long_as_its_amounts() -> None:
    parts = timeline([("Sand", 30, "30 min"), ("Wait", 0, "0 min"), ("Spray", 90, "1 h 30 min")])["parts"]
    assert [part["width"] for part in parts] == ["250.00", "0.00", "750.00"]
    assert [part["x"] for part in parts] == ["0.00", "250.00", "250.00"]


def test_a_bar_is_told_as_a_list_beside_it() -> None:
    html = drawn("{% timeline parts %}", parts=[("Sand", 30, "30 min"), ("Spray", 90, "1 h 30 min")])
    assert words_of(html) == "1. Sand 30 min 2. Spray 1 h 30 min"
    assert 'aria-hidden="true"' in html


def test_a_bar_of_nothing_and_a_bar_below_nothing() -> None:
    assert timeline([])["parts"] == []
    assert timeline([("Sand", 0, "")])["parts"][0]["width"] == "0.00"
    with pytest.raises(ValueError, match="negative"):
        timeline([("Sand", -1, "")])


def test_a_working_shows_formula_inputs_and_source() -> None:
    html = drawn('{% include "parts/working.html" %}', working=Working())
    assert html.lstrip().startswith("<details")
    assert "V = a w / 1000" in html
    rows = re.findall(r"<tr><th scope=\"row\".*?</tr>", html, re.DOTALL)
    assert [words_of(row) for row in rows] == ["a area 15.3 m²", "w wet film &lt;thick&gt; 110 µm"]
    assert "Costing model, section 4. Source: ISO 4618" in words_of(html)


def test_a_working_takes_inputs_with_names_too() -> None:
    @dataclass(frozen=True)
    class Given:
        symbol: str = "a"
        words: str = "area"
        value: str = "15.3"
        unit: str = "m²"

    html = drawn('{% include "parts/working.html" %}', working=Working(inputs=(Given(),)))
    assert words_of(re.findall(r"<tr><th scope=\"row\".*?</tr>", html, re.DOTALL)[0]) == "a area 15.3 m²"


def test_a_caution_defers_to_the_safety_data_sheet_and_names_its_source() -> None:
    html = drawn("{% caution title='Oily rags' source='A public page' %}<p>They can heat up.</p>{% endcaution %}")
    assert "<p>They can heat up.</p>" in html
    assert "safety data sheet" in html
    assert "Source: A public page" in html
    assert "Source" not in drawn("{% caution title='Oily rags' %}x{% endcaution %}")


def test_a_card_escapes_its_title_and_keeps_its_content() -> None:
    html = drawn("{% card title=title %}<p>{{ inside }}</p>{% endcard %}", title="<b>", inside="<i>")
    assert "<h2>&lt;b&gt;</h2>" in html
    assert "<p>&lt;i&gt;</p>" in html


def test_a_tile_has_its_unit_and_a_link_that_says_what_it_opens() -> None:
    html = drawn('{% include "parts/tile.html" with value="84.5" unit="L" label="Usable lacquer" url="/lots/" %}')
    assert words_of(html) == "Usable lacquer 84.5 L Show : Usable lacquer"


def test_the_current_step_is_marked_for_everybody() -> None:
    steps = [{"words": "Draft", "state": "done"}, {"words": "Sent", "state": "now"}, {"words": "Paid", "state": "later"}]
    html = drawn('{% include "parts/steps.html" %}', steps=steps)
    assert html.count('aria-current="step"') == 1
    assert words_of(html) == "Draft (done) Sent Paid"


def test_messages_that_are_errors_interrupt_and_others_wait() -> None:
    given = [{"level_tag": "error"}, {"level_tag": "success"}]
    html = drawn('{% include "parts/messages.html" %}', messages=given)
    assert re.findall(r'role="(\w+)"', html) == ["alert", "status"]
