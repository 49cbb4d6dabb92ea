"""Loads the invented shop's settings, people, suppliers, materials, setups and coating systems from ``fixtures/``."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar

from django.conf import settings
from django.db.models import Model

from costing.models import CoatComponent, CoatingSystem, LabourClass, Operation, SpraySetup, SupplyLine, TimeLine
from finishing.models import Shop, User
from finishing.roles import find_role
from inventory.models import Location, Material, Pack, Supplier

Row = TypeVar("Row", bound=Model)
FIXTURES: Path = settings.BASE_DIR / "fixtures"
PASSWORD = "demo-shop-only"  # noqa: S105 - printed by the demo, for an invented shop on this machine only


def read(name: str) -> Any:
    """A fixture file of the demo shop."""
    return json.loads((FIXTURES / name).read_text(encoding="utf-8"))


def load_shop() -> dict[str, User]:
    """Settings and the four people; returns them by role."""
    data = read("shop.json")
    shop = Shop.current()
    for field, value in data["shop"].items():
        setattr(shop, field, value)
    shop.full_clean()
    shop.save()
    shop.refresh_from_db()
    people = {}
    for person in data["people"]:
        user, _ = User.objects.get_or_create(
            username=person["username"],
            defaults={"first_name": person["first_name"], "last_name": person["last_name"]},
        )
        for role in person["roles"]:
            setattr(user, f"is_{find_role(role)}", True)
            people[role] = user
        user.set_password(PASSWORD)
        user.save()
    return people


def load_materials() -> dict[str, Material]:
    """Suppliers, places, materials and packs; returns the materials by code."""
    data = read("materials.json")
    suppliers = {row["name"]: _saved(Supplier(**row)) for row in data["suppliers"]}
    places = {row["name"]: _saved(Location(**row)) for row in data["locations"]}
    materials = {}
    for row in data["materials"]:
        packs, place = row.pop("packs"), places[row.pop("usual_location")]
        material = _saved(Material(**row, usual_location=place))
        materials[material.code] = material
        for supplier, code, description, content, price, usual in packs:
            _saved(
                Pack(
                    material=material,
                    supplier=suppliers[supplier],
                    supplier_code=code,
                    description=description,
                    content=Decimal(content),
                    price=Decimal(price),
                    is_usual=usual,
                )
            )
    return materials


def load_systems(materials: dict[str, Material]) -> list[CoatingSystem]:
    """Spray setups, labour classes and the coating systems."""
    data = read("systems.json")
    setups = {row["name"]: _saved(SpraySetup(**row)) for row in data["setups"]}
    labour = {row["name"]: _saved(LabourClass(**row)) for row in data["labour"]}
    written = {row["name"]: row for row in data["systems"] if "operations" in row}
    systems = []
    for row in data["systems"]:
        system = _saved(CoatingSystem(name=row["name"], customer_text=row["customer_text"]))
        for position, operation in enumerate(_operations(row, written), start=1):
            _load_operation(system, position, operation, materials=materials, setups=setups, labour=labour)
        systems.append(system)
    return systems


def _operations(row: dict[str, Any], written: dict[str, dict[str, Any]]) -> list[dict[str, Any]]:
    """A system's own operations, or those of the system that it copies with other mixes."""
    if "operations" in row:
        return list(row["operations"])
    mixes = row["replace_mix"]
    return [
        {**operation, "mix": mixes[operation["name"]], "pot_life": row["pot_life"]} if operation["name"] in mixes else operation
        for operation in written[row["copy"]]["operations"]
    ]


def _load_operation(
    system: CoatingSystem,
    position: int,
    row: dict[str, Any],
    *,
    materials: dict[str, Material],
    setups: dict[str, SpraySetup],
    labour: dict[str, LabourClass],
) -> None:
    operation = _saved(
        Operation(
            system=system,
            position=position,
            name=row["name"],
            kind=row["kind"],
            zone=row.get("zone", "both"),
            labour_class=labour[row["labour"]],
            dry_minutes=Decimal(row.get("dry", "0")),
            stacking_minutes=Decimal(row.get("stacking", "0")),
            setup=setups.get(row.get("setup", "")),
            wet_film=Decimal(row["wet_film"]) if "wet_film" in row else None,
            flash_minutes=Decimal(row.get("flash", "0")),
            thinner=materials.get(row.get("thinner", "")),
            thinning_percent=Decimal(row.get("thinning", "0")),
            pot_life_min=row.get("pot_life"),
        )
    )
    for place, (code, parts) in enumerate(row.get("mix", ()), start=1):
        _saved(CoatComponent(operation=operation, position=place, material=materials[code], parts=Decimal(parts)))
    for label, driver, minutes in row["time"]:
        _saved(TimeLine(operation=operation, label=label, driver=driver, minutes=Decimal(minutes)))
    for code, driver, quantity in row["supplies"]:
        _saved(
            SupplyLine(
                operation=operation,
                material=materials[code],
                driver=driver,
                quantity=Decimal(quantity),
                whole_units=materials[code].stock_unit == "pcs",
            )
        )


def _saved(row: Row) -> Row:
    """Check a row as a form would, then save it."""
    row.full_clean()
    row.save()
    row.refresh_from_db()
    return row
