"""Visits one by one, as a table (CSV) or as points on a map (GeoJSON, RFC 7946)."""

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.printing.cells import inert
from properties.land.models import Property
from properties.regulations.queries import pictures_seen_until
from scrapes.cameras.flat_export import feature_collection
from scrapes.visits.effort import covered
from scrapes.visits.events import UNIDENTIFIED, Visits
from scrapes.visits.pictures import DeerClass, Pictures
from scrapes.visits.scrape_records import ScrapeRecord, records_of, settings_in_force

COLUMNS = (
    "scrape",
    "started_at",
    "ended_at",
    "species",
    "individual",
    "classes",
    "pictures",
    "in_shooting_light",
    "longitude",
    "latitude",
)


@dataclass(frozen=True, kw_only=True)
class VisitOut:
    """One visit. ``classes`` are those that its own pictures showed; none for certain: empty.

    Instants carry the offset of the property then. ``individual`` is None where nobody told the
    deer apart or whoever asks may not know, and the place None where they do not see the map.
    """

    scrape: str
    started_at: datetime
    ended_at: datetime
    species: str
    individual: str | None
    classes: tuple[str, ...]
    pictures: int
    in_shooting_light: bool
    longitude: float | None
    latitude: float | None


def visits_out(
    *, actor: Actor, land: Property, first_on: date, last_on: date, now: datetime
) -> tuple[VisitOut, ...]:
    """Visits of a property's scrapes over local dates, both included, by scrape and start.

    Counted as everywhere: in watched time, by the property's settings, and as late as the actor
    may see what cameras saw. Raises ValueError when the dates are turned round.
    """
    actor.require(Action.VISIT_READ, land.id)
    if last_on < first_on:
        raise ValueError("the last day lies before the first")
    now = pictures_seen_until(actor=actor, land=land, now=now)
    settings = settings_in_force(land, now=now)
    records = records_of(
        [land],
        first_on=first_on - timedelta(days=settings.visits.record_days),
        last_on=last_on,
        now=now,
        settings=settings,
    )
    zone = ZoneInfo(land.time_zone)
    names = actor.may(Action.OBSERVATION_READ, land.id)
    places = actor.may(Action.SCRAPE_READ, land.id)
    return tuple(
        visit
        for record in records
        for visit in _of_scrape(
            record, first_on, zone, species=settings.visits.species, names=names, places=places
        )
    )


def visits_csv(visits: Iterable[VisitOut]) -> bytes:
    """With a header; text cells cannot act as a spreadsheet's formulas."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for one in visits:
        cells = _cells(one)
        cells["classes"] = " | ".join(one.classes)
        cells["in_shooting_light"] = "true" if one.in_shooting_light else "false"
        writer.writerow([inert(cells[column]) for column in COLUMNS])
    return out.getvalue().encode()


def visits_geojson(visits: Iterable[VisitOut]) -> bytes:
    """One feature a visit, at its scrape's place."""
    return b"".join(feature_collection(map(_feature, visits)))


def _of_scrape(
    record: ScrapeRecord,
    first_on: date,
    zone: ZoneInfo,
    *,
    species: Sequence[str],
    names: bool,
    places: bool,
) -> Iterator[VisitOut]:
    first = record.days.index_of(first_on)
    visits = record.visits_between(*record.days.span_s(first, len(record.days)))
    lit = covered(visits.start_s, record.days.light)
    classes = _classes(visits, record.deer)
    scrape = record.scrape
    for row in range(len(visits)):
        who = int(visits.individual[row])
        yield VisitOut(
            scrape=scrape.name,
            started_at=datetime.fromtimestamp(int(visits.start_s[row]), zone),
            ended_at=datetime.fromtimestamp(int(visits.end_s[row]), zone),
            species=species[int(visits.kind[row])],
            individual=record.deer.names[who] if names and who != UNIDENTIFIED else None,
            classes=tuple(name for name, shown in classes if shown[row]),
            pictures=int(visits.pictures[row]),
            in_shooting_light=bool(lit[row]),
            longitude=scrape.longitude if places else None,
            latitude=scrape.latitude if places else None,
        )


def _classes(visits: Visits, deer: Pictures) -> Sequence[tuple[str, NDArray[np.bool_]]]:
    """For each class which visits showed it: by pictures of the same deer within the visit."""
    found = []
    for known in (DeerClass.BUCK, DeerClass.DOE, DeerClass.FAWN):
        shown = np.zeros(len(visits), dtype=bool)
        for kind, who in np.unique(np.stack([visits.kind, visits.individual]), axis=1).T:
            same = (deer.species == kind) & (deer.individual == who)
            times = np.sort(deer.start_s[same & (deer.deer_class == known)])
            mine = (visits.kind == kind) & (visits.individual == who)
            after = np.searchsorted(times, visits.end_s[mine], side="right")
            shown[mine] = after > np.searchsorted(times, visits.start_s[mine], side="left")
        found.append((known.name.lower(), shown))
    return found


def _cells(one: VisitOut) -> dict[str, Any]:
    return {
        **vars(one),
        "started_at": one.started_at.isoformat(),
        "ended_at": one.ended_at.isoformat(),
    }


def _feature(one: VisitOut) -> Mapping[str, Any]:
    cells = _cells(one)
    longitude, latitude = cells.pop("longitude"), cells.pop("latitude")
    place = None if longitude is None else {"type": "Point", "coordinates": [longitude, latitude]}
    return {"type": "Feature", "geometry": place, "properties": cells}
