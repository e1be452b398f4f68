"""A small Camtrap DP package, made up for tests and changed cell by cell."""

import csv
import gzip
import io
import json
import zipfile

PROFILE = "https://raw.githubusercontent.com/tdwg/camtrap-dp/{}/camtrap-dp-profile.json"

DEPLOYMENTS = [
    {
        "deploymentID": "d1",
        "latitude": "38.5",
        "longitude": "-90.25",
        "deploymentStart": "2025-10-01T12:00:00-05:00",
        "deploymentEnd": "2025-11-20T09:00:00-06:00",
        "cameraID": "north",
        "cameraHeading": "20",
        "timestampIssues": "false",
        "deploymentTags": "scrape:oak flat | season:autumn 2025",
    },
    {
        "deploymentID": "d2",
        "latitude": "38.51",
        "longitude": "-90.26",
        "deploymentStart": "2025-10-01T12:00:00-05:00",
        "deploymentEnd": "2025-11-20T09:00:00-06:00",
        "cameraID": "south",
        "cameraHeading": "",
        "timestampIssues": "NA",
        "deploymentTags": "",
    },
]


def observation(identity, deployment, start, level, kind="animal", **cells):
    return {
        "observationID": identity,
        "deploymentID": deployment,
        "mediaID": "",
        "eventStart": start,
        "eventEnd": cells.pop("end", start),
        "observationLevel": level,
        "observationType": kind,
        "cameraSetupType": "",
        "scientificName": "Odocoileus virginianus" if kind == "animal" else "",
        "count": "",
        "lifeStage": "",
        "sex": "",
        "individualID": "",
        **cells,
    }


OBSERVATIONS = [
    observation("e1", "d1", "2025-10-20T06:00:00-05:00", "event", end="2025-10-20T06:05:00-05:00",
                count="2", sex="female", lifeStage="adult"),
    observation("m1", "d1", "2025-10-20T11:00:00Z", "media", count="1", sex="female"),
    observation("m2", "d1", "2025-10-20T11:04:00Z", "media", count="1", sex="female"),
    observation("e2", "d1", "2025-10-21T06:00:00-05:00", "event", "blank"),
    observation("m3", "d2", "2025-10-20T18:00:00-05:00", "media", count="NA", sex="male",
                individualID="wide eight"),
    observation("m4", "d2", "2025-10-20T18:10:00-05:00", "media", "human", cameraSetupType="setup"),
    observation("m5", "d2", "2025-11-02T01:30:00-06:00", "media", individualID="NaN"),
]  # fmt: skip

MEDIA = [
    {"mediaID": f"p{n}", "deploymentID": "d1", "timestamp": f"2025-10-20T06:0{n}:00-05:00"}
    for n in range(5)
]


def as_csv(rows):
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, fieldnames=list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue().encode()


def package_files(
    *,
    deployments=DEPLOYMENTS,
    media=MEDIA,
    observations=OBSERVATIONS,
    version="1.0.2",
    packed=False,
    **description,
):
    """File names and bytes of a package; tables may be given as rows or as bytes."""
    suffix = ".csv.gz" if packed else ".csv"
    tables = {"deployments": deployments, "media": media, "observations": observations}
    whole = {
        "profile": PROFILE.format(version),
        "resources": [
            {"name": name, "path": name + suffix, "profile": "tabular-data-resource"}
            for name in tables
        ],
        **description,
    }
    files = {"datapackage.json": json.dumps(whole).encode()}
    for name, rows in tables.items():
        content = rows if isinstance(rows, bytes) else as_csv(rows)
        files[name + suffix] = gzip.compress(content) if packed else content
    return files


def in_folder(folder, files):
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in files.items():
        (folder / name).write_bytes(content)
    return folder


def in_zip(place, files, *, inside=""):
    with zipfile.ZipFile(place, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(inside + name, content)
    return place
