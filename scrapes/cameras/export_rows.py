"""What is stored of a property's cameras, as an export needs it: deployments, rows in order."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, NamedTuple
from uuid import UUID

from django.db.models import Count, F, Max, Q

from properties.land.models import Property
from scrapes.cameras.evidence import statuses_by_deployment, told_at
from scrapes.cameras.models import CameraStatus, Deployment, Observation, Outage

CHUNK = 20_000


class ObservationValues(NamedTuple):
    """One stored observation; instants in UTC. ``number`` is how many animals, where stated."""

    source_key: str
    observed_at: datetime
    ended_at: datetime | None
    kind: str
    species: str
    number: int | None
    sex: str
    life_stage: str
    individual: str
    event_level: bool


OBSERVATION_FIELDS = tuple(
    "count" if name == "number" else name for name in ObservationValues._fields
)
"""Fields of the model, in the order of :class:`ObservationValues`."""


@dataclass(frozen=True, kw_only=True)
class DeploymentOut:
    """A deployment under the name it is exported by.

    ``known_until`` is the last instant about which its camera can speak; None where nothing was
    ever read. ``events`` of its ``observations`` are whole events, the others single pictures;
    ``outside`` of them carry a time outside the deployment.
    """

    row: Deployment
    name: str
    camera: str
    location: str
    known_until: datetime | None
    outages: tuple[Outage, ...]
    statuses: tuple[CameraStatus, ...]
    observations: int
    events: int
    outside: int

    @property
    def runs(self) -> bool:
        return self.row.ends_at is None

    @property
    def by_event(self) -> bool:
        """Told by whole events: only where no row is a single picture, for the two never mix."""
        return self.observations > 0 and self.events == self.observations


def deployments_out(land: Property, *, now: datetime) -> tuple[DeploymentOut, ...]:
    """Every deployment at the property's scrapes begun by ``now``, in order of start."""
    rows = list(
        Deployment.objects.filter(scrape__property=land, starts_at__lte=now)
        .select_related("camera", "scrape")
        .order_by("starts_at", "id")
    )
    seen: dict[UUID, dict[str, Any]] = {
        one["deployment_id"]: dict(one)
        for one in Observation.objects.filter(deployment__in=rows, observed_at__lte=now)
        .values("deployment_id")
        .annotate(
            last=Max("observed_at"),
            number=Count("id"),
            events=Count("id", Q(event_level=True)),
            outside=Count(
                "id",
                Q(observed_at__lt=F("deployment__starts_at"))
                | Q(observed_at__gt=F("deployment__ends_at")),
            ),
        )
    }
    outages: dict[UUID, list[Outage]] = defaultdict(list)
    for outage in Outage.objects.filter(deployment__in=rows, starts_at__lte=now).order_by(
        "starts_at", "id"
    ):
        outages[outage.deployment_id].append(outage)
    statuses = statuses_by_deployment(rows, now=now)
    cameras = _told_apart({row.camera_id: row.camera.name for row in rows})
    locations = _told_apart({row.scrape_id: row.scrape.name for row in rows})
    found = []
    for row in rows:
        pictures: dict[str, Any] = seen.get(
            row.id, {"last": None, "number": 0, "events": 0, "outside": 0}
        )
        found.append(
            DeploymentOut(
                row=row,
                name=row.code or str(row.id),
                camera=cameras[row.camera_id],
                location=locations[row.scrape_id],
                known_until=_known_until(row, statuses[row.id], pictures["last"]),
                outages=tuple(outages[row.id]),
                statuses=tuple(statuses[row.id]),
                observations=pictures["number"],
                events=pictures["events"],
                outside=pictures["outside"],
            )
        )
    return tuple(found)


def observations_out(deployment: Deployment, *, now: datetime) -> Iterator[ObservationValues]:
    """A deployment's rows by time, a chunk in memory at once."""
    rows = (
        deployment.observations.filter(observed_at__lte=now)
        .order_by("observed_at", "id")
        .values_list(*OBSERVATION_FIELDS)
        .iterator(chunk_size=CHUNK)
    )
    return map(ObservationValues._make, rows)


def species_seen(deployments: Iterable[DeploymentOut], *, now: datetime) -> tuple[str, ...]:
    """Names of species in pictures known at ``now``, in order of the alphabet."""
    rows = Observation.objects.filter(
        deployment__in=[one.row for one in deployments], observed_at__lte=now
    ).exclude(species="")
    return tuple(rows.order_by("species").values_list("species", flat=True).distinct())


def individuals_told(deployments: Iterable[DeploymentOut]) -> bool:
    """Whether any picture names an individual."""
    rows = Observation.objects.filter(deployment__in=[one.row for one in deployments])
    return rows.exclude(individual="").exists()


def keys_repeat(deployments: Iterable[DeploymentOut]) -> bool:
    """Whether two deployments hold a row of the same key: then a key alone is no name."""
    rows = Observation.objects.filter(deployment__in=[one.row for one in deployments])
    counted = rows.aggregate(all=Count("id"), different=Count("source_key", distinct=True))
    return bool(counted["all"] != counted["different"])


def _known_until(
    row: Deployment, statuses: Sequence[CameraStatus], last_picture: datetime | None
) -> datetime | None:
    tells = told_at(row, statuses)
    if last_picture is not None:
        # The second of the last picture was watched as well.
        tells.append(last_picture.replace(microsecond=0) + timedelta(seconds=1))
    known = max(tells) if tells else None
    return known if known is not None and known >= row.starts_at else None


def _told_apart(names: Mapping[UUID, str]) -> Mapping[UUID, str]:
    """Names as they are, with the end of the id where two are alike: a retired namesake, say."""
    alike = Counter(names.values())
    return {
        identity: name if alike[name] == 1 else f"{name[:80]} ({identity.hex[-8:]})"
        for identity, name in names.items()
    }
