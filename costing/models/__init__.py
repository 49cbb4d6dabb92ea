"""Spray setups, coating systems, estimates, quotes, jobs and the log."""

from costing.models.estimates import Customer, Estimate, EstimateOption, TakeoffRow
from costing.models.jobs import CoatLog, Job, JobStep, JobStepMaterial
from costing.models.quotes import Quote, QuoteOption
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
    "CoatComponent",
    "CoatLog",
    "CoatingSystem",
    "Customer",
    "Estimate",
    "EstimateOption",
    "Job",
    "JobStep",
    "JobStepMaterial",
    "LabourClass",
    "Operation",
    "Quote",
    "QuoteOption",
    "SpraySetup",
    "SupplyLine",
    "TakeoffRow",
    "TimeLine",
]
