"""Words of Camtrap DP 1.0.2 that packages are written with, and our own words beside them.

The standard lets a package hold further tables and free tags. In them stands what it has no
column for, so that a package read back gives the same visits and effort.
"""

VERSION = "1.0.2"
ADDRESS = f"https://raw.githubusercontent.com/tdwg/camtrap-dp/{VERSION}/"

DEPLOYMENT_COLUMNS = (
    "deploymentID",
    "locationID",
    "locationName",
    "latitude",
    "longitude",
    "coordinateUncertainty",
    "deploymentStart",
    "deploymentEnd",
    "setupBy",
    "cameraID",
    "cameraModel",
    "cameraDelay",
    "cameraHeight",
    "cameraDepth",
    "cameraTilt",
    "cameraHeading",
    "detectionDistance",
    "timestampIssues",
    "baitUse",
    "featureType",
    "habitat",
    "deploymentGroups",
    "deploymentTags",
    "deploymentComments",
)
MEDIA_COLUMNS = (
    "mediaID",
    "deploymentID",
    "captureMethod",
    "timestamp",
    "filePath",
    "filePublic",
    "fileName",
    "fileMediatype",
    "exifData",
    "favorite",
    "mediaComments",
)
OBSERVATION_COLUMNS = (
    "observationID",
    "deploymentID",
    "mediaID",
    "eventID",
    "eventStart",
    "eventEnd",
    "observationLevel",
    "observationType",
    "cameraSetupType",
    "scientificName",
    "count",
    "lifeStage",
    "sex",
    "behavior",
    "individualID",
    "individualPositionRadius",
    "individualPositionAngle",
    "individualSpeed",
    "bboxX",
    "bboxY",
    "bboxWidth",
    "bboxHeight",
    "classificationMethod",
    "classifiedBy",
    "classificationTimestamp",
    "classificationProbability",
    "observationTags",
    "observationComments",
)

OUTAGES = "outages"
OUTAGE_KINDS = ("stolen", "dead", "full", "obscured")
OUTAGE_FIELDS = {
    "deploymentID": "string",
    "kind": "string",
    "start": "datetime",
    "end": "datetime",
    "estimated": "boolean",
    "notes": "string",
}
STATUSES = "camera-statuses"
STATUS_FIELDS = {
    "deploymentID": "string",
    "reportedAt": "datetime",
    "cardPulled": "boolean",
    "batteryPercent": "number",
    "cardUsedPercent": "number",
}
INSTANT_FORMAT = "%Y-%m-%dT%H:%M:%S%z"

ID_PREFIX, ID_PREFIX_VALUE = "observationIDPrefix", "deploymentID"
"""Stands in the description where ids had to be told apart by their deployment's name."""

RUNNING = "state:running"
SENDING = "camera:sending"
SCRAPE_TAG = "scrape:"
