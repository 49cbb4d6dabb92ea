"""Charts, drawn once for the page and for paper.

A chart is a ``Drawing``: ``svg`` writes it for its own address on the page (inlined, the content policy would refuse its
styles), ``finishing.documents.pdf.chart`` places it in a document. Colour is never the only sign: parts carry numbers,
lines carry dashes and their names. Import this module inside the function that draws: it brings the drawing library along.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, floor, isfinite, log10
from xml.etree import ElementTree

from reportlab.graphics import renderSVG
from reportlab.graphics.shapes import Circle, Drawing, Line, Polygon, PolyLine, Rect, String
from reportlab.lib.colors import HexColor
from reportlab.pdfbase.pdfmetrics import stringWidth

from finishing.documents import palette
from finishing.documents.pdf_page import FONT, FONT_BOLD, register_fonts

SVG_TYPE = "image/svg+xml"
_SIZE = 11.0
_DASHES: tuple[tuple[float, ...] | None, ...] = (None, (5, 3), (1.5, 2.5), (8, 3, 1.5, 3), (3, 3), (10, 4))


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One bar: its name and an amount, 0 or more, for each part."""

    words: str
    amounts: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """One line: its name and its points ``(x, y)`` in order of x. With ``dots`` the points stand by themselves; ``hollow`` ones
    are those that do not count."""

    words: str
    points: tuple[tuple[float, float], ...]
    dots: bool = False
    hollow: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Sticks:
    """Amounts at single places of the scale: a name and points ``(x, amount)``, each a stick from 0 with a sign at its end."""

    words: str
    sign: int  # a triangle up, a triangle down, a diamond or a square; it brings its colour along
    points: tuple[tuple[float, float], ...]


def bar_chart(
    bars: Sequence[Bar], parts: Sequence[str], *, unit: str = "", width: float = 640, bar_height: float = 26
) -> Drawing:
    """Lying bars of stacked parts, with a numbered key above and each bar's sum at its end.

    ``parts`` names the amounts of every bar, ``unit`` stands under the scale. An amount below 0, or one too many, is a
    ``ValueError``.
    """
    for bar in bars:
        if len(bar.amounts) != len(parts):
            raise ValueError(f"the bar “{bar.words}” has {len(bar.amounts)} amounts for {len(parts)} parts")
        if any(not isfinite(amount) or amount < 0 for amount in bar.amounts):
            raise ValueError(f"the bar “{bar.words}” has an amount that is not a number of 0 or more")
    register_fonts()
    key = _key_rows([f"{number} {words}" for number, words in enumerate(parts, start=1)], width)
    sums = [sum(bar.amounts) for bar in bars]
    ticks = nice_ticks(max(sums, default=0.0))
    left: float = min(max((stringWidth(bar.words, FONT, _SIZE) for bar in bars), default=0) + 10, width * 0.35)
    right = max((stringWidth(plain(total), FONT_BOLD, _SIZE) for total in sums), default=0) + 10
    room = width - left - right
    step = bar_height * 1.55
    foot, top = 34.0, 18.0 * len(key) + 10
    drawing = Drawing(width, ceil(foot + step * len(bars) + top))
    _key(drawing, key, drawing.height)
    scale = room / ticks[-1]
    for tick in ticks:
        x = left + tick * scale
        drawing.add(Line(x, foot - 4, x, foot + step * len(bars), strokeColor=HexColor(palette.LINE), strokeWidth=0.6))
        drawing.add(_text(x, foot - 16, plain(tick), anchor="middle", soft=True))
    if unit:
        drawing.add(_text(left + room, foot - 31, unit, anchor="end", soft=True))
    for row, (bar, total) in enumerate(zip(bars, sums, strict=True)):
        y = foot + step * (len(bars) - 1 - row) + (step - bar_height) / 2
        drawing.add(_text(0, y + bar_height / 2 - 4, _shortened(bar.words, left - 8)))
        x = left
        for part, amount in enumerate(bar.amounts):
            long = amount * scale
            if long > 0:
                drawing.add(
                    Rect(x, y, long, bar_height, fillColor=_colour(part), strokeColor=HexColor(palette.SURFACE), strokeWidth=1)
                )
            if long >= 14:
                drawing.add(
                    _text(x + long / 2, y + bar_height / 2 - 4, str(part + 1), anchor="middle", colour=palette.SURFACE, bold=True)
                )
            x += long
        drawing.add(_text(x + 6, y + bar_height / 2 - 4, plain(total), bold=True))
    return drawing


