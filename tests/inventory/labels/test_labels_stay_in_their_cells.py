"""Nothing passes the edge of a label, nothing lies over anything else, however long the words are."""

from __future__ import annotations

from decimal import Decimal
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.documents.labels import labels_pdf
from inventory.documents.labels_draw import Box, NoRoomError, plan_label
from inventory.documents.labels_face import Face, Hazard
from inventory.documents.labels_sheet import LEAST_HEIGHT, LEAST_WIDTH, PAPERS, PRESETS, Sheet
from tests.inventory.labels.reading import face, lines, pictures, texts, words

DPI = 200
LONG_NAME = "Two-component polyurethane white primer sealer, low gloss, for doors and drawer fronts of painted kitchens, quick"
CODES = ("H222", "H225", "H229", "H304", "H315", "H317", "H319", "H332", "H334", "H335", "H336", "H351", "H361d", "H373", "H412")
LONG_LOT = texts([40])[0]
FULL = Hazard(signal="WARNING", codes=CODES, see_sheet=True)
FACES = (
    face(),
    face("C", until="No expiry stated", hazard=Hazard(), write=False, keeps="", place=""),
    face("L" * 20, name=LONG_NAME, hazard=FULL, alarm="IN QUARANTINE", place="Flammables cabinet, second room, top shelf"),
    face(
        LONG_LOT, name="W" * 120, hazard=FULL, square=LONG_LOT, until="Opened: use by Sep\u00a030,\u00a02027", alarm="OUT OF DATE"
    ),
    face("漆" * 40, name="Waterborne", square="漆" * 40, bars=""),
    face("CLEAR-WB", number_label="", until="", write=False, keeps="", square="CLEAR-WB", bars=""),
)
SMALLEST = Sheet(
    paper="A4",
    columns=4,
    rows=13,
    left=Decimal(8),
    top=Decimal(8),
    across=LEAST_WIDTH + 2,
    down=LEAST_HEIGHT + 1,
    width=LEAST_WIDTH,
    height=LEAST_HEIGHT,
)
SHEETS = {**PRESETS, "smallest": SMALLEST}


def filled(sheet: Sheet) -> list[Face]:
    return [FACES[number % len(FACES)] for number in range(sheet.per_page)]


@pytest.mark.parametrize("name", SHEETS)
def test_all_ink_is_inside_the_cells(name: str) -> None:
    sheet = SHEETS[name]
    (picture,) = pictures(labels_pdf(filled(sheet), sheet), DPI)
    ink = picture < 250
    assert ink.mean() > 0.02
    dots = DPI / 25.4
    for cell in sheet.cells(sheet.per_page):
        top, left = round(float(cell.top) * dots), round(float(cell.left) * dots)
        bottom, right = round(float(cell.top + cell.height) * dots), round(float(cell.left + cell.width) * dots)
        assert ink[top:bottom, left:right].any()
        ink[top:bottom, left:right] = False
    assert np.count_nonzero(ink) == 0


@pytest.mark.parametrize("name", SHEETS)
def test_no_words_lie_over_words_or_codes(name: str) -> None:
    """Every piece of text lies in one cell, apart from all other text there and from the codes with their white around."""
    sheet = SHEETS[name]
    height = float(PAPERS[sheet.paper][1]) * 72 / 25.4
    faces = filled(sheet)
    (page,) = lines(labels_pdf(faces, sheet))
    placed = 0
    for one, cell in zip(faces, sheet.cells(len(faces)), strict=True):
        left, top, width, tall = (float(length) * 72 / 25.4 for length in (cell.left, cell.top, cell.width, cell.height))
        box = Box(left=left, bottom=height - top - tall, width=width, height=tall)
        plan = plan_label(one, box, page_height=height)
        inside = [piece for _, piece in page if overlap(piece, box)]
        placed += len(inside)
        others = [plan.square, *([plan.bars] if plan.bars else [])]
        for piece in inside:
            assert box.left <= piece.left
            assert piece.right <= box.right
            assert box.bottom <= piece.bottom
            assert piece.top <= box.top
            assert not any(overlap(piece, other) for other in others), one.name
        assert not any(overlap(first, second) for first, second in combinations(inside, 2)), one.name
        assert not (plan.bars and overlap(plan.square, plan.bars))
    assert placed == len(page) > 0


