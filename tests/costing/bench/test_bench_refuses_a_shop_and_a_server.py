"""The bench fills empty databases of its own only, and runs on a developer's machine only."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from pytest_django import Settings

from costing.bench.measure import BenchError
from costing.bench.shop import load_bench_shop
from costing.bench.temporary import temporary_databases
from costing.models import CoatingSystem
from finishing.models import User


@pytest.mark.django_db
def test_a_database_with_people_in_it_is_refused() -> None:
    User.objects.create_user("ann")
    with pytest.raises(BenchError, match="holds a shop's data"):
        load_bench_shop(datetime.date(2030, 1, 1))
    assert not CoatingSystem.objects.exists()


@pytest.mark.parametrize(("name", "value"), [("DEBUG", True), ("LOCAL", False)])
def test_it_does_not_run_on_a_server_or_with_debugging(settings: Settings, name: str, value: bool) -> None:
    setattr(settings, name, value)
    with pytest.raises(CommandError, match="developer's machine only"):
        call_command("bench")


@pytest.mark.django_db
def test_a_temporary_database_has_the_programs_own_settings_and_gives_the_shops_back() -> None:
    User.objects.create_user("ann")
    with temporary_databases() as databases:
        databases.use("empty")
        assert connection.introspection.table_names() == []
        with connection.cursor() as cursor:
            found = [cursor.execute(f"PRAGMA {pragma}").fetchone()[0] for pragma in ("journal_mode", "synchronous")]
        assert found == ["wal", 2]  # 2 is FULL
        assert connection.transaction_mode == "IMMEDIATE"
        folder: Path = databases.folder
        assert databases.path("empty").is_file()
    assert User.objects.get().username == "ann"
    assert not folder.exists()
