"""Write a record and its audit event together, inside the caller's transaction."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, TypeVar
from uuid import UUID

from django.db.models import Model

from coop.audit import services
from coop.records import VersionedRecord, check_whole

Row = TypeVar("Row", bound=Model)


def create(
    row: Row,
    *,
    actor: services.Who,
    action: str,
    now: datetime,
    property_id: UUID | None = None,
    reason: str = "",
) -> Row:
    """Validate, save and record a new row.

    Raises :class:`django.core.exceptions.ValidationError` naming each field.
    """
    check_whole(row)
    row.save(force_insert=True)
    services.record(
        actor=actor, action=action, target=row, now=now, property_id=property_id, reason=reason
    )
    return row


def change(
    row: Row,
    changes: Mapping[str, Any],
    *,
    actor: services.Who,
    action: str,
    now: datetime,
    property_id: UUID | None = None,
    reason: str = "",
) -> Row:
    """Apply ``changes`` to a row the caller has locked, raise its version, record both sides.

    Raises :class:`django.core.exceptions.ValidationError` naming each field.
    """
    before = services.snapshot(row)
    for name, value in changes.items():
        setattr(row, name, value)
    if isinstance(row, VersionedRecord):
        row.version += 1
    check_whole(row)
    row.save()
    services.record(
        actor=actor,
        action=action,
        target=row,
        now=now,
        property_id=property_id,
        before=before,
        reason=reason,
    )
    return row
