"""Spray setups, coating systems, estimates, quotes, jobs and the log."""

from costing.models.batches import Batch, BatchRest, BatchUse
from costing.models.defects import Defect
from costing.models.estimates import Customer, Estimate, EstimateAssumption, EstimateOption, TakeoffRow
from costing.models.jobs import CoatLog, Job, JobStep, JobStepMaterial
from costing.models.learning import LearntDecision
from costing.models.quotes import Quote, QuoteExtra, QuoteOption
from costing.models.systems import (
    CoatComponent,
    CoatingSystem,
    LabourClass,
    Operation,
    SpraySetup,
    SupplyLine,
    TimeLine,
)

__all__ = [
    "Batch",
    "BatchRest",
    "BatchUse",
    "CoatComponent",
    "CoatLog",
    "CoatingSystem",
    "Customer",
    "Defect",
    "Estimate",
    "EstimateAssumption",
    "EstimateOption",
    "Job",
    "JobStep",
    "JobStepMaterial",
    "LabourClass",
    "LearntDecision",
    "Operation",
    "Quote",
    "QuoteExtra",
    "QuoteOption",
    "SpraySetup",
    "SupplyLine",
    "TakeoffRow",
    "TimeLine",
]
