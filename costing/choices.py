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


class AssumptionKind(models.TextChoices):
    """A figure that an estimate may change for its job alone; what it is of is named by a number."""

    EFFICIENCY = "efficiency", "Transfer efficiency"  # of a spray setup
    RATE = "rate", "Spraying rate"  # of a coat's operation, m²/h
    FILM = "film", "Film"  # of a coat's operation, µm, wet or dry as it is stated
    DRYING = "drying", "Dry time"  # of a coat's operation, min
    MINUTES = "minutes", "Time of work"  # of a time line, min
    AMOUNT = "amount", "Supplies"  # of a supply line, stock units
    PRICE = "price", "Price"  # of a material, money per stock unit
    WAGE = "wage", "Wage"  # of a labour class, money per hour
    BOOTH = "booth", "Booth rate"  # the shop's, money per hour
    DISPOSAL = "disposal", "Disposal fee"  # the shop's, money per L
    REWORK = "rework", "Rework allowance"  # the shop's, a share
    OVERHEAD = "overhead", "Overhead on labour"  # the shop's, a share


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


class RestFate(models.TextChoices):
    """What became of what was left of a batch."""

    THROWN = "thrown", "Thrown away"
    RETURNED = "returned", "Put back into its lot"


class RestCause(models.TextChoices):
    """Why a rest was not sprayed."""

    LEFT_OVER = "left", "More was mixed than needed"
    POT_LIFE = "pot_life", "Its pot life was over"
    SPOILED = "spoiled", "Spoiled: wrong mix, dirt, skin"
    SPILLED = "spilled", "Spilled"


class DefectKind(models.TextChoices):
    """What can be wrong with a coat."""

    ORANGE_PEEL = "orange_peel", "Orange peel"
    RUNS = "runs", "Runs and sags"
    FISHEYES = "fisheyes", "Fisheyes"
    BUBBLES = "bubbles", "Bubbles"
    DUST = "dust", "Dust"
    BLUSH = "blush", "Blush"
    OTHER = "other", "Other"


class DefectCause(models.TextChoices):
    """Why it came about, as the shop judges."""

    UNKNOWN = "unknown", "Not known"
    SETTING = "setting", "Gun setting: tip, pressure, distance"
    FILM = "film", "Too much or too little at once"
    MIX = "mix", "Mix: ratio, thinner, old batch"
    DIRT = "dirt", "Dirty work, air or booth"
    CLIMATE = "climate", "Too warm, too cold, too damp"
    SURFACE = "surface", "Preparation of the surface"
    HANDLING = "handling", "Handling and stacking"


class LearntKind(models.TextChoices):
    """What a spray setup's log teaches."""

    EFFICIENCY = "efficiency", "Transfer efficiency"
    RATE = "rate", "Spraying rate"


class LearntFate(models.TextChoices):
    """What was decided about a learnt figure."""

    ADOPTED = "adopted", "Adopted"
    REFUSED = "refused", "Refused"