def line_chart(
    series: Sequence[Series],
    *,
    x_words: str,
    y_words: str,
    width: float = 640,
    height: float = 300,
    sticks: Sequence[Sticks] = (),
    x_marks: Sequence[tuple[float, str]] = (),
) -> Drawing:
    """Lines over a common scale; each has its own dash and its name at the key. Fewer than two points are a ``ValueError``.

    ``sticks`` stand on the same scale, each kind with its own sign. ``x_marks`` names places of the lower scale in words, days
    for example; without them it is marked in round numbers.
    """
    points = [point for line in series for point in line.points] + [point for kind in sticks for point in kind.points]
    if any(len(one.points) < (1 if one.dots else 2) for one in series) or not series:
        raise ValueError("a line needs at least two points")
    if any(not isfinite(value) for point in points for value in point):
        raise ValueError("a point of a line is not an ordinary number")
    register_fonts()
    key = _key_rows([line.words for line in series] + [kind.words for kind in sticks], width)
    signs = [one.sign for one in sticks]
    low_x, high_x = min(x for x, _ in points), max(x for x, _ in points)
    marks = list(x_marks) or [(tick, plain(tick)) for tick in nice_ticks(high_x, low=low_x)]
    first_x, last_x = (low_x, high_x) if x_marks else (marks[0][0], marks[-1][0])
    y_ticks = nice_ticks(max(0.0, *(y for _, y in points)), low=min(0.0, *(y for _, y in points)))
    left: float = max(stringWidth(plain(tick), FONT, _SIZE) for tick in y_ticks) + 10
    foot, top = 34.0, 18.0 * len(key) + 26
    room_x, room_y = width - left - 12, height - foot - top
    x_span, y_span = last_x - first_x or 1.0, y_ticks[-1] - y_ticks[0]
    drawing = Drawing(width, height)
    _key(drawing, key, height, lines=len(series), signs=signs)
    drawing.add(_text(0, height - top + 12, y_words, soft=True))
    drawing.add(_text(left + room_x, 4, x_words, anchor="end", soft=True))

    def at_x(value: float) -> float:
        return left + room_x * (value - first_x) / x_span

    def at_y(value: float) -> float:
        return foot + room_y * (value - y_ticks[0]) / y_span

    for tick in y_ticks:
        strong = tick == 0
        drawing.add(
            Line(
                left, at_y(tick), left + room_x, at_y(tick),
                strokeColor=HexColor(palette.LINE_STRONG if strong else palette.LINE), strokeWidth=1 if strong else 0.6,
            )
        )  # fmt: skip
        drawing.add(_text(left - 6, at_y(tick) - 4, plain(tick), anchor="end", soft=True))
    for place, words in marks:
        anchor = "start" if x_marks and place == first_x else "middle"
        drawing.add(_text(at_x(place), foot - 14, words, anchor=anchor, soft=True))
    for at, kind in enumerate(sticks):
        aside = (at - (len(sticks) - 1) / 2) * 4  # kinds of the same place stand side by side
        for x, amount in kind.points:
            foot_of, head, place = at_y(0), at_y(amount), at_x(x) + aside
            drawing.add(Line(place, foot_of, place, head, strokeColor=_sign_colour(kind.sign), strokeWidth=1.5))
            drawing.add(_sign(kind.sign, place, head))
    for at, one in enumerate(series):
        if one.dots:
            fill = HexColor(palette.SURFACE) if one.hollow else _colour(at)
            for x, y in one.points:
                drawing.add(Circle(at_x(x), at_y(y), 3.5, fillColor=fill, strokeColor=_colour(at), strokeWidth=1.5))
            continue
        flat = [value for x, y in one.points for value in (at_x(x), at_y(y))]
        drawing.add(PolyLine(flat, strokeColor=_colour(at), strokeWidth=2, strokeDashArray=_dash(at), strokeLineJoin=1))
    return drawing


