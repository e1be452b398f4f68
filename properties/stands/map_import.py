"""Take a map file in: features and stands, each taken or skipped with its reason.

This lives here and not in ``land``, because a map carries stands and ``land`` does not
know them. What is already mapped under a name is left as it is, so that the same file
read twice adds nothing.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from properties.land.exchange import SHAPES, ImportedPlace, PlaceKind, Reconciliation, Skipped
from properties.land.geojson import read_geojson
from properties.land.geometry import to_geojson
from properties.land.gpx import read_gpx
from properties.land.models import Feature, Property
from properties.land.queries import boundary_of, features_of
from properties.land.services import create_feature
from properties.stands import queries
from properties.stands.models import Cover, Stand, StandKind
from properties.stands.services import create_stand

STAND_COLUMNS = (
    "seat_height_m",
    "arc_from_deg",
    "arc_to_deg",
    "shot_distance_m",
    "capacity",
    "cover",
    "slope_aspect_deg",
    "slope_deg",
    "rest_days",
    "approach_route",
    "exit_route",
)
"""What a map may state of a stand beside its kind, under the names that the export writes."""

_LONGEST_NOTES = 5_000


@dataclass(frozen=True, kw_only=True)
class TakenPlace:
    """One place that is now on the map, or would be: ``kind`` is stand or a feature's kind."""

    pointer: str
    kind: str
    name: str


@dataclass(frozen=True, kw_only=True)
class MapImport:
    """Every place read is taken or skipped.

    ``faults`` are the skipped places that hold back the rest unless a part is asked for;
    a place already on the map is skipped and is no fault. ``written`` is false for a dry
    run and for an import that its faults held back.
    """

    read: int
    taken: tuple[TakenPlace, ...]
    skipped: tuple[Skipped, ...]
    faults: tuple[Skipped, ...]
    notes: tuple[str, ...]
    written: bool

    @property
    def sentence(self) -> str:
        return f"{self.read} read, {len(self.taken)} taken, {len(self.skipped)} skipped"


@transaction.atomic
def import_map(
    *,
    actor: Actor,
    land: Property,
    content: bytes,
    default_kind: PlaceKind | None = None,
    dry_run: bool = False,
    partial: bool = False,
    now: datetime,
) -> MapImport:
    """Read GeoJSON or GPX onto a property.

    All or nothing, unless ``partial`` takes what is good; where nothing is, neither writes.
    ``default_kind`` is for places that state none. A dry run judges exactly as the real one
    and is then taken back. Raises :class:`properties.land.positions.InvalidGeometry` when
    nothing of the file can be trusted.
    """
    actor.require(Action.FEATURE_WRITE, land.id)
    actor.require(Action.STAND_WRITE, land.id)
    # Two imports of one file at once must not both find the names free.
    land = Property.objects.select_for_update().get(id=land.id)
    found = _read(content, land)
    work = _Import(actor=actor, land=land, default_kind=default_kind, now=now)
    work.faults.extend(found.skipped)
    for place in found.taken:
        work.take(place)
    is_usable = bool(work.taken or work.known)
    written = not dry_run and (not work.faults or (partial and is_usable))
    if not written:
        transaction.set_rollback(True)
    skipped = sorted((*work.faults, *work.known), key=lambda place: place.index)
    return MapImport(
        read=found.read,
        taken=tuple(work.taken),
        skipped=tuple(skipped),
        faults=tuple(sorted(work.faults, key=lambda place: place.index)),
        notes=(*found.notes, *work.notes),
        written=written,
    )


def _read(content: bytes, land: Property) -> Reconciliation:
    area = boundary_of(land)
    if content.removeprefix(b"\xef\xbb\xbf").lstrip().startswith(b"<"):
        return read_gpx(content, within=area)
    return read_geojson(content, within=area)


class _NotTaken(Exception):
    """Why a place is not taken."""


