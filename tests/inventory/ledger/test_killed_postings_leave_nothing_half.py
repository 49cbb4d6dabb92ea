"""Processes killed in the middle of posting: what was answered is there, nothing is half there, the ledger agrees."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections import defaultdict
from collections.abc import Callable
from decimal import Decimal
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection

from inventory.models import Lot, Material, Posting
from tests.inventory.ledger.counter import Counter
from tests.inventory.ledger.killed import QUANTITIES

ROOT = Path(__file__).resolve().parents[3]

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.database,
    pytest.mark.skipif(not hasattr(os, "fork"), reason="a process can’t be forked here"),
]

Rounds = list[dict[str, Any]]
KILLS = 30


@pytest.fixture
def run(counter: Counter, clear: Material, thinner: Material) -> Callable[..., Rounds]:
    """Stock for thousands of postings, and a way to have them killed in another process."""
    for material in (clear, thinner):
        counter.receive(material, "0.1", number="small")  # the first issue draws on two lots of each
        counter.receive(material, "100000", number="large")

    def killed(mode: str) -> Rounds:
        names = ("NAME", "USER", "PASSWORD", "HOST", "PORT")
        job = {
            "database": {name: str(connection.settings_dict[name]) for name in names},
            "person": counter.by.pk,
            "materials": [clear.pk, thinner.pk],
            "mode": mode,
            "kills": KILLS,
        }
        done = subprocess.run(
            [sys.executable, "-m", "tests.inventory.ledger.killed"],
            input=json.dumps(job),
            capture_output=True,
            text=True,
            timeout=240,
            cwd=ROOT,
            env={**os.environ, "DJANGO_SETTINGS_MODULE": "finishing.settings"},
            check=False,
        )
        assert done.returncode == 0, done.stderr
        wait_for_orphans()
        rounds: Rounds = json.loads(done.stdout)
        return rounds

    return killed


def wait_for_orphans() -> None:
    """A PostgreSQL server may still be ending what a killed client had sent."""
    if connection.vendor != "postgresql":
        return
    others = "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"
    until = time.monotonic() + 30
    while time.monotonic() < until:
        with connection.cursor() as cursor:
            cursor.execute(others)
            if cursor.fetchone()[0] == 0:
                return
        time.sleep(0.02)
    pytest.fail("a killed process left a connection behind")


def assert_nothing_is_half_there(rounds: Rounds) -> set[str]:
    """Every answered posting is there, each one that is there is whole, and the ledger agrees; give the keys there."""
    begun = {key for found in rounds for key in found["begun"]}
    done = {key for found in rounds for key in found["done"]}
    postings = {str(posting.key): posting for posting in Posting.objects.filter(reference="killed")}
    assert done <= set(postings), "a posting that was answered is lost"
    assert set(postings) <= begun
    for posting in postings.values():
        moved: dict[int, Decimal] = defaultdict(Decimal)
        for move in posting.movements.select_related("lot"):
            moved[move.lot.material_id] += abs(move.quantity)
        assert tuple(moved[material] for material in sorted(moved)) == QUANTITIES
    assert not Lot.objects.filter(movements__isnull=True).exists(), "a lot came in without a movement"
    out = StringIO()
    call_command("verify_ledger", stdout=out)
    assert "No disagreement." in out.getvalue()
    return set(postings)


def test_killed_at_any_moment(run: Callable[..., Rounds]) -> None:
    rounds = run("clock")
    assert len(rounds) == KILLS >= 25
    assert all(found["died"] for found in rounds)
    assert all(found["done"] for found in rounds)
    in_the_middle = [found for found in rounds if len(found["begun"]) > len(found["done"])]
    assert len(in_the_middle) >= KILLS // 2, "too few kills came in the middle of a posting to prove anything"
    assert_nothing_is_half_there(rounds)


def test_killed_before_each_statement_and_around_the_commit(run: Callable[..., Rounds]) -> None:
    rounds = run("statement")
    there = assert_nothing_is_half_there(rounds)
    ended = [found for found in rounds if not found["died"]]
    assert len(ended) == 2, "an issue and a delivery reach their end when nothing kills them"
    assert len(rounds) >= 2 * 8, "a posting has several statements"
    assert [found["point"] for found in rounds].count("commit") == 2
    for found in rounds:
        is_committed = found["point"] == "committed"
        assert all((key in there) is is_committed for key in found["begun"]), found
