"""Entity tags (RFC 9110): If-Match on what several people edit, If-None-Match on what is kept."""

from collections.abc import Callable
from typing import TypeVar

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction
from django.utils.http import parse_etags
from rest_framework.exceptions import APIException
from rest_framework.request import Request

from coop.api.problems import NotAllowed, PreconditionFailed, PreconditionRequired, Problem
from coop.records import VersionedRecord

Row = TypeVar("Row", bound=VersionedRecord)


def etag_of(row: VersionedRecord) -> str:
    """The strong entity tag of a row: its version, in quotes."""
    return f'"{row.version}"'


def is_still_the_same(request: Request, etag: str) -> bool:
    """Whether ``If-None-Match`` names what is answered now; weak tags count too (13.1.2)."""
    named = parse_etags(request.headers.get("If-None-Match", ""))
    return named == ["*"] or etag in {tag.removeprefix("W/") for tag in named}


def edit_matched(
    *,
    request: Request,
    row: Row,
    edit: Callable[[Row], Row],
    lock_first: Callable[[], object] = lambda: None,
) -> Row:
    """Lock the row, compare ``If-Match`` with it, then edit; check and write are one transaction.

    ``lock_first`` locks what other writers of such a row lock before it, so that all lock in one
    order and none waits for another that waits for it.
    Whoever may not edit the row hears that first, whatever they sent (``PermissionDenied``,
    :class:`NotAllowed`). Then raises :class:`PreconditionRequired` (428) without the header and
    :class:`PreconditionFailed` (412) when the row has moved on.
    """
    sent = request.headers.get("If-Match")
    with transaction.atomic():
        lock_first()
        locked = type(row)._default_manager.select_for_update().get(pk=row.pk)
        unmet = _unmet(sent, etag_of(locked))
        if unmet is None:
            return edit(locked)
        _require_allowed(lambda: edit(locked))
        raise unmet


def _unmet(sent: str | None, etag: str) -> Problem | None:
    if sent is None:
        return PreconditionRequired(
            f"Read the object, then send its ETag back as If-Match (now {etag})."
        )
    named = parse_etags(sent)
    if named == ["*"] or etag in named:
        return None
    return PreconditionFailed(
        "Somebody changed it since you read it; read it again and repeat your change.",
        members={"etag": etag},
    )


def _require_allowed(edit: Callable[[], object]) -> None:
    """Let pass whoever may edit; raises as ``edit`` does for whoever may not.

    Whose an edit is, its service alone decides, so it is asked by trying; nothing of it stays.
    """
    try:
        with transaction.atomic():
            edit()
            transaction.set_rollback(True)
    except (PermissionDenied, NotAllowed):
        raise
    except (Problem, ValidationError, APIException, IntegrityError):
        return
