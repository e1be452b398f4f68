"""Features and stands in and out as a GeoJSON FeatureCollection (RFC 7946).

``properties`` carry ``kind`` (see :class:`properties.land.exchange.PlaceKind`) and
``name``; whatever else they carry is kept as it is.
"""

from collections.abc import Iterable, Mapping
from typing import Any

import orjson
from shapely.geometry.base import BaseGeometry

from properties.land.exchange import (
    SHAPES,
    ExportedPlace,
    ImportedPlace,
    PlaceKind,
    Reconciliation,
    Skipped,
    clean_name,
)
from properties.land.geometry import check_no_crs, parse_geometry, to_geojson
from properties.land.limits import ImportLimits
from properties.land.positions import NESTING, InvalidGeometry, read_height_m

_BYTE_ORDER_MARK = b"\xef\xbb\xbf"


def read_geojson(
    content: bytes | Mapping[str, Any],
    *,
    default_kind: PlaceKind | None = None,
    within: BaseGeometry | None = None,
    limits: ImportLimits | None = None,
) -> Reconciliation:
    """Every feature of a FeatureCollection, a Feature or a bare geometry, taken or skipped.

    ``default_kind`` stands in where a feature states none; ``within`` is the property's
    area. Raises :class:`InvalidGeometry` when nothing of the file can be trusted: no JSON,
    no GeoJSON, a coordinate system of its own, too large, too many features.
    """
    limits = limits or ImportLimits()
    document = _load(content, limits) if isinstance(content, bytes) else content
    features, pointers = _features(document)
    if len(features) > limits.max_places:
        raise InvalidGeometry(
            "/features", f"holds {len(features)} features; at most {limits.max_places} are read"
        )
    taken: list[ImportedPlace] = []
    skipped: list[Skipped] = []
    for index, (feature, pointer) in enumerate(zip(features, pointers, strict=True)):
        try:
            taken.append(_read_feature(feature, index, pointer, default_kind, within, limits))
        except InvalidGeometry as problem:
            skipped.append(
                Skipped(
                    index=index,
                    name=_name(feature, index),
                    pointer=problem.pointer,
                    detail=problem.detail,
                )
            )
    return Reconciliation(read=len(features), taken=tuple(taken), skipped=tuple(skipped))


def feature_collection(places: Iterable[ExportedPlace]) -> dict[str, Any]:
    """A FeatureCollection of the places, as JSON values."""
    return {"type": "FeatureCollection", "features": [_feature(place) for place in places]}


def _feature(place: ExportedPlace) -> dict[str, Any]:
    feature: dict[str, Any] = {"type": "Feature"}
    if place.identifier is not None:
        feature["id"] = place.identifier
    feature["geometry"] = to_geojson(place.geometry, height_m=place.height_m)
    properties = dict(place.properties) | {"name": place.name}
    feature["properties"] = properties if place.kind is None else properties | {"kind": place.kind}
    return feature


def _load(content: bytes, limits: ImportLimits) -> Mapping[str, Any]:
    if len(content) > limits.max_bytes:
        raise InvalidGeometry(
            "", f"the file has {len(content)} bytes; at most {limits.max_bytes} are read"
        )
    try:
        document = orjson.loads(content.removeprefix(_BYTE_ORDER_MARK))
    except orjson.JSONDecodeError as problem:
        raise InvalidGeometry("", f"the file is not JSON: {problem}") from problem
    if not isinstance(document, dict):
        raise InvalidGeometry("", "the file must hold one GeoJSON object")
    return document


def _features(document: Mapping[str, Any]) -> tuple[list[Any], list[str]]:
    """The features and their JSON pointers."""
    check_no_crs(document)
    kind = document.get("type")
    if kind == "FeatureCollection":
        features = document.get("features")
        if not isinstance(features, list):
            raise InvalidGeometry("/features", "must be an array of features")
        return features, [f"/features/{index}" for index in range(len(features))]
    if kind == "Feature":
        return [document], [""]
    if isinstance(kind, str) and kind in NESTING:
        return [{"type": "Feature", "geometry": document, "properties": None}], [""]
    raise InvalidGeometry("/type", "must be FeatureCollection, Feature or a geometry type")


def _read_feature(
    feature: Any,
    index: int,
    pointer: str,
    default_kind: PlaceKind | None,
    within: BaseGeometry | None,
    limits: ImportLimits,
) -> ImportedPlace:
    properties = _checked_properties(feature, pointer)
    kind = _kind(properties, pointer, default_kind)
    name = _name(feature, index)
    geometry = feature.get("geometry")
    if geometry is None:
        raise InvalidGeometry(f"{pointer}/geometry", "has no geometry", feature=name)
    # A boundary cannot be measured against the boundary that it replaces.
    area = None if kind == PlaceKind.BOUNDARY else within
    parsed = parse_geometry(
        geometry,
        pointer=f"{pointer}/geometry",
        feature=name,
        shapes=SHAPES[kind] if kind else None,
        within=area,
        limits=limits,
    )
    is_point = parsed.geom_type == "Point"
    return ImportedPlace(
        index=index,
        source=pointer,
        identifier=clean_name(feature.get("id")) or None,
        kind=kind,
        name=name,
        geometry=parsed,
        height_m=read_height_m(geometry["coordinates"]) if is_point else None,
        properties={key: value for key, value in properties.items() if key not in ("kind", "name")},
    )


def _checked_properties(feature: Any, pointer: str) -> Mapping[str, Any]:
    if not isinstance(feature, Mapping) or feature.get("type") != "Feature":
        raise InvalidGeometry(pointer, "must be a Feature")
    if "coordinates" in feature:
        raise InvalidGeometry(pointer, "a Feature must not carry coordinates of its own")
    check_no_crs(feature, pointer=pointer)
    properties = feature.get("properties")
    if properties is None:
        return {}
    if not isinstance(properties, Mapping):
        raise InvalidGeometry(f"{pointer}/properties", "must be an object or null")
    return properties


def _kind(
    properties: Mapping[str, Any], pointer: str, default_kind: PlaceKind | None
) -> PlaceKind | None:
    stated = properties.get("kind")
    if stated is None:
        return default_kind
    try:
        return PlaceKind(stated)
    except ValueError:
        raise InvalidGeometry(
            f"{pointer}/properties/kind", f"must be one of {', '.join(PlaceKind)}"
        ) from None


def _name(feature: Any, index: int) -> str:
    """The feature's name, or its place in the file, counted from 1 as people count."""
    properties = feature.get("properties") if isinstance(feature, Mapping) else None
    if isinstance(properties, Mapping):
        name = clean_name(properties.get("name") or properties.get("Name"))
        if name:
            return name
    return f"Feature {index + 1}"
