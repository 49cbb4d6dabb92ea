from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate


class InventoryConfig(AppConfig):
    """Materials, suppliers, lots and the stock ledger."""

    name = "inventory"
    verbose_name = "Inventory"

    def ready(self) -> None:
        """Put the ledger's guards back after every migration: SQLite drops them when it rebuilds a table."""
        from inventory.triggers import install_guards, lift_lot_guards

        pre_migrate.connect(lift_lot_guards, sender=self, dispatch_uid="inventory.lift_lot_guards")
        post_migrate.connect(install_guards, sender=self, dispatch_uid="inventory.guards")
