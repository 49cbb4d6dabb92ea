"""Each column of a system, a setup, a material and a takeoff row reaches the arithmetic."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from costing.core.result import CoatVolumes
from costing.models import CoatingSystem, Operation
from costing.services.estimating import PricedOption, price
from inventory.choices import WriteOffCause
from inventory.services.ledger import IssueLine, ReceiptLine, issue, receive, write_off
from tests.costing.pricing.door_shop import TODAY, DoorShop, material

D = Decimal


def priced(doors: DoorShop, system: CoatingSystem | None = None) -> PricedOption:
    """The system priced on the 24 doors."""
    return price(doors.estimate, system or doors.system)


def coat_of(option: PricedOption) -> CoatVolumes:
    """Its one coat."""
    coat = option.result.operations[0].coat
    assert coat is not None
    return coat


def test_a_coat_s_own_spraying_rate_goes_before_the_setup_s(doors: DoorShop) -> None:
    fast = doors.add_system("Fast", spray_rate=D(40))
    assert coat_of(priced(doors, fast)).spray_minutes == pytest.approx(45.961308 / 2)


def test_a_stated_wet_film_is_taken_as_it_is(doors: DoorShop) -> None:
    wet = doors.add_system("Wet", dry_film=None, wet_film=D(90))
    assert coat_of(priced(doors, wet)).wet_film == 90


def test_thinning_adds_thinner_to_the_mix_and_thickens_the_wet_film(doors: DoorShop) -> None:
    thinner = material("thinner", "thinner", pack=("5", "31"))
    thinned = doors.add_system("Thinned", thinner=thinner, thinning_percent=D(10))
    coat = coat_of(priced(doors, thinned))
    assert coat.wet_film == pytest.approx(121)
    assert [part.parts for part in coat.components] == [10, 1, pytest.approx(1.1)]


def test_a_thinner_that_is_not_used_needs_no_price(doors: DoorShop) -> None:
    doors.add_system("Unthinned", thinner=material("dear", "thinner"), thinning_percent=D(0))
    assert priced(doors, CoatingSystem.objects.get(name="Unthinned")).price == priced(doors).price


@pytest.mark.parametrize(("own", "material_s", "batches"), [(20, None, 3), (None, 15, 4), (20, 15, 3), (None, None, 1)])
def test_pot_life_is_the_coat_s_own_or_else_the_shortest_of_its_mix(
    doors: DoorShop, own: int | None, material_s: int | None, batches: int
) -> None:
    Operation.objects.update(pot_life_min=own)
    doors.hardener.pot_life_min = material_s
    doors.hardener.save()
    assert coat_of(priced(doors)).batches == batches


def test_a_hardener_without_any_pot_life_is_told(doors: DoorShop) -> None:
    assert priced(doors).warnings == ()
    Operation.objects.update(pot_life_min=None)
    assert priced(doors).warnings == ("“Clear coat” has a hardener and no pot life, so it is reckoned as one batch.",)


def test_a_usual_pack_that_is_no_longer_sold_is_told(doors: DoorShop) -> None:
    doors.base.packs.update(is_active=False)
    assert priced(doors).warnings == ("The usual pack of “Base” is no longer on sale; its price may be old.",)


def test_yield_leaves_a_heel(doors: DoorShop) -> None:
    doors.base.yield_fraction = D("0.98")
    doors.base.save()
    use = priced(doors).result.material_uses[0]
    assert use.drawn_litres == pytest.approx(2.538808336 / 0.98)


def test_an_operation_for_the_hidden_zone_finds_no_show_pieces(doors: DoorShop) -> None:
    Operation.objects.update(zone="hidden")
    option = priced(doors)
    assert option.shown.true_cost == 0
    assert "“Clear coat” finds no area in its zones and is left out." in option.warnings


def test_geometry_and_pieces_of_a_row_count(doors: DoorShop) -> None:
    doors.estimate.rows.update(geometry_factor=D("0.5"), pieces=12)
    assert coat_of(priced(doors)).sprayed == pytest.approx(2.592689169)


def test_a_moulding_and_a_given_area_are_measured_their_way(doors: DoorShop) -> None:
    doors.estimate.rows.all().delete()
    doors.add_doors(doors.estimate, form="moulding", pieces=10, length=D(2400), width=None, thickness=None, girth=D(100))
    doors.add_doors(doors.estimate, form="area", pieces=1, length=None, width=None, thickness=None, area=D("3.6"))
    assert priced(doors).result.takeoff.area == pytest.approx(6)


def test_what_went_out_of_date_last_year_raises_the_expiry_row(doors: DoorShop) -> None:
    day, by = TODAY(), doors.by
    lines = [ReceiptLine(material=doors.base, quantity=D(10), unit_cost=D(20), lot_number="L1")]
    receive(key=uuid4(), by=by, on=day - timedelta(days=30), supplier=None, reference="note", lines=lines)
    issue(key=uuid4(), by=by, on=day, lines=[IssueLine(material=doors.base, quantity=D(6))], reference="job")
    lot = doors.base.lots.get()
    write_off(key=uuid4(), by=by, on=day, lot=lot, quantity=D(2), cause=WriteOffCause.EXPIRED, reason="too old")
    use = priced(doors).result.material_uses[0]
    assert use.material.expiry_allowance == D("0.25")  # 2 of 8 litres, at the same cost
    assert round(use.expiry, 9) == round((use.film + use.overspray + use.residue + use.heel) / 3, 9)
