"""The page that a metrics collector reads."""

import secrets

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from prometheus_client import CONTENT_TYPE_LATEST

from coop.telemetry.metrics import exposition


def metrics(request: HttpRequest) -> HttpResponse:
    """Metrics for whoever sends ``COOP_METRICS_TOKEN`` as a bearer token; else not found."""
    if not _is_collector(request):
        raise Http404
    return HttpResponse(exposition(), content_type=CONTENT_TYPE_LATEST)


def _is_collector(request: HttpRequest) -> bool:
    token = settings.METRICS_TOKEN
    given = request.headers.get("Authorization", "")
    return bool(token) and secrets.compare_digest(given.encode(), f"Bearer {token}".encode())
