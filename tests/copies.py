"""Copies of a stored row, as many as wanted, that keep every unique constraint of its model.

What must differ is made to differ in a plain column where the constraint has one, else the row
that it points at is copied too.
"""

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

from django.db.models import (
    AutoField,
    BigAutoField,
    CharField,
    DateField,
    F,
    ForeignKey,
    IntegerField,
    Model,
    TextField,
    UniqueConstraint,
    UUIDField,
)

from coop.records import new_id


def copy(row: Model, count: int, *, start: int = 0, also: tuple[str, ...] = ()) -> list[Any]:
    """``count`` copies in the database; ``also`` names references that are copied
    with it, which is all that differs
    but for columns that are unique by themselves.

    Days and numbers that must differ go on from ``start``."""
    model = type(row)
    copied_with = {name: copy(getattr(row, name), count, start=start) for name in also}
    changed = set(also)
    for names in _unique_together(model):
        if also and (len(names) > 1 or isinstance(model._meta.get_field(names[0]), ForeignKey)):
            continue
        # What is empty meets nothing.
        is_empty = any(getattr(row, name) is None for name in names)
        if changed.isdisjoint(names) and not is_empty:
            name = _easiest(model, names)
            changed.add(name)
            if isinstance(model._meta.get_field(name), ForeignKey):
                copied_with[name] = copy(getattr(row, name), count, start=start)
    made = [
        model(
            **_values(
                row,
                number,
                changed - copied_with.keys(),
                {name: rows[number - start] for name, rows in copied_with.items()},
            )
        )
        for number in range(start, start + count)
    ]
    model._default_manager.bulk_create(made)
    for field in model._meta.many_to_many:
        _copy_links(row, made, field)
    return made


def _values(row: Model, number: int, changed: set[str], copied_with: Any) -> dict[str, Any]:
    values = {}
    for field in row._meta.concrete_fields:
        if field.name in copied_with:
            values[field.name] = copied_with[field.name]
        elif field.primary_key or field.name in changed:
            values[field.attname] = _another(field, getattr(row, field.attname), number)
        else:
            values[field.attname] = getattr(row, field.attname)
    return values


def _another(field: Any, value: Any, number: int) -> Any:
    if isinstance(field, UUIDField):
        return new_id()
    if isinstance(field, AutoField | BigAutoField):
        return None
    if isinstance(field, CharField | TextField):
        ending = f"~{number}~{new_id().hex[-8:]}"
        return f"{value or ''}"[: (field.max_length or 200) - len(ending)] + ending
    if isinstance(field, DateField):
        assert isinstance(value, date)
        return value + timedelta(days=number + 1)
    if isinstance(field, IntegerField):
        return (value or 0) + number + 1
    raise AssertionError(f"say how to change {field}")


def _unique_together(model: type[Model]) -> Iterator[tuple[str, ...]]:
    for field in model._meta.concrete_fields:
        if field.unique and not field.primary_key:
            yield (field.name,)
    for constraint in model._meta.constraints:
        if not isinstance(constraint, UniqueConstraint):
            continue
        of_columns = [one.name for one in constraint.expressions if isinstance(one, F)]
        if constraint.fields or of_columns:
            yield (*constraint.fields, *of_columns)


def _easiest(model: type[Model], names: tuple[str, ...]) -> str:
    def effort(name: str) -> int:
        field = model._meta.get_field(name)
        if getattr(field, "choices", None):
            return 9
        kinds = (CharField | TextField, UUIDField, DateField, IntegerField, ForeignKey)
        return next(place for place, kind in enumerate(kinds) if isinstance(field, kind))

    return min(names, key=effort)


def _copy_links(row: Model, made: list[Any], field: Any) -> None:
    through, source = field.remote_field.through, field.m2m_field_name()
    target = field.m2m_reverse_field_name()
    targets = list(getattr(row, field.name).all())
    through._default_manager.bulk_create(
        through(**{source: one, target: other}) for one in made for other in targets
    )