def overlap(one: Box, other: Box, slack: float = 0.3) -> bool:
    """Whether two boxes share more than a hair."""
    across = min(one.right, other.right) - max(one.left, other.left)
    up = min(one.top, other.top) - max(one.bottom, other.bottom)
    return across > slack and up > slack


@pytest.mark.parametrize("name", ["a4-3x7", "letter-3x10", "a4-2x4"])
def test_a_usual_label_leaves_nothing_out(name: str) -> None:
    (page,) = words(labels_pdf([face(name="Waterborne white primer", place="")], PRESETS[name]))
    for part in (
        "Waterborne white primer",
        "Lot LOT7A",
        "Expires Mar 5, 2027",
        "Opened",
        "DANGER: H225, H319, H336.",
        "data sheet.",
    ):
        assert part in page


@pytest.mark.parametrize("name", SHEETS)
def test_a_lot_a_day_and_a_signal_word_are_never_shortened(name: str) -> None:
    (page,) = words(labels_pdf([FACES[2]], SHEETS[name]))
    joined = page.replace(" ", "")
    for part in ("L" * 20, "ExpiresMar5,2027", "INQUARANTINE", "WARNING", "Seethesafetydatasheet."):
        assert part in joined


def test_a_long_name_is_wrapped_first_and_shortened_last() -> None:
    assert LONG_NAME in words(labels_pdf([face(name=LONG_NAME)], PRESETS["a4-2x4"]))[0]
    short = words(labels_pdf([face(name=LONG_NAME, hazard=FULL)], SMALLEST))[0]
    assert LONG_NAME not in short
    assert "…" in short
    assert short.startswith("Two-component")


def test_h_codes_that_do_not_fit_are_counted() -> None:
    (page,) = words(labels_pdf([face(hazard=FULL)], PRESETS["a4-4x10"]))
    assert "WARNING: H222, H225" in page
    assert " more. See the safety data sheet." in page
    (page,) = words(labels_pdf([face(hazard=FULL)], PRESETS["a4-2x4"]))
    assert ", ".join(CODES) in page


def test_two_lines_to_write_on_where_there_is_room() -> None:
    assert "Use by" in words(labels_pdf([face()], PRESETS["a4-2x7"]))[0]
    assert "Use by" not in words(labels_pdf([face()], PRESETS["a4-4x10"]))[0]


def test_what_has_no_room_is_refused_rather_than_cut() -> None:
    wide = face("W" * 40, square="W" * 40, hazard=FULL, alarm="IN QUARANTINE")
    with pytest.raises(NoRoomError, match=r"no room for Lot W{40} on 45 × 20 mm"):
        labels_pdf([wide], SMALLEST)


def on_a_dot(length: float) -> bool:
    """Whether a length from the paper's edge is a whole number of dots of a printer of 200 and of 300 dots to the inch."""
    return all(abs(length * dpi / 72 - round(length * dpi / 72)) < 1e-4 for dpi in (200, 300))


@settings(max_examples=150, deadline=None)
@given(
    width=st.integers(45, 200),
    height=st.integers(20, 140),
    name=st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zs", "Zl", "Zp")), min_size=1, max_size=120),
    lot=st.integers(1, 40).map(lambda length: texts([length])[0]),
    codes=st.integers(0, len(CODES)),
)
def test_every_label_that_is_allowed_has_room(width: int, height: int, name: str, lot: str, codes: int) -> None:
    one = face(
        lot, name=name, square=lot, hazard=Hazard(signal="DANGER", codes=CODES[:codes], see_sheet=True), alarm="OUT OF DATE"
    )
    box = Box(left=31.3, bottom=77.7, width=width * 72 / 25.4, height=height * 72 / 25.4)
    plan = plan_label(one, box, page_height=841.9)
    assert sum(row.height for row in plan.rows) <= plan.text.height
    for part in (plan.text, plan.square, *([plan.bars] if plan.bars else [])):
        assert box.left - 0.001 <= part.left
        assert part.right <= box.right + 0.001
        assert box.bottom - 0.001 <= part.bottom
        assert part.top <= box.top + 0.001
    for code in (plan.square, *([plan.bars] if plan.bars else [])):
        assert on_a_dot(code.left)
        assert on_a_dot(841.9 - code.top)
    assert not overlap(plan.text, plan.square, 0.001)
    assert not (plan.bars and (overlap(plan.text, plan.bars, 0.001) or overlap(plan.square, plan.bars, 0.001)))
