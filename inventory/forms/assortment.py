"""What can be received: packs, counted, and materials, measured."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from finishing.show import preferences
from inventory.forms.fields import typed_unit
from inventory.models import Material, Pack


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """What a row can be about: a pack, counted; or a material, measured."""

    material: Material
    pack: Pack | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Assortment:
    """Everything that can be received, as choices of a select box and by their keys. Read once for all rows."""

    items: Mapping[str, Item]
    choices: list[Any]

    @classmethod
    def read(cls) -> Assortment:
        """Two queries: the materials in use, and their packs."""
        materials = {
            material.pk: material for material in Material.objects.filter(is_active=True).select_related("usual_location")
        }
        items: dict[str, Item] = {}
        groups: dict[int, list[tuple[str, str]]] = {pk: [] for pk in materials}
        for pack in Pack.objects.filter(is_active=True, material__is_active=True).select_related("supplier"):
            pack.material = materials[pack.material_id]
            items[f"pack:{pack.pk}"] = Item(material=pack.material, pack=pack)
            words = f"{pack.description}: {pack.material.name}, {pack.supplier.name}"
            groups[pack.material_id].append((f"pack:{pack.pk}", words))
        for material in materials.values():
            items[f"material:{material.pk}"] = Item(material=material)
            unit = typed_unit(material.unit, preferences().units)
            groups[material.pk].append((f"material:{material.pk}", f"Amount in {unit}: {material.name}"))
        choices = [("", "Choose"), *((materials[pk].name, group) for pk, group in groups.items())]
        return cls(items=items, choices=choices)
