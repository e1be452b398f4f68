"""A request id for logs and for the audit record, and one log line for each request."""

import logging
import sys
import time
import uuid
from collections.abc import Callable

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.urls import reverse
from django.views.defaults import page_not_found, server_error

from coop.api.problems import MEDIA_TYPE, TYPE_PREFIX, NotFound, Problem, trouble_here
from coop.telemetry import context
from coop.telemetry.logs import route_of
from coop.telemetry.metrics import REQUEST_SECONDS

API = "/api/"
GetResponse = Callable[[HttpRequest], HttpResponse]
requests_log = logging.getLogger("coop.requests")


def request_identity(get_response: GetResponse) -> GetResponse:
    """Give every request an id, tell it in the answer, and log what was asked and how it went."""

    def middleware(request: HttpRequest) -> HttpResponse:
        request_token = context.request_id.set(uuid.uuid4().hex)
        actor_token = context.actor.set("")
        began = time.perf_counter()
        try:
            response = get_response(request)
            response["X-Request-ID"] = context.request_id.get()
            _observe(request, response, time.perf_counter() - began)
        finally:
            context.actor.reset(actor_token)
            context.request_id.reset(request_token)
        return response

    return middleware


def kept_from_caches(get_response: GetResponse) -> GetResponse:
    """What the API answers is for whoever asked: no cache keeps it, unless its view says how.

    It stands outside the views, for a ``no-store`` of theirs marks a secret that is told once.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if request.path.startswith(API) and request.path != reverse("schema"):
            response.setdefault("Cache-Control", "private, no-store")
        return response

    return middleware


def _observe(request: HttpRequest, response: HttpResponse, taken_s: float) -> None:
    """Routes are told by their pattern: an address may hold a secret, a query a position."""
    method, route, status = request.method or "", route_of(request), response.status_code
    REQUEST_SECONDS.labels(method, route, f"{status // 100}xx").observe(taken_s)
    requests_log.info(
        "%s %s %d",
        method,
        route,
        status,
        extra={
            "method": method,
            "route": route,
            "status": status,
            "duration_ms": round(1000 * taken_s, 1),
        },
    )


def no_such_page(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """An unknown address: problem details under the API, a plain page elsewhere."""
    if not request.path.startswith(API):
        return page_not_found(request, exception or Http404())
    return _problem(NotFound("Nothing is served at this address; /api/v1/schema/ lists what is."))


def failed(request: HttpRequest) -> HttpResponse:
    """What nothing else caught: a database that is away is no fault of the program, nor a full
    disk.

    Wherever it was met (while a session was read, at a commit, in the admin) the answer is the
    same 503, so that whoever asked tries again.
    """
    trouble = trouble_here(sys.exception())
    if trouble is not None:
        return _problem(trouble)
    if not request.path.startswith(API):
        return server_error(request)
    unexpected = Problem("The fault lies here, and was logged.", code="failed")
    unexpected.status, unexpected.title = 500, "The request failed"
    return _problem(unexpected)


def _problem(problem: Problem) -> HttpResponse:
    body = {
        "type": TYPE_PREFIX + problem.code,
        "title": problem.title,
        "status": problem.status,
        "code": problem.code,
        "detail": problem.detail,
    }
    return JsonResponse(
        body, status=problem.status, headers=problem.headers, content_type=MEDIA_TYPE
    )
