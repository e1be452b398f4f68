"""The rules of Camtrap DP 1.0.2 as table schemas for an independent validator.

Source: Camtrap DP 1.0.2 (Biodiversity Information Standards, TDWG, 2025): fields, order, types,
bounds, closed lists, keys; the words are our own. What the profile asks of the description is
checked against ``PROFILE``, a JSON schema of the properties it requires.
"""

import copy
import json
import zipfile
from pathlib import Path

from frictionless import Package
from jsonschema import Draft202012Validator

INSTANT = "%Y-%m-%dT%H:%M:%S%z"


def _field(name, kind="string", **constraints):
    field = {"name": name, "type": kind, "constraints": constraints}
    return field | ({"format": INSTANT} if kind == "datetime" else {})


def _key(name):
    return _field(name, required=True, unique=True)


def _to(field, resource):
    return {"fields": field, "reference": {"resource": resource, "fields": field}}


def _schema(key, fields, *foreign):
    return {
        "fields": fields,
        "missingValues": ["", "NA", "NaN", "nan"],
        "primaryKey": key,
        "foreignKeys": list(foreign),
    }


FEATURES = [
    *("roadPaved", "roadDirt", "trailHiking", "trailGame", "roadUnderpass", "roadOverpass"),
    *("roadBridge", "culvert", "burrow", "nestSite", "carcass", "waterSource", "fruitingTree"),
]

SCHEMAS = {
    "deployments": _schema(
        "deploymentID",
        [
            _key("deploymentID"),
            _field("locationID"),
            _field("locationName"),
            _field("latitude", "number", required=True, minimum=-90, maximum=90),
            _field("longitude", "number", required=True, minimum=-180, maximum=180),
            _field("coordinateUncertainty", "integer", minimum=1),
            _field("deploymentStart", "datetime", required=True),
            _field("deploymentEnd", "datetime", required=True),
            _field("setupBy"),
            _field("cameraID"),
            _field("cameraModel"),
            _field("cameraDelay", "integer", minimum=0),
            _field("cameraHeight", "number", minimum=0),
            _field("cameraDepth", "number", minimum=0),
            _field("cameraTilt", "integer", minimum=-90, maximum=90),
            _field("cameraHeading", "integer", minimum=0, maximum=360),
            _field("detectionDistance", "number", minimum=0),
            _field("timestampIssues", "boolean"),
            _field("baitUse", "boolean"),
            _field("featureType", enum=FEATURES),
            _field("habitat"),
            _field("deploymentGroups"),
            _field("deploymentTags"),
            _field("deploymentComments"),
        ],
    ),
    "media": _schema(
        "mediaID",
        [
            _key("mediaID"),
            _field("deploymentID", required=True),
            _field("captureMethod", enum=["activityDetection", "timeLapse"]),
            _field("timestamp", "datetime", required=True),
            _field("filePath", required=True, pattern=r"^(?=^[^./~])(^((?!\.{2}).)*$).*$"),
            _field("filePublic", "boolean", required=True),
            _field("fileName"),
            _field("fileMediatype", required=True, pattern=r"^(image|video|audio)/.*$"),
            _field("exifData", "object"),
            _field("favorite", "boolean"),
            _field("mediaComments"),
        ],
        _to("deploymentID", "deployments"),
    ),
    "observations": _schema(
        "observationID",
        [
            _key("observationID"),
            _field("deploymentID", required=True),
            _field("mediaID"),
            _field("eventID"),
            _field("eventStart", "datetime", required=True),
            _field("eventEnd", "datetime", required=True),
            _field("observationLevel", required=True, enum=["media", "event"]),
            _field(
                "observationType",
                required=True,
                enum=["animal", "human", "vehicle", "blank", "unknown", "unclassified"],
            ),
            _field("cameraSetupType", enum=["setup", "calibration"]),
            _field("scientificName"),
            _field("count", "integer", minimum=1),
            _field("lifeStage", enum=["adult", "subadult", "juvenile"]),
            _field("sex", enum=["female", "male"]),
            _field("behavior"),
            _field("individualID"),
            _field("individualPositionRadius", "number", minimum=0),
            _field("individualPositionAngle", "number", minimum=-90, maximum=90),
            _field("individualSpeed", "number", minimum=0),
            _field("bboxX", "number", minimum=0, maximum=1),
            _field("bboxY", "number", minimum=0, maximum=1),
            _field("bboxWidth", "number", minimum=1e-15, maximum=1),
            _field("bboxHeight", "number", minimum=1e-15, maximum=1),
            _field("classificationMethod", enum=["human", "machine"]),
            _field("classifiedBy"),
            _field("classificationTimestamp", "datetime"),
            _field("classificationProbability", "number", minimum=0, maximum=1),
            _field("observationTags"),
            _field("observationComments"),
        ],
        _to("deploymentID", "deployments"),
        _to("mediaID", "media"),
    ),
}

