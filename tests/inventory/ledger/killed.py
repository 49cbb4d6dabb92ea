"""Posts to the ledger in child processes that are killed, and reports what each had begun and what it was told is done.

Run as ``python -m tests.inventory.ledger.killed`` with a JSON object on standard input: ``database`` (settings of the
connection), ``person``, ``materials`` (two ids), ``mode`` and ``kills``. It imports the program once and forks for each kill;
it never opens a connection itself, so that no child inherits one.

Modes: ``clock`` kills a child that posts in a loop after a random while; ``statement`` lets a child kill itself before its
first, second, third … statement, then before the commit, then after it.
"""

from __future__ import annotations

import json
import os
import random
import select
import signal
import sys
import time
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4

QUANTITIES = (Decimal("0.5"), Decimal("0.25"))  # of the two materials, in every posting


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """What one killed child did."""

    begun: list[str]  # keys, in order
    done: list[str]  # keys whose posting had been answered
    died: bool  # by the kill, not by reaching its end
    point: str  # where it was killed


def post(job: dict[str, Any], key: UUID, number: int) -> None:
    """Every third posting is a delivery, the others are issues; each moves both materials."""
    from finishing.models import User
    from inventory.models import Material
    from inventory.services import ledger
    from tests.inventory.ledger.counter import today

    by = User(pk=job["person"])
    materials = [Material.objects.get(pk=pk) for pk in job["materials"]]
    if number % 3 == 2:
        arriving = [
            ledger.ReceiptLine(material=material, quantity=quantity, unit_cost=Decimal("7.77"), lot_number="K")
            for material, quantity in zip(materials, QUANTITIES, strict=True)
        ]
        ledger.receive(key=key, by=by, on=today(), supplier=None, reference="killed", lines=arriving)
    else:
        lines = [
            ledger.IssueLine(material=material, quantity=quantity)
            for material, quantity in zip(materials, QUANTITIES, strict=True)
        ]
        ledger.issue(key=key, by=by, on=today(), lines=lines, reference="killed")


def loop(job: dict[str, Any], out: int) -> None:
    """Post until killed."""
    number = 0
    while True:
        key = uuid4()
        os.write(out, f"begin {key}\n".encode())
        post(job, key, number)
        os.write(out, f"done {key}\n".encode())
        number += 1


class Bomb:
    """Kills its own process before the n-th statement of a posting; the commit and what follows it count as two more."""

    def __init__(self, fuse: int) -> None:
        self.left = fuse

    def tick(self) -> None:
        """One step nearer."""
        self.left -= 1
        if self.left <= 0:
            os.kill(os.getpid(), signal.SIGKILL)

    def __call__(self, execute: Any, statement: str, parameters: Any, many: bool, context: Any) -> Any:
        self.tick()
        return execute(statement, parameters, many, context)


def once(job: dict[str, Any], out: int, fuse: int) -> None:
    """Post once with a bomb in the connection."""
    from django.db import connection

    key = uuid4()
    os.write(out, f"begin {key}\n".encode())
    bomb = Bomb(fuse)
    commit = connection._commit

    def commit_between_ticks() -> None:
        os.write(out, b"point commit\n")
        bomb.tick()
        commit()
        os.write(out, b"point committed\n")
        bomb.tick()

    connection._commit = commit_between_ticks  # type: ignore[method-assign]
    with connection.execute_wrapper(bomb):
        post(job, key, job["number"])
    os.write(out, f"done {key}\n".encode())


def child(job: dict[str, Any], fuse: int | None) -> tuple[int, int]:
    """Fork; give the child's number and the end to read from."""
    readable, writable = os.pipe()
    number = os.fork()
    if number:
        os.close(writable)
        return number, readable
    try:
        if fuse is None:
            loop(job, writable)
        else:
            once(job, writable, fuse)
        os._exit(0)
    except BaseException:  # noqa: BLE001 - a forked child must not return into its parent's code
        import traceback

        traceback.print_exc()
        os._exit(3)


def finish(number: int, readable: int, first: bytes = b"") -> Round:
    """Wait for the child's death and read all it wrote."""
    _, status = os.waitpid(number, 0)
    if os.WIFEXITED(status) and os.WEXITSTATUS(status):
        sys.exit("a child failed instead of being killed")
    text = first
    while piece := os.read(readable, 65536):
        text += piece
    os.close(readable)
    words = [line.split() for line in text.decode().splitlines()]
    return Round(
        begun=[key for what, key in words if what == "begin"],
        done=[key for what, key in words if what == "done"],
        died=os.WIFSIGNALED(status),
        point=next((key for what, key in reversed(words) if what == "point"), "statement"),
    )


def by_the_clock(job: dict[str, Any]) -> list[Round]:
    """Kill a looping child after its first answer and a random while."""
    chance = random.Random(job["kills"])  # noqa: S311 - moments, no secrets
    rounds = []
    for _ in range(job["kills"]):
        number, readable = child(job, None)
        first = b""
        while b"done" not in first:
            if not select.select([readable], [], [], 60)[0] or not (piece := os.read(readable, 65536)):
                sys.exit("a child never finished its first posting")
            first += piece
        time.sleep(chance.uniform(0, 0.03))
        os.kill(number, signal.SIGKILL)
        rounds.append(finish(number, readable, first))
    return rounds


def by_the_statement(job: dict[str, Any]) -> list[Round]:
    """Kill a child one step later each time, until one reaches its end."""
    rounds = []
    for number in (0, 2):  # an issue, then a delivery
        for fuse in range(1, 100):
            rounds.append(finish(*child({**job, "number": number}, fuse)))
            if not rounds[-1].died:
                break
    return rounds


def main() -> None:
    """Read the job, do it, print the rounds."""
    job = json.load(sys.stdin)
    from django.conf import settings

    settings.DATABASES["default"].update(job["database"])
    import django

    django.setup()
    rounds = by_the_clock(job) if job["mode"] == "clock" else by_the_statement(job)
    json.dump([asdict(found) for found in rounds], sys.stdout)


if __name__ == "__main__":
    main()
