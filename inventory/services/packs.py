"""Packs: which one the shop usually buys."""

from __future__ import annotations

from django.db import transaction

from inventory.models import Pack


@transaction.atomic
def save_pack(*, pack: Pack) -> Pack:
    """Save a pack. When it becomes the usual one, the material's former usual pack stops being it in the same transaction.

    Raises ``ValidationError`` when the pack breaks a rule; then nothing is changed.
    """
    if pack.is_usual:
        former = Pack.objects.select_for_update().filter(material_id=pack.material_id, is_usual=True).exclude(pk=pack.pk)
        for other in former:
            other.is_usual = False
            other.save(update_fields=["is_usual"])
    pack.full_clean()
    pack.save()
    return pack
