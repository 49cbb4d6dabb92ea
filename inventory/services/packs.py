"""Packs: which one the shop usually buys, and what they cost."""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone

from finishing.models import User
from inventory.choices import PriceSource
from inventory.models import Pack
from inventory.services.prices import set_price


@transaction.atomic
def save_pack(*, pack: Pack, by: User | None = None) -> Pack:
    """Save a pack, and its price with its history.

    When it becomes the usual one, the material's former usual pack stops being it in the same transaction. Raises
    ``ValidationError`` when the pack breaks a rule; then nothing is changed.
    """
    if pack.is_usual:
        former = Pack.objects.select_for_update().filter(material_id=pack.material_id, is_usual=True).exclude(pk=pack.pk)
        for other in former:
            other.is_usual = False
            other.save(update_fields=["is_usual"])
    pack.full_clean()
    price = pack.price
    if pack.pk is not None:
        pack.price = Pack.objects.select_for_update().values_list("price", flat=True).get(pk=pack.pk)
    pack.save()
    set_price(pack=pack, price=price, valid_from=timezone.localdate(), source=PriceSource.ENTERED, by=by)
    return pack
