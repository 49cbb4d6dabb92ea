"""Charts: one drawing for the page (as an image without inline style) and for the PDF."""

from __future__ import annotations

import io
import re
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader
from reportlab.graphics.shapes import Drawing, Line, PolyLine, Rect, String

from finishing import charts
from finishing.documents import pdf
from finishing.documents.letterhead import Letterhead

BARS = [
    charts.Bar(words="Two-part <satin>", amounts=(100.0, 50.0, 0.0)),
    charts.Bar(words="Water-borne", amounts=(25.0, 0.0, 75.0)),
]
PARTS = ("film", "overspray", "labour")
SVG = "{http://www.w3.org/2000/svg}"


def parsed(text: str) -> ElementTree.Element:
    """Our own output, read back."""
    return ElementTree.fromstring(text)  # noqa: S314


def bars() -> Drawing:
    return charts.bar_chart(BARS, PARTS, unit="USD")


def strings(drawing: Drawing) -> list[str]:
    return [shape.text for shape in drawing.contents if isinstance(shape, String)]


def rects(drawing: Drawing) -> list[Rect]:
    return [shape for shape in drawing.contents if isinstance(shape, Rect) and shape.height > 15]


def test_bars_are_as_long_as_their_amounts() -> None:
    long, short, other, last = (rect.width for rect in rects(bars()))
    assert long == pytest.approx(2 * short)
    assert other == pytest.approx(long / 4)
    assert last == pytest.approx(long * 0.75)


def test_parts_follow_one_another_without_gap() -> None:
    first, second, *_ = rects(bars())
    assert second.x == pytest.approx(first.x + first.width)


def test_a_number_on_each_part_stands_beside_its_name_in_the_key() -> None:
    words = strings(bars())
    assert {"1 film", "2 overspray", "3 labour", "1", "2", "3", "150", "100", "USD"} <= set(words)


def test_nothing_leaves_the_drawing() -> None:
    wide = charts.bar_chart(
        [charts.Bar(words="A very long name " * 9, amounts=(1e6,) * 9)], [f"part number {n}" for n in range(9)]
    )
    for drawing in (bars(), wide):
        x0, y0, x1, y1 = drawing.getBounds()
        assert x0 >= -1
        assert y0 >= -1
        assert x1 <= drawing.width + 1
        assert y1 <= drawing.height + 1


@pytest.mark.parametrize("amounts", [(1.0, 2.0), (1.0, -1.0, 0.0), (1.0, float("nan"), 0.0), (1.0, float("inf"), 0.0)])
def test_a_bar_that_cannot_be_drawn_is_refused(amounts: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="“x”"):
        charts.bar_chart([charts.Bar(words="x", amounts=amounts)], PARTS)


@pytest.mark.parametrize("given", [[], [charts.Bar(words="x", amounts=(0.0, 0.0, 0.0))]])
def test_bars_of_nothing_are_drawn_as_nothing(given: list[charts.Bar]) -> None:
    assert rects(charts.bar_chart(given, PARTS)) == []


def lines() -> Drawing:
    return charts.line_chart(
        [
            charts.Series(words="usable", points=((0, 60), (40, 20), (90, -10))),
            charts.Series(words="point", points=((0, 18), (90, 18))),
        ],
        x_words="days",
        y_words="litres",
    )


def test_lines_differ_in_dash_as_well_as_in_colour() -> None:
    one, two = (shape for shape in lines().contents if isinstance(shape, PolyLine))
    assert one.strokeDashArray != two.strokeDashArray
    assert one.strokeColor != two.strokeColor


def test_a_line_goes_down_where_its_figures_go_down() -> None:
    one = next(shape for shape in lines().contents if isinstance(shape, PolyLine))
    heights = one.points[1::2]
    assert heights[0] > heights[1] > heights[2]


def test_a_line_below_nothing_has_its_zero_line() -> None:
    assert {"0", "-20"} <= set(strings(lines()))


