"""The technical data of a material as a page shows them: in groups, in the shop's units, each with its source beside it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from finishing.show import NOTHING, minutes, number, percent, quantity, voc
from inventory.choices import FlammableCategory, SignalWord
from inventory.models import Material
from inventory.shown import density


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One value with its name."""

    label: str
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FactGroup:
    """Values that belong together. ``missing`` says what to do when nothing was entered."""

    title: str
    facts: tuple[Fact, ...]
    is_empty: bool
    missing: str = "Not entered."


def fact_groups(material: Material) -> list[FactGroup]:
    """Film, VOC and life; a supply that is no liquid and has no data shows no empty group."""
    groups = [_film(material), _voc(material), _life(material), _use(material)]
    return [group for group in groups if material.is_liquid or not group.is_empty]


def hazard_facts(material: Material) -> list[Fact]:
    """What the safety data sheet says, beside the words of its H-codes."""
    category = NOTHING if material.flammable_category is None else FlammableCategory(material.flammable_category).label
    signal = SignalWord(material.signal_word).label if material.signal_word else NOTHING
    return [
        Fact(label="Signal word", value=signal),
        Fact(label="Flammable liquid", value=category),
        Fact(label="Safety data sheet", value=material.sds_reference or "not entered"),
    ]


def _film(material: Material) -> FactGroup:
    return FactGroup(
        title="Film",
        is_empty=(material.density, material.volume_solids, material.mass_solids) == (None, None, None),
        facts=(
            Fact(label="Density", value=density(material.density)),
            Fact(label="Volume solids", value=_share(material.volume_solids)),
            Fact(label="Mass solids", value=_share(material.mass_solids)),
            Fact(label="Yield of a can", value=percent(material.yield_fraction)),
        ),
        missing="Enter density and solids from the technical data sheet, so that estimates can use this material.",
    )


def _voc(material: Material) -> FactGroup:
    known = material.voc is not None
    return FactGroup(
        title="VOC",
        is_empty=not known,
        facts=(
            Fact(label="As supplied", value=voc(material.voc)),
            Fact(label="Water by volume", value=percent(material.water_fraction) if known else NOTHING),
            Fact(label="Exempt compounds by volume", value=percent(material.exempt_fraction) if known else NOTHING),
        ),
        missing="Not entered. Until then the VOC record counts nothing for this material.",
    )


def _life(material: Material) -> FactGroup:
    return FactGroup(
        title="Life",
        is_empty=not (material.shelf_life_days or material.open_life_days or material.pot_life_min),
        facts=(
            Fact(label="Shelf life", value=_days(material.shelf_life_days)),
            Fact(label="Open life", value=_days(material.open_life_days)),
            Fact(label="Pot life once mixed", value=_or_nothing(minutes, material.pot_life_min)),
        ),
    )


def _use(material: Material) -> FactGroup:
    unit = material.stock_unit
    return FactGroup(
        title="Use",
        is_empty=material.weekly_use is None and material.weekly_use_sd is None and material.service_level is None,
        facts=(
            Fact(label="Expected per week", value=quantity(material.weekly_use, unit)),
            Fact(label="Spread per week", value=quantity(material.weekly_use_sd, unit)),
            Fact(label="Service target", value=_or_nothing(percent, material.service_level)),
        ),
    )


def _share(value: Decimal | None) -> str:
    return NOTHING if value is None else f"{number(value, 2)} %"


def _days(value: int | None) -> str:
    return NOTHING if value is None else f"{number(value, 0)} days"


def _or_nothing(show: Callable[..., str], value: int | Decimal | None) -> str:
    return NOTHING if value is None else show(value)
