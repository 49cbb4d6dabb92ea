from django.apps import AppConfig


class FinishingConfig(AppConfig):
    """What the two departments share: the shop, its people, units, documents and the look."""

    name = "finishing"
    verbose_name = "Finish Ledger"

    def ready(self) -> None:
        """Register the system checks, and put the fields' messages into the words of the house."""
        from finishing import checks, field_words  # noqa: F401

        field_words.use()
