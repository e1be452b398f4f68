"""Who asks whether another row holds the same: the service, and nobody before it."""

from collections.abc import Iterable
from typing import Any

from rest_framework.serializers import BaseSerializer
from rest_framework.validators import UniqueTogetherValidator, UniqueValidator


def leave_uniqueness_to_the_service(serializer: BaseSerializer[Any]) -> None:
    """Take the framework's questions of uniqueness off a serializer.

    The service asks them again as it writes, under its lock and after it looked whether the
    caller may; so what is taken is said in one place and in one way.
    """
    serializer.validators = _without_uniqueness(serializer.validators)
    for field in getattr(serializer, "fields", {}).values():
        field.validators = _without_uniqueness(field.validators)


def _without_uniqueness(validators: Iterable[Any]) -> list[Any]:
    questions = UniqueTogetherValidator | UniqueValidator
    return [each for each in validators if not isinstance(each, questions)]
