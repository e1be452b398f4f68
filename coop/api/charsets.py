"""What comes in before any of our own views reads it: charsets, and the forms of OAuth."""

from collections.abc import Callable, Iterable
from email.message import Message
from functools import wraps
from typing import Any

from django.db import DataError
from django.http import HttpRequest, HttpResponseBase, JsonResponse

Application = Callable[[dict[str, Any], Any], Iterable[bytes]]


def readable(application: Application) -> Application:
    """Leave out a charset that writes no text, such as ``zip``: the framework fails on it.

    One that nobody knows is passed over there already. JSON is read as UTF-8 in any case.
    """

    def asked(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        told = Message()
        told["Content-Type"] = environ.get("CONTENT_TYPE", "")
        charset = told.get_param("charset")
        if charset is not None and not _writes_text(charset):
            told.del_param("charset")
            environ["CONTENT_TYPE"] = told["Content-Type"]
        return application(environ, start_response)

    return asked


def _writes_text(charset: Any) -> bool:
    try:
        "".encode(str(charset))
    except (LookupError, ValueError):
        return False
    return True


def refusing_unstorable(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
    """A view of the OAuth library that looks up what came in, whatever it is.

    What no column takes, such as a NUL, names nothing: ``invalid_request`` (RFC 6749, 5.2).
    """

    @wraps(view)
    def asked(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        try:
            return view(request, *args, **kwargs)
        except DataError:
            return JsonResponse({"error": "invalid_request"}, status=400)

    return asked
