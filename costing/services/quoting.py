"""Quotes: made from an estimate as it is now, sent, declined, revised. What was offered never changes.

A quote's number is one above the highest so far; the database keeps numbers and revisions apart, and a number that two
people took at once is taken again by the second. Status moves under a lock, so that a stale page is refused in words.
Acceptance makes a job, so it stands with the jobs (``costing.services.jobs``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import Max

from costing.choices import QuoteStatus
from costing.models import CoatingSystem, Customer, Estimate, Quote, QuoteOption
from costing.services.estimating import PricedOption, UnpricedOption, price_all
from costing.services.extras import ExtraChoice, trouble_with_extras, write_extras
from costing.services.freezing import freeze
from costing.snapshots import write_snapshot
from finishing.fields import to_step
from finishing.models import Shop, User
from finishing.show import day, money

MOST_OPTIONS = 3
_TRIES = 20
_AREA_STEP = Decimal("0.000001")


class QuoteError(ValueError):
    """A quote that cannot be made or moved; ``field`` names the form's field, empty for the whole."""

    def __init__(self, message: str, *, field: str = "") -> None:
        self.field = field
        super().__init__(message)


class QuoteStateError(QuoteError):
    """A change that the quote's state no longer allows: somebody was faster, or the day has passed."""


class KeyTakenError(QuoteError):
    """The key of another submission."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionChoice:
    """A system to offer, under a label. ``seen_net`` is the price that the person saw; None when none was shown."""

    system: CoatingSystem
    label: str
    seen_net: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What a person decides about a quote; the prices follow from the estimate."""

    customer: Customer
    valid_until: date
    options: Sequence[OptionChoice]
    title: str = ""  # the estimate's name when empty
    introduction: str = ""
    terms: str = ""
    deposit_share: Decimal = Decimal(0)  # of the price with tax
    extras: Sequence[ExtraChoice] = ()


def create_quote(*, key: UUID, by: User, estimate: Estimate, offer: Offer, on: date) -> Quote:
    """Freeze the estimate's prices into a new draft, in one transaction.

    The same key by the same person gives the first quote again. Raises QuoteError for a bad choice or date and for a
    system that cannot be priced, KeyTakenError for a key of somebody else.
    """
    return _write(key=key, by=by, estimate=estimate, offer=offer, on=on, old=None)


def revise_quote(*, key: UUID, by: User, quote: Quote, offer: Offer, on: date) -> Quote:
    """Make the next revision from the estimate as it is now; the old one is marked as replaced.

    Raises QuoteStateError when it was accepted or replaced meanwhile, else as ``create_quote``.
    """
    return _write(key=key, by=by, estimate=quote.estimate, offer=offer, on=on, old=quote)


def _write(*, key: UUID, by: User, estimate: Estimate, offer: Offer, on: date, old: Quote | None) -> Quote:
    for _ in range(_TRIES):
        with transaction.atomic():
            made = _find(key=key, by=by, estimate=estimate, old=old)
            if made is not None:
                return made
            replaced = _lock_for_revision(old) if old is not None else None
            _check(offer, on)
            chosen = _price(estimate, offer, on)
            try:
                with transaction.atomic():
                    quote = _insert(key=key, by=by, estimate=estimate, offer=offer, on=on, replaced=replaced)
            except IntegrityError:
                continue  # the number, or the key, was taken a moment ago: look again
            _insert_options(quote, offer, chosen, on)
            write_extras(quote, offer.extras)
            if replaced is not None:
                _move(replaced, QuoteStatus.REPLACED, on)
            return quote
    raise QuoteError("Many quotes are being written at this moment. Send the form again; nothing was saved.")


def _find(*, key: UUID, by: User, estimate: Estimate, old: Quote | None) -> Quote | None:
    """The quote that this very submission made before, if it did."""
    made = Quote.objects.filter(key=key).first()
    if made is None:
        return None
    same = made.created_by_id == by.pk and made.estimate_id == estimate.pk
    if not same or (old.number if old else made.number) != made.number or (old is None) != (made.revision == 1):
        raise KeyTakenError("This form belongs to another quote. Reload the page and send it again; nothing was saved.")
    return made


