"""What the takeoff's form sends."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from typing import Any

from costing.models import Estimate
from tests.costing.pages.shop import rows

DEFAULTS = {
    "label": "Door",
    "pieces": "24",
    "form": "panel",
    "length": "715",
    "width": "397",
    "thickness": "19",
    "girth": "",
    "area": "",
    "zone": "show",
    "faces": "2",
    "long_edges": "2",
    "short_edges": "2",
    "profile_factor": "1.05",
    "geometry_factor": "1",
}
EMPTY = DEFAULTS | dict.fromkeys(("label", "pieces", "length", "width", "thickness"), "") | {"profile_factor": "1"}


def sent(estimate: Estimate, *lines: Mapping[str, Any], stored: int = 0, **more: Any) -> dict[str, str]:
    """The form as a browser sends it: rows given as what differs from one door."""
    seen = estimate.takeoff_key
    state = {"key": str(uuid.uuid4()), "seen": str(seen) if seen else "", "start": "0", "stop": str(stored)}
    return state | rows("rows", *[DEFAULTS | dict(line) for line in lines], stored=stored) | more
