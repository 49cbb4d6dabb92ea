"""Days are those of the shop's place, not of the server's."""

from __future__ import annotations

from datetime import UTC, datetime
from unittest import mock

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from finishing.models import Shop, User
from finishing.show_middleware import PreferencesMiddleware

pytestmark = pytest.mark.django_db

LATE = datetime(2026, 5, 1, 3, 30, tzinfo=UTC)  # still the evening before in Chicago


def day_in_a_request(user: User) -> str:
    request = HttpRequest()
    request.user = user
    with mock.patch("django.utils.timezone.now", return_value=LATE):
        answer = PreferencesMiddleware(lambda _request: HttpResponse(timezone.localdate().isoformat()))(request)
    return answer.content.decode()


@pytest.mark.parametrize(("zone", "day"), [("", "2026-05-01"), ("America/Chicago", "2026-04-30"), ("Nowhere/Gone", "2026-05-01")])
def test_the_shops_place_decides_the_day(zone: str, day: str) -> None:
    Shop(time_zone=zone).save()
    before = timezone.get_current_timezone_name()
    assert day_in_a_request(User.objects.create_user("a", password="x", is_office=True)) == day
    assert timezone.get_current_timezone_name() == before


def test_it_is_chosen_in_the_shops_settings(client: Client) -> None:
    client.force_login(User.objects.create_user("o", password="x", is_owner=True))
    page = client.get(reverse("shop_settings"))
    typed = {name: value for name, value in page.context["form"].initial.items() if value is not None}
    bad = client.post(reverse("shop_settings"), {**typed, "time_zone": "Mars/Olympus"})
    assert bad.context["form"].errors["time_zone"] == ["Choose one of those listed."]
    assert not Shop.objects.exists()
    good = {field.html_name: field.value() for field in page.context["form"]}
    client.post(reverse("shop_settings"), {**{k: "" if v is None else v for k, v in good.items()}, "time_zone": "Europe/Madrid"})
    assert Shop.current().time_zone == "Europe/Madrid"
