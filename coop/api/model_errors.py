"""What a model's own validation found, as items with pointers; what is taken names its fields."""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError

_TAKEN = frozenset({"unique", "unique_together"})


def items_of(error: ValidationError) -> Iterator[dict[str, str]]:
    """Every fault as ``{"pointer", "detail", "code"}``; one of several fields stands at each."""
    for name, found in _by_field(error).items():
        for each in found:
            for message in each.messages:
                yield from _items(name, each, message)


@contextmanager
def told_within(member: str) -> Iterator[None]:
    """Faults of an object that was sent as a member of another: ``name`` is ``client/name``."""
    try:
        yield
    except ValidationError as error:
        faults: dict[str, list[str]] = {}
        for item in items_of(error):
            faults.setdefault(item["pointer"].replace("#", member, 1), []).append(item["detail"])
        raise ValidationError(faults) from error


def _by_field(error: ValidationError) -> Mapping[str, list[ValidationError]]:
    if hasattr(error, "error_dict"):
        by_field: Mapping[str, list[ValidationError]] = error.error_dict
        return by_field
    return {NON_FIELD_ERRORS: error.error_list}


def _items(name: str, error: ValidationError, message: str) -> Iterator[dict[str, str]]:
    fields = (error.params or {}).get("unique_check") if error.code in _TAKEN else None
    if not fields:
        pointer = "#" if name in ("", NON_FIELD_ERRORS) else f"#/{name}"
        yield {"pointer": pointer, "detail": message, "code": "invalid"}
        return
    for field in fields:
        yield {"pointer": f"#/{field}", "detail": taken_sentence(fields), "code": "unique"}


def taken_sentence(fields: Iterable[str]) -> str:
    """``Another one with the same person and season year exists already.``"""
    *others, last = [field.replace("_", " ") for field in fields]
    what = f"{', '.join(others)} and {last}" if others else last
    return f"Another one with the same {what} exists already."


def told(items: Iterable[Mapping[str, str]]) -> str:
    """All faults in a line; one that stands at several fields is said once."""
    pointers: dict[str, list[str]] = {}
    for item in items:
        pointers.setdefault(item["detail"], []).append(item["pointer"])
    return "; ".join(f"{', '.join(where)}: {detail}" for detail, where in pointers.items())
