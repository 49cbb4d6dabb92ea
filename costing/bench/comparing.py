"""Comparison over job sizes, draws of risk, and a spreadsheet program that recalculates the same lines."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory

from costing.bench import plain
from costing.bench.estimates import bare_materials, bare_operations, bare_rates
from costing.bench.measure import BenchError, Pair, Ratio, Size, seconds_of, take_turns
from costing.core.compare import Candidate, compare, price_of, sized, spread
from costing.core.estimate import estimate
from costing.core.result import Estimate as Result
from costing.core.sensitivity import Lever, changed
from costing.core.takeoff import Panel, Row, Takeoff, Zone
from costing.models import Estimate
from costing.services.estimating import PricedOption, price_all
from finishing.documents.sheet import Book, Formula, Width, ref, sum_of
from finishing.testing.machine import find_soffice

SYSTEMS, SIZES = 10, 50
SHEET_LINES = 1_000


def measure_comparing(subject: Estimate, size: Size) -> list[Ratio]:
    """All three, on the systems of an estimate."""
    results = [option.result for option in price_all(subject) if isinstance(option, PricedOption)]
    if not results:
        raise BenchError("No system of the estimate can be priced.")
    return [*_comparison(results, size), *_draws(max(results, key=_lines), size), *_recalculated(results[0], size)]


def _lines(result: Result) -> int:
    return sum(len(one.time_lines) + len(one.supply_lines) for one in result.system.operations)


def _comparison(results: list[Result], size: Size) -> list[Ratio]:
    candidates = [_candidate(results, number) for number in range(SYSTEMS)]
    pattern = results[0].takeoff
    sizes = spread(5, 200, SIZES)
    jobs = [sized(pattern, one) for one in sizes]
    totals = [_totals(job) for job in jobs]
    bare = []
    for one in candidates:
        result = price_of(one, jobs[0])
        bare.append((bare_operations(result), bare_materials(result), bare_rates(result)))

    def ours() -> object:
        return compare(candidates, pattern=pattern, sizes=sizes, hours_a_day=Decimal(8))

    def baseline() -> list[list[Decimal]]:
        return [[plain.estimate(total, *parts).true_cost for total in totals] for parts in bare]

    found = compare(candidates, pattern=pattern, sizes=sizes, hours_a_day=Decimal(8))
    for one, costs in zip(candidates, baseline(), strict=True):
        if [point.cost for point in found.points[one.key]] != costs:
            raise BenchError(f"{one.name} does not cost the same by the core and by the baseline.")
    pair = take_turns(ours, baseline, rounds=max(size.estimate_rounds // 6, 2))
    words = f"Comparison of {SYSTEMS} systems at {SIZES} sizes, with where one overtakes another"
    return [pair.milliseconds(words, against="the same 500 costs on bare numbers")]


def _candidate(results: list[Result], number: int) -> Candidate:
    """One of the systems with prices a little off, so that ten differ."""
    result = results[number % len(results)]
    plainly = Candidate(key=str(number), system=result.system, materials=result.materials, rates=result.rates, packs={})
    return changed(plainly, Lever.PRICE, 1 + Decimal(number) / 50)


def _totals(job: Takeoff) -> dict[str, tuple[float, float, int]]:
    zones = {"both": frozenset(Zone), "show": frozenset({Zone.SHOW}), "hidden": frozenset({Zone.HIDDEN})}
    found = {name: job.total(one) for name, one in zones.items()}
    return {name: (total.area, total.sprayed_area, total.pieces) for name, total in found.items()}


def _draws(result: Result, size: Size) -> list[Ratio]:
    from costing.bench import plain_draws
    from costing.core.risk import DRAWS, SEED, draw, factors_of, inputs_of
    from costing.core.risk_costs import costs_of
    from costing.core.spreads import Uncertain

    inputs = inputs_of(result)
    drawn = draw(inputs, draws=DRAWS, seed=SEED)
    factors: dict[str, dict[str, plain_draws.Floats]] = {kind.value: {} for kind in Uncertain}
    for one, values in zip(inputs, drawn, strict=True):
        factors[one.kind.value][one.key] = values
    operations = bare_operations(result)
    for operation, done in zip(operations, result.operations, strict=True):
        if done.coat is not None and done.operation.coat is not None:
            operation["coat"] |= {"wet_film": done.coat.wet_film, "setup": done.operation.coat.setup.name}
    parts = (_totals(result.takeoff), operations, bare_materials(result), bare_rates(result))

    def ours() -> object:
        return costs_of(result, factors_of(inputs, draw(inputs, draws=DRAWS, seed=SEED)), draws=DRAWS)

    def baseline() -> object:
        again = draw(inputs, draws=DRAWS, seed=SEED)
        given: dict[str, dict[str, plain_draws.Floats]] = {kind: {} for kind in factors}
        for one, values in zip(inputs, again, strict=True):
            given[one.kind.value][one.key] = values
        return plain_draws.costs(*parts, given, DRAWS)

    mine = costs_of(result, factors_of(inputs, drawn), draws=DRAWS)
    bare = plain_draws.costs(*parts, factors, DRAWS)
    if not (abs(mine - bare) <= 1e-9 * bare).all():
        raise BenchError("A draw does not cost the same by the core and in bare NumPy.")
    pair = take_turns(ours, baseline, rounds=size.estimate_rounds)
    words = f"Risk, {DRAWS:,} draws of {len(inputs)} inputs, {_lines(result)} lines"
    return [pair.milliseconds(words, against="the same in bare NumPy, same cost in every draw")]


def _recalculated(result: Result, size: Size) -> list[Ratio]:
    """1,000 lines by the core, and the same lines as formulas that a spreadsheet program recalculates; none without one."""
    soffice = find_soffice()
    coats = [done for done in result.operations if done.coat is not None and done.operation.coat is not None]
    if soffice is None or not coats:
        return []
    rows = [
        Row(shape=Panel(length=300 + number, width=397, thickness=19, profile_factor=1.05), pieces=1 + number % 7)
        for number in range(SHEET_LINES)
    ]
    takeoff = Takeoff(rows=tuple(rows))
    first = coats[0].operation
    only = replace(result.system, operations=(replace(first, zones=frozenset(Zone), time_lines=(), supply_lines=()),))

    def ours() -> Result:
        made = Takeoff(rows=tuple(replace(row, pieces=row.pieces) for row in rows))
        return estimate(takeoff=made, system=only, materials=result.materials, rates=result.rates)

    coat = ours().operations[0].coat
    if coat is None or first.coat is None:
        return []
    with TemporaryDirectory() as folder:
        source = Path(folder) / "lines.xlsx"
        source.write_bytes(_sheet(rows, film=coat.wet_film, efficiency=first.coat.setup.transfer_efficiency))
        convert = _conversion(soffice, source, Path(folder))
        total = _total_of(convert, Path(folder))
        if abs(total - coat.sprayed) > 1e-9 * coat.sprayed or abs(takeoff.area - coat.area) > 1e-9 * coat.area:
            raise BenchError(f"The sheet sprays {total} L, the core {coat.sprayed} L.")
        theirs = min(seconds_of(convert) for _ in range(max(size.sheet_rounds // 2, 1)))
    mine = min(seconds_of(ours) for _ in range(max(size.estimate_rounds, 2)))
    words = f"Estimate of {SHEET_LINES:,} lines, area to litres"
    return [Pair(ours=mine, baseline=theirs).milliseconds(words, against="LibreOffice opens, reckons and saves them")]


def _sheet(rows: list[Row], *, film: float, efficiency: float) -> bytes:
    """The lines as a shop would keep them: sizes as numbers, area and litres as formulas, a sum at the end."""
    book = Book(title="Lines", page_size="A4")
    sheet = book.sheet("Lines", columns=[Width(12) for _ in range(7)])
    sheet.header(("Pieces", "Length", "Width", "Thickness", "Profile", "Area", "Sprayed, L"))
    first = sheet.next_row
    for row in rows:
        at, shape = sheet.next_row, row.shape
        if not isinstance(shape, Panel):
            continue
        n, length, width, thick, profile = (ref(column, at) for column in "ABCDE")
        area = f"={n}*({profile}*2*{length}*{width}+{thick}*(2*{length}+2*{width}))/1000000"
        litres = f"={ref('F', at)}*{film!r}/(1000*{efficiency!r})"
        sizes = (row.pieces, shape.length, shape.width, shape.thickness, shape.profile_factor)
        sheet.row((*sizes, Formula(area), Formula(litres)))
    sheet.total((*[None] * 6, sum_of("G", first, sheet.next_row - 1)))
    return book.to_bytes()


def _conversion(soffice: Path, source: Path, folder: Path) -> Callable[[], object]:
    profile = f"-env:UserInstallation=file://{folder}/profile"
    command = [
        str(soffice),
        "--headless",
        "--norestore",
        profile,
        "--convert-to",
        "xlsx",
        "--outdir",
        str(folder / "out"),
        str(source),
    ]
    return lambda: subprocess.run(command, check=True, capture_output=True, timeout=180)  # noqa: S603 - a program that we looked up


def _total_of(convert: Callable[[], object], folder: Path) -> float:
    from openpyxl import load_workbook

    convert()
    book = load_workbook(folder / "out" / "lines.xlsx", data_only=True)
    sheet = book.worksheets[0]
    return float(str(sheet.cell(sheet.max_row, 7).value))