def _lock_for_revision(old: Quote) -> Quote:
    current = Quote.objects.select_for_update().get(pk=old.pk)
    if current.status == QuoteStatus.ACCEPTED:
        raise QuoteStateError(f"{current.label} was accepted on {day(current.status_on)}. Write a new quote instead.")
    if current.status == QuoteStatus.REPLACED:
        raise QuoteStateError(f"{current.label} has been replaced by a later revision. Revise that one.")
    return current


def _check(offer: Offer, on: date) -> None:
    """What a form should have caught, refused for every caller."""
    if not offer.options:
        raise QuoteError("Choose at least one system to offer.", field="options")
    if len(offer.options) > MOST_OPTIONS:
        raise QuoteError(f"A quote offers up to three systems, not {len(offer.options)}. Untick some of them.", field="options")
    if len({choice.system.pk for choice in offer.options}) < len(offer.options):
        raise QuoteError("Each system can be offered once.", field="options")
    if not 0 <= offer.deposit_share <= 1:
        raise QuoteError("A deposit is a share of the price, from 0 to 100 %.", field="deposit_share")
    if trouble := trouble_with_extras(offer.extras, currency=Shop.current().currency):
        raise QuoteError(trouble, field="extras")
    if offer.valid_until < on:
        raise QuoteError(f"This day has passed. Choose {day(on)} or later.", field="valid_until")


def _price(estimate: Estimate, offer: Offer, on: date) -> list[PricedOption]:
    """The chosen systems priced now; refused where one cannot be priced or costs other than the person saw."""
    priced = {option.system.pk: option for option in price_all(estimate, on=on)}
    chosen = []
    for choice in offer.options:
        option = priced.get(choice.system.pk)
        if option is None:
            raise QuoteError(f"{choice.system.name} is no longer part of this estimate. Reload the page.", field="options")
        if isinstance(option, UnpricedOption):
            why = " ".join(problem.text for problem in option.problems)
            raise QuoteError(f"{choice.system.name} cannot be priced: {why}", field="options")
        if not option.result.takeoff.area:
            raise QuoteError("The takeoff has no area yet. Enter what is to be finished first.", field="options")
        if choice.seen_net is not None and choice.seen_net != option.price.net:
            raise QuoteError(
                f"The price of {choice.system.name} is {money(option.price.net)} now; this page showed {money(choice.seen_net)}. "
                "Look at the prices below and send the form again; nothing was saved.",
                field="options",
            )
        chosen.append(option)
    return chosen


def _insert(*, key: UUID, by: User, estimate: Estimate, offer: Offer, on: date, replaced: Quote | None) -> Quote:
    shop = Shop.current()
    if replaced is None:
        number = (Quote.objects.aggregate(highest=Max("number"))["highest"] or 0) + 1
        revision = 1
    else:
        number = replaced.number
        revision = (Quote.objects.filter(number=number).aggregate(highest=Max("revision"))["highest"] or 0) + 1
    return Quote.objects.create(
        key=key,
        number=number,
        revision=revision,
        estimate=estimate,
        customer=offer.customer,
        title=offer.title.strip() or estimate.name,
        customer_block=customer_block(offer.customer),
        introduction=offer.introduction,
        terms=offer.terms,
        currency=shop.currency,
        tax_name=shop.tax_name,
        tax_rate=shop.tax_rate,
        deposit_share=offer.deposit_share,
        issued_on=on,
        valid_until=offer.valid_until,
        created_by=by,
    )


def _insert_options(quote: Quote, offer: Offer, chosen: Sequence[PricedOption], on: date) -> None:
    QuoteOption.objects.bulk_create(
        QuoteOption(
            quote=quote,
            position=position,
            label=choice.label.strip() or option.system.name[:60],
            system=option.system,
            system_name=option.system.name,
            customer_text=option.system.customer_text,
            area=Decimal(str(option.result.takeoff.area)).quantize(_AREA_STEP),
            cost=to_step(option.shown.true_cost),
            net=to_step(option.price.net),
            tax=to_step(option.price.tax),
            total=to_step(option.price.total),
            snapshot=write_snapshot(freeze(option, on=on)),
        )
        for position, (choice, option) in enumerate(zip(offer.options, chosen, strict=True), start=1)
    )