PROFILE = {
    "type": "object",
    "required": [
        "resources",
        "profile",
        "created",
        "contributors",
        "project",
        "spatial",
        "temporal",
        "taxonomic",
    ],
    "properties": {
        "profile": {"type": "string", "pattern": r"^https://.*/camtrap-dp/1\.0\.2/"},
        "name": {"type": "string", "pattern": r"^[-a-z0-9._/]+$"},
        "created": {"type": "string", "pattern": r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$"},
        "contributors": {
            "type": "array",
            "minItems": 1,
            "items": {
                "required": ["title"],
                "properties": {
                    "role": {
                        "enum": [
                            "contact",
                            "principalInvestigator",
                            "rightsHolder",
                            "publisher",
                            "contributor",
                        ]
                    }
                },
            },
        },
        "licenses": {"type": "array", "minItems": 2},
        "project": {
            "type": "object",
            "required": [
                "title",
                "samplingDesign",
                "captureMethod",
                "individualAnimals",
                "observationLevel",
            ],
            "properties": {
                "title": {"type": "string", "minLength": 1},
                "samplingDesign": {
                    "enum": [
                        "simpleRandom",
                        "systematicRandom",
                        "clusteredRandom",
                        "experimental",
                        "targeted",
                        "opportunistic",
                    ]
                },
                "captureMethod": {
                    "type": "array",
                    "minItems": 1,
                    "uniqueItems": True,
                    "items": {"enum": ["activityDetection", "timeLapse"]},
                },
                "individualAnimals": {"type": "boolean"},
                "observationLevel": {
                    "type": "array",
                    "items": {"enum": ["media", "event"]},
                },
            },
        },
        "coordinatePrecision": {"type": "number"},
        "spatial": {
            "type": "object",
            "required": ["type", "coordinates"],
            "properties": {"type": {"enum": ["Point", "Polygon"]}},
        },
        "temporal": {
            "type": "object",
            "required": ["start", "end"],
            "properties": {
                side: {"type": "string", "pattern": r"^\d{4}-\d\d-\d\d$"}
                for side in ("start", "end")
            },
        },
        "taxonomic": {
            "type": "array",
            "items": {"type": "object", "required": ["scientificName"]},
        },
        "resources": {
            "type": "array",
            "minItems": 3,
            "items": {
                "required": ["name", "path", "profile", "schema"],
                "if": {"properties": {"name": {"enum": sorted(SCHEMAS)}}},
                "then": {
                    "properties": {
                        "profile": {"const": "tabular-data-resource"},
                        "schema": {"type": "string", "pattern": r"/camtrap-dp/1\.0\.2/"},
                    }
                },
            },
        },
    },
}


def unpacked(content, folder):
    """A package's files in a folder; ``content`` is the archive's bytes."""
    archive = folder / "package.zip"
    archive.write_bytes(content)
    with zipfile.ZipFile(archive) as opened:
        opened.extractall(folder / "package")
    return folder / "package"


def described(folder):
    return json.loads((Path(folder) / "datapackage.json").read_text(encoding="utf-8"))


def faults(folder):
    """Everything that the validators find wrong with the package in a folder."""
    description = described(folder)
    found = [error.message for error in Draft202012Validator(PROFILE).iter_errors(description)]
    local = copy.deepcopy(description)
    del local["profile"]
    for resource in local["resources"]:
        if resource["name"] in SCHEMAS:
            # The addresses of the published schemas are not asked in tests.
            resource["schema"] = SCHEMAS[resource["name"]]
    report = Package.from_descriptor(local, basepath=str(folder)).validate()
    return found + [f"{error.type}: {error.message}" for error in _errors(report)]


def _errors(report):
    yield from report.errors
    for task in report.tasks:
        yield from task.errors
