"""Where the database holds given words: every column of every table that may hold text."""

from collections.abc import Iterable

from django.apps import apps
from django.db.models import BinaryField, Field, FileField, JSONField, Model, TextField
from django.db.models.functions import Cast

_APPS = ("coop", "properties", "scrapes", "scheduling", "reports", "oauth2_provider", "admin")


def holding(words: Iterable[str]) -> set[str]:
    """``Model.column`` of every column in which one of ``words`` stands."""
    return {
        f"{model.__name__}.{field.name}"
        for model in apps.get_models()
        if model._meta.app_label in _APPS
        for field in text_fields(model)
        if any(_holds(model, field, word) for word in words)
    }


def text_fields(model: type[Model]) -> list[Field]:
    """Concrete columns of texts, JSON or bytes."""
    kinds = ("CharField", "TextField", "EmailField", "JSONField", "BinaryField", "FileField")
    return [field for field in model._meta.fields if field.get_internal_type() in kinds]


def _holds(model: type[Model], field: Field, word: str) -> bool:
    rows = model._default_manager.all()
    if isinstance(field, BinaryField):
        stored = (bytes(value or b"") for value in rows.values_list(field.name, flat=True))
        return any(word.encode() in value for value in stored)
    if isinstance(field, JSONField | FileField):
        return (
            rows.annotate(text=Cast(field.name, TextField())).filter(text__contains=word).exists()
        )
    return rows.filter(**{f"{field.name}__contains": word}).exists()
