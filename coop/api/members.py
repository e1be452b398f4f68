"""Members of a body that nobody reads are bad input, not silence: a misspelt one changes much."""

from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from typing import Any

from rest_framework.serializers import BaseSerializer, ListSerializer, Serializer

from coop.api.problems import InvalidInput
from coop.pointers import step


def refuse_unknown_members(serializer: BaseSerializer[Any]) -> None:
    """Raise :class:`InvalidInput` with a pointer to each member of the body that the serializer
    does not know, however deep. What it only writes out is known: an object that was read may
    be sent back whole.
    """
    unknown = list(_unknown(serializer, serializer.initial_data, "#"))
    if unknown:
        told = "; ".join(f"{pointer}: {detail}" for pointer, detail in unknown)
        raise InvalidInput(
            told,
            errors=[
                {"pointer": pointer, "detail": detail, "code": "unknown"}
                for pointer, detail in unknown
            ],
        )


def _unknown(field: Any, sent: Any, pointer: str) -> Iterator[tuple[str, str]]:
    if isinstance(field, ListSerializer) and isinstance(sent, list):
        for index, item in enumerate(sent):
            yield from _unknown(field.child, item, f"{pointer}/{index}")
    elif isinstance(field, Serializer) and isinstance(sent, Mapping):
        for name in sent:
            if name in field.fields:
                yield from _unknown(field.fields[name], sent[name], f"{pointer}/{step(name)}")
            else:
                yield f"{pointer}/{step(str(name))}", _sentence(str(name), list(field.fields))


def _sentence(name: str, known: list[str]) -> str:
    near = get_close_matches(name, known, n=1)
    return f"Unknown member; {near[0]}?" if near else "Unknown member."
