"""The charset beside a media type, before anything reads the request by it."""

from collections.abc import Callable, Iterable
from email.message import Message
from typing import Any

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
