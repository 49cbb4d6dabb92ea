"""Whatever bytes come: an upload reads them or refuses them in a sentence, and nothing else."""

from __future__ import annotations

import csv
import io
import uuid
from collections.abc import Sequence

from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from costing.services.takeoff_import import read_file, read_in_shop_units
from finishing.models import User
from finishing.steps import finish
from finishing.uploads import FileRefusedError
from inventory.bringing_in.plan import Given, State
from inventory.choices import ListKind
from inventory.models import ListUpload
from inventory.services.bringing_in import Upload, take_in
from tests.finishing.uploads.conftest import GOOD, House
from tests.finishing.uploads.files import xlsx_file

LIMIT = 2_000_000
ROUNDS = settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
WORKBOOKS = {name: xlsx_file(rows) for name, rows in GOOD.items()}
NASTY = [
    "",
    "=1+1",
    "'=x",
    "#N/A",
    "1,5",
    "1.234,5",
    "-1",
    "1e99",
    "NaN",
    "2026-02-30",
    "04/05/2026",
    "TRUE",
    "½",
    "\u202e",
    "٣",
    "x" * 300,
]
CELLS = st.one_of(st.sampled_from(NASTY), st.text(max_size=12), st.integers(-9, 10**9).map(str))


def take(house: House, upload: str, content: bytes) -> None:
    """Read the bytes as a list of this upload; a refusal is a sentence, and a row that is wrong says why."""
    try:
        if upload == "takeoff":
            reading = read_in_shop_units(read_file(content, limit=LIMIT))
            assert reading.is_good or all(problem.wrong and problem.right for problem in reading.problems)
            return
        by = User.objects.get(username="owner-person")
        sent = Given(by=by, on=timezone.localdate(), file_name="list", key=uuid.uuid4(), supplier=house.supplier)
        kept = finish(take_in(Upload(kind=ListKind(upload), content=content, most_bytes=LIMIT, given=sent)))
    except FileRefusedError as error:
        _is_a_sentence(str(error))
        return
    kept.refresh_from_db()
    assert all(row[4] for row in kept.report["rows"] if row[2] == State.WRONG)
    ListUpload.objects.all().delete()


@settings(ROUNDS, max_examples=150)
@given(upload=st.sampled_from(list(GOOD)), content=st.binary(max_size=400))
def test_noise(house: House, upload: str, content: bytes) -> None:
    take(house, upload, content)


@settings(ROUNDS, max_examples=250)
@given(
    upload=st.sampled_from(list(GOOD)),
    hits=st.lists(st.tuples(st.floats(0, 1, exclude_max=True), st.binary(min_size=1, max_size=8)), min_size=1, max_size=6),
    end=st.floats(0.05, 1),
)
def test_a_workbook_with_damaged_bytes(house: House, upload: str, hits: list[tuple[float, bytes]], end: float) -> None:
    data = bytearray(WORKBOOKS[upload])
    for place, noise in hits:
        at = int(place * len(data))
        data[at : at + len(noise)] = noise
    take(house, upload, bytes(data[: int(end * len(data))] if end < 0.9 else data))


@settings(ROUNDS, max_examples=250)
@given(upload=st.sampled_from(list(GOOD)), rows=st.lists(st.lists(CELLS, min_size=3, max_size=6), min_size=1, max_size=4))
def test_cells_of_any_text_below_the_right_names(house: House, upload: str, rows: list[list[str]]) -> None:
    take(house, upload, _csv([GOOD[upload][0], *rows]))


@settings(ROUNDS, max_examples=100)
@given(upload=st.sampled_from(list(GOOD)), text=st.text(max_size=200))
def test_texts_of_any_kind(house: House, upload: str, text: str) -> None:
    take(house, upload, text.encode("utf-8", "surrogatepass"))


def _is_a_sentence(words: str) -> None:
    assert words.endswith(".")


def _csv(rows: Sequence[Sequence[str]]) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out).writerows(rows)
    return out.getvalue().encode("utf-8", "surrogatepass")
