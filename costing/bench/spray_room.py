"""The spray room: entries that waited on a tablet and arrive at once, the cost of a job with many movements, and learning.

Each against a bare baseline that gives the same answer: raw rows, a raw query added up, closed formulas over arrays.
"""

from __future__ import annotations

import random
import sqlite3
import uuid
from collections.abc import Sequence
from contextlib import closing
from datetime import date
from decimal import Decimal
from math import exp, isclose
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np
from django.test import Client, override_settings
from django.urls import reverse
from django.utils import timezone

from costing.actuals import actual_of
from costing.bench.measure import BenchError, Pair, Ratio, Size, seconds_of, take_turns
from costing.bench.postings import insert_words, raw_connection, reader
from costing.bench.temporary import Databases
from costing.core.learning import PRIOR_WEIGHT, CoatSeen, learn, observed_efficiency
from costing.models import Job, JobStep
from costing.services.coat_log import Use, log_coat
from finishing.models import User
from inventory.models import Booking, Material
from inventory.services import ledger

LINES = 200  # movements of one log
STEP = 1_000_000  # the database keeps quantities and money in millionths
QUEUED, RAW = "queued", "queued-raw"


def measure_spray_room(databases: Databases, source: str, job: Job, size: Size, *, today: date) -> list[Ratio]:
    """All three, in copies of the database ``source`` that holds ``job``."""
    return [_queued(databases, source, job, size, today=today), _cost(databases, source, job, size, today=today), _learning(size)]


# ------------------------------------------------------------ entries that waited


def _queued(databases: Databases, source: str, job: Job, size: Size, *, today: date) -> Ratio:
    """Entries sent one after the other, as the tablet does, against the rows that they leave, one transaction each."""
    databases.copy(source, QUEUED)
    databases.use(QUEUED)
    by = User.objects.get(username="finisher")
    _fill_shelf(job, by=User.objects.get(username="office"), today=today)
    databases.copy(QUEUED, RAW)
    client = Client()
    client.force_login(by, backend="finishing.auth.RoleBackend")
    step = next(step for step in job.steps.order_by("position") if step.materials.filter(parts__isnull=True).exists())
    ours, theirs = [], []
    with closing(raw_connection(databases.path(RAW))) as raw, override_settings(ALLOWED_HOSTS=["testserver"]):
        for _ in range(size.queue_rounds + 1):
            seen = step.logs.standing().count()
            before = _last(databases.path(QUEUED))
            entries = [_entry(seen + number) for number in range(size.queued_logs)]
            ours.append(seconds_of(lambda sent=entries: _send(client, step, sent)))  # type: ignore[misc]
            rows = _rows_since(databases.path(QUEUED), before)
            if len(rows) != size.queued_logs:
                raise BenchError(f"{size.queued_logs} entries were sent, {len(rows)} logs were written.")
            theirs.append(seconds_of(lambda written=rows: _write(raw, written)))  # type: ignore[misc]
    pair = Pair(ours=median(ours[1:]), baseline=median(theirs[1:]))
    name = f"{size.queued_logs} logs that waited on a tablet, sent at once"
    return pair.rates(name, pieces=size.queued_logs, unit="logs/s", against="raw sqlite3, same rows, one transaction each")


def _entry(seen: int) -> dict[str, str]:
    now = timezone.now().isoformat()
    return {
        "key": str(uuid.uuid4()),
        "seen": str(seen),
        "mixed": "0.01",
        "fills": "0",
        "minutes": "1",
        "done_at": f"{timezone.localtime():%Y-%m-%dT%H:%M}",
        "device_now": now,
        "device_done": now,
        "early_reason": "measured",
    }


def _send(client: Client, step: JobStep, entries: Sequence[dict[str, str]]) -> None:
    url = reverse("log_coat", args=[step.pk])
    for entry in entries:
        answer = client.post(url, {**entry, **_some_of_each(step)}, headers={"X-Queue": "later"})
        if answer.status_code != 200:
            raise BenchError(f"An entry was answered with {answer.status_code}: {answer.content[:300]!r}")


def _some_of_each(step: JobStep) -> dict[str, str]:
    supplies = step.materials.filter(parts__isnull=True).values_list("pk", flat=True)
    return {f"amount_{pk}": "1" for pk in supplies}


def _last(path: Path) -> tuple[int, int]:
    with closing(reader(path)) as look:
        postings = look.execute("SELECT max(id) FROM inventory_posting").fetchone()[0]
        return postings, look.execute("SELECT max(id) FROM costing_coatlog").fetchone()[0] or 0


Rows = tuple[tuple[Any, ...], list[tuple[Any, ...]], tuple[Any, ...]]


def _rows_since(path: Path, before: tuple[int, int]) -> list[Rows]:
    """Posting, movements and log of each entry, in the order in which they were written."""
    with closing(reader(path)) as look:
        logs = look.execute("SELECT * FROM costing_coatlog WHERE id > ? ORDER BY id", (before[1],)).fetchall()
        postings = look.execute("SELECT * FROM inventory_posting WHERE id > ? ORDER BY id", (before[0],)).fetchall()
        found = []
        for posting, log in zip(postings, logs, strict=True):
            moves = look.execute("SELECT * FROM inventory_movement WHERE posting_id = ? ORDER BY id", (posting[0],)).fetchall()
            found.append((posting, moves, log))
    return found


