"""A tablet keeps copies of pages for a lost network; what waits to be said is said on the next page that a person sees."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from finishing.models import User

pytestmark = pytest.mark.django_db


def test_the_words_after_an_action_wait_for_a_person(client: Client) -> None:
    client.force_login(User.objects.create_user("o", password="x", is_owner=True))
    page = client.get(reverse("shop_settings"))
    typed = {field.html_name: "" if field.value() is None else field.value() for field in page.context["form"]}
    assert client.post(reverse("shop_settings"), typed).status_code == 302
    kept = client.get(reverse("desk_owner"), headers={"X-Keep-Page": "1"}).text
    seen = client.get(reverse("desk_owner")).text
    again = client.get(reverse("desk_owner")).text
    assert ["message-success" in text for text in (kept, seen, again)] == [False, True, False]
