"""ETag and If-Match (RFC 9110) on what several people edit."""

from collections.abc import Callable
from typing import TypeVar

from django.db import transaction
from rest_framework.request import Request

from coop.api.problems import PreconditionFailed, PreconditionRequired
from coop.records import VersionedRecord

Row = TypeVar("Row", bound=VersionedRecord)


def etag_of(row: VersionedRecord) -> str:
    """The strong entity tag of a row: its version, in quotes."""
    return f'"{row.version}"'


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
    Raises :class:`PreconditionRequired` (428) without the header and
    :class:`PreconditionFailed` (412) when the row has moved on.
    """
    sent = request.headers.get("If-Match")
    if sent is None:
        raise PreconditionRequired(
            f"Read the object, then send its ETag back as If-Match (now {etag_of(row)})."
        )
    with transaction.atomic():
        lock_first()
        locked = type(row)._default_manager.select_for_update().get(pk=row.pk)
        tags = {tag.strip() for tag in sent.split(",")}
        if "*" not in tags and etag_of(locked) not in tags:
            raise PreconditionFailed(
                "Somebody changed it since you read it; read it again and repeat your change.",
                members={"etag": etag_of(locked)},
            )
        return edit(locked)
