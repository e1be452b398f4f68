"""The description of a Camtrap DP 1.0.2 package (``datapackage.json``)."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from coop.records import new_id
from properties.land.models import Property
from scrapes.cameras.camtrap_terms import (
    ADDRESS,
    ID_PREFIX,
    ID_PREFIX_VALUE,
    INSTANT_FORMAT,
    OUTAGE_FIELDS,
    OUTAGES,
    STATUS_FIELDS,
    STATUSES,
)
from scrapes.cameras.export_places import Positions
from scrapes.cameras.export_rows import DeploymentOut
from scrapes.cameras.export_unsaid import Unsaid


def description_of(
    land: Property,
    told: Sequence[DeploymentOut],
    *,
    now: datetime,
    positions: Positions,
    species: Sequence[str],
    individuals: bool,
    ids_prefixed: bool,
    unsaid: Sequence[Unsaid],
) -> dict[str, Any]:
    """Everything that the standard requires, and the list of what it cannot say."""
    said = " ".join(one.sentence for one in unsaid)
    starts = [one.row.starts_at for one in told]
    ends = [end for one in told if (end := one.row.ends_at or one.known_until) is not None]
    return {
        "resources": [
            *(_standard_table(name) for name in ("deployments", "media", "observations")),
            _own_table(OUTAGES, OUTAGE_FIELDS),
            _own_table(STATUSES, STATUS_FIELDS),
        ],
        "profile": f"{ADDRESS}camtrap-dp-profile.json",
        "name": f"scrape-cameras-{land.id.hex}",
        "id": str(new_id()),
        "created": now.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        "title": f"{land.name}: what cameras saw at its scrapes",
        "description": f"What this package cannot say: {said}",
        "contributors": [{"title": land.cooperative.name, "role": "contributor"}],
        "project": {
            "title": land.cooperative.name,
            "samplingDesign": "targeted",
            "captureMethod": ["activityDetection"],
            "individualAnimals": individuals,
            "observationLevel": _levels(told),
        },
        "spatial": _area(told, positions),
        "temporal": {
            "start": min(starts).astimezone(UTC).date().isoformat(),
            "end": max(ends).astimezone(UTC).date().isoformat(),
        },
        "taxonomic": [{"scientificName": name} for name in species],
        **({ID_PREFIX: ID_PREFIX_VALUE} if ids_prefixed else {}),
        **(
            {}
            if positions.precision_deg is None
            else {"coordinatePrecision": positions.precision_deg}
        ),
    }


def _standard_table(name: str) -> dict[str, Any]:
    return {
        "name": name,
        "path": f"{name}.csv",
        "profile": "tabular-data-resource",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "schema": f"{ADDRESS}{name}-table-schema.json",
    }


def _own_table(name: str, fields: Mapping[str, str]) -> dict[str, Any]:
    return {
        "name": name,
        "path": f"{name}.csv",
        "profile": "tabular-data-resource",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "schema": {
            "fields": [
                {"name": column, "type": kind}
                | ({"format": INSTANT_FORMAT} if kind == "datetime" else {})
                for column, kind in fields.items()
            ],
            "foreignKeys": [
                {
                    "fields": "deploymentID",
                    "reference": {"resource": "deployments", "fields": "deploymentID"},
                }
            ],
        },
    }


def _levels(told: Sequence[DeploymentOut]) -> list[str]:
    by_event = any(one.by_event for one in told)
    by_media = any(one.observations and not one.by_event for one in told)
    return [*(["media"] if by_media else []), *(["event"] if by_event else [])]


def _area(told: Sequence[DeploymentOut], positions: Positions) -> dict[str, Any]:
    """The rectangle around the cameras: GeoJSON, anticlockwise (RFC 7946)."""
    places = [positions.of(one.row.longitude, one.row.latitude) for one in told]
    west, east = min(x for x, _ in places), max(x for x, _ in places)
    south, north = min(y for _, y in places), max(y for _, y in places)
    if (west, south) == (east, north):
        return {"type": "Point", "coordinates": [west, south]}
    ring = [[west, south], [east, south], [east, north], [west, north], [west, south]]
    return {"type": "Polygon", "coordinates": [ring]}
