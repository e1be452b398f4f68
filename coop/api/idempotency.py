"""``Idempotency-Key`` on every POST: one effect for each key, the same answer for all who ask.

The key's row is written in the transaction of the effect. A concurrent duplicate waits at
the unique constraint and then gets the stored answer; where waiting times out it gets a
409. A refusal is an answer and is kept; what may be tried again (429, 5xx) is not.
"""

import hashlib
from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.db import IntegrityError, OperationalError, connection, transaction
from django.http import HttpRequest, HttpResponse, HttpResponseBase

from coop import keeping
from coop.api.models import IdempotentAnswer
from coop.api.problems import InvalidInput, KeyReused, Problem

LONGEST_KEY = 255
KEPT_HEADERS = ("Location", "ETag", "Retry-After", "Link", "Cache-Control")
WAIT_MS = 10_000
# What PostgreSQL and SQLite say when a lock was not given in time.
_WAITED_IN_VAIN = ("lock timeout", "is locked")


class NotKept(Exception):
    """Rolls back the key together with an effect whose outcome may be tried again."""

    def __init__(self, response: HttpResponseBase) -> None:
        super().__init__()
        self.response = response


def answer_once(request: HttpRequest, answer: Callable[[], HttpResponseBase]) -> HttpResponseBase:
    """Answer a POST that carries an idempotency key.

    Raises :class:`InvalidInput` for a malformed key, :class:`KeyReused` for a key that
    came with another body, :class:`Problem` (409) when a duplicate is still at work.
    """
    fields = _identity(request)
    body_digest = hashlib.sha256(request.body).hexdigest()
    try:
        with transaction.atomic():
            _limit_waiting()
            kept = IdempotentAnswer.objects.create(**fields, body_digest=body_digest)
            return _keep(kept, answer())
    except NotKept as retryable:
        return retryable.response
    except IntegrityError:
        earlier = IdempotentAnswer.objects.filter(**fields).first()
        if earlier is None:
            raise
        return _replay(earlier, body_digest)
    except OperationalError as error:
        if not any(waited in str(error) for waited in _WAITED_IN_VAIN):
            raise
        raise Problem(
            "The first request with this idempotency key is still at work.",
            code="still_at_work",
            headers={"Retry-After": "2"},
        ) from error


def forget_old_answers(*, now: datetime, report: Callable[[int, str], None]) -> int:
    """Delete answers older than they are kept; returns how many. Their keys are then unused."""
    old = IdempotentAnswer.objects.filter(created_at__lt=keeping.kept_since("answers", now))
    return keeping.forget(
        old, lambda ids: IdempotentAnswer.objects.filter(id__in=ids).delete(), report=report
    )


def _identity(request: HttpRequest) -> dict[str, str]:
    key = request.headers["Idempotency-Key"].strip()
    if len(key) >= 2 and key[0] == key[-1] == '"':
        key = key[1:-1]
    if not key or len(key) > LONGEST_KEY or not key.isascii() or not key.isprintable():
        raise InvalidInput(
            "Idempotency-Key must be 1 to 255 printable ASCII characters.",
            errors=[{"pointer": "Idempotency-Key", "detail": "malformed", "code": "invalid"}],
        )
    credential = request.headers.get("Authorization") or request.COOKIES.get("sessionid", "")
    return {
        "caller_digest": hashlib.sha256(credential.encode()).hexdigest(),
        "key": key,
        "method": request.method or "POST",
        "path": request.path[:500],
    }


def _limit_waiting() -> None:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(f"SET LOCAL lock_timeout = {WAIT_MS}")


def _keep(kept: IdempotentAnswer, response: Any) -> HttpResponseBase:
    if not getattr(response, "is_rendered", True):
        response.render()
    if response.status_code == 429 or response.status_code >= 500:
        raise NotKept(response)
    kept.status = response.status_code
    # A secret is told once: the effect is remembered, its text is not.
    kept.body = b"" if _is_secret(response) else response.content
    kept.headers = {
        name: response[name] for name in (*KEPT_HEADERS, "Content-Type") if name in response
    }
    kept.save(update_fields=["status", "body", "headers"])
    return response


def _is_secret(response: HttpResponseBase) -> bool:
    return "no-store" in response.headers.get("Cache-Control", "")


def _replay(kept: IdempotentAnswer, body_digest: str) -> HttpResponse:
    if kept.body_digest != body_digest:
        raise KeyReused("This key came first with another body; use a new key for a new request.")
    if kept.headers.get("Cache-Control"):
        raise Problem(
            "The first request with this key was answered with a secret, which is told once.",
            code="told_once",
        )
    response = HttpResponse(bytes(kept.body), status=kept.status)
    for name, value in kept.headers.items():
        response[name] = value
    response["Idempotent-Replay"] = "true"
    return response