def nice_ticks(high: float, *, low: float = 0.0, count: int = 5) -> tuple[float, ...]:
    """Round marks from at or below ``low`` to at or above ``high``, about ``count`` of them, at least two.

    >>> nice_ticks(93)
    (0.0, 20.0, 40.0, 60.0, 80.0, 100.0)
    """
    span = high - low
    if span <= 0:
        span = abs(high) or 1.0
        high = low + span
    rough = span / count
    power = 10.0 ** floor(log10(rough))
    step = next(factor * power for factor in (1, 2, 2.5, 5, 10) if factor * power >= rough * (1 - 1e-9))
    first, last = floor(low / step + 1e-9), ceil(high / step - 1e-9)
    return tuple(round(index * step, 12) for index in range(first, max(last, first + 1) + 1))


def plain(value: float) -> str:
    """A number for a scale: thousands apart, no needless decimals."""
    text = f"{value:,.2f}" if abs(value) < 10 else f"{value:,.1f}" if abs(value) < 100 else f"{value:,.0f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


# --------------------------------------------------------------------- svg


def svg(drawing: Drawing, *, title: str, description: str = "") -> str:
    """The chart as an image of its own, without style attributes, following light and dark.

    ``title`` and ``description`` are read to those who don't see it; the figures themselves belong in a table beside it.
    """
    ElementTree.register_namespace("", _SVG)
    root = ElementTree.fromstring(re.sub(r"<!DOCTYPE[^>]*>", "", renderSVG.drawToString(drawing)))  # noqa: S314 - own output
    for element in root.iter():
        for name, value in _declarations(element.attrib.pop("style", "")):
            if name == "font-family" and "bold" in value.lower():
                element.set("font-weight", "bold")
            element.set(name, _plain_value(name, value))
        element.attrib.pop("{http://www.w3.org/1999/xlink}href", None)
    root.set("role", "img")
    for name, words in (("title", title), ("desc", description)):
        named = root.find(f"{{{_SVG}}}{name}")
        if named is not None:
            named.text = words
    sheet = ElementTree.SubElement(root, f"{{{_SVG}}}style")
    sheet.text = _DARK
    return ElementTree.tostring(root, encoding="unicode", xml_declaration=False)


_SVG = "http://www.w3.org/2000/svg"
_STACK = "system-ui, 'Segoe UI', Roboto, 'Noto Sans', 'DejaVu Sans', sans-serif"
DARK_OF = {
    palette.INK: "#e6e9e4",
    palette.INK_SOFT: "#aab4af",
    palette.LINE: "#353d3a",
    palette.LINE_STRONG: "#7d8883",
    palette.SURFACE: "#1c2120",
    **dict(zip(palette.SERIES, ("#76c9ba", "#e0a457", "#8fb0e6", "#cf9fda", "#b7c873", "#a2a8a5"), strict=True)),
}
_DARK = "@media (prefers-color-scheme: dark){" + "".join(
    f'[fill="{light}"]{{fill:{dark}}}[stroke="{light}"]{{stroke:{dark}}}' for light, dark in DARK_OF.items()
) + "}"  # fmt: skip


def _declarations(style: str) -> list[tuple[str, str]]:
    """The declarations of a style attribute."""
    pairs = (part.partition(":") for part in style.split(";") if ":" in part)
    return [(name.strip(), value.strip()) for name, _, value in pairs]


def _plain_value(name: str, value: str) -> str:
    """A declaration's value as an attribute: hex colours, the page's fonts."""
    if name == "font-family":
        return _STACK
    if name == "font-size":
        return value.removesuffix("px")
    shares = re.fullmatch(r"rgb\(([\d.]+)%,\s*([\d.]+)%,\s*([\d.]+)%\)", value)
    return _nearest_house_colour(tuple(float(share) for share in shares.groups())) if shares else value


