"""What a body says that would be taken in silence for something else: a member that nobody reads,
misspelt maybe, and a time without its offset."""

from collections.abc import Collection, Iterator, Mapping
from difflib import get_close_matches
from itertools import chain, islice
from typing import Any

from rest_framework.serializers import BaseSerializer, DateTimeField, ListSerializer, Serializer

from coop.api.instants import OFFSET_NEEDED, says_offset
from coop.api.problems import InvalidInput, field_errors
from coop.pointers import step

MOST_FAULTS = 100
"""How many an answer names: a body may hold a million. Common practice, no source."""


def refuse_misread_members(
    serializer: BaseSerializer[Any], *, shown: Collection[str] = frozenset()
) -> None:
    """Raise :class:`InvalidInput` with a pointer to each member of the body that the serializer
    does not know, or that is a time without its offset, however deep, and to whatever else is
    wrong with the body then. What it only writes out is known, as is what the object itself has
    ``shown``, and not looked at: an object that was read may be sent back whole.
    """
    sent = serializer.initial_data
    if isinstance(sent, Mapping):
        known = serializer.fields if isinstance(serializer, Serializer) else {}
        sent = {name: value for name, value in sent.items() if name in known or name not in shown}
    found = list(islice(_faults(serializer, sent, "#"), MOST_FAULTS))
    if found:
        serializer.is_valid()
        pointed = {fault["pointer"] for fault in found}
        others = (one for one in field_errors(serializer.errors) if one["pointer"] not in pointed)
        found = list(islice(chain(found, others), MOST_FAULTS))
        told = "; ".join(f"{fault['pointer']}: {fault['detail']}" for fault in found)
        raise InvalidInput(told, errors=found)


def _faults(field: Any, sent: Any, pointer: str) -> Iterator[dict[str, str]]:
    if field.read_only:
        return
    if isinstance(field, ListSerializer) and isinstance(sent, list):
        for index, item in enumerate(sent):
            yield from _faults(field.child, item, f"{pointer}/{index}")
    elif isinstance(field, Serializer) and isinstance(sent, Mapping):
        for name in sent:
            if name in field.fields:
                yield from _faults(field.fields[name], sent[name], f"{pointer}/{step(name)}")
            else:
                detail = _sentence(str(name), list(field.fields))
                yield {"pointer": f"{pointer}/{step(name)}", "detail": detail, "code": "unknown"}
    elif isinstance(field, DateTimeField) and isinstance(sent, str) and not says_offset(sent):
        yield {"pointer": pointer, "detail": OFFSET_NEEDED, "code": "invalid"}


def _sentence(name: str, known: list[str]) -> str:
    # No member is as long; a name may be, and comparing takes its length in memory many times.
    near = get_close_matches(name[:200], known, n=1)
    return f"Unknown member; {near[0]}?" if near else "Unknown member."
