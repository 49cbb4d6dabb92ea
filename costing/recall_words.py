"""What page, PDF and spreadsheet of a recall say alike."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal

from django.utils import timezone

from costing.recall import CustomerToCall, JobPart, Recall, Trace
from finishing import show
from inventory.choices import PostingKind
from inventory.models import Lot, Material
from inventory.recall import Balance


def title_of(lots: Sequence[Lot]) -> str:
    """What is recalled: one lot by material and number, or a number."""
    numbers = sorted({lot.number for lot in lots})
    materials = sorted({lot.material.name for lot in lots})
    return f"{', '.join(materials)}, lot {numbers[0]}" if len(materials) == 1 else f"Lot number {numbers[0]}"


def what_words(trace: Trace) -> str:
    """Issue or return, and when it was taken back."""
    words = "Issue" if trace.flow.kind == PostingKind.ISSUE else "Return"
    return f"{words}, reversed {show.day(trace.flow.reversed_on)}" if trace.flow.reversed_on else words


def coat_words(trace: Trace) -> str:
    """The coat, what was mixed for it, when and by whom; for a batch also its number and the coats that it went on."""
    log = trace.log
    if log is None:
        return show.NOTHING
    local = timezone.localtime(log.done_at)
    when = f"{show.day(local.date())} {local:%H:%M}, {log.by}"
    if log.batch:
        on = ", ".join(name for _, name in log.coats) or "no coat yet"
        left = f", {show.pour(log.left)} still in the pot" if in_the_pot(trace) else ""
        return f"Batch {log.batch} of {show.pour(log.mixed)}, on {on}{left}, mixed {when}"
    mix = f", mix of {show.pour(log.mixed)}" if log.mixed else ""
    return f"{log.step}{mix}, {when}"


def in_the_pot(trace: Trace) -> Decimal:
    """What is still in the pot of the batch, L; 0 without a batch, or when its issue was taken back."""
    return trace.log.left if trace.log and not trace.flow.reversed_on else Decimal(0)


def amount_words(value: Decimal, material: Material) -> str:
    """A quantity as page and paper show it; a dash for nothing."""
    return show.quantity(value, material.stock_unit).replace("-", "−") if value else show.NOTHING


def reach_words(trace: Trace) -> str:
    """For work that the books do not name: the reference, and whom the booking names."""
    if trace.job is not None or not trace.flow.holder:
        return ""
    return f"{trace.flow.reference} (booked for {trace.flow.holder})".strip()


def reach_lines(called: CustomerToCall) -> str:
    """How to reach a customer, line by line; says so where nothing is known."""
    customer = called.customer
    return (
        "\n".join(part for part in (customer.contact, customer.phone, customer.email, customer.address) if part)
        or "nothing noted"
    )


def days_words(part: JobPart) -> str:
    """From the first to the last day."""
    first, last = part.days
    return show.day(first) if first == last else f"{show.day(first)} to {show.day(last)}"


def stayed_words(called: CustomerToCall) -> list[str]:
    """How much of each material stayed in a customer's work."""
    sums: dict[Material, Decimal] = defaultdict(Decimal)
    for part in called.parts:
        sums[part.material] += part.stayed
    return [f"{show.quantity(total, material.stock_unit)} of {material}" for material, total in sums.items()]


def balance_words(balance: Balance) -> str:
    """What became of all that came in, in one sentence."""
    unit = balance.material.stock_unit
    parts = [
        f"{show.quantity(balance.received, unit)} came in",
        f"{show.quantity(balance.issued, unit)} were issued and did not come back",
        *([f"{show.quantity(balance.written_off, unit)} written off"] if balance.written_off else []),
        *([_counted(balance.counted, unit)] if balance.counted else []),
        f"{show.quantity(balance.on_hand, unit)} still here",
    ]
    return f"{balance.material}: {', '.join(parts)}."


def _counted(counted: Decimal, unit: str) -> str:
    return f"{show.quantity(abs(counted), unit)} {'more' if counted > 0 else 'less'} found by counts"


def doubts(found: Recall) -> list[str]:
    """What the list can't tell by itself, in sentences."""
    told = []
    suppliers = {lot.supplier_id for lot in found.lots}
    materials = {lot.material_id for lot in found.lots}
    if len(suppliers) > 1 or len(materials) > 1:
        told.append("This number stands on lots of several suppliers or materials. Choose one below where only one is meant.")
    loose: dict[int, Decimal] = defaultdict(Decimal)
    for trace in found.elsewhere:
        loose[trace.lot.pk] += trace.flow.counts
    if any(total > 0 for total in loose.values()):
        told.append(
            "Some was issued without a job. Whose work it went into has to be found out by hand, from what was written with it."
        )
    if any(total < 0 for total in loose.values()):
        told.append("Some came back without a word of which job it came from. A job may hold less than is shown for it.")
    pots = {trace.log.batch: trace.log.left for trace in found.traces if trace.log and in_the_pot(trace)}
    if pots:
        listed = ", ".join(f"batch {batch} {show.pour(left)}" for batch, left in pots.items())
        told.append(f"Still in the pot: {listed}. It counts as stayed until it is used, put back or thrown away.")
    return told
