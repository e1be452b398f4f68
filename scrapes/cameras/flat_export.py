"""Observations as one flat table (CSV) or as points on a map (GeoJSON, RFC 7946), row by row.

The first columns bear the names that an import of CSV knows without a mapping, so that a table
given out can be read in again where its cameras hang.
"""

import csv
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import orjson
from django.db.models import QuerySet

from coop.printing.cells import inert
from scrapes.cameras.export_rows import CHUNK, OBSERVATION_FIELDS, ObservationValues
from scrapes.cameras.models import Deployment, Observation

COLUMNS = (
    "instant",
    "deployment",
    "observation_id",
    "kind",
    "species",
    "count",
    "sex",
    "life_stage",
    "individual",
    "ended_at",
    "event_level",
    "scrape",
    "camera",
    "longitude",
    "latitude",
)

ShowsPlace = Callable[[UUID], bool]
"""Whether whoever asks may know where the cameras of a property hang."""


def observations_csv(rows: QuerySet[Observation], *, shows_place: ShowsPlace) -> Iterator[bytes]:
    """Lines with a header; text cells cannot act as a spreadsheet's formulas."""
    writer = csv.writer(_Line(), lineterminator="\r\n")
    yield writer.writerow(COLUMNS)
    for cells in _rows(rows, shows_place):
        yield writer.writerow([inert(cells[column]) for column in COLUMNS])


def observations_geojson(
    rows: QuerySet[Observation], *, shows_place: ShowsPlace
) -> Iterator[bytes]:
    """One feature an observation, at its camera's place; null where that is not for the caller."""
    yield from feature_collection(map(_feature, _rows(rows, shows_place)))


def feature_collection(features: Iterable[Mapping[str, Any]]) -> Iterator[bytes]:
    """A GeoJSON FeatureCollection, one feature a line."""
    yield b'{"type":"FeatureCollection","features":['
    for number, feature in enumerate(features):
        yield (b",\n" if number else b"\n") + orjson.dumps(feature)
    yield b"\n]}\n"


class _Line:
    """A file for the CSV writer that hands each line back."""

    def write(self, line: str) -> bytes:
        return line.encode()


def _rows(rows: QuerySet[Observation], shows_place: ShowsPlace) -> Iterator[dict[str, Any]]:
    hung: dict[UUID, dict[str, Any]] = {}
    zones: dict[UUID, ZoneInfo] = {}
    ordered = rows.order_by("observed_at", "id").values_list("deployment_id", *OBSERVATION_FIELDS)
    for deployment_id, *values in ordered.iterator(chunk_size=CHUNK):
        if deployment_id not in hung:
            hanging = _hanging(deployment_id)
            hung[deployment_id] = _place(hanging, shows_place)
            zones[deployment_id] = ZoneInfo(hanging.scrape.property.time_zone)
        row = ObservationValues._make(values)
        zone = zones[deployment_id]
        yield {
            "instant": _instant(row.observed_at, zone),
            "observation_id": row.source_key,
            "kind": row.kind,
            "species": row.species,
            "count": row.number,
            "sex": row.sex,
            "life_stage": row.life_stage,
            "individual": row.individual,
            "ended_at": None if row.ended_at is None else _instant(row.ended_at, zone),
            "event_level": "true" if row.event_level else "false",
            **hung[deployment_id],
        }


def _hanging(deployment_id: UUID) -> Deployment:
    return Deployment.objects.select_related("scrape__property", "camera").get(id=deployment_id)


def _instant(at: datetime, zone: ZoneInfo) -> str:
    """By the property's clock, to the second."""
    return at.astimezone(zone).isoformat(timespec="seconds")


def _place(row: Deployment, shows_place: ShowsPlace) -> dict[str, Any]:
    seen = shows_place(row.scrape.property_id)
    return {
        "deployment": row.code or str(row.id),
        "scrape": row.scrape.name,
        "camera": row.camera.name,
        "longitude": row.longitude if seen else None,
        "latitude": row.latitude if seen else None,
    }


def _feature(cells: dict[str, Any]) -> Mapping[str, Any]:
    longitude, latitude = cells.pop("longitude"), cells.pop("latitude")
    place = None if longitude is None else {"type": "Point", "coordinates": [longitude, latitude]}
    cells["event_level"] = cells["event_level"] == "true"
    return {"type": "Feature", "geometry": place, "properties": cells}
