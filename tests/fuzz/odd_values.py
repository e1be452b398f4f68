"""Values that no form offers, and every place of a request where one may stand.

A request that is right is taken from the table of endpoints; in each variant one member of its
body or one parameter of its query is another value. What JSON cannot write from Python's types
(numbers beyond a float, half a surrogate pair) is written as text.
"""

import json
from base64 import b64encode
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

Path = tuple[str | int, ...]
_RAW = "\N{SNOWMAN}raw\N{SNOWMAN}"

TEXTS: dict[str, str] = {
    "a NUL": "x\0y",
    "half a surrogate pair": "x\ud800y",
    "a long text": "x" * 100_000,
    "spaces": " \n\u2028 ",
    "nothing": "",
}
DATES: dict[str, str] = {
    "the first day": "0001-01-01",
    "the last day": "9999-12-31",
    "a day too many": "10000-01-01",
    "before the first instant": "0001-01-01T00:00:00+14:00",
    "after the last instant": "9999-12-31T23:59:59-14:00",
    "the first instant": "0001-01-01T00:00:00Z",
    "the last instant": "9999-12-31T23:59:59.999999Z",
    "a leap second": "2025-12-31T23:59:60Z",
    "the first month": "0001-01",
    "the last month": "9999-12",
}
NUMBERS: dict[str, str] = {
    "beyond 32 bits": str(2**31),
    "beyond 63 bits": str(2**63),
    "beyond 64 bits": str(10**30),
    "far below zero": str(-(10**30)),
    "beyond a float": "1e400",
    "the largest float": "1.7e308",
    "the smallest float": "5e-324",
    "five thousand digits": "9" * 5000,
    "below zero": "-1",
}
SHAPES: dict[str, str] = {
    "null": "null",
    "true": "true",
    "a list": "[]",
    "an object": "{}",
    "a list of numbers": "[-1, 1e300]",
    "a list of texts": '["", "x"]',
    "a list of odd things": '[null, {"\\u0000": "\\u0000"}, 1e400, [[]], "\\ud800"]',
    "an object of odd things": '{"\\u0000": null, "x": "\\u0000", "\\ud800": [], "y": 1e400}',
    "nested five hundred deep": "[" * 500 + "]" * 500,
    "nested too deep": "[" * 100_000 + "]" * 100_000,
    "an object of two": '{"x": 1e300, "y": -1}',
    "a line of no length": '{"type": "LineString", "coordinates": [[0, 0], [0, 0]]}',
    "a place that is none": '{"type": "Point", "coordinates": [1e308, "\\u0000"]}',
    "a ring around the world": (
        '{"type": "Polygon", "coordinates":'
        " [[[-180, -90], [180, -90], [180, 90], [-180, 90], [-180, -90]]]}"
    ),
}
_TEXTS_AND_SHAPES = {**{name: json.dumps(text) for name, text in TEXTS.items()}, **SHAPES}
JSON_VALUES: dict[str, str] = {
    **_TEXTS_AND_SHAPES,
    **{name: json.dumps(text) for name, text in DATES.items()},
    **NUMBERS,
}
FARTHEST = {*DATES, *NUMBERS, "a ring around the world", "a line of no length"}
"""Values with which it may be what is read later that fails."""
QUERY_VALUES: dict[str, str] = {
    **{name: text for name, text in TEXTS.items() if name != "a long text"},
    **DATES,
    **{name: number[:400] for name, number in NUMBERS.items()},
    "no number": "NaN",
    "infinite": "-Infinity",
    "commas": ",,,",
    "many": ",".join(["1"] * 200),
    "other digits": "٣",
}
CURSORS: dict[str, str] = {
    what: b64encode(urlencode(told, errors="surrogatepass").encode()).decode()
    for what, told in {
        "no place": {},
        "an empty place": {"p": ""},
        "a negative number of rows": {"o": "-1"},
        "rows beyond 64 bits": {"o": str(10**30), "p": "x"},
        "backwards from nowhere": {"r": "1"},
        **{f"at {what}": {"p": text} for what, text in {**TEXTS, **DATES}.items()},
        **{f"at {what}": {"p": number[:400]} for what, number in NUMBERS.items()},
    }.items()
} | {"no text": b64encode(b"p=\xff\xfe\0").decode(), "a snowman": "\N{SNOWMAN}"}
"""Marks of a page, which callers should hand back as they are."""


@dataclass(frozen=True, kw_only=True)
class Variant:
    """One request with one odd value: ``where`` it stands and ``what`` it is."""

    where: str
    what: str
    sent: str


def bodies(body: Mapping[str, Any], members: Mapping[str, bool]) -> Iterator[Variant]:
    """JSON texts of ``body`` with each value in turn at each place of it.

    ``members`` are the described ones, and whether each is mere text, where days and numbers are
    texts like others; those that the body lacks are places too. Last come bodies that are no
    object of members at all.
    """
    places = [*_places(body), *((name,) for name in members if name not in body)]
    for place in places:
        text = json.dumps(_put(body, place, _RAW)).replace(json.dumps(_RAW), "%s")
        values = _TEXTS_AND_SHAPES if members.get(str(place[0])) else JSON_VALUES
        for what, value in values.items():
            yield Variant(
                where="/".join(map(str, place)), what=what, sent=value.join(text.split("%s", 1))
            )
    for what, value in SHAPES.items():
        yield Variant(where="the body", what=what, sent=value)


def queries(query: Mapping[str, Any], parameters: Iterable[str]) -> Iterator[Variant]:
    """Each value in turn for each parameter that is described or sent."""
    for name in sorted({*query, *parameters}):
        for what, value in (CURSORS if name == "cursor" else QUERY_VALUES).items():
            yield Variant(where=name, what=what, sent=value)


def _places(value: Any, at: Path = ()) -> Iterator[Path]:
    """Each member of an object and the first item of a list, with what stands within."""
    within = value.items() if isinstance(value, Mapping) else ()
    if isinstance(value, list) and value:
        within = ((0, value[0]),)
    for name, inner in within:
        yield (*at, name)
        yield from _places(inner, (*at, name))


def _put(value: Any, at: Path, what: Any) -> Any:
    """A copy with ``what`` at the place."""
    if not at:
        return what
    if isinstance(value, list):
        return [_put(value[0], at[1:], what), *value[1:]]
    return {**value, at[0]: _put(value.get(at[0]), at[1:], what)}
