"""Errors as problem details (RFC 9457) with a stable code and a pointer for each field."""

import errno
import logging
import shutil
import sqlite3
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, InterfaceError, OperationalError, connection
from django.http import Http404
from rest_framework import exceptions, status
from rest_framework.permissions import SAFE_METHODS
from rest_framework.response import Response
from rest_framework.views import exception_handler, set_rollback

from coop.access.actors import MemberNotAllowed, OutOfScope
from coop.api.model_errors import items_of, told
from coop.sealing.seals import CannotOpen
from coop.telemetry.metrics import REFUSALS

logger = logging.getLogger(__name__)

MEDIA_TYPE = "application/problem+json"
# Locked, shutting down, restarting, out of connections; or a connection that was lost.
DATABASE_AWAY = (OperationalError, InterfaceError)
# A disk or a quota that is used up, as the system and PostgreSQL say it.
_NO_ROOM = frozenset({errno.ENOSPC, errno.EDQUOT})
_NO_ROOM_SQLSTATE = "53100"
_LEAST_FREE_BYTES = 64 * 1024
TYPE_PREFIX = "/docs/problems#"

Place = Callable[[str], str]


class Problem(Exception):
    """An expected answer other than success. ``code`` is stable and documented."""

    status: int = status.HTTP_409_CONFLICT
    code = "conflict"
    title = "The request conflicts with the present state"

    def __init__(
        self,
        detail: str,
        *,
        code: str | None = None,
        members: Mapping[str, Any] | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(detail)
        self.detail = detail
        self.code = code or type(self).code
        self.members = dict(members or {})
        self.headers = dict(headers or {})


class InvalidInput(Problem):
    """What was sent cannot be used; ``errors`` name each field by JSON pointer."""

    status = status.HTTP_400_BAD_REQUEST
    code = "invalid_input"
    title = "The input cannot be used"

    def __init__(self, detail: str, *, errors: Sequence[Mapping[str, str]] = ()) -> None:
        super().__init__(detail, members={"errors": [dict(error) for error in errors]})


class NotAllowed(Problem):
    """The caller may see the object, but may not do this to it; ``errors`` name the members of
    what was sent without which they might."""

    status = status.HTTP_403_FORBIDDEN
    code = "not_allowed"
    title = "You may not do this"

    def __init__(self, detail: str, *, errors: Sequence[Mapping[str, str]] = ()) -> None:
        members = {"errors": [dict(error) for error in errors]} if errors else {}
        super().__init__(detail, members=members)


class WrongOrder(Problem):
    """The object is not in the state that this step begins from."""

    code = "wrong_order"
    title = "Not in this order"


class NotFound(Problem):
    """There is no such object, or the caller may not know of it."""

    status = status.HTTP_404_NOT_FOUND
    code = "not_found"
    title = "There is no such object"


class PreconditionFailed(Problem):
    status = status.HTTP_412_PRECONDITION_FAILED
    code = "changed_meanwhile"
    title = "The object was changed meanwhile"


class PreconditionRequired(Problem):
    status = status.HTTP_428_PRECONDITION_REQUIRED
    code = "if_match_required"
    title = "Send If-Match with the ETag you read"


class KeyReused(Problem):
    status = status.HTTP_422_UNPROCESSABLE_ENTITY
    code = "idempotency_key_reused"
    title = "The idempotency key belongs to another request"


class Busy(Problem):
    """The database is busy or away for a moment; the same request may be sent again."""

    status = status.HTTP_503_SERVICE_UNAVAILABLE
    code = "busy"
    title = "Busy for the moment"

    def __init__(self) -> None:
        super().__init__("The database is busy; try again.", headers={"Retry-After": "2"})


class NoRoom(Problem):
    """A disk of the server is full; nothing was written. Whoever runs it makes room."""

    status = status.HTTP_503_SERVICE_UNAVAILABLE
    code = "no_room"
    title = "The server has no room left"

    def __init__(self) -> None:
        super().__init__(
            "A disk of the server is full; nothing of this was kept.", headers={"Retry-After": "60"}
        )


class NoPaper(Problem):
    """This server cannot make PDFs; the detail names the library of the system it lacks."""

    status = 503
    code = "no_paper"
    title = "No PDF can be made here"


class KeyLost(Problem):
    """Something sealed does not open; whoever runs the server has to put the former key back."""

    status = status.HTTP_503_SERVICE_UNAVAILABLE
    code = "key_lost"
    title = "None of the server's keys opens it"


class Refused(Problem):
    """House rules objected; ``refusals`` lists every objection."""

    code = "refused_by_house_rules"
    title = "House rules object"

    def __init__(self, detail: str, *, refusals: Sequence[Mapping[str, Any]]) -> None:
        super().__init__(detail, members={"refusals": [dict(refusal) for refusal in refusals]})


def problem_response(problem: Problem) -> Response:
    body = {
        "type": TYPE_PREFIX + problem.code,
        "title": problem.title,
        "status": problem.status,
        "code": problem.code,
        "detail": problem.detail,
        **problem.members,
    }
    return Response(body, status=problem.status, headers=problem.headers, content_type=MEDIA_TYPE)


def answer_problem(error: Exception, context: dict[str, Any]) -> Response | None:
    """The exception handler of the API: every expected error leaves as problem details."""
    if isinstance(error, Problem):
        set_rollback()
        _count(error)
        return problem_response(error)
    place = _place_in(context)
    translated = _translate(error, place)
    if translated is not None:
        set_rollback()
        return problem_response(translated)
    answer = exception_handler(error, context)
    if answer is None or not isinstance(error, exceptions.APIException):
        return answer
    return _from_framework(error, answer, place)


def _place_in(context: Mapping[str, Any]) -> Place:
    """A question has no body: whatever is wrong with one stands in its query."""
    request = context.get("request")
    return _in_query if request is not None and request.method in SAFE_METHODS else str


def _in_query(pointer: str) -> str:
    """``?last_on`` for ``#/last_on``; a parameter that holds several values is told once."""
    return "?" + pointer.removeprefix("#").removeprefix("/").partition("/")[0]


def _count(problem: Problem) -> None:
    if isinstance(problem, Refused):
        for refusal in problem.members["refusals"]:
            REFUSALS.labels(refusal["code"]).inc()


def _translate(error: Exception, place: Place) -> Problem | None:
    if isinstance(error, Http404):
        return NotFound("Nothing is found here, or nothing that you may see.")
    if isinstance(error, ValidationError):
        return _invalid(error, place)
    if isinstance(error, PermissionDenied):
        return _not_allowed(error, place)
    if isinstance(error, IntegrityError):
        logger.info("a database constraint refused a write: %s", error)
        return Problem(
            "Another request changed the same thing first, or it already exists.",
            code="already_exists",
        )
    return trouble_here(error)


def _not_allowed(error: PermissionDenied, place: Place) -> Problem:
    if isinstance(error, OutOfScope):
        return NotAllowed(f"This needs the scope {error.scope}: ask for a token that has it.")
    if not isinstance(error, MemberNotAllowed):
        return NotAllowed("Your role does not allow this.")
    pointer = place(f"#/{error.member}")
    fault = {"pointer": pointer, "detail": error.why, "code": NotAllowed.code}
    return NotAllowed(f"{pointer}: {error.why}", errors=[fault])


def trouble_here(error: BaseException | None) -> Problem | None:
    """What no caller can mend: a lost key, a full disk, a database that is away."""
    if isinstance(error, CannotOpen):
        logger.error("none of the sealing keys opens %s", error)
        return KeyLost("It was sealed under a key that this server does not have any more.")
    if _has_no_room(error):
        logger.error("a disk is full: %s", error)
        return NoRoom()
    if isinstance(error, DATABASE_AWAY):
        logger.warning("the database is busy or away: %s", error)
        return Busy()
    return None


def _has_no_room(error: BaseException | None) -> bool:
    if not isinstance(error, OperationalError):
        return isinstance(error, OSError) and error.errno in _NO_ROOM
    if getattr(error.__cause__, "sqlstate", None) == _NO_ROOM_SQLSTATE:
        return True
    code = getattr(error.__cause__, "sqlite_errorcode", 0)
    # Where not even the index of its log can be made, SQLite says only that input or output failed.
    is_of_the_disk = code & 0xFF == sqlite3.SQLITE_IOERR and _free_bytes() < _LEAST_FREE_BYTES
    return code == sqlite3.SQLITE_FULL or is_of_the_disk


def _free_bytes() -> int:
    """Of the disk that an SQLite database lies on."""
    return shutil.disk_usage(Path(str(connection.settings_dict["NAME"])).parent).free


def _invalid(error: ValidationError, place: Place) -> Problem:
    """A model's own validation, whether a value is bad or another row holds it."""
    errors = [item | {"pointer": place(item["pointer"])} for item in items_of(error)]
    return InvalidInput(told(errors), errors=errors)


def _from_framework(error: exceptions.APIException, answer: Response, place: Place) -> Response:
    code, title = _CODES.get(answer.status_code, ("error", "The request failed"))
    members: dict[str, Any] = {}
    detail = str(error.detail) if isinstance(error.detail, str) else title
    if isinstance(error, exceptions.ValidationError):
        members["errors"] = [
            item | {"pointer": place(item["pointer"])} for item in field_errors(error.detail)
        ]
        detail = "; ".join(f"{item['pointer']}: {item['detail']}" for item in members["errors"])
    body = {
        "type": TYPE_PREFIX + code,
        "title": title,
        "status": answer.status_code,
        "code": code,
        "detail": detail,
        **members,
    }
    headers = {name: value for name, value in answer.headers.items() if name != "Content-Type"}
    return Response(body, status=answer.status_code, headers=headers, content_type=MEDIA_TYPE)


def field_errors(detail: Any, pointer: str = "#") -> Any:
    """Flatten the framework's nested error detail to ``{pointer, detail, code}`` items."""
    if isinstance(detail, Mapping):
        for name, inner in detail.items():
            part = "" if name == "non_field_errors" else f"/{name}"
            yield from field_errors(inner, pointer + part)
    elif isinstance(detail, list | tuple):
        for index, inner in enumerate(detail):
            nested = isinstance(inner, Mapping | list | tuple)
            yield from field_errors(inner, f"{pointer}/{index}" if nested else pointer)
    else:
        yield {
            "pointer": pointer,
            "detail": str(detail),
            "code": str(getattr(detail, "code", "invalid")),
        }


_CODES: dict[int, tuple[str, str]] = {
    400: ("invalid_input", "The input cannot be used"),
    401: ("not_signed_in", "A valid credential is needed"),
    403: ("not_allowed", "You may not do this"),
    404: ("not_found", "There is no such object"),
    405: ("method_not_allowed", "This method is not offered here"),
    406: ("not_acceptable", "No representation fits the Accept header"),
    415: ("unsupported_media_type", "This media type is not read here"),
    429: ("too_many_requests", "Too many requests"),
}
