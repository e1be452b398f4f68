"""Is it alive, and is it ready: two different questions."""

from typing import Any

from django.db import Error, connection
from django.http import HttpRequest, JsonResponse
from django.utils import timezone

from coop.jobs import bell
from coop.jobs.queries import due_runs, stuck_runs


def live(request: HttpRequest) -> JsonResponse:
    """The process answers."""
    return JsonResponse({"status": "alive"})


def ready(request: HttpRequest) -> JsonResponse:
    """Database and broker answer; also how long the oldest due job waits, and what is stuck.

    Without its database it serves nothing: 503. Without its broker it serves all the same, and
    work is done as soon as a bell is heard again: degraded, but ready.
    """
    checks: dict[str, Any] = {"database": _database(), "broker": _broker()}
    if checks["database"] != "ok":
        return JsonResponse({"status": "not ready", **checks}, status=503)
    checks["oldest_due_job_s"] = _oldest_due_s()
    checks["oldest_urgent_job_s"] = _oldest_due_s(urgent_only=True)
    checks["stuck_jobs"] = stuck_runs(now=timezone.now()).count()
    rings = checks["broker"] in ("ok", "none: local runner")
    return JsonResponse({"status": "ready" if rings else "degraded", **checks})


def _database() -> str:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except Error:
        return "does not answer"
    return "ok"


def _broker() -> str:
    if not bell.has_broker():
        return "none: local runner"
    from coop.celery import app

    with app.connection_for_write() as broker:
        try:
            broker.ensure_connection(max_retries=0, timeout=2)
        except Exception:  # whatever a broker's client raises when its server is away
            return "does not answer"
    return "ok"


def _oldest_due_s(*, urgent_only: bool = False) -> float:
    now = timezone.now()
    due = due_runs(now=now, urgent_only=urgent_only)
    oldest = due.order_by("due_at").values_list("due_at", flat=True).first()
    return round((now - oldest).total_seconds(), 1) if oldest else 0.0
