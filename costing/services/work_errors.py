"""What jobs and the log refuse, in words a person can act on.

``field`` names the form field that the words belong to; it is empty where they belong to the whole form.
"""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from costing.choices import JobStatus, QuoteStatus
from finishing import show

if TYPE_CHECKING:
    from costing.models import Batch, CoatLog, Job, JobStep, JobStepMaterial, Quote, QuoteOption
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


class BatchGoneError(WorkError):
    """A batch whose mixing was taken back."""

    def __init__(self, batch: Batch) -> None:
        self.batch = batch
        super().__init__(f"The mixing of {batch.number} was taken back. Choose another batch.", field="batch")


class MoreThanMixedError(WorkError):
    """More out of a batch than is left in it; ``batch`` read with what is left."""

    def __init__(self, batch: Batch, wanted: Decimal) -> None:
        self.batch, self.wanted = batch, wanted
        last = batch.uses.standing().select_related("log__by").order_by("-pk").first()
        others = f", {last.log.by} took {show.pour(last.litres)} at {last.log.done_local:%H:%M}" if last else ""
        super().__init__(
            f"{batch.number} holds {show.pour(batch.left)} now: {show.pour(batch.litres)} was mixed{others}. "
            f"{show.pour(wanted)} is more than that.",
            field="litres",
        )


class BatchExpiredError(WorkError):
    """A batch sprayed after its pot life; it takes a reason."""

    def __init__(self, batch: Batch, at: datetime) -> None:
        self.batch = batch
        until = batch.usable_until or batch.mixed_local
        late = show.minutes(Decimal(int((at - until).total_seconds() // 60)))
        super().__init__(
            f"The pot life of {batch.number} was over at {until:%H:%M} on {show.day(until)}, {late} before this coat was done. "
            "Say why it was sprayed all the same, or throw it away and mix anew.",
            field="late_reason",
        )


class EarlyCoatError(WorkError):
    """Work begun before the coat under it was dry; it takes a reason."""

    def __init__(self, under: JobStep, ready_at: datetime) -> None:
        self.under, self.ready_at = under, ready_at
        super().__init__(
            f"{under.name} is dry at {ready_at:%H:%M} on {show.day(ready_at)} as planned, and this was begun before. "
            "Say why it was begun all the same, or mend the time.",
            field="early_reason",
        )
