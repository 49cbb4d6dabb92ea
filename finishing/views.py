"""The front door: where a person lands after signing in."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from finishing.roles import Role

DESKS = {
    Role.OWNER: "desk_owner",
    Role.OFFICE: "desk_buying",
    Role.ESTIMATOR: "desk_pricing",
    Role.FINISHER: "spray_room",
}


def home(request: HttpRequest) -> HttpResponse:
    """Send a person to the desk of their role; somebody without a role is told whom to ask."""
    for role, url_name in DESKS.items():
        if role in request.user.roles:  # type: ignore[union-attr]
            return redirect(url_name)
    return render(request, "finishing/no_role.html", status=403)
