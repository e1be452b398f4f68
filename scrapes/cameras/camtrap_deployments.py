"""The deployments of a Camtrap DP 1.0.x package: one placement of a camera a row."""

import io
import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from scrapes.cameras.camtrap_cells import (
    booleans,
    empty,
    given,
    instants,
    listed,
    mark_repeated,
    numbers,
    or_none,
)
from scrapes.cameras.observation_rows import Account, RowFaults
from scrapes.cameras.settings import ImportSettings
from scrapes.cameras.tables import Batch, batches

DEPLOYMENTS_REQUIRED = (
    "deploymentID",
    "latitude",
    "longitude",
    "deploymentStart",
    "deploymentEnd",
)


@dataclass(frozen=True, kw_only=True)
class DeploymentRow:
    """One placement of a camera; texts are empty and figures None where not stated.

    ``clock_wrong`` repeats the package's own word that its times cannot be repaired.
    """

    line: int
    deployment_id: str
    location_id: str
    location_name: str
    latitude_deg: float
    longitude_deg: float
    coordinate_uncertainty_m: float | None
    start_s: int
    end_s: int
    camera_id: str
    camera_model: str
    heading_deg: float | None
    height_m: float | None
    clock_wrong: bool
    bait_used: bool | None
    groups: tuple[str, ...]
    tags: tuple[str, ...]
    comments: str


def read_deployments(
    text: io.TextIOBase, *, delimiter: str, account: Account, settings: ImportSettings
) -> dict[str, DeploymentRow]:
    """Deployments by id, in the order of the file; faulty rows go to ``account``."""
    rows: dict[str, DeploymentRow] = {}
    for batch in batches(
        text,
        table="deployments",
        required=DEPLOYMENTS_REQUIRED,
        account=account,
        settings=settings,
        delimiter=delimiter,
    ):
        for row in _deployment_rows(batch, known=rows, account=account):
            rows[row.deployment_id] = row
    return rows


def _deployment_rows(
    batch: Batch, *, known: Mapping[str, DeploymentRow], account: Account
) -> list[DeploymentRow]:
    faults = RowFaults(batch.line, account)
    ids = given(batch, "deploymentID")
    faults.mark(empty(ids), "id_missing", "deploymentID is missing.", ids)
    mark_repeated(faults, ids, known, "deployment_repeated")
    start = instants(faults, batch.column("deploymentStart"))
    end = instants(faults, batch.column("deploymentEnd"))
    faults.mark(end < start, "ends_before_start", "The deployment {} ends before it starts.", ids)
    latitude = numbers(faults, batch, "latitude", -90, 90, required=True)
    longitude = numbers(faults, batch, "longitude", -180, 180, required=True)
    uncertainty = numbers(faults, batch, "coordinateUncertainty", 1, math.inf)
    heading = numbers(faults, batch, "cameraHeading", 0, 360)
    height = numbers(faults, batch, "cameraHeight", 0, math.inf)
    wrong = booleans(faults, batch, "timestampIssues")
    bait = booleans(faults, batch, "baitUse")
    words = {
        name: given(batch, name)
        for name in (
            "locationID",
            "locationName",
            "cameraID",
            "cameraModel",
            "deploymentGroups",
            "deploymentTags",
            "deploymentComments",
        )
    }
    return [
        DeploymentRow(
            line=int(batch.line[row]),
            deployment_id=ids[row],
            location_id=words["locationID"][row],
            location_name=words["locationName"][row],
            latitude_deg=float(latitude[row]),
            longitude_deg=float(longitude[row]),
            coordinate_uncertainty_m=or_none(uncertainty[row]),
            start_s=int(start[row]),
            end_s=int(end[row]),
            camera_id=words["cameraID"][row],
            camera_model=words["cameraModel"][row],
            heading_deg=or_none(heading[row]),
            height_m=or_none(height[row]),
            clock_wrong=bool(wrong[row]),
            bait_used=bait[row],
            groups=listed(words["deploymentGroups"][row]),
            tags=listed(words["deploymentTags"][row]),
            comments=words["deploymentComments"][row],
        )
        for row in np.flatnonzero(faults.sound).tolist()
    ]
