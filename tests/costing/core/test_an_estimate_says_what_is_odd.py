"""Notices: a coat wetter than it stands, and an operation in a zone that no row has."""

from __future__ import annotations

from dataclasses import replace

import pytest

from costing.core.errors import CostingError
from costing.core.result import NoticeCode
from costing.core.takeoff import GivenArea, Row, Takeoff, Zone
from tests.costing.core.workshop import ABRADE, COAT, HIDDEN, SHOW, reckon, spray, system_of

SHOWN = Takeoff(rows=(Row(shape=GivenArea(area=10), pieces=10),))


def notices(*operations, takeoff=SHOWN):
    return {(notice.code, notice.about): notice.text for notice in reckon(system_of(*operations), takeoff).notices}


def test_a_coat_above_its_sag_limit_is_told():
    told = notices(spray(replace(COAT, sag_limit=99.5)))
    assert (
        told[NoticeCode.ABOVE_SAG_LIMIT, "Spray"] == "“Spray” goes on at 100 µm wet, above the 99.5 µm at which it begins to sag."
    )


@pytest.mark.parametrize("limit", [None, 100, 120])
def test_a_coat_that_stands_is_not(limit):
    assert (NoticeCode.ABOVE_SAG_LIMIT, "Spray") not in notices(spray(replace(COAT, sag_limit=limit)))


def test_the_wet_film_of_a_stated_dry_film_counts():
    # 40 µm dry at (4 × 34 + 60)/5 = 39.2 % solids are 102 µm wet.
    told = notices(spray(replace(COAT, wet_film=None, dry_film=40, sag_limit=101)))
    assert "goes on at 102 µm wet" in told[NoticeCode.ABOVE_SAG_LIMIT, "Spray"]


def test_a_limit_is_a_film():
    with pytest.raises(CostingError, match="at most 2000 µm"):
        replace(COAT, sag_limit=2001)


def test_an_operation_in_a_zone_that_no_row_has_is_told():
    told = notices(replace(ABRADE, zones=HIDDEN), spray(zones=SHOW))
    assert "finds no pieces in its zones" in told[NoticeCode.IDLE_OPERATION, "Abrade"]
    assert (NoticeCode.IDLE_OPERATION, "Spray") not in told


def test_a_coat_there_is_left_out_and_told_as_such():
    told = notices(ABRADE, spray(zones=HIDDEN))
    assert (NoticeCode.IDLE_COAT, "Spray") in told
    assert (NoticeCode.IDLE_OPERATION, "Spray") not in told


def test_an_empty_takeoff_is_told_once_and_not_for_every_operation():
    told = notices(ABRADE, takeoff=Takeoff())
    assert {code for code, _ in told} == {NoticeCode.NO_COAT, NoticeCode.NO_AREA}


def test_a_zone_with_pieces_is_fine():
    both = Takeoff(rows=(*SHOWN.rows, Row(shape=GivenArea(area=2), zone=Zone.HIDDEN)))
    assert (NoticeCode.IDLE_OPERATION, "Abrade") not in notices(replace(ABRADE, zones=HIDDEN), spray(), takeoff=both)
