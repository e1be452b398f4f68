"""Observations and pictures of a Camtrap DP 1.0.x package, a batch at a time."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scrapes.cameras.camtrap_cells import counts, empty, flags, given, instants, longer, one_of
from scrapes.cameras.observation_rows import (
    KINDS,
    LIFE_STAGES,
    LONGEST_TEXT,
    SEXES,
    Account,
    ObservationColumns,
    RowFaults,
    texts,
)
from scrapes.cameras.seen_keys import SeenKeys, mark_seen
from scrapes.cameras.tables import Batch

MEDIA_REQUIRED = ("mediaID", "deploymentID", "timestamp")
OBSERVATIONS_REQUIRED = (
    "observationID",
    "deploymentID",
    "eventStart",
    "eventEnd",
    "observationLevel",
    "observationType",
)

_LEVELS = ("media", "event")
_SET_UP = frozenset({"setup", "calibration"})


@dataclass(frozen=True, kw_only=True)
class TriggerColumns:
    """Pictures of one batch, shape (rows,): every kind, also those nobody has tagged."""

    media_id: NDArray[np.object_]
    deployment_id: NDArray[np.object_]
    at_s: NDArray[np.int64]


def observation_columns(
    batch: Batch,
    *,
    deployments: Collection[str],
    seen: SeenKeys,
    account: Account,
    ids_prefixed: bool = False,
) -> ObservationColumns:
    """The sound rows of a batch, of both levels. ``seen`` remembers ids.

    ``ids_prefixed``: the package put a deployment's name before each id, and it is taken off.
    """
    faults = RowFaults(batch.line, account)
    whole_ids, places = given(batch, "observationID"), given(batch, "deploymentID")
    _mark_keys(faults, whole_ids, places, deployments, "observationID")
    ids = whole_ids
    if ids_prefixed:
        ids = [one.removeprefix(f"{place}:") for one, place in zip(ids, places, strict=True)]
    faults.mark(
        longer(ids, LONGEST_TEXT["observation_id"]), "id_too_long", "The id {} is too long.", ids
    )
    start = instants(faults, batch.column("eventStart"))
    end = instants(faults, batch.column("eventEnd"))
    faults.mark(end < start, "ends_before_start", "The observation {} ends before it starts.", ids)
    level = one_of(faults, batch, "observationLevel", _LEVELS, required=True)
    kind = one_of(faults, batch, "observationType", KINDS, required=True)
    sex = one_of(faults, batch, "sex", SEXES)
    stage = one_of(faults, batch, "lifeStage", LIFE_STAGES)
    count = counts(faults, given(batch, "count"))
    species, who = given(batch, "scientificName"), given(batch, "individualID")
    for cells, name in ((species, "species"), (who, "individual")):
        faults.mark(longer(cells, LONGEST_TEXT[name]), f"{name}_too_long", "{} is too long.", cells)
    # Ids are remembered of sound rows only: a faulty row must not bar its corrected twin.
    mark_seen(faults, whole_ids, seen)
    set_up = batch.column("cameraSetupType")
    return ObservationColumns(
        line=batch.line,
        observation_id=texts(ids),
        deployment_id=texts(places),
        start_s=start,
        end_s=end,
        kind=texts(kind),
        event_level=flags(level, lambda cell: cell == "event"),
        set_up=flags(set_up, _SET_UP.__contains__),
        species=texts(species),
        count=count,
        sex=texts(sex),
        life_stage=texts(stage),
        individual=texts(who),
        daylight=np.zeros(len(batch), dtype=bool),
    ).taken(faults.sound)


def trigger_columns(
    batch: Batch, *, deployments: Collection[str], account: Account
) -> TriggerColumns:
    """Sound rows of the media table as columns; the others go to ``account``."""
    faults = RowFaults(batch.line, account)
    ids, places = given(batch, "mediaID"), given(batch, "deploymentID")
    _mark_keys(faults, ids, places, deployments, "mediaID")
    at = instants(faults, batch.column("timestamp"))
    sound = faults.sound
    return TriggerColumns(
        media_id=texts(ids)[sound], deployment_id=texts(places)[sound], at_s=at[sound]
    )


def _mark_keys(
    faults: RowFaults,
    ids: Sequence[str],
    places: Sequence[str],
    deployments: Collection[str],
    name: str,
) -> None:
    faults.mark(empty(ids), "id_missing", f"{name} is missing.", ids)
    faults.mark(
        flags(places, lambda place: place not in deployments),
        "deployment_unknown",
        "The deployment {} is not among those taken.",
        places,
    )
