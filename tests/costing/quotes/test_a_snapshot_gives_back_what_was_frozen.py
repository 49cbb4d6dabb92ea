"""The snapshot survives its JSON unchanged, and what is no snapshot is refused."""

from __future__ import annotations

import copy
import dataclasses
import json
from collections.abc import Callable
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import pytest

from costing.services.estimating import price
from costing.services.freezing import freeze
from costing.snapshots import VERSION, Snapshot, SnapshotError, read_snapshot, write_snapshot
from tests.costing.pricing.door_shop import TODAY, DoorShop

D = Decimal


@pytest.fixture
def snapshot(doors: DoorShop) -> Snapshot:
    """The worked example, frozen."""
    return freeze(price(doors.estimate, doors.system), on=TODAY())


def read(data: Any) -> Snapshot:
    """As it comes out of a quote option."""
    return read_snapshot(SimpleNamespace(snapshot=data))


def test_it_comes_back_equal_from_json(snapshot: Snapshot) -> None:
    assert read(json.loads(json.dumps(write_snapshot(snapshot)))) == snapshot


def test_its_json_holds_no_binary_fraction(snapshot: Snapshot) -> None:
    def refuse(text: str) -> None:
        pytest.fail(f"{text} is written as a number")

    json.loads(json.dumps(write_snapshot(snapshot)), parse_float=refuse)


def test_it_tells_a_job_what_to_do_and_to_draw(snapshot: Snapshot, doors: DoorShop) -> None:
    (step,) = snapshot.performed_steps
    assert step.coat is not None
    assert (step.name, step.kind, step.coat.setup_name, step.coat.fills) == ("Clear coat", "coat", "Gravity cup", 5)
    assert (round(step.coat.wet_film, 9), step.coat.pot_life) == (D(110), D(120))
    planned = {(line.material_id, line.quantity, line.parts, line.driver) for line in step.materials}
    assert planned == {
        (doors.base.pk, D("2.538808"), D(10), None),
        (doors.hardener.pk, D("0.253881"), D(1), None),
        (doors.liner.pk, D(5), None, "fill"),
        (doors.cleaner.pk, D("0.3"), None, "batch"),
    }


def test_what_it_needs_is_the_sum_of_what_its_steps_draw(snapshot: Snapshot) -> None:
    drawn: dict[int, Decimal] = {}
    for line in (line for step in snapshot.steps for line in step.materials):
        drawn[line.material_id] = drawn.get(line.material_id, D(0)) + line.quantity
    assert {need.material_id: need.quantity for need in snapshot.needs} == drawn


def test_a_coat_without_area_is_no_step_of_a_job(doors: DoorShop) -> None:
    doors.system.operations.update(zone="hidden")
    frozen = freeze(price(doors.estimate, doors.system), on=TODAY())
    assert frozen.performed_steps == ()
    assert frozen.needs == ()
    assert len(frozen.steps) == 1


def _drop(data: dict[str, Any]) -> None:
    del data["price"]["net"]


def _add(data: dict[str, Any]) -> None:
    data["surprise"] = 1


def _float(data: dict[str, Any]) -> None:
    data["price"]["net"] = 315.0


def _words(data: dict[str, Any]) -> None:
    data["takeoff"]["area"] = "large"


def _day(data: dict[str, Any]) -> None:
    data["made_on"] = "yesterday"


def _no_list(data: dict[str, Any]) -> None:
    data["steps"] = {}


@pytest.mark.parametrize("spoil", [_drop, _add, _float, _words, _day, _no_list])
def test_a_spoiled_snapshot_is_refused(snapshot: Snapshot, spoil: Callable[[dict[str, Any]], None]) -> None:
    data = copy.deepcopy(write_snapshot(snapshot))
    spoil(data)
    with pytest.raises(SnapshotError, match="snapshot"):
        read(data)


@pytest.mark.parametrize("data", [None, [], {}, {"version": VERSION + 1}, {"version": "1"}])
def test_another_version_is_refused_and_never_guessed_at(data: Any) -> None:
    with pytest.raises(SnapshotError, match="can't be read"):
        read(data)


def test_a_value_that_json_would_blur_is_refused(snapshot: Snapshot) -> None:
    with pytest.raises(TypeError):
        write_snapshot(dataclasses.replace(snapshot, voc_kg=1.5))  # type: ignore[arg-type]
