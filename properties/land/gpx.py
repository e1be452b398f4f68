"""Waypoints, routes and tracks in and out as GPX (1.1 written, 1.0 and 1.1 read).

Reading is done element by element behind defusedxml: one bad waypoint must be named and
skipped, where a whole-file reader would refuse the file or let latitude 95 pass. A track's
segments stay apart, because a new segment means that reception was lost.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any
from xml.etree.ElementTree import Element, ParseError

import gpxpy.gpx
import shapely
from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import fromstring
from shapely.geometry.base import BaseGeometry

from properties.land.exchange import (
    SHAPES,
    ExportedPlace,
    ImportedPlace,
    PlaceKind,
    Reconciliation,
    Skipped,
    clean_name,
    clean_text,
)
from properties.land.geometry import parse_geometry
from properties.land.limits import ImportLimits
from properties.land.positions import InvalidGeometry

_PLACES = ("wpt", "rte", "trk")
_KEPT_TEXTS = ("cmt", "desc", "sym", "src")
_LONGEST_DESCRIPTION = 2_000


def read_gpx(
    content: bytes,
    *,
    within: BaseGeometry | None = None,
    limits: ImportLimits | None = None,
) -> Reconciliation:
    """Every waypoint as a point and every route and track as lines, taken or skipped.

    An element's ``type`` that names a :class:`PlaceKind` gives the kind; otherwise the
    kind is None. Raises :class:`InvalidGeometry` when the file as a whole cannot be
    trusted: too large, no XML, a DOCTYPE or an entity, no gpx element, too many places.
    """
    limits = limits or ImportLimits()
    root = _load(content, limits)
    elements = [(_local_name(element), element) for element in root]
    places = [(tag, element) for tag, element in elements if tag in _PLACES]
    if len(places) > limits.max_places:
        raise InvalidGeometry(
            "/gpx", f"holds {len(places)} places; at most {limits.max_places} are read"
        )
    taken: list[ImportedPlace] = []
    skipped: list[Skipped] = []
    notes: list[str] = []
    counts = dict.fromkeys(_PLACES, 0)
    for index, (tag, element) in enumerate(places):
        counts[tag] += 1
        path = f"/{tag}[{counts[tag]}]"
        name = clean_name(_text(element, "name")) or f"{tag} {counts[tag]}"
        try:
            taken.append(_read_place(element, tag, index, path, name, within, limits, notes))
        except InvalidGeometry as problem:
            skipped.append(
                Skipped(index=index, name=name, pointer=problem.pointer, detail=problem.detail)
            )
    return Reconciliation(
        read=len(places), taken=tuple(taken), skipped=tuple(skipped), notes=tuple(notes)
    )


def write_gpx(places: Iterable[ExportedPlace], *, creator: str) -> bytes:
    """A GPX 1.1 document: points as waypoints, lines as tracks, areas as tracks of their rings.

    GPX knows no areas, so an area read back is a line. ``kind`` is written as ``type``.
    """
    document = gpxpy.gpx.GPX()
    document.creator = creator
    for place in places:
        if place.geometry.geom_type in ("Point", "MultiPoint"):
            document.waypoints.extend(_waypoints(place))
        else:
            document.tracks.append(_track(place))
    return document.to_xml(version="1.1").encode("utf-8")


def _load(content: bytes, limits: ImportLimits) -> Element:
    if len(content) > limits.max_bytes:
        raise InvalidGeometry(
            "", f"the file has {len(content)} bytes; at most {limits.max_bytes} are read"
        )
    try:
        root = fromstring(content, forbid_dtd=True, forbid_entities=True, forbid_external=True)
    except DefusedXmlException as problem:
        raise InvalidGeometry("", "declares a DOCTYPE or an entity, which is refused") from problem
    except (ParseError, ValueError, LookupError) as problem:
        raise InvalidGeometry("", f"the file is not readable XML: {problem}") from problem
    if _local_name(root) != "gpx":
        raise InvalidGeometry("", "the file holds no gpx element")
    return root


def _read_place(
    element: Element,
    tag: str,
    index: int,
    path: str,
    name: str,
    within: BaseGeometry | None,
    limits: ImportLimits,
    notes: list[str],
) -> ImportedPlace:
    height_m = None
    if tag == "wpt":
        geometry: dict[str, Any] = {"type": "Point", "coordinates": _position(element, path)}
        height_m = _height_m(element)
    else:
        geometry = _lines(element, tag, path, name, notes)
    kind = _kind(element)
    parsed = parse_geometry(
        geometry,
        pointer=path,
        feature=name,
        shapes=SHAPES[kind] if kind else None,
        within=None if kind == PlaceKind.BOUNDARY else within,
        limits=limits,
    )
    return ImportedPlace(
        index=index,
        source=path,
        identifier=None,
        kind=kind,
        name=name,
        geometry=parsed,
        height_m=height_m,
        properties=_properties(element, path, notes),
    )


def _lines(element: Element, tag: str, path: str, name: str, notes: list[str]) -> dict[str, Any]:
    """A LineString, or a MultiLineString where a track has several segments."""
    lines = []
    for line, line_path in _point_lists(element, tag, path):
        if len(line) >= 2:
            lines.append([_position(point, place) for point, place in line])
        elif tag == "trk":
            notes.append(f"{line_path} of “{name}” has {len(line)} positions and was left out")
    if not lines:
        raise InvalidGeometry(path, "is empty: a line needs at least 2 positions", feature=name)
    if len(lines) == 1:
        return {"type": "LineString", "coordinates": lines[0]}
    return {"type": "MultiLineString", "coordinates": lines}


def _point_lists(
    element: Element, tag: str, path: str
) -> Iterator[tuple[list[tuple[Element, str]], str]]:
    if tag == "rte":
        yield _children(element, "rtept", path), path
        return
    for segment, segment_path in _children(element, "trkseg", path):
        yield _children(segment, "trkpt", segment_path), segment_path


def _children(element: Element, name: str, path: str) -> list[tuple[Element, str]]:
    found = [child for child in element if _local_name(child) == name]
    return [(child, f"{path}/{name}[{number}]") for number, child in enumerate(found, start=1)]


def _position(element: Element, path: str) -> list[float]:
    return [
        _degrees(element, "lon", path, limit=180),
        _degrees(element, "lat", path, limit=90),
    ]


def _degrees(element: Element, attribute: str, path: str, *, limit: int) -> float:
    stated = element.get(attribute)
    where = f"{path}/@{attribute}"
    if stated is None:
        raise InvalidGeometry(where, f"has no {attribute}")
    try:
        degrees = float(stated)
    except ValueError:
        raise InvalidGeometry(where, f"{attribute} “{stated[:40]}” is not a number") from None
    if not -limit <= degrees <= limit:
        raise InvalidGeometry(where, f"{attribute} {stated[:40]} lies beyond ±{limit}")
    return degrees


def _height_m(element: Element) -> float | None:
    """The elevation where it is a finite number; real files write it empty or "undefined"."""
    try:
        height = float(_text(element, "ele"))
    except ValueError:
        return None
    return height if abs(height) < 1e5 else None


def _properties(element: Element, path: str, notes: list[str]) -> dict[str, str]:
    properties = {
        key: clean_text(_text(element, key), longest=_LONGEST_DESCRIPTION) for key in _KEPT_TEXTS
    }
    stated = _text(element, "time").strip()
    if stated:
        try:
            instant = datetime.fromisoformat(stated)
        except ValueError:
            notes.append(f"{path}/time “{stated[:40]}” is no time and was left out")
        else:
            properties["time"] = instant.isoformat() if instant.tzinfo else ""
            if instant.tzinfo is None:
                notes.append(f"{path}/time “{stated[:40]}” has no zone and was left out")
    return {key: value for key, value in properties.items() if value}


def _kind(element: Element) -> PlaceKind | None:
    try:
        return PlaceKind(_text(element, "type").strip().lower().replace(" ", "_"))
    except ValueError:
        return None


def _text(element: Element, name: str) -> str:
    for child in element:
        if _local_name(child) == name:
            return child.text or ""
    return ""


def _local_name(element: Element) -> str:
    """The tag without its namespace: real files leave it out or state one of their own."""
    tag = element.tag
    return tag.rsplit("}", 1)[-1] if isinstance(tag, str) else ""


def _waypoints(place: ExportedPlace) -> Iterator[gpxpy.gpx.GPXWaypoint]:
    for lon, lat in shapely.get_coordinates(place.geometry):
        yield gpxpy.gpx.GPXWaypoint(
            latitude=round(float(lat), 6),
            longitude=round(float(lon), 6),
            elevation=place.height_m,
            name=clean_name(place.name),
            description=_description(place),
            type=place.kind,
        )


def _description(place: ExportedPlace) -> str | None:
    return clean_text(place.properties.get("desc"), longest=_LONGEST_DESCRIPTION) or None


def _track(place: ExportedPlace) -> gpxpy.gpx.GPXTrack:
    track = gpxpy.gpx.GPXTrack(name=clean_name(place.name), description=_description(place))
    track.type = place.kind  # type: ignore[assignment]  # the library declares it None
    for part in shapely.get_parts(place.geometry):
        rings = [part] if part.geom_type == "LineString" else [part.exterior, *part.interiors]
        for ring in rings:
            points = [
                gpxpy.gpx.GPXTrackPoint(latitude=round(lat, 6), longitude=round(lon, 6))
                for lon, lat in ring.coords
            ]
            track.segments.append(gpxpy.gpx.GPXTrackSegment(points))
    return track