def _write(raw: sqlite3.Connection, rows: Sequence[Rows]) -> None:
    lots, change = _columns(raw)
    for posting, moves, log in rows:
        raw.execute("BEGIN IMMEDIATE")
        raw.execute(insert_words("inventory_posting", posting), posting)
        raw.executemany(insert_words("inventory_movement", moves[0]), moves)
        raw.executemany(
            "UPDATE inventory_lot SET on_hand = on_hand + ? WHERE id = ?", [(move[change], move[lots]) for move in moves]
        )
        raw.execute(insert_words("costing_coatlog", log), log)
        raw.execute("COMMIT")


def _columns(raw: sqlite3.Connection) -> tuple[int, int]:
    names = [row[1] for row in raw.execute("PRAGMA table_info(inventory_movement)")]
    return names.index("lot_id"), names.index("quantity")


def _fill_shelf(job: Job, *, by: User, today: date) -> None:
    materials = Material.objects.filter(job_steps__step__job=job).distinct()
    lines = [
        ledger.ReceiptLine(
            material=material, quantity=Decimal(100_000), unit_cost=Decimal("1.25"), lot_number=f"FULL-{material.pk}"
        )
        for material in materials
    ]
    ledger.receive(key=uuid.uuid4(), by=by, on=today, supplier=None, reference="Full shelf", lines=lines)


# ------------------------------------------------------------ a job with many movements


def _cost(databases: Databases, source: str, job: Job, size: Size, *, today: date) -> Ratio:
    """The whole actual cost of a job, against one raw query of its movements added up in Python."""
    databases.copy(source, "cost")
    databases.use("cost")
    by = User.objects.get(username="finisher")
    _fill_shelf(job, by=User.objects.get(username="office"), today=today)
    for _ in range(-(-size.job_movements // LINES)):
        _log_many(job, by=by, today=today)
    fresh = Job.objects.select_related("quote_option").get(pk=job.pk)
    bookings = list(Booking.objects.filter(holder=fresh.holder).values_list("pk", flat=True))
    with closing(reader(databases.path("cost"))) as look:
        paid = sum((each.actual_cost for each in actual_of(fresh).materials), Decimal(0))
        if not isclose(float(paid), _raw_cost(look, bookings), rel_tol=1e-9):
            raise BenchError("The actual cost and the raw sum of the movements differ.")
        pair = take_turns(lambda: actual_of(fresh), lambda: _raw_cost(look, bookings), rounds=size.cost_rounds)
        count = _count(look, bookings)
    return pair.milliseconds(f"Actual cost of a job with {count:,} movements", against="one raw query, added up")


def _log_many(job: Job, *, by: User, today: date) -> None:
    step = job.steps.order_by("position")[0]
    line = step.materials.select_related("material", "booking").filter(parts__isnull=True)[0]
    log_coat(
        key=uuid.uuid4(),
        by=by,
        step=step,
        done_at=timezone.now(),
        mixed=None,
        components=[],
        supplies=[Use(line=line, amount=Decimal("0.001"))] * LINES,
        fills=0,
        minutes=Decimal(1),
        wet_film=None,
        note="",
        override_reason="",
        today=today,
    )


def _question(bookings: Sequence[int]) -> str:
    return f"FROM inventory_movement WHERE booking_id IN ({', '.join(map(str, bookings))})"


def _raw_cost(look: sqlite3.Connection, bookings: Sequence[int]) -> float:
    rows = look.execute(f"SELECT quantity, unit_cost {_question(bookings)}").fetchall()
    return -sum(quantity * cost for quantity, cost in rows) / STEP / STEP


def _count(look: sqlite3.Connection, bookings: Sequence[int]) -> int:
    return int(look.execute(f"SELECT count(*) {_question(bookings)}").fetchone()[0])


# ------------------------------------------------------------ learning


def _learning(size: Size) -> Ratio:
    """From logged coats to a posterior, against the same closed formulas over arrays."""
    coats = _coats(size.learnt_coats)
    area, film, mixed = (np.array([getattr(coat, name) for coat in coats]) for name in ("sprayed_area", "wet_film", "mixed"))
    fills = np.array([coat.fills for coat in coats])

    def ours() -> float:
        return learn([observed_efficiency(coat) or 1.0 for coat in coats], setting=0.65).value

    def bare() -> float:
        logs = np.log(area * film / 1000 / (mixed - 0.03 * fills - 0.05))
        middle = np.median(logs)
        spread = np.median(np.abs(logs - middle))
        kept = logs[0.6745 * np.abs(logs - middle) / spread <= 3.5]
        return exp((PRIOR_WEIGHT * np.log(0.65) + kept.sum()) / (PRIOR_WEIGHT + len(kept)))

    if not isclose(ours(), bare(), rel_tol=1e-9):
        raise BenchError("Learning and the closed formulas over arrays differ.")
    pair = take_turns(ours, bare, rounds=size.cost_rounds)
    return pair.milliseconds(f"Learning over {size.learnt_coats:,} logged coats", against="numpy, same formulas over arrays")


def _coats(count: int) -> list[CoatSeen]:
    rng = random.Random(20300501)  # noqa: S311 - invented coats, the same in every run
    coats = []
    for _ in range(count):
        area, film, fills = rng.uniform(3, 40), rng.uniform(80, 140), rng.randint(2, 8)
        mixed = area * film / 1000 / (0.6 * exp(rng.gauss(0, 0.12))) + 0.03 * fills + 0.05
        coats.append(
            CoatSeen(
                sprayed_area=area,
                wet_film=film,
                mixed=mixed,
                back=0,
                fills=fills,
                batches=1,
                residue_per_fill=0.03,
                residue_per_batch=0.05,
                minutes=60,
                other_minutes=10,
            )
        )
    return coats


__all__ = ["measure_spray_room"]
