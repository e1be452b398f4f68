"""What may be had as a file: which rows, as whom they are told, and what that takes."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from properties.land.models import Property
from properties.land.queries import properties_visible_to
from properties.sessions.local_time import local_day
from scheduling.sits.harvest_serializers import HarvestSerializer
from scheduling.sits.models import Harvest, Sit
from scheduling.sits.queries import harvests_visible_to, sits_visible_to
from scheduling.sits.serializers import SIT_ROWS
from scheduling.sync.export_rows import Told


@dataclass(frozen=True, kw_only=True)
class ExportKind:
    """Rows of one kind in a file.

    ``things`` names them in the plural; ``address`` is the endpoint and the folder of the files.
    Who ``reads`` may ask. ``shows`` names by a parameter of the run each action that makes more
    of them visible: whoever had it when they asked gets that much, and keeps the file only as
    long as they have it. ``rows`` are those of a property and local days, included, in order,
    that an actor may see; ``told`` tells some of them as the list does.
    """

    job: str
    things: str
    address: str
    reads: Action
    shows: Mapping[str, Action]
    rows: Callable[[Actor, Property, date, date], QuerySet[Any, Any]]
    told: Callable[[Sequence[Any], Actor], Iterable[Told]]
    members: Callable[[], Sequence[str]]

    def lands_visible_to(self, *, actor: Actor) -> QuerySet[Property]:
        """Where an actor may ask, or is told that they may not.

        Whoever reads the rows names the property, also an application whose scopes show it
        nothing else of the land.
        """
        known = properties_visible_to(actor=actor)
        return known | properties_visible_to(actor=actor, action=self.reads)


def _sits(actor: Actor, land: Property, first_on: date, last_on: date) -> QuerySet[Any, Any]:
    sits = sits_visible_to(actor=actor).filter(property=land, local_date__range=(first_on, last_on))
    return SIT_ROWS.read(Sit.objects.filter(id__in=sits).order_by("local_date", "starts_at", "id"))


def _harvests(actor: Actor, land: Property, first_on: date, last_on: date) -> QuerySet[Any, Any]:
    zone = ZoneInfo(land.time_zone)
    begins_at, ends_at = local_day(first_on, zone)[0], local_day(last_on, zone)[1]
    taken = harvests_visible_to(actor=actor).filter(
        property=land, taken_at__gte=begins_at, taken_at__lt=ends_at
    )
    return taken.select_related("person", "property__cooperative").order_by("taken_at", "id")


def _told_harvests(harvests: Sequence[Harvest], actor: Actor) -> Iterable[Told]:
    serializer = HarvestSerializer(context={"actor": actor})
    return [serializer.to_representation(harvest) for harvest in harvests]


SITS = ExportKind(
    job="sync.export_sits",
    things="sits",
    address="sit-exports",
    reads=Action.SIT_READ,
    shows={"everybody": Action.SIT_MANAGE},
    rows=_sits,
    told=lambda rows, actor: SIT_ROWS.told(rows, actor=actor),
    members=lambda: SIT_ROWS.members,
)
HARVESTS = ExportKind(
    job="sync.export_harvests",
    things="harvests",
    address="harvest-exports",
    reads=Action.HARVEST_READ,
    shows={"names": Action.REPORT_READ, "places": Action.SIT_MANAGE},
    rows=_harvests,
    told=_told_harvests,
    members=lambda: list(HarvestSerializer().fields),
)
KINDS = (SITS, HARVESTS)