@lru_cache(maxsize=64)
def _nearest_house_colour(shares: tuple[float, ...]) -> str:
    """The house colour that was meant: the library writes whole percents, which would miss the exact colour."""

    def distance(colour: str) -> float:
        exact: tuple[float, float, float] = HexColor(colour).rgb()
        return sum((given / 100 - channel) ** 2 for given, channel in zip(shares, exact, strict=True))

    return min(DARK_OF, key=distance)


# ------------------------------------------------------------------ pieces


def _colour(index: int) -> HexColor:
    return HexColor(palette.SERIES[index % len(palette.SERIES)])


def _dash(index: int) -> list[float] | None:
    # Colours repeat after a round; the dash moves on by one, so that no two lines look alike.
    dash = _DASHES[(index + index // len(palette.SERIES)) % len(_DASHES)]
    return list(dash) if dash else None


def _text(
    x: float, y: float, words: str, *, anchor: str = "start", soft: bool = False, bold: bool = False, colour: str = ""
) -> String:
    return String(
        x,
        y,
        words,
        fontName=FONT_BOLD if bold else FONT,
        fontSize=_SIZE,
        textAnchor=anchor,
        fillColor=HexColor(colour or (palette.INK_SOFT if soft else palette.INK)),
    )


def _shortened(words: str, room: float) -> str:
    """The words, cut with an ellipsis where they don't fit."""
    if stringWidth(words, FONT, _SIZE) <= room:
        return words
    while words and stringWidth(words + "…", FONT, _SIZE) > room:
        words = words[:-1]
    return words.rstrip() + "…"


def _key_rows(entries: Sequence[str], width: float) -> list[list[tuple[float, int, str]]]:
    """The entries of a key laid out in rows: left edge, index, words."""
    rows: list[list[tuple[float, int, str]]] = [[]]
    x = 0.0
    for index, words in enumerate(entries):
        long = stringWidth(words, FONT, _SIZE) + 40
        if x and x + long > width:
            rows.append([])
            x = 0.0
        rows[-1].append((x, index, words))
        x += long
    return rows


def _key(
    drawing: Drawing,
    rows: list[list[tuple[float, int, str]]],
    top: float,
    *,
    lines: int | None = None,
    signs: Sequence[int] = (),
) -> None:
    """Draw a key at the top: squares for parts; or dashes for so many ``lines``, and signs for the sticks after them."""
    for line, entries in enumerate(rows):
        y = top - 13 - 18 * line
        for x, index, words in entries:
            if lines is None:
                mark = Rect(x + 6, y - 1, 10, 10, fillColor=_colour(index), strokeColor=None)
            elif index < lines:
                mark = Line(x, y + 3, x + 18, y + 3, strokeColor=_colour(index), strokeWidth=2, strokeDashArray=_dash(index))
            else:
                mark = _sign(signs[index - lines], x + 10, y + 3)
            drawing.add(mark)
            drawing.add(_text(x + 22, y, words))


# Corners of a sign around its middle: a triangle that points up, one that points down, a diamond, a square.
_SIGNS: tuple[tuple[float, ...], ...] = (
    (-4.5, -3.5, 4.5, -3.5, 0, 4.5),
    (-4.5, 3.5, 4.5, 3.5, 0, -4.5),
    (0, -5, 4, 0, 0, 5, -4, 0),
    (-3.5, -3.5, 3.5, -3.5, 3.5, 3.5, -3.5, 3.5),
)


def _sign(kind: int, x: float, y: float) -> Polygon:
    """The sign of one kind of sticks at a place."""
    corners = _SIGNS[kind % len(_SIGNS)]
    moved = [value + (x if place % 2 == 0 else y) for place, value in enumerate(corners)]
    return Polygon(moved, fillColor=_sign_colour(kind), strokeColor=None)


def _sign_colour(kind: int) -> HexColor:
    return _colour(kind + len(palette.SERIES) // 2)  # lines begin with the first half
