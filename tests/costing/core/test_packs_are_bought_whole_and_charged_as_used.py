"""What a job makes the shop buy stands beside what it uses; the two are told apart."""

from __future__ import annotations

from decimal import Decimal

from costing.core.buying import PackFacts, purchases
from tests.costing.core.workshop import reckon

D = Decimal
PACKS = {
    "base": PackFacts(content=D(5), price=D(100)),
    "hardener": PackFacts(content=D("0.26"), price=D(13)),
    "disc": PackFacts(content=D(50), price=D(30)),
}


def test_needs_are_rounded_up_to_whole_packs():
    found = {one.need.material.key: one for one in purchases(reckon().needs, PACKS)}
    # 2.6 L of base of a can of 5; 0.52 L of hardener are two packs of 0.26 to the drop; 7 discs of 50.
    assert (found["base"].packs, found["base"].left) == (1, D("2.4"))
    assert (found["hardener"].packs, found["hardener"].left) == (2, 0)
    assert (found["disc"].packs, found["disc"].left) == (1, 43)


def test_outlay_is_what_is_used_and_what_is_left():
    found = {one.need.material.key: one for one in purchases(reckon().needs, PACKS)}
    assert (found["base"].outlay, found["base"].used_value, found["base"].left_value) == (100, 52, 48)
    assert found["disc"].used_value == D("4.20")


def test_what_has_no_pack_is_left_out():
    assert {one.need.material.key for one in purchases(reckon().needs, PACKS)} == set(PACKS)