def customer_block(customer: Customer) -> str:
    """Name, contact and address as they are printed, one line each."""
    lines = (customer.name, customer.contact, *customer.address.splitlines())
    return "\n".join(line.strip() for line in lines if line.strip())


@transaction.atomic
def send_quote(*, quote: Quote, on: date) -> Quote:
    """Note that a draft went out to the customer. Raises QuoteStateError when it is no draft or has lapsed."""
    current = Quote.objects.select_for_update().get(pk=quote.pk)
    if current.status != QuoteStatus.DRAFT:
        raise _stale(current)
    _refuse_lapsed(current, on)
    return _move(current, QuoteStatus.SENT, on)


@transaction.atomic
def decline_quote(*, quote: Quote, reason: str, on: date) -> Quote:
    """Note that the customer said no, and why. Raises QuoteStateError when no answer is awaited."""
    if not reason.strip():
        raise QuoteError("Say in a few words why, so that the next price can learn from it.", field="reason")
    current = Quote.objects.select_for_update().get(pk=quote.pk)
    if current.status != QuoteStatus.SENT:
        raise _stale(current)
    current.decline_reason = reason.strip()[:300]
    return _move(current, QuoteStatus.DECLINED, on)


def _refuse_lapsed(quote: Quote, on: date) -> None:
    if quote.has_lapsed(on):
        raise QuoteStateError(f"{quote.label} was valid until {day(quote.valid_until)}. Make a revision with today’s prices.")


def _stale(quote: Quote) -> QuoteStateError:
    """Why a quote in this state cannot be moved that way."""
    on = f" on {day(quote.status_on)}" if quote.status_on else ""
    said = {
        QuoteStatus.DRAFT: f"{quote.label} is still a draft. Mark it as sent first.",
        QuoteStatus.SENT: f"{quote.label} was marked as sent already{on}.",
        QuoteStatus.ACCEPTED: f"{quote.label} was accepted already{on}.",
        QuoteStatus.DECLINED: f"{quote.label} was declined{on}.",
        QuoteStatus.REPLACED: f"{quote.label} has been replaced by a later revision.",
    }
    return QuoteStateError(f"{said[QuoteStatus(quote.status)]} Nothing was changed.")


def _move(quote: Quote, status: QuoteStatus, on: date) -> Quote:
    quote.status, quote.status_on = status, on
    quote.save(update_fields=["status", "status_on", "decline_reason"])
    return quote


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceChange:
    """What became of an option from one revision to the next."""

    label: str
    system_name: str
    before: Decimal | None  # net; None: not offered then
    after: Decimal | None  # net; None: no longer offered

    @property
    def difference(self) -> Decimal | None:
        """After less before; None where one of them is missing."""
        return None if self.before is None or self.after is None else self.after - self.before


def changes_since(quote: Quote) -> tuple[PriceChange, ...]:
    """What this revision changed against the one before it, by system; nothing for a first quote."""
    if quote.revision == 1:
        return ()
    former = Quote.objects.filter(number=quote.number, revision__lt=quote.revision).order_by("-revision").first()
    if former is None:
        return ()
    before = {option.system_id: option for option in former.options.all()}
    after = {option.system_id: option for option in quote.options.all()}
    options = tuple(
        PriceChange(
            label=(after.get(pk) or before[pk]).label,
            system_name=(after.get(pk) or before[pk]).system_name,
            before=before[pk].net if pk in before else None,
            after=after[pk].net if pk in after else None,
        )
        for pk in {**after, **before}
    )
    return options + _extra_changes(former, quote)


def _extra_changes(former: Quote, quote: Quote) -> tuple[PriceChange, ...]:
    """What became of the extras, by name."""
    before = {extra.name: extra.net for extra in former.extras.all()}
    after = {extra.name: extra.net for extra in quote.extras.all()}
    return tuple(
        PriceChange(label=f"Extra: {name}", system_name="", before=before.get(name), after=after.get(name))
        for name in {**after, **before}
    )
