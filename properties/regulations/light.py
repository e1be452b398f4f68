"""Hunting light entered by date, handed to the room of sessions, which knows no regulations."""

from collections.abc import Collection, Iterator
from datetime import date
from uuid import UUID

from properties.regulations.kinds import RegulationKind
from properties.regulations.queries import standing_between
from properties.sessions.dated_light import DatedLight


def dated_lights(
    property_ids: Collection[UUID], first_on: date, last_on: date
) -> Iterator[DatedLight]:
    """Hunting light as it is entered for some of the local dates, both included."""
    rows = standing_between(property_ids=property_ids, first_on=first_on, last_on=last_on)
    for row in rows.filter(kind=RegulationKind.SHOOTING_LIGHT):
        yield DatedLight(
            property_id=row.property_id,
            first_on=row.first_on,
            last_on=row.last_on,
            before_sunrise_min=float(row.value["before_sunrise_min"]),
            after_sunset_min=float(row.value["after_sunset_min"]),
        )
