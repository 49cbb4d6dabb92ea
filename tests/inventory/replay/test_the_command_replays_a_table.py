"""``manage.py replay``: the table on the screen and in files, and refusals that say what would be right."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from django.core.management import CommandError, call_command
from openpyxl import load_workbook

INVENTED = Path(__file__).with_name("invented.csv")


def run(path: Path, folder: Path, **options: Any) -> tuple[str, str]:
    out, err = io.StringIO(), io.StringIO()
    given = {"lead": [(1,)], "table": folder / "table.csv", "chart": folder / "chart.svg", **options}
    call_command("replay", path, stdout=out, stderr=err, **given)
    return out.getvalue(), err.getvalue()


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, str, Path]:
    folder = tmp_path_factory.mktemp("replay")
    return (*run(INVENTED, folder, shelf=[6], seed=5), folder)


def test_it_prints_every_policy_with_its_figures(done: tuple[str, str, Path]) -> None:
    out, _, _ = done
    assert "24 materials, last 14 of 28 periods; lead time 1 periods, shelf life 6 periods." in out
    for words in ("This policy", "Normal form at the target", "Fixed minimum and maximum", "Fixed-interval order-up-to"):
        assert words in out
    for head in ("cycles", "fill rate", "stock value", "orders", "expired", "equal"):
        assert head in out
    assert "Seed 5, 2000 draws" in out


def test_it_tells_how_far_it_is(done: tuple[str, str, Path]) -> None:
    shares = [int(line.removeprefix("replay: ").removesuffix(" %")) for line in done[1].splitlines()]
    assert shares == sorted(shares)
    assert len(shares) > 8
    assert shares[-1] == 100


def test_the_table_as_a_file_holds_the_same_figures(done: tuple[str, str, Path]) -> None:
    out, _, folder = done
    rows = list(csv.DictReader((folder / "table.csv").read_text(encoding="utf-8-sig").splitlines()))
    ours = rows[0]
    assert ours["Policy"] == "This policy"
    assert f"{float(ours['Cycle service']):.2%}" in out
    assert f"{float(ours['Mean stock value']):,.1f}" in out
    assert float(ours["Value expired"]) > 0
    assert float(ours["Stock value at our cycle service"]) == float(ours["Mean stock value"])


def test_the_chart_is_a_picture_that_says_what_it_shows(done: tuple[str, str, Path]) -> None:
    root = ElementTree.parse(done[2] / "chart.svg").getroot()  # noqa: S314 - own output
    text = "".join(root.itertext())
    assert "Cycle service, %" in text
    assert "This policy, best settings" in text


def test_several_settings_get_a_chart_each_and_a_workbook_together(tmp_path: Path) -> None:
    run(INVENTED, tmp_path, lead=[(0,), (1, 2)], table=tmp_path / "all.xlsx")
    assert {path.name for path in tmp_path.iterdir()} == {"all.xlsx", "chart-lead-0.svg", "chart-lead-1-2.svg"}
    sheet = load_workbook(tmp_path / "all.xlsx").active
    assert sheet is not None
    policies = [row[2].value for row in sheet.iter_rows() if row[0].value in ("0", "1, 2")]
    assert policies.count("This policy") == 2


def test_the_same_seed_gives_the_same_table(tmp_path: Path) -> None:
    def figures(seed: int) -> list[str]:
        run(INVENTED, tmp_path, lead=[(1, 2)], seed=seed)
        return (tmp_path / "table.csv").read_text(encoding="utf-8-sig").splitlines()[:6]

    assert figures(2) == figures(2)


def table(rows: int = 2, **cells: str) -> str:
    """A table of 20 periods; cells by place, such as r1c3."""
    grid = [["part", *(f"M{number}" for number in range(1, 21))], *([f"P{row}", *["1"] * 20] for row in range(1, rows + 1))]
    for place, words in cells.items():
        row, column = place[1:].split("c")
        grid[int(row)][int(column)] = words
    return "\n".join(",".join(row) for row in grid)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "The file is empty"),
        ("part,Jan,Feb\n", "no row below the names"),
        ("part\nA\n", "names no period"),
        ("part,Jan,Feb\nA,1,2\n", "The table has 2 periods. A replay needs 16"),
        (table(r1c3="many"), r"Row 2 \(P1\), M3: “many” is not a number."),
        (table(r2c20="-4"), r"Row 3 \(P2\), M20: -4 is below 0. Use is 0 or more, net of what came back."),
        (table(r1c5=""), r"Row 2 \(P1\), M5: nothing is entered. Enter 0"),
        (table(r1c5="nan"), "“nan” is not a number"),
        (table(r0c2="price", r1c2="0"), "“0” is not a price above 0"),
        (table() + "\nP3" + ",1" * 25, "more cells than the first row has names"),
        (table(rows=9, **{f"r{row}c1": "x" for row in range(1, 10)}), "There are more faults below"),
        ("\x00\x01\x02", "not a text file"),
        ("%PDF-1.7", "This is a PDF"),
    ],
)
def test_a_bad_file_is_refused_in_words(text: str, words: str, tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text(text)
    with pytest.raises(CommandError, match=words):
        run(path, tmp_path)
    assert not (tmp_path / "table.csv").exists()


def test_a_missing_file_and_a_folder_are_told(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="There is no file"):
        run(tmp_path / "none.csv", tmp_path)
    with pytest.raises(CommandError, match="is a folder"):
        run(tmp_path, tmp_path)


def test_a_place_that_can_not_be_written_to_is_told(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("")
    with pytest.raises(CommandError, match=r"Can’t write .* Name another place"):
        run(INVENTED, tmp_path, table=tmp_path / "taken" / "table.csv")


@pytest.mark.parametrize(
    ("option", "words"),
    [
        ("--lead=x", "is not a whole number"),
        ("--lead=-1", "does not lie between"),
        ("--target=100", "does not lie between 50 and 99.9"),
        ("--target=high", "is not a number"),
        ("--draws=10", "does not lie between 2000"),
        ("--chart=chart.gif", "does not end in .svg"),
    ],
)
def test_an_option_that_makes_no_sense_is_told(option: str, words: str) -> None:
    with pytest.raises(CommandError, match=words):
        call_command("replay", str(INVENTED), option)


def test_prices_and_notes(tmp_path: Path) -> None:
    path = tmp_path / "priced.csv"
    path.write_text(table(r0c1="price", r1c1="10", r2c1="2", r2c0="P1") + "\nP9,1" + ",0" * 19)
    out, _ = run(path, tmp_path)
    assert "1 names stand in more than one row, for example P1" in out
    assert "1 rows have no use in any period." in out
