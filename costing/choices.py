"""The kinds of things that costing knows. Values match the pure core's enumerations."""

from __future__ import annotations

from django.db import models


class OperationKind(models.TextChoices):
    """What an operation of a coating system does."""

    PREPARE = "prepare", "Prepare"
    MASK = "mask", "Mask"
    CLEAN = "clean", "Clean"
    ABRADE = "abrade", "Abrade"
    COAT = "coat", "Coat"
    INSPECT = "inspect", "Inspect"
    OTHER = "other", "Other"


class OperationZone(models.TextChoices):
    """Which pieces an operation is for."""

    BOTH = "both", "show and hidden"
    SHOW = "show", "show only"
    HIDDEN = "hidden", "hidden only"


class RowZone(models.TextChoices):
    """Whether people see the piece."""

    SHOW = "show", "show"
    HIDDEN = "hidden", "hidden"


class RowForm(models.TextChoices):
    """How a takeoff row states its area."""

    PANEL = "panel", "length × width × thickness"
    AREA = "area", "area given"
    MOULDING = "moulding", "length × girth"


class Driver(models.TextChoices):
    """What an operation's line is multiplied by."""

    OPERATION = "operation", "per operation"
    M2 = "m2", "per m²"
    PIECE = "piece", "per piece"
    BATCH = "batch", "per batch"
    FILL = "fill", "per fill"
    LABOUR_HOUR = "labour hour", "per labour hour"
    OVERSPRAY_KG = "overspray kg", "per kg of overspray"


class QuoteStatus(models.TextChoices):
    """Where an offer stands. Lapsed follows from the validity date and is not stored."""

    DRAFT = "draft", "Draft"
    SENT = "sent", "Sent"
    ACCEPTED = "accepted", "Accepted"
    DECLINED = "declined", "Declined"
    REPLACED = "replaced", "Replaced by a revision"


class JobStatus(models.TextChoices):
    """Where a job stands."""

    BOOKED = "booked", "Booked"
    IN_WORK = "in_work", "In work"
    DONE = "done", "Done"
    CANCELLED = "cancelled", "Cancelled"