def test_the_scale_holds_the_line() -> None:
    drawing = lines()
    level = [
        shape.y1 for shape in drawing.contents if isinstance(shape, Line) and shape.y1 == shape.y2 and shape.x2 - shape.x1 > 100
    ]
    for line in (shape for shape in drawing.contents if isinstance(shape, PolyLine)):
        assert min(level) <= min(line.points[1::2])
        assert max(line.points[1::2]) <= max(level)


@pytest.mark.parametrize("points", [((0, 1),), (), ((0, 1), (1, float("nan")))])
def test_a_line_that_cannot_be_drawn_is_refused(points: tuple[tuple[float, float], ...]) -> None:
    with pytest.raises(ValueError, match="point"):
        charts.line_chart([charts.Series(words="x", points=points)], x_words="", y_words="")


@pytest.mark.parametrize(
    ("high", "low", "first", "last"),
    [(93, 0, 0, 100), (0, 0, 0, 1), (7, 7, 6, 14), (0.03, 0, 0, 0.03), (40, -12, -20, 40), (1e9, 0, 0, 1e9)],
)
def test_ticks_are_round_and_enclose_the_figures(high: float, low: float, first: float, last: float) -> None:
    ticks = charts.nice_ticks(high, low=low)
    assert ticks[0] <= low
    assert ticks[-1] >= high
    assert 2 <= len(ticks) <= 8
    assert (ticks[0], ticks[-1]) == pytest.approx((first, last))


def test_the_image_has_no_inline_style_and_is_well_formed() -> None:
    text = charts.svg(bars(), title="Cost <by> group", description="Two systems")
    root = parsed(text)
    assert "style=" not in text
    assert "<!DOCTYPE" not in text
    assert root.findtext(f"{SVG}title") == "Cost <by> group"
    assert root.findtext(f"{SVG}desc") == "Two systems"
    assert "Two-part <satin>" in [element.text for element in root.iter(f"{SVG}text")]


def test_the_image_uses_house_colours_exactly_and_knows_the_dark_ones() -> None:
    text = charts.svg(bars(), title="x")
    used = set(re.findall(r'(?:fill|stroke)="(#[0-9a-f]{6})"', text.partition("<style>")[0]))
    assert used <= set(charts.DARK_OF)
    assert len(used) >= 4
    assert "prefers-color-scheme: dark" in text


def test_the_image_names_fonts_that_a_page_has() -> None:
    families = set(re.findall(r'font-family="([^"]+)"', charts.svg(bars(), title="x")))
    assert len(families) == 1
    assert families.pop().startswith("system-ui")


def test_bold_text_stays_bold_in_the_image() -> None:
    root = parsed(charts.svg(bars(), title="x"))
    weights = {element.text: element.get("font-weight") for element in root.iter(f"{SVG}text")}
    assert weights["150"] == "bold"
    assert weights["1 film"] is None


def test_the_same_drawing_stands_in_a_document_at_the_width_asked_for() -> None:
    drawing = bars()
    placed = pdf.chart(drawing, width=320)
    assert placed.width == 320
    assert placed.height == pytest.approx(drawing.height / 2)
    data = pdf.document(title="t", letterhead=Letterhead(name="s"), page_size="A4", story=[placed])
    assert "Two-part <satin>" in PdfReader(io.BytesIO(data)).pages[0].extract_text()
    assert drawing.width == 640


def test_points_stand_by_themselves_and_those_that_do_not_count_are_hollow() -> None:
    full = charts.Series(words="each", points=((1.0, 5.0), (2.0, 7.0), (3.0, 6.0)), dots=True)
    hollow = charts.Series(words="left out", points=((4.0, 1.0),), dots=True, hollow=True)
    drawing = charts.line_chart(
        [full, hollow, charts.Series(words="mean", points=((1.0, 6.0), (4.0, 6.0)))], x_words="x", y_words="y"
    )
    image = charts.svg(drawing, title="Points")
    assert image.count("<circle") == 4
    assert image.count("<polyline") == 1
