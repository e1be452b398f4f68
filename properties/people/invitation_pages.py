"""The page behind the link of an invitation: choose a password, once."""

from typing import Any

from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.csrf import csrf_protect
from django.views.decorators.http import require_http_methods

from properties.people import invitations


@csrf_protect
@require_http_methods(["GET", "POST"])
def invitation(request: HttpRequest, token: str) -> HttpResponse:
    """Reading the page makes nothing, since scanners of mail follow links; the POST does."""
    try:
        person = invitations.invited(token)
    except invitations.InvitationDoesNotHold:
        return _page(request, {"state": "unknown"}, status=404)
    told = {"email": person.email, "cooperative": person.cooperative.name, "name": person.name}
    if request.method == "GET":
        return _page(request, told | {"state": "asked"})
    return _accept(request, token, told)


def _accept(request: HttpRequest, token: str, told: dict[str, Any]) -> HttpResponse:
    password = request.POST.get("password", "")
    if password != request.POST.get("again", ""):
        return _page(request, told | {"state": "asked", "errors": ["The two differ."]}, status=400)
    try:
        invitations.accept(link=token, password=password, now=timezone.now())
    except ValidationError as weak:
        return _page(request, told | {"state": "asked", "errors": weak.messages}, status=400)
    except invitations.AddressTaken:
        return _page(request, told | {"state": "taken"}, status=409)
    except invitations.InvitationDoesNotHold:
        return _page(request, {"state": "unknown"}, status=404)
    return _page(request, told | {"state": "made"}, status=201)


def _page(request: HttpRequest, told: dict[str, Any], *, status: int = 200) -> HttpResponse:
    answer = render(request, "people/invitation.html", told, status=status)
    answer["Cache-Control"] = "private, no-store"
    answer["Referrer-Policy"] = "no-referrer"
    return answer
