"""Invented pictures written the way they come in earnest: a CSV table, a Camtrap DP package."""

import csv
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from coop.demo import scenario
from coop.demo.herd import DAY_S, Picture, known_until_s
from coop.demo.layout import GroundPlan
from properties.land.geodesy import LocalFrame

CSV_COLUMNS = ("camera", "taken_at", "what", "species", "how_many", "sex", "age", "named")
_AGES = {"adult": "grown", "subadult": "young", "": ""}
_SEXES = {"male": "buck", "female": "doe", "": ""}
CSV_MAPPING: Mapping[str, Any] = {
    "instant": "taken_at",
    "deployment": "camera",
    "kind": "what",
    "species": "species",
    "count": "how_many",
    "sex": "sex",
    "life_stage": "age",
    "individual": "named",
    "sexes": {"buck": "male", "doe": "female"},
    "life_stages": {"grown": "adult", "young": "subadult"},
}
"""What the columns and words of :func:`observation_csv` mean, as a manager would state it."""

_SCHEMA = "camtrap-dp/1.0.2"


def observation_csv(pictures: Iterable[Picture], *, midnight: datetime) -> str:
    """A table of somebody's own making: its own column names and words, times with offset.

    Its last line names a camera nobody has: the import says so and takes the rest.
    """
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(CSV_COLUMNS)
    last = ""
    for picture in pictures:
        last = _instant(midnight, picture.at_s)
        table.writerow(
            (
                picture.code,
                last,
                picture.kind,
                picture.species,
                picture.count or "",
                _SEXES[picture.sex],
                _AGES[picture.life_stage],
                picture.individual,
            )
        )
    table.writerow(("X-9", last, "animal", "", "", "", "", ""))
    return text.getvalue()


def write_camtrap_package(
    folder: Path,
    *,
    ground: GroundPlan,
    pictures: Sequence[Picture],
    midnight: datetime,
    frame: LocalFrame,
) -> None:
    """A Camtrap DP 1.0.2 folder: three tables and their description.

    Each stay is one observation of event level; the first deployment holds its pictures at media
    level besides, as packages do that were tagged twice.
    """
    folder.mkdir(parents=True, exist_ok=True)
    _write_table(folder / "deployments.csv", _deployments(ground, midnight, frame))
    _write_table(folder / "media.csv", _media(pictures, midnight))
    _write_table(folder / "observations.csv", _observations(ground, pictures, midnight))
    description = json.dumps(_description(ground, midnight, frame), indent=1)
    (folder / "datapackage.json").write_text(description + "\n", encoding="utf-8")


def _deployments(
    ground: GroundPlan, midnight: datetime, frame: LocalFrame
) -> list[dict[str, object]]:
    places = {scrape.name: scrape.at for scrape in ground.scrapes}
    rows = []
    for camera in ground.cameras:
        for hung in camera.deployments:
            east, north = places[hung.scrape]
            longitude, latitude = frame.to_degrees(east + 3.0, north + 3.0)
            rows.append(
                {
                    "deploymentID": hung.code,
                    "locationName": hung.scrape,
                    "latitude": round(float(latitude), 6),
                    "longitude": round(float(longitude), 6),
                    "deploymentStart": _instant(midnight, -hung.from_days_ago * DAY_S + 12 * 3_600),
                    "deploymentEnd": _instant(midnight, known_until_s(camera, hung)),
                    "cameraID": camera.name,
                    "timestampIssues": "false",
                    "deploymentTags": "scrape",
                }
            )
    return rows


def _media(pictures: Sequence[Picture], midnight: datetime) -> list[dict[str, object]]:
    return [
        {
            "mediaID": f"m{number:06d}",
            "deploymentID": picture.code,
            "captureMethod": "activityDetection",
            "timestamp": _instant(midnight, picture.at_s),
            "filePath": f"{picture.code}/{number:06d}.jpg",
            "filePublic": "false" if picture.kind == "human" else "true",
            "fileMediatype": "image/jpeg",
        }
        for number, picture in enumerate(pictures)
    ]


def _observations(
    ground: GroundPlan, pictures: Sequence[Picture], midnight: datetime
) -> list[dict[str, object]]:
    stays: dict[tuple[str, int], list[tuple[int, Picture]]] = {}
    for number, picture in enumerate(pictures):
        stays.setdefault((picture.code, picture.event), []).append((number, picture))
    twice_tagged = ground.cameras[0].deployments[0].code
    rows = []
    for (code, event), stay in stays.items():
        instants = [picture.at_s for _number, picture in stay]
        rows.append(
            _observation(
                f"e-{code}-{event}", stay[0][1], midnight, min(instants), max(instants), "event"
            )
        )
        if code == twice_tagged:
            rows += [
                _observation(
                    f"m-{number:06d}", picture, midnight, picture.at_s, picture.at_s, "media"
                )
                | {"mediaID": f"m{number:06d}"}
                for number, picture in stay
            ]
    return rows


def _observation(
    identity: str, picture: Picture, midnight: datetime, start_s: int, end_s: int, level: str
) -> dict[str, object]:
    return {
        "observationID": identity,
        "deploymentID": picture.code,
        "mediaID": "",
        "eventID": f"{picture.code}-{picture.event}",
        "eventStart": _instant(midnight, start_s),
        "eventEnd": _instant(midnight, end_s),
        "observationLevel": level,
        "observationType": picture.kind,
        "scientificName": picture.species,
        "count": picture.count or "",
        "lifeStage": picture.life_stage,
        "sex": picture.sex,
        "individualID": picture.individual,
        "classificationMethod": "human",
    }


def _description(ground: GroundPlan, midnight: datetime, frame: LocalFrame) -> dict[str, object]:
    first = midnight.date() - timedelta(days=scenario.RECORD_DAYS)
    return {
        "name": f"{ground.key}-invented",
        "title": f"{ground.name}: pictures of scrapes (invented)",
        "description": scenario.REMARK,
        "version": "1.0",
        "profile": f"{_SCHEMA}/camtrap-dp-profile.json",
        "created": midnight.isoformat(),
        "contributors": [{"title": "Invented manager", "role": "contact"}],
        "project": {
            "title": "Scrapes of an invented cooperative",
            "samplingDesign": "targeted",
            "captureMethod": ["activityDetection"],
            "individualAnimals": True,
            "observationLevel": ["event", "media"],
        },
        "spatial": {"type": "Point", "coordinates": [frame.origin_lon, frame.origin_lat]},
        "temporal": {"start": first.isoformat(), "end": midnight.date().isoformat()},
        "taxonomic": [{"scientificName": "Odocoileus virginianus"}],
        "resources": [
            {
                "name": name,
                "path": f"{name}.csv",
                "profile": "tabular-data-resource",
                "schema": f"{_SCHEMA}/{name}-table-schema.json",
            }
            for name in ("deployments", "media", "observations")
        ],
    }


def _write_table(place: Path, rows: Sequence[Mapping[str, object]]) -> None:
    with place.open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, fieldnames=list(rows[0]), lineterminator="\n")
        table.writeheader()
        table.writerows(rows)


def _instant(midnight: datetime, seconds: int) -> str:
    return f"{midnight.astimezone(UTC) + timedelta(seconds=seconds):%Y-%m-%dT%H:%M:%SZ}"
