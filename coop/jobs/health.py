"""Is it alive, and is it ready: two different questions."""

from typing import Any

from django.db import DatabaseError, connection
from django.http import HttpRequest, JsonResponse
from django.utils import timezone

from coop.jobs import bell
from coop.jobs.models import JobRun, JobState
from coop.jobs.queries import stuck_runs


def live(request: HttpRequest) -> JsonResponse:
    """The process answers."""
    return JsonResponse({"status": "alive"})


def ready(request: HttpRequest) -> JsonResponse:
    """Database and broker answer; also how long the oldest due job waits, and what is stuck."""
    checks: dict[str, Any] = {"database": _database(), "broker": _broker()}
    if checks["database"] == "ok":
        checks["oldest_due_job_s"] = _oldest_due_job_s()
        checks["stuck_jobs"] = stuck_runs(now=timezone.now()).count()
    healthy = checks["database"] == "ok" and checks["broker"] in ("ok", "none: local runner")
    return JsonResponse(
        {"status": "ready" if healthy else "not ready", **checks}, status=200 if healthy else 503
    )


def _database() -> str:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        return "does not answer"
    return "ok"


def _broker() -> str:
    if not bell.has_broker():
        return "none: local runner"
    from coop.celery import app

    with app.connection_for_write() as broker:
        lost: tuple[type[BaseException], ...] = (OSError, *broker.connection_errors)
        try:
            broker.ensure_connection(max_retries=0, timeout=2)
        except lost:
            return "does not answer"
    return "ok"


def _oldest_due_job_s() -> float:
    now = timezone.now()
    oldest = (
        JobRun.objects.filter(state=JobState.QUEUED, due_at__lte=now)
        .order_by("due_at")
        .values_list("due_at", flat=True)
        .first()
    )
    return round((now - oldest).total_seconds(), 1) if oldest else 0.0
