"""The batch ticket of a coat: what to weigh or measure, from which lots, in what order, and how it is sprayed.

Reads only, in a constant number of queries. The page and the paper show the same object.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costing.cautions import Caution, cautions_for
from costing.core.ticket import Measured, Part, at_most, measure, most_litres
from costing.models import JobStep, JobStepMaterial
from costing.services.coat_log import drawn
from costing.services.work_errors import MixError
from costing.wear import Wear, wear_for
from costing.work import Proposal, StepView, propose
from inventory.choices import MaterialKind, StockUnit
from inventory.models import Lot, Material

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class TicketLine:
    """One component."""

    number: int  # in this order
    line: JobStepMaterial
    amount: Measured
    proposal: Proposal  # lots, in stock units

    @property
    def material(self) -> Material:
        """The component's material."""
        return self.line.material


@dataclass(frozen=True, slots=True, kw_only=True)
class Ticket:
    """Everything about one batch."""

    view: StepView
    litres: Decimal
    needed: Decimal  # what the coat still asks for in one batch, L
    most: Decimal | None  # what all usable lots allow, L
    opened: Decimal | None  # what the opened cans allow, L; None where no component has an opened can
    lines: tuple[TicketLine, ...]
    strainers: tuple[str, ...]
    cautions: tuple[Caution, ...]
    wear: tuple[Wear, ...]

    @property
    def step(self) -> JobStep:
        """The coat."""
        return self.view.step

    @property
    def is_short(self) -> bool:
        """True where the usable lots do not hold what is wanted."""
        return any(line.proposal.short for line in self.lines)

    @property
    def batches_left(self) -> int:
        """How many mixings are planned from here on, this one included."""
        return batches_left(self.view)


def batches_left(view: StepView) -> int:
    """Mixings that the plan still asks for: pot life decides how many a coat needs."""
    return max(view.step.planned_batches - len(view.batches), 1)


def needed_litres(view: StepView) -> Decimal:
    """What the next mixing is for, L: the rest of the plan, in as many batches as its pot life asks for."""
    return view.mix_left / batches_left(view)


def usable_litres(material: Material, lots: Sequence[Lot], *, on: date, opened_only: bool = False) -> Decimal:
    """What can be poured into a mix from these lots, L: usable lots less the heel that nobody can pour."""
    held = sum((lot.on_hand for lot in lots if lot.is_usable(on) and (lot.opened_on or not opened_only)), ZERO)
    if material.stock_unit == StockUnit.KILOGRAM:
        held = held / material.density if material.density else ZERO
    return held * material.yield_fraction


def ticket(view: StepView, *, lots: Mapping[int, Sequence[Lot]], on: date, litres: Decimal | None = None) -> Ticket:
    """The ticket for so many litres, or for what is needed. MixError for a step without a mix or with nothing left to mix."""
    components = [line for line in view.materials if line.is_component]
    if not components:
        raise MixError(f"{view.step.name} has no mix planned.", field="litres")
    needed = needed_litres(view)
    wanted = needed if litres is None else litres
    if wanted <= 0:
        wanted = (view.step.planned_mix or ZERO) / max(view.step.planned_batches, 1)
    parts = [_part(line, lots.get(line.material_id, ()), on) for line in components]
    amounts = measure(wanted, parts)
    return Ticket(
        view=view,
        litres=wanted,
        needed=needed,
        most=_down(most_litres(parts)),
        opened=_down(_opened(components, parts, lots, on)),
        lines=tuple(
            TicketLine(number=number, line=line, amount=amount, proposal=_lots(line, amount, lots, on))
            for number, (line, amount) in enumerate(zip(components, amounts, strict=True), start=1)
        ),
        strainers=tuple(
            line.material.name for line in view.materials if line.material.kind == MaterialKind.STRAINER and not line.is_component
        ),
        cautions=cautions_for(line.material for line in components),
        wear=wear_for(line.material for line in components),
    )


def _down(litres: Decimal | None) -> Decimal | None:
    return None if litres is None else at_most(litres)


def _part(line: JobStepMaterial, lots: Sequence[Lot], on: date) -> Part:
    material = line.material
    return Part(parts=line.parts or ZERO, density=material.density, usable=usable_litres(material, lots, on=on))


def _opened(
    components: Sequence[JobStepMaterial], parts: Sequence[Part], lots: Mapping[int, Sequence[Lot]], on: date
) -> Decimal | None:
    """The batch that uses up opened cans: each component that has one is limited to it."""
    limited = []
    for line, part in zip(components, parts, strict=True):
        held = usable_litres(line.material, lots.get(line.material_id, ()), on=on, opened_only=True)
        if held > 0:
            limited.append(Part(parts=part.parts, usable=held))
        else:
            limited.append(part)
    if all(after.usable == before.usable for after, before in zip(limited, parts, strict=True)):
        return None
    return most_litres(limited)


def _lots(line: JobStepMaterial, amount: Measured, lots: Mapping[int, Sequence[Lot]], on: date) -> Proposal:
    try:
        return propose(list(lots.get(line.material_id, ())), drawn(line.material, amount.litres), on=on)
    except MixError:
        return Proposal(takes=(), short=ZERO)
