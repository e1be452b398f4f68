"""What every stored record has in common: a public id, its times, a version, retirement."""

import uuid

import uuid_utils.compat
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
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


def check_whole(row: models.Model) -> None:
    """Validate a row and its constraints.

    Raises :class:`django.core.exceptions.ValidationError` naming each field. The framework tells
    of most constraints nothing but the name: where another row holds the same values the fields
    are named that must differ, and where the row contradicts itself the fields of that rule.
    """
    errors: dict[str, list[ValidationError]] = {}
    try:
        row.full_clean(validate_constraints=False)
    except ValidationError as found:
        errors = found.update_error_dict(errors)
    wrong = set(errors) - {NON_FIELD_ERRORS}
    for model, constraints in row.get_constraints():
        for constraint in constraints:
            try:
                constraint.validate(model, row, exclude=wrong)
            except ValidationError as found:
                errors = _named(found, model, row, constraint).update_error_dict(errors)
    if errors:
        raise ValidationError(errors)


def _named(
    found: ValidationError, model: type[models.Model], row: models.Model, constraint: object
) -> ValidationError:
    if isinstance(constraint, models.UniqueConstraint) and constraint.fields:
        return row.unique_error_message(model, constraint.fields)
    if isinstance(constraint, models.CheckConstraint) and isinstance(
        constraint.condition, models.Q
    ):
        # The constraints of the house are named by what they hold: lease_ends_after_it_begins.
        sentence = f"Must hold: {constraint.name.replace('_', ' ')}."
        return ValidationError(
            dict.fromkeys(sorted(constraint.condition.referenced_base_fields), sentence)
        )
    return found
