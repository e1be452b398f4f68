"""The briefing at check-in: this stand's cautions, ways, neighbours, light by the settings."""

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from coop.access.actors import Actor, ActorKind
from properties.conditions.queries import standing_between
from properties.conditions.words import condition_words
from properties.people.queries import units_of
from properties.sessions.queries import place_of, settings_on
from properties.sessions.sun import sun_day
from properties.sessions.windows import shooting_light
from properties.stands.queries import sees_details
from scheduling.rules.arcs import covers
from scheduling.sits.cautions import cautions_for
from scheduling.sits.day_rules import day_rules
from scheduling.sits.ground_objections import cautions_of_ground
from scheduling.sits.ground_queries import stand_point
from scheduling.sits.harvest_briefing import places_of_sit
from scheduling.sits.harvest_words import NOTICE
from scheduling.sits.limits_queries import limits_of_stands, sit_settings_of
from scheduling.sits.models import Sit
from scheduling.sits.surroundings import bearing_and_distance
from scheduling.sits.uses_queries import counted_sits, first_name, sessions_of_sit

LIGHT_NOTICE = "Allowed by this property's settings; check your state's regulations."

SitNote = Callable[[Sit], Iterable[str]]

_notes: list[SitNote] = []


def register_note(note: SitNote) -> None:
    """Let a room to the right say what else its hunter has to know; registered once."""
    if note not in _notes:
        _notes.append(note)


def briefing_of(sit: Sit, *, actor: Actor) -> dict[str, Any]:
    """Everything the hunter is shown; ``sit`` comes with stand, person and property."""
    stand, land = sit.stand, sit.property
    house = limits_of_stands({land.id: land}, [stand])[str(stand.id)].house
    person = sit.person
    begins_at, ends_at = _light(sit)
    rules = day_rules(land, on=sit.local_date)
    # An outfitter's client has to find the way; the map itself stays with the property.
    knows_map = sees_details(actor=actor, property_id=land.id)
    shows_routes = knows_map or actor.kind is ActorKind.APPLICATION
    objecting = cautions_of_ground(sit, units=units_of(actor), names_places=knows_map)
    return {
        "cautions": objecting
        + cautions_for(
            is_elevated=stand.is_elevated(),
            inspected_on=stand.last_inspected_on,
            inspection_interval_days=house.inspection_interval_days,
            on=sit.local_date,
            orange=rules.orange,
            regulations_url=sit_settings_of(land).regulations_url,
            emergency_contact=bool(person.emergency_contact_phone),
        ),
        "conditions": [
            condition_words(condition)
            for condition in standing_between(
                property_ids=[land.id], starts_at=sit.starts_at, ends_at=sit.ends_at
            )
        ],
        "route_in": stand.approach_route if shows_routes else None,
        "route_out": stand.exit_route if shows_routes else None,
        "arc_from_deg": stand.arc_from_deg,
        "arc_to_deg": stand.arc_to_deg,
        "neighbours": _neighbours(sit, names=actor.kind is not ActorKind.APPLICATION),
        "shooting_light_from": begins_at,
        "shooting_light_until": ends_at,
        "light_notice": LIGHT_NOTICE,
        "day_rules": rules.sentences,
        "day_rules_notice": rules.notice,
        "notes": [sentence for note in _notes for sentence in note(sit)],
        "harvest_places": places_of_sit(sit),
        "harvest_notice": NOTICE,
    }


def _light(sit: Sit) -> tuple[datetime | None, datetime | None]:
    light = shooting_light(
        sun_day(place_of(sit.property), sit.local_date),
        settings_on(sit.property, sit.local_date),
    )
    if light is None:
        return None, None
    zone = ZoneInfo(sit.property.time_zone)
    return light.begins_at.astimezone(zone), light.ends_at.astimezone(zone)


def _neighbours(sit: Sit, *, names: bool) -> list[dict[str, Any]]:
    sessions = set(sessions_of_sit(sit))
    here = stand_point(sit.stand)
    found = []
    for other in counted_sits(
        property_ids=[sit.property_id], first_on=sit.local_date, last_on=sit.local_date
    ):
        if other.stand_id == sit.stand_id or sessions.isdisjoint(sessions_of_sit(other)):
            continue
        bearing_deg, distance_m = bearing_and_distance(here, stand_point(other.stand))
        found.append(
            {
                "stand_name": other.stand.name,
                "first_name": first_name(other.person.name) if names else "",
                "bearing_deg": bearing_deg,
                "distance_m": distance_m,
                "in_shooting_arc": here.shoots_all_round
                or bearing_deg is None
                or covers(here.arc_from_deg, here.arc_to_deg, bearing_deg),
            }
        )
    return sorted(found, key=lambda neighbour: neighbour["distance_m"])
