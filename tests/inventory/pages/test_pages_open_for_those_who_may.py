"""Who may open which page, and that a stranger may open none."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from finishing.roles import Role, permissions_of
from inventory.models import Material, Pack
from tests.inventory.pages.shop import Shelf

PAGES = {
    "desk_buying": "inventory.buy",
    "materials": "inventory.view",
    "material": "inventory.view",
    "material_new": "inventory.change_materials",
    "material_edit": "inventory.change_materials",
    "pack_new": "inventory.change_materials",
    "pack_price": "inventory.change_materials",
    "pack_edit": "inventory.change_materials",
    "suppliers": "inventory.view",
    "supplier": "inventory.view",
    "supplier_new": "inventory.change_materials",
    "supplier_edit": "inventory.change_materials",
    "lots": "inventory.view",
    "lot": "inventory.view",
    "lot_open": "inventory.issue",
    "lot_place": "inventory.issue",
    "lot_quarantine": "inventory.quarantine",
    "lot_release": "inventory.quarantine",
    "stock_return": "inventory.return_stock",
    "stock_write_off": "inventory.write_off",
    "receive": "inventory.receive",
    "stock_issue": "inventory.issue",
    "issue_proposal": "inventory.issue",
    "stock_moves": "inventory.view",
    "posting": "inventory.view",
    "posting_reverse": "inventory.reverse",
}
WITHOUT_NUMBER = {
    "desk_buying",
    "materials",
    "material_new",
    "suppliers",
    "supplier_new",
    "lots",
    "receive",
    "stock_issue",
    "stock_moves",
}


def address(name: str, can: Pack, shelf: Shelf) -> str:
    if name in WITHOUT_NUMBER:
        return reverse(name)
    if name.startswith("supplier"):
        return reverse(name, args=[can.supplier_id])
    if name == "pack_edit":
        return reverse(name, args=[can.pk])
    if name in {"material", "material_edit", "pack_new", "pack_price", "issue_proposal"}:
        return reverse(name, args=[can.material_id])
    lot = shelf.lot(can.material)
    number = lot.movements.get().posting_id if name.startswith("posting") else lot.pk
    return reverse(name, args=[number])


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("role", list(Role))
def test_a_page_opens_for_the_roles_that_hold_its_permission(
    role: Role, name: str, can: Pack, shelf: Shelf, as_role: Callable[[str], Client]
) -> None:
    allowed = PAGES[name] in permissions_of(frozenset({role}))
    response = as_role(role).get(address(name, can, shelf))
    assert response.status_code == (200 if allowed else 403)


@pytest.mark.parametrize("name", PAGES)
def test_a_stranger_is_sent_to_the_sign_in_page(name: str, can: Pack, shelf: Shelf) -> None:
    response = Client().get(address(name, can, shelf))
    assert response.status_code == 302
    assert response.url.startswith(reverse("login"))


@pytest.mark.parametrize(
    "name", ["material_new", "material_edit", "pack_edit", "supplier_edit", "lot_quarantine", "receive", "posting_reverse"]
)
def test_sending_a_form_needs_the_same_permission(name: str, can: Pack, shelf: Shelf, as_role: Callable[[str], Client]) -> None:
    response = as_role("estimator").post(address(name, can, shelf), {"name": "Changed"})
    assert response.status_code == 403
    assert Material.objects.get().name == "Clear coat"


def test_prices_and_values_are_for_those_who_may_see_costs(can: Pack, shelf: Shelf, as_role: Callable[[str], Client]) -> None:
    lot = shelf.lot(can.material, "10", cost="21.37")
    posting = lot.movements.get().posting
    pages = [
        reverse("materials"),
        can.material.get_absolute_url(),
        reverse("lots"),
        lot.get_absolute_url(),
        reverse("posting", args=[posting.pk]),
        can.supplier.get_absolute_url(),
    ]
    for page in pages:
        assert "$" in as_role("estimator").get(page).text, page
        assert "$" not in as_role("finisher").get(page).text, page
