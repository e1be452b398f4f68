"""Tell managers by letter that an incident was reported, without its words."""

from collections.abc import Mapping
from datetime import datetime
from zoneinfo import ZoneInfo

from coop.access.roles import Role
from coop.outbox import services as outbox
from properties.incidents.models import Incident, IncidentKind
from properties.incidents.services import INCIDENT_REPORTED
from properties.people.models import Person
from properties.people.queries import holders_of


def register() -> None:
    """Called once by the app when it is ready."""
    # It may be an injury.
    outbox.on_fact(INCIDENT_REPORTED, incident_reported, urgent=True)


def incident_reported(ids: Mapping[str, str], now: datetime) -> None:
    """``incident.reported``: to the managers (else the coordinators), but not to whoever
    reported it. An injury goes to both, at once."""
    incident = Incident.objects.select_related("property").get(id=ids["incident"])
    land = incident.property
    urgent = incident.kind == IncidentKind.INJURY
    at = incident.happened_at.astimezone(ZoneInfo(land.time_zone))
    kind = incident.get_kind_display().lower()
    for person in _people_to_tell(incident, both=urgent):
        outbox.write_message(
            once_key=f"incident:{incident.id}:{person.id}",
            recipient=person.email,
            subject=f"{land.name}: {kind} was reported",
            text=(
                f"An incident ({kind}) of {at:%A %d %B, %H:%M %Z} was reported on {land.name}.\n\n"
                "What was told, and by whom, stands in the incident log and is kept out of "
                f"letters: /api/v1/incidents/{incident.id}/\n\n"
                "Where somebody is hurt or in danger, call the emergency number first."
            ),
            cooperative_id=land.cooperative_id,
            urgent=urgent,
            now=now,
        )


def _people_to_tell(incident: Incident, *, both: bool) -> list[Person]:
    found: dict[object, Person] = {}
    for role in (Role.MANAGER, Role.COORDINATOR):
        holders = holders_of(role=role, property_id=incident.property_id).exclude(email="")
        found |= {person.id: person for person in holders if person.id != incident.reported_by_id}
        if found and not both:
            break
    return sorted(found.values(), key=lambda person: (person.name, str(person.id)))
