"""What jobs and the log refuse, in words a person can act on.

``field`` names the form field that the words belong to; it is empty where they belong to the whole form.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from costing.choices import JobStatus, QuoteStatus
from finishing import show

if TYPE_CHECKING:
    from costing.models import CoatLog, Job, JobStepMaterial, Quote, QuoteOption
    from inventory.errors import StockError


class WorkError(ValueError):
    """Something that cannot be done to a job as it stands."""

    def __init__(self, text: str, *, field: str = "") -> None:
        self.field = field
        super().__init__(text)


class QuoteNotOpenError(WorkError):
    """A quote that can't be accepted; ``quote`` as it stands now."""

    def __init__(self, quote: Quote, today: date) -> None:
        self.quote = quote
        super().__init__(f"{quote.label} {_why_not_open(quote, today)}")


def _why_not_open(quote: Quote, today: date) -> str:
    since = f" on {show.day(quote.status_on)}" if quote.status_on else ""
    reasons = {
        QuoteStatus.DRAFT: "has not been sent to the customer yet. Mark it as sent first.",
        QuoteStatus.ACCEPTED: f"was accepted already{since}. Its job is in the list of jobs.",
        QuoteStatus.DECLINED: f"was declined{since}. Make a revision to offer it again.",
        QuoteStatus.REPLACED: "was replaced by a revision. Accept the revision instead.",
    }
    if quote.has_lapsed(today):
        return f"lapsed on {show.day(quote.valid_until)}. Make a revision with prices of today."
    return reasons[QuoteStatus(quote.status)]


class OptionMissingError(WorkError):
    """An option that is not one of the quote's."""

    def __init__(self, quote: Quote, option: QuoteOption) -> None:
        self.quote, self.option = quote, option
        super().__init__(f"“{option.label}” is no option of {quote.label}. Choose one of those listed.", field="option")


class MaterialGoneError(WorkError):
    """A quote that names materials which the shop no longer keeps; ``names`` are theirs."""

    def __init__(self, names: list[str]) -> None:
        self.names = names
        super().__init__(f"No longer in the list of materials: {', '.join(names)}. Make a revision with what the shop keeps now.")


class JobClosedError(WorkError):
    """Work on a job that is done or cancelled."""

    def __init__(self, job: Job) -> None:
        self.job = job
        since = f" since {show.day(job.closed_on)}" if job.closed_on else ""
        super().__init__(f"{job.number} is {job.get_status_display().lower()}{since}. Nothing more can be logged on it.")


class StatusChangeError(WorkError):
    """A change of status that makes no sense from where the job stands."""

    def __init__(self, job: Job, wanted: JobStatus) -> None:
        self.job, self.wanted = job, wanted
        super().__init__(f"{job.number} is {job.get_status_display().lower()} and can’t become {wanted.label.lower()}.")


class LoggedMeanwhileError(WorkError):
    """Others logged this step after the form was shown; ``last`` is their latest log, if it still stands."""

    def __init__(self, last: CoatLog | None, *, number: int) -> None:
        self.last, self.number = last, number
        words = "The log of this step has changed since the page was shown."
        if last is not None:
            litres = f", {show.volume(last.mixed)} mixed" if last.mixed else ""
            words = f"{last.by} has logged this step since the page was shown{litres}."
        super().__init__(f"{words} If this is further work, send the form again.")


class MixError(WorkError):
    """Components that do not fit the mix that was stated."""


class UseRefusedError(WorkError):
    """The ledger refuses what was used of one material: ``line`` says which, ``error`` why."""

    def __init__(self, line: JobStepMaterial, error: StockError) -> None:
        self.line, self.error = line, error
        super().__init__(str(error), field=error.field)
