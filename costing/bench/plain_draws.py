"""The cost of many draws in bare NumPy on bare numbers: the baseline for the core's draws, used nowhere else."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
KEEP = 1 - 1e-9


def costs(
    totals: Mapping[str, tuple[float, float, int]],
    operations: Sequence[Mapping[str, Any]],
    materials: Mapping[str, Any],
    rates: Mapping[str, Any],
    factors: Mapping[str, Mapping[str, Floats]],
    draws: int,
) -> Floats:
    """True cost of every draw; ``factors`` as arrays by kind and key, the area under ``area`` and an empty key."""
    one = np.ones(draws)
    scale = factors["area"].get("", one)
    direct, labour, booth, disposed = np.zeros(draws), np.zeros(draws), np.zeros(draws), np.zeros(draws)
    needed: dict[str, list[Floats]] = {}
    for place, operation in enumerate(operations):
        area, aimed, pieces = totals[operation["zone"]]
        coat, pace = operation["coat"], factors["work"].get(operation["labour"], one)
        drivers = {"operation": one, "m2": area * scale, "piece": pieces * one, "batch": 0 * one, "fill": 0 * one}
        drivers["overspray kg"] = 0 * one
        minutes = 0 * one
        if coat is not None:
            if area == 0:
                continue
            wet = coat["wet_film"] * factors["film"].get(str(place), one)
            te = np.minimum(1.0, coat["TE"] * factors["efficiency"].get(coat["setup"], one))
            sprayed = aimed * scale * wet / (1000 * te)
            spraying = 60 * area * scale / coat["rate"] * pace
            batches = one if coat["pot"] is None else np.maximum(1.0, np.ceil(spraying / coat["pot"] * KEEP))
            fills = batches * np.ceil(sprayed / batches / (coat["C"] - coat["rf"]) * KEEP)
            residue = fills * coat["rf"] + batches * coat["rb"]
            mixed = sprayed + residue
            loading = coat["per_fill"] * pace * fills
            minutes = spraying + loading + coat["per_batch"] * pace * batches
            booth += spraying + loading + coat["flash"]
            disposed += residue
            drivers["batch"], drivers["fill"] = batches, fills
            over = sprayed - area * scale * wet / 1000
            for key, parts in coat["mix"]:
                material, share = materials[key], parts / coat["parts"]
                price = float(material["litre_price"]) / (1 - float(material["x"])) / material["yield"]
                direct += mixed * share * price * factors["price"].get(key, one)
                if material["mass_solids"]:
                    drivers["overspray kg"] = (
                        drivers["overspray kg"] + over * share * material["density"] * material["mass_solids"] / 100
                    )
        for driver, each in operation["time"]:
            minutes = minutes + each * pace * drivers[driver]
        drivers["labour hour"] = minutes / 60
        labour += minutes * float(rates["labour"][operation["labour"]]) / 60
        for key, driver, amount, whole in operation["supplies"]:
            needed.setdefault(key, [0 * one, 0 * one])[whole] += amount * drivers[driver]
    for key, (exactly, whole) in needed.items():
        material = materials[key]
        quantity = exactly + np.ceil(whole * KEEP)
        direct += quantity * float(material["price"]) * factors["price"].get(key, one)
        if material["group"] == "cleaner" and material["per_litre"] is not None:
            disposed += quantity * material["per_litre"]
    above = direct + labour + booth * float(rates["booth"]) / 60 + disposed * float(rates["disposal"])
    return above * (1 + float(rates["rework"])) + float(rates["overhead"]) * labour
