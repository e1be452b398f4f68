"""What a map file gave: every place in it is either taken or skipped with the reason."""

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from shapely.geometry.base import BaseGeometry

_LONGEST_NAME = 200
_TURNS_DIRECTION = frozenset({"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"})


class PlaceKind(StrEnum):
    """What can be mapped on a property."""

    STAND = "stand"
    BEDDING = "bedding"
    FOOD_PLOT = "food_plot"
    WATER = "water"
    CORRIDOR = "corridor"
    SANCTUARY = "sanctuary"
    ACCESS_ROUTE = "access_route"
    HAZARD = "hazard"
    BOUNDARY = "boundary"


_POINT = frozenset({"Point"})
_LINE = frozenset({"LineString", "MultiLineString"})
_AREA = frozenset({"Polygon", "MultiPolygon"})

# Which geometry each kind may have. Bedding or water marked on a handheld is often a mere point.
SHAPES: Mapping[str, frozenset[str]] = {
    PlaceKind.STAND: _POINT,
    PlaceKind.BEDDING: _AREA | _POINT,
    PlaceKind.FOOD_PLOT: _AREA | _POINT,
    PlaceKind.WATER: _AREA | _LINE | _POINT,
    PlaceKind.CORRIDOR: _LINE | _AREA,
    PlaceKind.SANCTUARY: _AREA,
    PlaceKind.ACCESS_ROUTE: _LINE,
    PlaceKind.HAZARD: _AREA | _LINE | _POINT,
    PlaceKind.BOUNDARY: _AREA,
}


@dataclass(frozen=True, kw_only=True)
class ExportedPlace:
    """One place to be written to a map file; ``properties`` are JSON values."""

    identifier: str | None = None
    kind: str | None
    name: str
    geometry: BaseGeometry
    height_m: float | None = None
    properties: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class ImportedPlace:
    """One place that was read.

    ``index`` counts from 0 in the order of the file, ``source`` is its place there.
    ``kind`` is None where the file does not say and a person has to. ``height_m`` is kept
    for points only.
    """

    index: int
    source: str
    identifier: str | None
    kind: str | None
    name: str
    geometry: BaseGeometry
    height_m: float | None
    properties: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class Skipped:
    """One place that was not taken: ``detail`` says why, ``pointer`` where in the file."""

    index: int
    name: str
    pointer: str
    detail: str


@dataclass(frozen=True, kw_only=True)
class Reconciliation:
    """Everything read is accounted for; ``notes`` say what was left out of a taken place."""

    read: int
    taken: tuple[ImportedPlace, ...]
    skipped: tuple[Skipped, ...]
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.read != len(self.taken) + len(self.skipped):
            raise ValueError(
                f"{self.read} read, but {len(self.taken)} taken and {len(self.skipped)} skipped"
            )

    @property
    def sentence(self) -> str:
        return f"{self.read} read, {len(self.taken)} taken, {len(self.skipped)} skipped"


def clean_name(value: Any) -> str:
    """A name fit to be shown: one line of visible text, at most 200 characters."""
    return clean_text(value, longest=_LONGEST_NAME)


def clean_text(value: Any, *, longest: int) -> str:
    """One line of text without control characters, such as those that turn its direction.

    Empty for anything but a string or a number.
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        return ""
    visible = "".join(_shown(character) for character in str(value))
    return " ".join(visible.split())[:longest].rstrip()


def _shown(character: str) -> str:
    if unicodedata.category(character) in ("Cc", "Zl", "Zp"):
        return " "
    is_hidden = unicodedata.bidirectional(character) in _TURNS_DIRECTION
    # Halves of surrogate pairs and non-characters cannot be stored or written as XML.
    return (
        ""
        if is_hidden or "\ud800" <= character <= "\udfff" or character in "\ufffe\uffff"
        else character
    )
