"""What every stored record has in common: a public id, its times, a version, retirement."""

import uuid

import uuid_utils.compat
from django.db import models


def new_id() -> uuid.UUID:
    """A public id (UUID version 7): unique, sortable by creation, no counter to guess."""
    return uuid_utils.compat.uuid7()


class Record(models.Model):
    """A stored record with a public id that is also its primary key."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        abstract = True


class VersionedRecord(Record):
    """A record that several people edit; ``version`` rises with every write and is its ETag."""

    version = models.PositiveIntegerField(default=1, editable=False)
    updated_at = models.DateTimeField(auto_now=True)

    class Meta:
        abstract = True


class Retirable(models.Model):
    """Things are retired, not deleted; no default manager hides them."""

    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True
