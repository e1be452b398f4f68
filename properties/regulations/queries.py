"""Dated values that an actor may see, and those in force on a day."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.regulations.kinds import RegulationKind
from properties.regulations.models import Regulation
from properties.regulations.words import Orange, orange_on
from properties.sessions.confirmation import is_unconfirmed
from properties.sessions.models import Season
from properties.sessions.queries import is_season_unconfirmed
from properties.sessions.weapons import FIREARMS


def regulations_visible_to(
    *, actor: Actor, action: Action = Action.REGULATION_READ
) -> QuerySet[Regulation]:
    return scoped(Regulation.objects.all(), actor=actor, action=action)


def standing_between(
    *, property_ids: Collection[UUID], first_on: date, last_on: date
) -> QuerySet[Regulation]:
    """Values not withdrawn that hold on some of the local dates, both included."""
    return Regulation.objects.filter(
        Q(last_on=None) | Q(last_on__gte=first_on),
        property__in=property_ids,
        first_on__lte=last_on,
        withdrawn_at=None,
    ).order_by("kind", "first_on", "id")


def values_in_force(*, property_id: UUID, on: date) -> Mapping[RegulationKind, Regulation]:
    """The value of each kind that holds on a local date; a kind nobody entered is not in it."""
    rows = standing_between(property_ids=[property_id], first_on=on, last_on=on)
    rows = rows.select_related("property")
    return {RegulationKind(row.kind): row for row in rows}


def value_of(kind: RegulationKind, *, property_id: UUID, on: date) -> Mapping[str, Any] | None:
    """One value that holds on a local date; None where none is entered."""
    row = values_in_force(property_id=property_id, on=on).get(kind)
    return None if row is None else row.value


@dataclass(frozen=True, kw_only=True)
class InForce:
    """Everything entered that holds on one local date of a property.

    ``classes`` are the classes of deer that the open seasons name; empty: none names any.
    """

    land: Property
    on: date
    seasons: tuple[Season, ...]
    values: tuple[Regulation, ...]
    orange: Orange
    is_closed_weekday: bool

    @property
    def classes(self) -> tuple[str, ...]:
        return tuple(sorted({one for season in self.seasons for one in season.classes}))


def in_force(land: Property, *, on: date) -> InForce:
    """What holds on a local date, in two queries."""
    values = values_in_force(property_id=land.id, on=on)
    seasons = tuple(
        Season.objects.filter(property=land, first_on__lte=on, last_on__gte=on)
        .select_related("property")
        .order_by("first_on", "name", "id")
    )
    orange = values.get(RegulationKind.ORANGE)
    closed = values.get(RegulationKind.WEEKLY_CLOSED_DAYS)
    return InForce(
        land=land,
        on=on,
        seasons=seasons,
        values=tuple(values.values()),
        orange=orange_on(
            None if orange is None else orange.value,
            firearm_seasons=[one.name for one in seasons if FIREARMS & set(one.weapons)],
            source_url=_page_of(orange, seasons),
        ),
        is_closed_weekday=closed is not None and on.isoweekday() in closed.value["weekdays"],
    )


def _page_of(orange: Regulation | None, seasons: Iterable[Season]) -> str:
    """The page on which the day's orange was read: its own, or else that of a season open then."""
    pages = [season.source_url for season in seasons if season.source_url]
    return orange.source_url if orange is not None else next(iter(pages), "")


def is_value_unconfirmed(regulation: Regulation, *, now: datetime) -> bool:
    """Whether it is more than a year since somebody entered or confirmed the value."""
    return is_value_unconfirmed_on(regulation, local_date_on(regulation.property, now))


def is_value_unconfirmed_on(regulation: Regulation, day: date) -> bool:
    """The same as of a local date."""
    read_at = max(at for at in (regulation.entered_at, regulation.confirmed_at) if at is not None)
    return is_unconfirmed(local_date_on(regulation.property, read_at), today=day)


def pictures_seen_until(*, actor: Actor, land: Property, now: datetime) -> datetime:
    """Up to which instant an actor reads what cameras saw: members later, by the settings.

    Whoever reads observations sorts them, and sees them at once.
    """
    if actor.may(Action.OBSERVATION_READ, land.id):
        return now
    today = local_date_on(land, now)
    value = value_of(RegulationKind.PICTURE_DELAY, property_id=land.id, on=today)
    return now if value is None else now - timedelta(hours=float(value["hours"]))


def properties_with_delay(*, property_ids: Collection[UUID], now: datetime) -> QuerySet[Property]:
    """Properties on which a delay of pictures holds about now, whatever their time zone."""
    around = standing_between(
        property_ids=property_ids,
        first_on=now.date() - timedelta(days=1),
        last_on=now.date() + timedelta(days=1),
    ).filter(kind=RegulationKind.PICTURE_DELAY)
    return Property.objects.filter(id__in=around.order_by().values("property")).order_by("id")


def unconfirmed_names(found: InForce, *, now: datetime) -> tuple[str, ...]:
    """Seasons and kinds of what is in force that nobody entered or confirmed within a year."""
    seasons = [one.name for one in found.seasons if is_season_unconfirmed(one, now=now)]
    kinds = [one.kind for one in found.values if is_value_unconfirmed(one, now=now)]
    return tuple(f"season: {name}" for name in seasons) + tuple(kinds)
