"""Ending a subscription by the link in a letter: a page that asks, and a POST that does it."""

from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from coop.outbox import preferences


# The signed link is the proof: a mailbox that ends a subscription for its reader has no cookie.
@csrf_exempt
@require_http_methods(["GET", "POST"])
def unsubscribe(request: HttpRequest, token: str) -> HttpResponse:
    """Reading the page ends nothing, since scanners of mail follow links; the POST does."""
    try:
        email, subscription = preferences.read_unsubscribe_token(token)
    except signing.BadSignature:
        return _page(request, {"state": "unknown"}, status=404)
    told = {"email": email, "what": preferences.SUBSCRIPTIONS.get(subscription, subscription)}
    if request.method == "GET":
        return _page(request, told | {"state": "asked"})
    preferences.end_subscription(email=email, subscription=subscription)
    return _page(request, told | {"state": "ended"})


def _page(request: HttpRequest, told: dict[str, str], *, status: int = 200) -> HttpResponse:
    answer = render(request, "outbox/unsubscribe.html", told, status=status)
    answer["Cache-Control"] = "private, no-store"
    answer["Referrer-Policy"] = "no-referrer"
    return answer
