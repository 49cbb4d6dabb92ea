from django.apps import AppConfig


class CostingConfig(AppConfig):
    """Spray setups, coating systems, estimates, quotes, jobs and the log."""

    name = "costing"
    verbose_name = "Costing"
