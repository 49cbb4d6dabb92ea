"""Any order of deliveries, issues, returns, write-offs, reversals, double taps and quarantines, against a model of plain dicts.

The machine draws an act, asks the model what must come of it (the movements, or the refusal), then does it through the real
services on the real database. After each act every balance agrees; at the end of each run the whole ledger is added up.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import partial
from typing import Any
from uuid import uuid4

import pytest
from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule, run_state_machine_as_test

from finishing.models import User
from inventory import errors
from inventory.choices import WriteOffCause
from inventory.models import Booking, Lot, Material, Posting
from inventory.selectors import stock_lines
from inventory.services import bookings, ledger, lots
from inventory.services.verify import check_ledger
from tests.inventory.ledger.counter import today
from tests.strategies import STEPS, costs, quantities

pytestmark = [pytest.mark.django_db, pytest.mark.database]

ZERO = Decimal(0)
SMALL = quantities(most=6 * STEPS)
LARGE = quantities(most=20 * STEPS)
ANY = st.integers(0, 10_000)  # picks one of what there is, modulo their number
OPEN_LIFE = 3


@dataclass
class ModelLot:
    """What the model knows of a lot."""

    number: int
    material: int
    on_hand: Decimal
    cost: Decimal
    received: date
    expires: date | None
    opened: date | None = None
    quarantined: bool = False

    def ends(self) -> date | None:
        """The last day of use; only the first material has an open life."""
        ends = [self.expires] if self.expires else []
        if self.opened and self.material == 0:
            ends.append(date.fromordinal(self.opened.toordinal() + OPEN_LIFE))
        return min(ends) if ends else None

    def fit(self, on: date) -> bool:
        """May it be issued without a reason?"""
        ends = self.ends()
        return self.received <= on and not self.quarantined and (ends is None or ends >= on)


@dataclass
class ModelPosting:
    """What the model knows of a posting: lot number, quantity and booking of each movement."""

    kind: str
    on: date
    moves: list[tuple[int, Decimal, int | None]]
    made: Posting
    reversed: bool = False


@dataclass
class Model:
    """The whole stock in plain dicts."""

    lots: dict[int, ModelLot] = field(default_factory=dict)
    postings: list[ModelPosting] = field(default_factory=list)
    out: dict[tuple[int, int | None], Decimal] = field(default_factory=lambda: defaultdict(Decimal))

    def draw(self, material: int, wanted: Decimal, on: date) -> list[tuple[int, Decimal]] | None:
        """First expired first out, one look at a time; None when there is not enough."""
        left = {number: lot.on_hand for number, lot in self.lots.items() if lot.material == material and lot.fit(on)}
        if sum(left.values()) < wanted:
            return None
        taken = []
        while wanted:
            full = [self.lots[number] for number, rest in left.items() if rest]
            first = min(full, key=lambda lot: (lot.ends() is None, lot.ends() or on, lot.received, lot.number))
            part = min(wanted, left[first.number])
            taken.append((first.number, part))
            left[first.number] -= part
            wanted -= part
        return taken

    def is_out(self, lot: int, booking: int | None) -> Decimal:
        """What may come back to a lot, for a booking or for all."""
        total = sum((quantity for (number, _), quantity in self.out.items() if number == lot), ZERO)
        return total if booking is None else min(total, self.out[lot, booking])

    def move(self, kind: str, on: date, moves: list[tuple[int, Decimal, int | None]], made: Posting) -> ModelPosting:
        """Apply movements."""
        for number, quantity, booking in moves:
            self.lots[number].on_hand += quantity
            if kind in {"issue", "return"}:
                self.out[number, booking] -= quantity
        posting = ModelPosting(kind=kind, on=on, moves=moves, made=made)
        self.postings.append(posting)
        return posting

    def refusal_to_reverse(self, posting: ModelPosting) -> type[errors.StockError] | None:
        """Why a posting can't be taken back, if so."""
        if posting.kind == "reversal":
            return errors.NotReversibleError
        if posting.reversed:
            return errors.AlreadyReversedError
        back: dict[int, Decimal] = defaultdict(Decimal)
        for number, quantity, booking in posting.moves:
            back[number] -= quantity
            if posting.kind == "issue" and -quantity > self.is_out(number, booking):
                return errors.NotReversibleError
        if any(self.lots[number].on_hand + change < 0 for number, change in back.items()):
            return errors.NotReversibleError
        return None


