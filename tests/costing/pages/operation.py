"""What the form of an operation sends."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from typing import Any

from tests.costing.pages.shop import Workshop, rows

COAT_FIELDS = (
    "setup",
    "spray_rate",
    "wet_film",
    "dry_film",
    "thinner",
    "thinning_percent",
    "induction_min",
    "pot_life_min",
    "flash_minutes",
    "dry_minutes",
    "stacking_minutes",
)


def coat(workshop: Workshop, **changed: Any) -> dict[str, str]:
    """A coat of two components with a time line and a supply, as a browser sends it."""
    fields = {
        "key": uuid.uuid4(),
        "name": "Top coat",
        "kind": "coat",
        "zone": "both",
        "labour_class": workshop.labour.pk,
        "crew": 1,
        "setup": workshop.setup.pk,
        "spray_rate": "",
        "wet_film": "4 mil",
        "dry_film": "",
        "thinner": workshop.thinner.pk,
        "thinning_percent": 5,
        "pot_life_min": "2 h",
        "flash_minutes": 10,
        "dry_minutes": "1.5 h",
        "stacking_minutes": "12 h",
    }
    return with_rows(
        {name: str(value) for name, value in (fields | changed).items()},
        mix=({"material": workshop.base.pk, "parts": 10}, {"material": workshop.hardener.pk, "parts": 1}),
        work=({"label": "Hang", "minutes": "0.5", "driver": "piece"},),
        supplies=({"material": workshop.cleaner.pk, "quantity": "150 ml", "driver": "batch"},),
    )


def step(workshop: Workshop, **changed: Any) -> dict[str, str]:
    """An operation without a coat, as a browser with script sends it: the coat's fieldset is folded away."""
    fields = {
        "key": uuid.uuid4(),
        "name": "Abrade",
        "kind": "abrade",
        "zone": "show",
        "labour_class": workshop.labour.pk,
        "crew": 2,
    }
    data = with_rows({name: str(value) for name, value in (fields | changed).items()}, mix=(), work=(), supplies=())
    return {name: value for name, value in data.items() if not name.startswith("mix-")}


def with_rows(data: Mapping[str, str], **sets: tuple[Mapping[str, Any], ...]) -> dict[str, str]:
    """The same with other rows: ``mix``, ``work`` or ``supplies``."""
    done = dict(data)
    for prefix, lines in sets.items():
        done = {name: value for name, value in done.items() if not name.startswith(f"{prefix}-")}
        done |= rows(prefix, *lines)
    return done
