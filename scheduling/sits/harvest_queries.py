"""Harvest as other rooms ask for it."""

from collections.abc import Iterable
from datetime import datetime

from properties.land.models import Property
from scheduling.sits.models import Harvest, HarvestClass
from scrapes.care.bucks import BuckTaken


def bucks_taken(land: Property, since: datetime, until: datetime) -> Iterable[BuckTaken]:
    """Antlered deer recorded in ``[since, until)``, at the stand of their sit.

    A harvest does not say which of the bucks known from pictures it was, so none is named.
    """
    rows = Harvest.objects.filter(
        property=land,
        harvest_class=HarvestClass.ANTLERED,
        taken_at__gte=since,
        taken_at__lt=until,
    ).values_list("taken_at", "sit__stand__longitude", "sit__stand__latitude")
    for taken_at, longitude, latitude in rows:
        place = None if longitude is None else (longitude, latitude)
        yield BuckTaken(individual="", taken_at=taken_at, place=place)
