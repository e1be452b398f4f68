"""A request id for logs and for the audit record."""

import uuid
from collections.abc import Callable

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.views.defaults import page_not_found

from coop.api.problems import MEDIA_TYPE, TYPE_PREFIX, NotFound
from coop.audit import services as audit

API = "/api/"
GetResponse = Callable[[HttpRequest], HttpResponse]


def request_identity(get_response: GetResponse) -> GetResponse:
    """Give every request an id, and tell it in the answer."""

    def middleware(request: HttpRequest) -> HttpResponse:
        token = audit.request_id.set(uuid.uuid4().hex)
        try:
            response = get_response(request)
            response["X-Request-ID"] = audit.request_id.get()
        finally:
            audit.request_id.reset(token)
        return response

    return middleware


def no_such_page(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """An unknown address: problem details under the API, a plain page elsewhere."""
    if not request.path.startswith(API):
        return page_not_found(request, exception or Http404())
    body = {
        "type": TYPE_PREFIX + NotFound.code,
        "title": NotFound.title,
        "status": NotFound.status,
        "code": NotFound.code,
        "detail": "Nothing is served at this address; /api/v1/schema/ lists what is.",
    }
    return JsonResponse(body, status=NotFound.status, content_type=MEDIA_TYPE)