class Stock(RuleBasedStateMachine):
    """The real ledger beside the model, inside a transaction that is rolled back after each run."""

    def __init__(self) -> None:
        super().__init__()
        self.atomic = transaction.atomic()
        self.atomic.__enter__()
        self.model = Model()
        self.last: partial[Posting] | None = None

    def teardown(self) -> None:
        """Add everything up, then forget it."""
        try:
            assert check_ledger().disagreements == ()
        finally:
            transaction.set_rollback(True)
            self.atomic.__exit__(None, None, None)

    @initialize()
    def people_and_materials(self) -> None:
        """Two materials and two jobs for each."""
        self.by = User.objects.create(username="finisher")
        self.materials = [
            Material.objects.create(code="A", name="Base", kind="coating", open_life_days=OPEN_LIFE),
            Material.objects.create(code="B", name="Hardener", kind="hardener"),
        ]
        self.bookings = [
            bookings.book(material=material, quantity=Decimal(5), needed_on=today(), holder=f"J-{number}")
            for material in self.materials
            for number in (1, 2)
        ]

    def submit(self, verb: Any, refusal: type[errors.StockError] | None, **submitted: Any) -> Posting | None:
        """Do it, and insist on the refusal that the model foretold."""
        act = partial(verb, key=uuid4(), by=self.by, **submitted)
        if refusal is None:
            self.last = act
            made: Posting = act()
            return made
        with pytest.raises(refusal):
            act()
        return None

    def some_lot(self, pick: int) -> ModelLot:
        """One of the lots."""
        return list(self.model.lots.values())[pick % len(self.model.lots)]

    def some_booking(self, pick: int, material: int) -> Booking | None:
        """One of the material's two jobs, or none."""
        return [*self.bookings[2 * material : 2 * material + 2], None][pick % 3]

    @rule(
        lines=st.lists(st.tuples(st.integers(0, 1), LARGE, costs(), st.none() | st.integers(-6, 8)), min_size=1, max_size=3),
        ago=st.integers(0, 4),
    )
    def receive(self, lines: list[tuple[int, Decimal, Decimal, int | None]], ago: int) -> None:
        """A delivery of one to three lots; one that is out of date on arrival is refused."""
        on = today(-ago)
        spoiled = any(days is not None and today(days) < on for _, _, _, days in lines)
        made = self.submit(
            ledger.receive,
            errors.LotNotUsableError if spoiled else None,
            on=on,
            supplier=None,
            reference="DN",
            lines=[
                ledger.ReceiptLine(
                    material=self.materials[material],
                    quantity=quantity,
                    unit_cost=cost,
                    lot_number="L",
                    expires_on=None if days is None else today(days),
                )
                for material, quantity, cost, days in lines
            ],
        )
        if made:
            moves = list(made.movements.order_by("pk"))
            for move, (material, quantity, cost, days) in zip(moves, lines, strict=True):
                expires = None if days is None else today(days)
                self.model.lots[move.lot_id] = ModelLot(move.lot_id, material, ZERO, cost, on, expires)
                assert move.quantity == quantity
            self.model.move("receipt", on, [(move.lot_id, move.quantity, None) for move in moves], made)

    @precondition(lambda self: self.model.lots)
    @rule(
        material=st.integers(0, 1),
        quantity=LARGE,
        booking=ANY,
        ago=st.sampled_from([0, 0, 0, 1, 3]),
        at_most_what_is_there=st.integers(0, 4),
    )
    def issue(self, material: int, quantity: Decimal, booking: int, ago: int, at_most_what_is_there: int) -> None:
        """Whatever expires first."""
        there = sum((lot.on_hand for lot in self.model.lots.values() if lot.material == material and lot.fit(today(-ago))), ZERO)
        if at_most_what_is_there and there:
            quantity = min(quantity, there)
        taken = self.model.draw(material, quantity, today(-ago))
        job = self.some_booking(booking, material)
        made = self.submit(
            ledger.issue,
            errors.NotEnoughStockError if taken is None else None,
            on=today(-ago),
            reference="job",
            lines=[ledger.IssueLine(material=self.materials[material], quantity=quantity, booking=job)],
        )
        if made and taken is not None:
            moves = [(number, -part, job.pk if job else None) for number, part in taken]
            assert [(move.lot_id, move.quantity, move.booking_id) for move in made.movements.order_by("pk")] == moves
            self.model.move("issue", today(-ago), moves, made)

    @precondition(lambda self: self.model.lots)
    @rule(pick=ANY, quantity=SMALL, booking=ANY, reason=st.sampled_from(["", "tested"]))
    def issue_from(self, pick: int, quantity: Decimal, booking: int, reason: str) -> None:
        """A lot by name, unfit ones with a reason only."""
        lot = self.some_lot(pick)
        job = self.some_booking(booking, lot.material)
        fit = lot.fit(today())
        refusal: type[errors.StockError] | None = None
        if not fit and not reason:
            refusal = errors.LotNotUsableError
        elif quantity > lot.on_hand:
            refusal = errors.NotEnoughStockError
        line = ledger.IssueLine(material=self.materials[lot.material], quantity=quantity, booking=job, lot=Lot(pk=lot.number))
        made = self.submit(ledger.issue, refusal, on=today(), reference="job", lines=[line], override_reason=reason)
        if made:
            assert made.movements.get().override_reason == ("" if fit else reason)
            self.model.move("issue", today(), [(lot.number, -quantity, job.pk if job else None)], made)

    @precondition(lambda self: any(self.model.out.values()))
    @rule(pick=ANY, quantity=SMALL, as_booked=st.booleans(), at_most_what_is_out=st.booleans())
    def give_back(self, pick: int, quantity: Decimal, as_booked: bool, at_most_what_is_out: bool) -> None:
        """What is out comes back, for the job that drew it or for none."""
        out = [entry for entry, left in self.model.out.items() if left]
        number, booking = out[pick % len(out)]
        lot = self.model.lots[number]
        job = next((job for job in self.bookings if job.pk == booking), None) if as_booked else None
        may = self.model.is_out(number, job.pk if job else None)
        if at_most_what_is_out and may:
            quantity = min(quantity, may)
        too_much = quantity > may
        made = self.submit(
            ledger.return_stock,
            errors.ReturnTooLargeError if too_much else None,
            on=today(),
            lot=Lot(pk=lot.number),
            quantity=quantity,
            reference="job",
            booking=job,
        )
        if made:
            self.model.move("return", today(), [(lot.number, quantity, job.pk if job else None)], made)

    @precondition(lambda self: self.model.lots)
    @rule(pick=ANY, quantity=SMALL, all_of_it=st.booleans())
    def write_off(self, pick: int, quantity: Decimal, all_of_it: bool) -> None:
        """Some of a lot, or all of it."""
        lot = self.some_lot(pick)
        gone = lot.on_hand if all_of_it and lot.on_hand else quantity
        made = self.submit(
            ledger.write_off,
            errors.NotEnoughStockError if gone > lot.on_hand else None,
            on=today(),
            lot=Lot(pk=lot.number),
            quantity=gone,
            cause=WriteOffCause.SPILLED,
            reason="",
        )
        if made:
            self.model.move("write_off", today(), [(lot.number, -gone, None)], made)

    @precondition(lambda self: self.model.postings)
    @rule(pick=ANY)
    def reverse(self, pick: int) -> None:
        """Any posting, reversed and reversing ones too."""
        posting = self.model.postings[pick % len(self.model.postings)]
        refusal = self.model.refusal_to_reverse(posting)
        made = self.submit(ledger.reverse, refusal, on=today(), posting=posting.made, reason="typed wrong")
        if made:
            posting.reversed = True
            self.model.move("reversal", today(), [(number, -part, booking) for number, part, booking in posting.moves], made)
            if posting.kind in {"issue", "return"}:
                for number, part, booking in posting.moves:
                    self.model.out[number, booking] += part

    @precondition(lambda self: self.last)
    @rule()
    def submit_the_last_again(self) -> None:
        """A double tap: the same answer, and no more postings."""
        assert self.last is not None
        before = Posting.objects.count()
        assert self.last() == self.model.postings[-1].made
        assert Posting.objects.count() == before

    @precondition(lambda self: self.model.lots)
    @rule(pick=ANY, ago=st.integers(0, 5))
    def open(self, pick: int, ago: int) -> None:
        """Open a container, maybe some days ago."""
        lot = self.some_lot(pick)
        act = partial(lots.open_lot, lot=Lot(pk=lot.number), on=today(-ago), by=self.by)
        if today(-ago) < lot.received:
            with pytest.raises(errors.DayError):
                act()
        elif lot.opened:
            with pytest.raises(errors.LotStateError):
                act()
        else:
            act()
            lot.opened = today(-ago)

    @precondition(lambda self: self.model.lots)
    @rule(pick=ANY)
    def set_aside_or_free(self, pick: int) -> None:
        """Into quarantine, or out of it."""
        lot = self.some_lot(pick)
        if lot.quarantined:
            lots.release_lot(lot=Lot(pk=lot.number), by=self.by)
        else:
            lots.quarantine_lot(lot=Lot(pk=lot.number), reason="lumps", by=self.by)
        lot.quarantined = not lot.quarantined

    @invariant()
    def every_balance_agrees(self) -> None:
        """Lot by lot, exactly."""
        balances = dict(Lot.objects.values_list("pk", "on_hand"))
        assert balances == {number: lot.on_hand for number, lot in self.model.lots.items()}
        assert all(balance >= 0 for balance in balances.values())

    @invariant()
    def what_is_read_agrees(self) -> None:
        """Usable stock, value and bookings as the pages show them."""
        lines = stock_lines(today())
        for place, material in enumerate(getattr(self, "materials", [])):
            held = [lot for lot in self.model.lots.values() if lot.material == place]
            line = lines[material.pk]
            assert line.on_hand == sum(lot.on_hand for lot in held) == line.usable + line.expired + line.quarantined
            assert line.usable == sum(lot.on_hand for lot in held if lot.fit(today()))
            assert line.value == sum(lot.on_hand * lot.cost for lot in held)
        for booking in Booking.objects.with_remaining():
            drawn = sum((part for (_, job), part in self.model.out.items() if job == booking.pk), ZERO)
            assert booking.drawn == drawn


def test_any_order_of_postings_agrees_with_a_plain_model() -> None:
    run_state_machine_as_test(  # type: ignore[no-untyped-call]
        Stock,
        settings=settings(
            max_examples=40,
            stateful_step_count=30,
            deadline=None,
            database=None,
            suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
        ),
    )
