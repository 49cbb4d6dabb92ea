"""The sheet of labels that the shop used last."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from finishing.choices import PageSize
from finishing.fields import QuantityField

ONE_TO = [MinValueValidator(1)]
NOT_NEGATIVE = [MinValueValidator(Decimal(0))]


class LabelSheet(models.Model):
    """The measures of the last sheet, in millimetres, so that the next one begins with them: one row."""

    paper = models.CharField(max_length=6, choices=PageSize)
    columns = models.PositiveSmallIntegerField(validators=[*ONE_TO, MaxValueValidator(10)])
    rows = models.PositiveSmallIntegerField(validators=[*ONE_TO, MaxValueValidator(40)])
    left = QuantityField(validators=NOT_NEGATIVE, help_text="From the paper’s edge to the first label.")
    top = QuantityField(validators=NOT_NEGATIVE)
    across = QuantityField(validators=NOT_NEGATIVE, help_text="From the left edge of a label to that of its neighbour.")
    down = QuantityField(validators=NOT_NEGATIVE)
    width = QuantityField(validators=NOT_NEGATIVE)
    height = QuantityField(validators=NOT_NEGATIVE)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(pk=1), name="label_sheet_single_row"),
            models.CheckConstraint(
                condition=Q(columns__gte=1, rows__gte=1, left__gte=0, top__gte=0, width__gt=0, height__gt=0),
                name="label_sheet_makes_sense",
                violation_error_message="A sheet has at least one label of some size.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.columns} × {self.rows} labels"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Keep the one row."""
        self.pk = 1
        super().save(*args, **kwargs)
