"""A small invented shop for the tests of catalogue and takeoff pages, and what a browser would send."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.http import HttpResponse
from django.test import Client

from costing.choices import Driver
from costing.models import CoatingSystem, Customer, Estimate, LabourClass, Operation, SpraySetup
from costing.services.systems import MixPart, UseLine, WorkLine, save_operation
from finishing.models import User
from inventory.models import Material

D = Decimal
ROLES = ("office", "estimator", "finisher", "owner")
Browser = Callable[[str], Client]


def browser(role: str) -> Client:
    """A browser in which somebody of this role is signed in; ``stranger`` has none, ``nobody`` is not signed in."""
    client = Client()
    if role != "nobody":
        roles = {f"is_{role}": True} if role in ROLES else {}
        person = User.objects.filter(username=role).first() or User.objects.create_user(role, **roles)
        client.force_login(person, backend="finishing.auth.RoleBackend")
    return client


@dataclass(frozen=True, kw_only=True)
class Workshop:
    """Materials, a setup, a labour class, and one system of three operations."""

    base: Material
    hardener: Material
    thinner: Material
    liner: Material
    cleaner: Material
    setup: SpraySetup
    labour: LabourClass
    system: CoatingSystem
    prepare: Operation
    coat: Operation
    inspect: Operation


def make_workshop() -> Workshop:
    """The shop in the database."""
    base = Material.objects.create(
        code="BASE", name="Clear base", kind="coating", volume_solids=D(34), voc=D(420), h_codes="H226"
    )
    hardener = Material.objects.create(
        code="HARD", name="Clear hardener", kind="hardener", volume_solids=D(60), voc=D(350), h_codes="H226, H334"
    )
    thinner = Material.objects.create(code="THIN", name="Slow thinner", kind="thinner", voc=D(870))
    liner = Material.objects.create(code="LINER", name="Cup liner", kind="liner", stock_unit="pcs")
    cleaner = Material.objects.create(code="CLEAN", name="Gun cleaner", kind="cleaner", voc=D(800))
    setup = SpraySetup.objects.create(
        name="Gravity gun", transfer_efficiency=D("0.65"), cup_capacity=D("0.6"), residue_per_fill=D("0.03"), spray_rate=D(20)
    )
    labour = LabourClass.objects.create(name="Finisher", wage=D(26), burden=D("0.25"))
    system = CoatingSystem.objects.create(name="Clear satin", customer_text="A clear satin finish.")
    prepare = save_operation(
        Operation(system=system, name="Abrade bare wood", kind="prepare", labour_class=labour),
        key=uuid.uuid4(),
        mix=[],
        work=[WorkLine(label="Sand", driver=Driver.M2, minutes=D(4))],
        supplies=[],
    )
    coat = save_operation(
        Operation(
            system=system,
            name="First coat",
            kind="coat",
            labour_class=labour,
            setup=setup,
            dry_film=D(40),
            thinner=thinner,
            thinning_percent=D(5),
            dry_minutes=D(90),
        ),
        key=uuid.uuid4(),
        mix=[MixPart(material=base, parts=D(10)), MixPart(material=hardener, parts=D(1))],
        work=[WorkLine(label="Hang", driver=Driver.PIECE, minutes=D("0.5"))],
        supplies=[
            UseLine(material=liner, driver=Driver.FILL, quantity=D(1), whole_units=True),
            UseLine(material=cleaner, driver=Driver.BATCH, quantity=D("0.15"), whole_units=False),
        ],
    )
    inspect = save_operation(
        Operation(system=system, name="Inspect", kind="inspect", labour_class=labour),
        key=uuid.uuid4(),
        mix=[],
        work=[],
        supplies=[],
    )
    return Workshop(
        base=base,
        hardener=hardener,
        thinner=thinner,
        liner=liner,
        cleaner=cleaner,
        setup=setup,
        labour=labour,
        system=system,
        prepare=prepare,
        coat=coat,
        inspect=inspect,
    )


def make_estimate(**more: Any) -> Estimate:
    """An estimate for an invented customer."""
    customer = Customer.objects.create(name="Invented Kitchens")
    return Estimate.objects.create(**{"name": "Kitchen refinish", "customer": customer, **more})


def rows(prefix: str, *lines: Mapping[str, Any], stored: int = 0) -> dict[str, str]:
    """What a set of rows sends."""
    data = {f"{prefix}-TOTAL_FORMS": str(len(lines)), f"{prefix}-INITIAL_FORMS": str(stored)}
    for number, line in enumerate(lines):
        data |= {f"{prefix}-{number}-{name}": str(value) for name, value in line.items()}
    return data


def messages_of(response: HttpResponse) -> list[str]:
    """What a page said after an action."""
    return [str(message) for message in response.context["messages"]]
