"""The costing model in plain Python on bare numbers: the baseline for the core.

The same formulas in the same order, with floats and ``Decimal`` where the core has them; tuples and dicts in place of
dataclasses, no checks, no notices, no explanation. It exists to be measured against and is used nowhere else.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

ZERO = Decimal(0)
KEEP = 1 - 1e-9
ZONES = ("both", "show", "hidden")

# A row: (shape, n, g, zone, *sizes). A tuple of any length has no better name than this.
Bare = tuple[Any, ...]


class Answer(NamedTuple):
    """What both must agree on."""

    true_cost: Decimal
    labour_minutes: float
    booth_minutes: float
    elapsed_minutes: float
    residue: float
    cleaner: float
    voc_kg: float


def row_area(shape: str, pieces: int, sizes: Sequence[Any]) -> float:
    """Area of a row in m² (section 1)."""
    if shape == "panel":
        length, width, thickness, faces, long_edges, short_edges, profile = sizes
        flat = profile * faces * length * width
        return float(pieces * (flat + thickness * (long_edges * length + short_edges * width)) / 1e6)
    if shape == "moulding":
        return float(pieces * sizes[0] * sizes[1] / 1e6)
    return float(sizes[0])


def totals_of(rows: Sequence[Bare]) -> dict[str, tuple[float, float, int]]:
    """By zone: area, area over geometry factor, pieces."""
    done = [(row_area(shape, pieces, sizes), pieces, factor, zone) for shape, pieces, factor, zone, *sizes in rows]
    found = {}
    for wanted in ZONES:
        here = done if wanted == "both" else [row for row in done if row[3] == wanted]
        found[wanted] = (
            math.fsum(row[0] for row in here),
            math.fsum(row[0] / row[2] for row in here),
            sum(row[1] for row in here),
        )
    return found


def exact(value: float) -> Decimal:
    """A physical quantity as the decimal that is priced."""
    return Decimal(f"{value:.15g}")


def up(value: float) -> int:
    """A ceiling that forgives noise."""
    return math.ceil(value * KEEP)


def coat_of(coat: Mapping[str, Any], area: float, aimed: float, materials: Mapping[str, Any]) -> Bare:
    """Volumes of a coat (section 4): on, over, residue, batches, fills, minutes of spraying, dry solids, parts."""
    mix, total = coat["mix"], coat["parts"]
    wet = coat["wet"]
    if wet is None:
        own = coat["mix"][: coat["own"]]
        solids = sum(parts * materials[key]["NV"] for key, parts in own) / sum(parts for _, parts in own)
        wet = coat["dry_film"] * (100 + coat["thinning"]) / solids
    on_surface = area * wet / 1000
    sprayed = aimed * wet / (1000 * coat["TE"])
    minutes = 60 * area / coat["rate"]
    batches = 1 if coat["pot"] is None else max(1, up(minutes / coat["pot"]))
    fills = batches * up(sprayed / batches / (coat["C"] - coat["rf"]))
    residue = fills * coat["rf"] + batches * coat["rb"]
    mixed = sprayed + residue
    parts_of_mix = []
    dry = 0.0
    for key, parts in mix:
        material = materials[key]
        share = parts / total
        parts_of_mix.append((key, share, mixed * parts / total, mixed * parts / total / material["yield"]))
        if material["mass_solids"]:
            dry += (sprayed - on_surface) * share * material["density"] * material["mass_solids"] / 100
    return on_surface, sprayed - on_surface, residue, batches, fills, minutes, dry, parts_of_mix


def estimate(
    totals: Mapping[str, tuple[float, float, int]],
    operations: Sequence[Mapping[str, Any]],
    materials: Mapping[str, Any],
    rates: Mapping[str, Any],
) -> Answer:
    """True cost, times and VOC of a system on a takeoff (sections 3 to 7)."""
    work: dict[str, float] = {}
    litres: dict[str, list[float]] = {}
    supplies: dict[str, list[float]] = {}
    labour_minutes = booth_minutes = residue = 0.0
    performed = []
    for operation in operations:
        area, aimed, pieces = totals[operation["zone"]]
        coat = operation["coat"]
        drivers = {"operation": 1.0, "m2": area, "piece": float(pieces), "batch": 0.0, "fill": 0.0, "overspray kg": 0.0}
        minutes = booth = 0.0
        if coat is not None:
            if area == 0:
                continue
            on_surface, over, left, batches, fills, spraying, dry, parts = coat_of(coat, area, aimed, materials)
            drivers["batch"], drivers["fill"], drivers["overspray kg"] = float(batches), float(fills), dry
            loading = coat["per_fill"] * fills
            minutes = spraying + loading + coat["per_batch"] * batches
            booth = spraying + loading + coat["flash"]
            residue += left
            for key, share, mixed, drawn in parts:
                sums = litres.setdefault(key, [0.0, 0.0, 0.0, 0.0])
                sums[0] += on_surface * share
                sums[1] += over * share
                sums[2] += left * share
                sums[3] += drawn - mixed
        minutes += sum([each * drivers[driver] for driver, each in operation["time"]])
        drivers["labour hour"] = minutes / 60
        for key, driver, amount, whole in operation["supplies"]:
            needed = supplies.setdefault(key, [0.0, 0.0])
            needed[whole] += amount * drivers[driver]
        if minutes:
            work[operation["labour"]] = work.get(operation["labour"], 0.0) + minutes
        labour_minutes += minutes
        booth_minutes += booth
        performed.append((minutes / operation["crew"], coat))
    return priced(work, litres, supplies, materials, rates, (labour_minutes, booth_minutes, residue, elapsed(performed)))


def elapsed(performed: Sequence[tuple[float, Mapping[str, Any] | None]]) -> float:
    """Working and waiting minutes (section 6)."""
    last = len(performed) - 1
    last_coat = max((place for place, (_, coat) in enumerate(performed) if coat), default=-1)
    total = 0.0
    for place, (minutes, coat) in enumerate(performed):
        waiting = 0.0
        if coat and place < last:
            waiting += coat["dry"]
        if coat and place == last_coat:
            waiting += coat["stacking"]
        total += minutes + waiting
    return total


def priced(
    work: Mapping[str, float],
    litres: Mapping[str, Sequence[float]],
    supplies: Mapping[str, Sequence[float]],
    materials: Mapping[str, Any],
    rates: Mapping[str, Any],
    times: tuple[float, float, float, float],
) -> Answer:
    """Money and VOC of what is used (sections 5 and 7)."""
    labour_minutes, booth_minutes, residue, elapsed_minutes = times
    film = over = rest = heel = expiry = ZERO
    emitted = 0.0
    for key, amounts in litres.items():
        material = materials[key]
        money = [exact(amount) * material["litre_price"] for amount in amounts]
        film, over, rest, heel = film + money[0], over + money[1], rest + money[2], heel + money[3]
        expiry += sum(money, ZERO) * (material["x"] / (1 - material["x"]))
        emitted += (amounts[0] + amounts[1] + amounts[2] + amounts[3]) * material["voc"]
    groups = {"cleaner": ZERO, "abrasives": ZERO, "disposables": ZERO}
    cleaner = 0.0
    for key, (exactly, whole) in supplies.items():
        material = materials[key]
        quantity = exactly + up(whole)
        groups[material["group"]] += exact(quantity) * material["price"]
        if material["per_litre"] is not None:
            emitted += quantity * material["per_litre"] * material["voc"]
            if material["group"] == "cleaner":
                cleaner += quantity * material["per_litre"]
    labour = ZERO
    for key, minutes in work.items():
        labour += exact(minutes) * rates["labour"][key] / 60
    booth = exact(booth_minutes) * rates["booth"] / 60
    disposal = exact(residue + cleaner) * rates["disposal"]
    direct = film + over + rest + heel + expiry + groups["cleaner"] + groups["abrasives"] + groups["disposables"]
    before = direct + labour + booth + disposal
    return Answer(
        true_cost=before + rates["rework"] * before + rates["overhead"] * labour,
        labour_minutes=labour_minutes,
        booth_minutes=booth_minutes,
        elapsed_minutes=elapsed_minutes,
        residue=residue,
        cleaner=cleaner,
        voc_kg=emitted / 1000 * (1 - rates["recovered"]),
    )
