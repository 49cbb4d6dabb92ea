"""An accepted quote names the option that was chosen and leads to the job that came of it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from uuid import uuid4

from django.test import Client
from django.urls import reverse

from costing.services.jobs import accept_quote
from finishing.models import User
from tests.costing.pricing.door_shop import TODAY, DoorShop


def test_the_chosen_option_and_the_job_stand_on_the_page(doors: DoorShop, as_: Callable[[User], Client], estimator: User) -> None:
    thick = doors.add_system("Thick finish")
    doors.estimate.options.create(position=2, system=thick)
    quote = doors.quote(doors.system, thick, sent=True)
    url = reverse("quote", args=[quote.pk])
    browser = as_(estimator)
    assert "Option chosen" not in browser.get(url).text
    option = quote.options.get(system=thick)
    job = accept_quote(
        key=uuid4(), by=estimator, quote=quote, option=option, starts_on=TODAY() + timedelta(days=3), today=TODAY()
    )
    page = browser.get(url).text
    assert "<dt>Option chosen</dt><dd>Thick finish" in page
    assert f'<a href="{reverse("job", args=[job.pk])}">{job.number}' in page
