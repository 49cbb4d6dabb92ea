"""The demo: from an empty database to files, twice without harm, and never on a real shop's data."""

from __future__ import annotations

import io
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone
from openpyxl import load_workbook

from costing.demo.work import CUT_LIST
from costing.models import Job, Quote, TakeoffRow
from finishing.models import User
from finishing.roles import Role
from inventory.models import Lot, Material, Movement
from inventory.services import ledger

pytestmark = pytest.mark.django_db


def run(folder: Path) -> str:
    said = io.StringIO()
    call_command("demo", no_serve=True, output=folder, stdout=said)
    return said.getvalue()


@pytest.fixture
def said(tmp_path: Path) -> str:
    return run(tmp_path / "out")


def test_the_cut_list_has_every_kind_of_piece_in_both_zones() -> None:
    rows = list(load_workbook(CUT_LIST).active.iter_rows(min_row=2, values_only=True))
    assert len(rows) >= 25
    words = " ".join(str(row[0]).lower() for row in rows)
    for kind in ("door", "drawer front", "panel", "face frame", "moulding"):
        assert kind in words
    assert {row[-1] for row in rows} == {"show", "hidden"}


def test_it_prices_three_systems_and_says_where_the_files_are(said: str, tmp_path: Path) -> None:
    quote = Quote.objects.get(title__startswith="Kitchen")
    assert quote.options.count() == 3
    assert quote.estimate.rows.count() == 30
    for option in quote.options.all():
        assert option.system_name in said
        assert option.cost < option.net < option.total
    names = {path.name for path in (tmp_path / "out").iterdir()}
    assert {"quote-Q-0002.pdf", "quote-Q-0002.xlsx"} <= names
    assert {name.rpartition(".")[2] for name in names if name.startswith("reorder-list")} == {"pdf", "xlsx"}
    for name in names:
        assert str(tmp_path / "out" / name) in said


def test_there_is_one_sign_in_for_each_role(said: str) -> None:
    for role in Role:
        user = User.objects.get(username=role.value)
        assert user.roles == {role}
        assert user.check_password("demo-shop-only")
    for role in ("office", "estimator", "finisher", "owner"):
        assert f"sign in as {role}" in said


def test_some_lots_are_fresh_some_expire_within_weeks_and_one_is_out_of_date(said: str) -> None:
    today = timezone.localdate()
    dates = [lot.expires_on for lot in Lot.objects.in_stock() if lot.expires_on]
    assert any(day < today for day in dates)
    assert any(today <= day <= today + timedelta(days=30) for day in dates)
    assert any(day > today + timedelta(days=90) for day in dates)


def test_run_twice_it_harms_nothing(said: str, tmp_path: Path) -> None:
    before = (Movement.objects.count(), Material.objects.count(), TakeoffRow.objects.count(), Job.objects.count())
    again = run(tmp_path / "again")
    assert "nothing is loaded twice" in again
    assert before == (Movement.objects.count(), Material.objects.count(), TakeoffRow.objects.count(), Job.objects.count())
    call_command("verify_ledger", stdout=io.StringIO())


def test_it_leaves_a_real_shops_data_alone(tmp_path: Path) -> None:
    Material.objects.create(code="OURS", name="Ours", kind="coating")
    with pytest.raises(CommandError, match="leaves it alone"):
        run(tmp_path)
    assert Material.objects.count() == 1


def test_an_unwritable_folder_is_told_in_words(tmp_path: Path) -> None:
    blocked = tmp_path / "a-file"
    blocked.write_text("not a folder")
    with pytest.raises(CommandError, match=r"Can’t write .*a-file.*name another folder in FINISH_LEDGER_OUTPUT_DIR"):
        run(blocked)


def test_an_interrupted_start_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def power_cut(**_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(ledger, "write_off", power_cut)
    with pytest.raises(KeyboardInterrupt):
        run(tmp_path)
    assert not Material.objects.exists()
    monkeypatch.undo()
    assert "Kitchen refinish" in run(tmp_path)


def test_fresh_refuses_to_delete_a_database_that_is_not_the_demos(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="only throws away the demo"):
        call_command("demo", no_serve=True, fresh=True, output=tmp_path, stdout=io.StringIO())
