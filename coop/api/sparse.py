"""``?fields=id,name``: an answer with the named members alone."""

from collections.abc import Mapping, Sequence
from typing import Any

from coop.api.problems import InvalidInput

PARAMETER = "fields"


def only_fields(data: Any, asked: str) -> Any:
    """An object, a list of objects or a page of them, cut down to the members asked for.

    Raises :class:`InvalidInput` for a name that none of the objects has.
    """
    names = [name.strip() for name in asked.split(",") if name.strip()]
    if not names:
        raise _unknown([""], "fields needs one name or more, with commas between")
    if isinstance(data, Mapping) and isinstance(data.get("results"), list):
        return {**data, "results": _cut(data["results"], names)}
    if isinstance(data, list):
        return _cut(data, names)
    if isinstance(data, Mapping):
        return _cut([data], names)[0]
    return data


def _cut(rows: Sequence[Any], names: Sequence[str]) -> list[Any]:
    known = {key for row in rows for key in row}
    unknown = [name for name in names if rows and name not in known]
    if unknown:
        raise _unknown(
            unknown, f"unknown field: {', '.join(unknown)}; known: {', '.join(sorted(known))}"
        )
    return [{name: row[name] for name in names if name in row} for row in rows]


def _unknown(names: Sequence[str], sentence: str) -> InvalidInput:
    return InvalidInput(
        sentence,
        errors=[
            {"pointer": f"?{PARAMETER}", "detail": f"unknown field {name!r}", "code": "unknown"}
            for name in names
        ],
    )
