"""Each material calls for what its own H-codes usually ask; nothing says that this is enough."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Job
from costing.wear import SOURCE, wear_for
from finishing.models import User
from inventory.models import Material
from tests.costing.jobs.finish_shop import step


@pytest.mark.parametrize(
    ("codes", "asked"),
    [
        ("H334", ["supplied air"]),
        ("H317", ["gloves", "clothes"]),
        ("H318", ["eye protection"]),
        ("H314", ["gloves", "eye protection", "clothes"]),
        ("H226", []),
        ("", []),
    ],
)
def test_codes_ask_for_their_own_protection(codes: str, asked: list[str]) -> None:
    found = wear_for([Material(pk=1, name="Invented", h_codes=codes)])
    words = found[0].words if found else ""
    assert [each for each in ("supplied air", "gloves", "eye protection", "clothes") if each in words] == asked


def test_each_material_stands_for_itself_once() -> None:
    base = Material(pk=1, name="Base", h_codes="H226, H336")
    hardener = Material(pk=2, name="Hardener", h_codes="H317, H334")
    assert [(each.material, each.codes) for each in wear_for([base, hardener, base])] == [
        ("Base", ("H336",)),
        ("Hardener", ("H317", "H334")),
    ]
    assert "from memory" in SOURCE


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["ticket", "log_coat"])
def test_ticket_and_log_page_show_it(job: Job, finisher: User, as_: Callable[[User], Client], name: str) -> None:
    page = as_(finisher).get(reverse(name, args=[step(job, "First coat").pk])).content.decode()
    assert "<strong>Hardener</strong> (H317, H334): supplied air or the respirator that its sheet names, gloves" in page
