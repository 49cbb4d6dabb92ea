"""The stylesheet's colours, read from the file, have the contrast that people need.

Ratios: Web Content Accessibility Guidelines 2.2 (W3C Recommendation, criteria 1.4.3 and 1.4.11): 4.5 to 1 for text,
3 to 1 for the edges of controls. The formula is the guidelines' definition of relative luminance. From memory.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from finishing.documents import palette

CSS = Path(__file__).resolve().parents[2] / "finishing" / "static" / "finishing" / "house.css"
TOKEN = re.compile(r"--([a-z0-9-]+):\s*(#[0-9a-f]{6});")

TEXT_ON = [
    *((ink, ground) for ink in ("ink", "ink-soft", "accent", "accent-strong") for ground in ("ground", "surface", "sunken")),
    ("accent-strong", "accent-wash"),
    ("accent-ink", "accent"),
    ("accent-ink", "accent-strong"),
    *((f"{tone}-ink", f"{tone}-wash") for tone in ("ok", "warn", "bad", "hold", "note")),
    *(("ink", f"{tone}-wash") for tone in ("warn", "bad")),
    *((f"{tone}-ink", ground) for tone in ("ok", "bad") for ground in ("ground", "surface")),
]
EDGES_ON = [
    *((edge, ground) for edge in ("line-strong", "accent", "bad-ink") for ground in ("ground", "surface")),
    *((f"series-{number}", "surface") for number in range(1, 7)),
]


def scheme(name: str) -> dict[str, str]:
    """The tokens of the light scheme, or of the dark one laid over it."""
    text = CSS.read_text(encoding="utf-8")
    light, _, rest = text.partition("@media (prefers-color-scheme: dark)")
    tokens = dict(TOKEN.findall(light))
    if name == "dark":
        tokens |= dict(TOKEN.findall(rest.partition("/* ---")[0]))
    return tokens


def luminance(colour: str) -> float:
    """Relative luminance of #rrggbb."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """The contrast ratio of two colours."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_formula_gives_21_for_black_on_white() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)  # the grey that just fails; from memory


@pytest.mark.parametrize("name", ["light", "dark"])
@pytest.mark.parametrize(("ink", "ground"), TEXT_ON)
def test_text_has_4_5_to_1(name: str, ink: str, ground: str) -> None:
    tokens = scheme(name)
    assert contrast(tokens[ink], tokens[ground]) >= 4.5


@pytest.mark.parametrize("name", ["light", "dark"])
@pytest.mark.parametrize(("edge", "ground"), EDGES_ON)
def test_edges_of_controls_and_parts_of_charts_have_3_to_1(name: str, edge: str, ground: str) -> None:
    tokens = scheme(name)
    assert contrast(tokens[edge], tokens[ground]) >= 3


@pytest.mark.parametrize("number", range(1, 7))
def test_the_numbers_on_the_parts_of_a_chart_can_be_read(number: int) -> None:
    for name in ("light", "dark"):
        tokens = scheme(name)
        assert contrast(tokens[f"series-{number}"], tokens["surface"]) >= 4.5


def test_dark_changes_every_colour_that_text_stands_on() -> None:
    light, dark = scheme("light"), scheme("dark")
    assert {"ground", "surface", "ink", "accent", "bad-wash"} <= {name for name in light if light[name] != dark[name]}


def test_paper_uses_the_light_colours_of_the_pages() -> None:
    tokens = scheme("light")
    for name in ("GROUND", "SURFACE", "SUNKEN", "INK", "INK_SOFT", "LINE", "LINE_STRONG", "ACCENT", "ACCENT_WASH"):
        assert getattr(palette, name) == tokens[name.lower().replace("_", "-")]
    for name in ("COAT_1", "COAT_2", "COAT_3", "WARN_INK", "WARN_WASH"):
        assert getattr(palette, name) == tokens[name.lower().replace("_", "-")]
    assert list(palette.SERIES) == [tokens[f"series-{number}"] for number in range(1, 7)]


def test_charts_on_the_page_turn_dark_with_the_page() -> None:
    from finishing import charts

    light, dark = scheme("light"), scheme("dark")
    named = {light[name]: dark[name] for name in ("ink", "ink-soft", "line", "line-strong", "surface")}
    named |= {light[f"series-{number}"]: dark[f"series-{number}"] for number in range(1, 7)}
    assert named == charts.DARK_OF


def test_no_rule_outside_the_tokens_names_a_colour() -> None:
    body = CSS.read_text(encoding="utf-8").split("/* ------------------------------------------------------------------ base */")[
        1
    ]
    screen = body.split("/* ------------------------------------------------------------------ print */")[0]
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b", screen) == []