@dataclass(kw_only=True)
class _Import:
    """One import at work: what is mapped already, and what has become of each place."""

    actor: Actor
    land: Property
    default_kind: PlaceKind | None
    now: datetime
    taken: list[TakenPlace] = field(default_factory=list)
    faults: list[Skipped] = field(default_factory=list)
    known: list[Skipped] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        features = features_of(property_id=self.land.id).values_list("name", flat=True)
        stands = queries.stands_of(property_id=self.land.id).values_list("name", flat=True)
        self._mapped: dict[bool, frozenset[str]] = {
            False: frozenset(features),
            True: frozenset(stands),
        }
        self._seen: dict[bool, set[str]] = {False: set(), True: set()}
        self._stand_settings = queries.settings_of(self.land)

    def take(self, place: ImportedPlace) -> None:
        try:
            kind = self._kind_of(place)
            is_stand = kind is PlaceKind.STAND
            if place.name in self._mapped[is_stand]:
                self.known.append(_skipped(place, f"a {_word(is_stand)} of this name is mapped"))
                return
            self._check_name(place, is_stand)
            with transaction.atomic():
                self._create(place, kind)
        except _NotTaken as reason:
            self.faults.append(_skipped(place, str(reason)))
            return
        except ValidationError as problem:
            self.faults.append(_skipped(place, "; ".join(_sentences(problem))))
            return
        self._seen[is_stand].add(place.name)
        self.taken.append(TakenPlace(pointer=place.source, kind=kind.value, name=place.name))

    def _kind_of(self, place: ImportedPlace) -> PlaceKind:
        kind = PlaceKind(place.kind) if place.kind else self.default_kind
        if kind is None:
            raise _NotTaken("states no kind, and none was given for such places")
        if kind is PlaceKind.BOUNDARY:
            raise _NotTaken("is a boundary: change the property itself")
        if place.geometry.geom_type not in SHAPES[kind]:
            needed = " or ".join(sorted(SHAPES[kind]))
            raise _NotTaken(f"is a {place.geometry.geom_type}; a {kind} needs {needed}")
        return kind

    def _check_name(self, place: ImportedPlace, is_stand: bool) -> None:
        if place.name in self._seen[is_stand]:
            raise _NotTaken(f"another {_word(is_stand)} in this file has the same name")

    def _create(self, place: ImportedPlace, kind: PlaceKind) -> Feature | Stand:
        if kind is PlaceKind.STAND:
            return create_stand(
                actor=self.actor, land=self.land, fields=self._stand_fields(place), now=self.now
            )
        fields = {
            "kind": kind.value,
            "name": place.name,
            "geometry": to_geojson(place.geometry),
            "notes": _notes(place),
        }
        return create_feature(actor=self.actor, land=self.land, fields=fields, now=self.now)

    def _stand_fields(self, place: ImportedPlace) -> dict[str, Any]:
        """What the map states; where that is too little, a guess, and the stand is closed.

        A handheld knows a place and a name. Nobody should be sent to a stand whose kind
        and height nobody has entered.
        """
        stated = {
            name: place.properties[name]
            for name in STAND_COLUMNS
            if place.properties.get(name) is not None
        }
        fields = {
            "kind": StandKind.LADDER,
            "seat_height_m": self._stand_settings.imported_seat_height_m,
            "shot_distance_m": self._stand_settings.imported_shot_distance_m,
            "cover": Cover.EDGE,
            **stated,
            "name": place.name,
            "geometry": to_geojson(place.geometry),
            "notes": _notes(place),
        }
        if "stand_kind" in place.properties:
            fields["kind"] = place.properties["stand_kind"]
        missing = [
            word
            for word, is_stated in (
                ("kind", "stand_kind" in place.properties),
                ("seat height", "seat_height_m" in stated),
                ("shot distance", "shot_distance_m" in stated),
            )
            if not is_stated
        ]
        if missing:
            reason = f"From a map without {', '.join(missing)}: enter them, then open"
            fields |= {"is_open": False, "closed_reason": reason}
            self.notes.append(
                f"{place.source} “{place.name}” states no {', '.join(missing)}; "
                "the stand is closed until a manager has entered them"
            )
        return fields


def _skipped(place: ImportedPlace, detail: str) -> Skipped:
    return Skipped(index=place.index, name=place.name, pointer=place.source, detail=detail)


def _word(is_stand: bool) -> str:
    return "stand" if is_stand else "feature"


def _notes(place: ImportedPlace) -> str:
    texts = (place.properties.get(name) for name in ("notes", "desc", "cmt"))
    kept = dict.fromkeys(text.strip() for text in texts if isinstance(text, str) and text.strip())
    return "\n".join(kept)[:_LONGEST_NOTES]


def _sentences(problem: ValidationError) -> list[str]:
    fields: Mapping[str, list[str]] = (
        problem.message_dict if hasattr(problem, "error_dict") else {"": problem.messages}
    )
    return [
        message if name in ("", "__all__", "geometry") else f"{name}: {message}"
        for name, messages in fields.items()
        for message in messages
    ]
