"""What comes in: JSON (RFC 8259) in UTF-8 that every database can store and every reader follow."""

import json
import math
import re
from collections.abc import Iterator, Mapping
from typing import IO, Any

from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.parsers import JSONParser

from coop.pointers import step
from coop.storable import is_storable

DEEPEST = 100
"""Levels of lists and objects within each other; maps, the deepest of what is read, have eight."""
# Where none of these stands, every text can be stored and every number is one.
_SUSPECT = re.compile(rb"\\u(?:0000|[dD][89a-fA-F])|[0-9][eE]|[0-9]{300}")
_Fault = tuple[str, str, str]


class StrictJSONParser(JSONParser):
    """Refuses what JSON can say and nobody can keep, with a pointer to the place.

    That is a number beyond a float, a text with a NUL or half a surrogate pair, and nesting
    without end.
    """

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        """The value of a body; raises ``ValidationError``, with the place in it."""
        sent = stream.read()
        try:
            value = json.loads(sent.decode("utf-8-sig"), parse_constant=_no_number)
        except RecursionError:
            raise _refused(_too_deep("#")) from None
        except ValueError as error:
            raise _refused(("#", f"This is no JSON in UTF-8: {error}", "parse_error")) from None
        if sent.count(b"[") + sent.count(b"{") > DEEPEST or _SUSPECT.search(sent):
            for fault in _faults(value):
                raise _refused(fault)
        return value


def _faults(value: Any) -> Iterator[_Fault]:
    """Level by level, so that nothing here follows a nesting."""
    level = [("#", value)]
    for depth in range(DEEPEST + 1):
        below: list[tuple[str, Any]] = []
        for pointer, each in level:
            if isinstance(each, dict | list) and depth == DEEPEST:
                yield _too_deep(pointer)
            elif isinstance(each, dict):
                yield from (_no_text(pointer) for name in each if not is_storable(name))
                below += [(f"{pointer}/{step(name)}", inner) for name, inner in each.items()]
            elif isinstance(each, list):
                below += [(f"{pointer}/{index}", inner) for index, inner in enumerate(each)]
            elif isinstance(each, str) and not is_storable(each):
                yield _no_text(pointer)
            elif isinstance(each, float) and not math.isfinite(each):
                yield pointer, "No number is as large as that.", "no_number"
        level = below


def _no_text(pointer: str) -> _Fault:
    return pointer, "A text cannot hold a NUL or half a surrogate pair.", "no_text"


def _too_deep(pointer: str) -> _Fault:
    return pointer, f"Nested deeper than {DEEPEST} levels.", "too_deep"


def _no_number(word: str) -> Any:
    raise ValueError(f"{word} is no number of JSON")


def _refused(fault: _Fault) -> ValidationError:
    pointer, detail, code = fault
    place = pointer.removeprefix("#").removeprefix("/") or "non_field_errors"
    return ValidationError({place: [ErrorDetail(detail, code)]})
