from django.apps import AppConfig


class FinishingConfig(AppConfig):
    """What the two departments share: the shop, its people, units, documents and the look."""

    name = "finishing"
    verbose_name = "Finish Ledger"

    def ready(self) -> None:
        """Register the system checks."""
        from finishing import checks  # noqa: F401
