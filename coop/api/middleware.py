"""A request id for logs and for the audit record."""

import uuid
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from coop.audit import services as audit

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
